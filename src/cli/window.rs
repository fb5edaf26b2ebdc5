//! `window`: the least and the most marbles with which the machine works.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::Answer;
use super::args::{OutputArgs, StudyArgs, UnitsArgs, number_in, setting};
use super::failure::Failure;
use super::progress;
use super::run::driven_rpm;
use super::source::Source;
use super::terminal;
use super::threads::on_threads;
use super::write::OutDir;
use crate::circuit::draw::seconds;
use crate::circuit::{self, Circuit};
use crate::machine::{Machine, Setting, limits};
use crate::report::window::WindowStudy;
use crate::study::found_window::Window;
use crate::study::repeat::PARTS;
use crate::study::window::{Search, most_searched};

/// The options of `window`.
#[derive(Args, Debug)]
pub struct WindowArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// The least load to try
    #[arg(long, value_name = "N", default_value = "1", allow_negative_numbers = true, value_parser = load)]
    pub from: u32,
    /// The most [default: what the circuit can hold]
    #[arg(long, value_name = "N", allow_negative_numbers = true, value_parser = load)]
    pub to: Option<u32>,
    /// Speed of the drive, turns a minute
    #[arg(long, value_name = "X", allow_negative_numbers = true)]
    pub rpm: Option<String>,
    /// Any key of the file: --set circuit.lift.pockets=24
    #[arg(long, value_name = "KEY=VALUE", value_parser = setting)]
    pub set: Vec<Setting>,
    /// How much to simulate; --runs is the most for each load
    #[command(flatten)]
    pub study: StudyArgs,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
    /// How lengths are shown, where there are any
    #[command(flatten)]
    pub units: UnitsArgs,
}

/// The chance of error a search is allowed.
const ERROR: f64 = 0.05;

fn load(text: &str) -> Result<u32, String> {
    let most = limits::MARBLES;
    let help = format!("write a whole number of marbles from 1 to {most}");
    number_in(text, 1..=most, help)
}

/// Searches the loads of one machine.
pub fn window(args: &WindowArgs) -> Result<Answer, Failure> {
    let mut settings = args.set.clone();
    settings.extend(args.rpm.iter().map(|rpm| Setting {
        key: "rpm".to_owned(),
        value: rpm.clone(),
    }));
    let source = Source::open(args.machine.as_deref(), settings)?;
    let machine = source.machine()?;
    let circuit = circuit::circuit(&machine);
    let search = search(args, &circuit)?;
    let out = OutDir::of(&args.output, &source)?;
    let quiet = args.output.answer_alone();
    let window = on_threads(args.study.threads, || {
        run(&search, &circuit, &machine, quiet)
    })?;
    let study = window_study(&machine, &circuit, &search, &window);
    let printed = print(args, &study);
    if let Some(out) = &out {
        let json = (study.json() + "\n").into_bytes();
        let written = out.write_before(&[("window.json", json)], || {
            Ok(vec![("window.png", study.picture().png)])
        })?;
        if printed.is_ok() && !args.output.answer_alone() {
            writeln!(super::print::out(), "\n{written}")?;
        }
    }
    printed?;
    Ok(Answer::Given)
}

fn search(args: &WindowArgs, circuit: &Circuit) -> Result<Search, Failure> {
    let all = whole(&args.study, circuit);
    let to = args.to.unwrap_or(all.to.max(args.from));
    if to < args.from {
        return Err(Failure::asked(
            format!("--from {} is more than --to {to}", args.from),
            "give the least load first, as in --from 20 --to 60",
        ));
    }
    Ok(Search {
        from: args.from,
        to,
        ..all
    })
}

/// A search of every load the circuit can hold.
pub fn whole(study: &StudyArgs, circuit: &Circuit) -> Search {
    let (to, horizon) = (most_searched(circuit), study.horizon());
    Search {
        from: 1,
        to,
        runs: study.runs,
        seed: study.seed,
        horizon,
        error: ERROR,
    }
}

/// Searches, and shows how far it is unless `quiet`.
pub fn run(search: &Search, circuit: &Circuit, machine: &Machine, quiet: bool) -> Window {
    let bar = progress::bar(0, quiet);
    let window = search.window(
        circuit,
        &machine.workable,
        |runs| bar.inc_length(runs * PARTS),
        || bar.inc(PARTS),
    );
    bar.finish_and_clear();
    window
}

/// What was found, to be reported.
pub fn window_study<'a>(
    machine: &'a Machine,
    circuit: &'a Circuit,
    search: &'a Search,
    window: &'a Window,
) -> WindowStudy<'a> {
    WindowStudy {
        title: &machine.title,
        circuit,
        rpm: driven_rpm(machine),
        hours: seconds(search.horizon) / 3600.0,
        workable: &machine.workable,
        search,
        window,
    }
}

fn print(args: &WindowArgs, study: &WindowStudy<'_>) -> Result<(), Failure> {
    let mut out = super::print::out();
    if args.output.json {
        writeln!(out, "{}", study.json())?;
        return Ok(());
    }
    let all = study.findings();
    if args.output.quiet {
        if let Some(answer) = all.first() {
            writeln!(out, "{}", answer.text)?;
        }
        return Ok(());
    }
    writeln!(out, "{}\n", study.title)?;
    for finding in &all {
        writeln!(out, "{}", terminal::sentence(finding.good, &finding.text))?;
    }
    Ok(())
}
