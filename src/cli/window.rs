//! `window`: the least and the most marbles, or values of any other key, with which the machine works.

use std::path::PathBuf;
use std::sync::OnceLock;

use clap::Args;
use indicatif::ProgressBar;

use super::Answer;
use super::answer::StudyAnswer;
use super::args::{ChangeArgs, OutputArgs, StudyArgs, UnitsArgs, number_in};
use super::failure::Failure;
use super::map::unsound_over;
use super::progress;
use super::run::driven_rpm;
use super::source::Source;
use super::threads::on_threads;
use super::write::OutDir;
use crate::charts::canvas::Format;
use crate::circuit::draw::seconds;
use crate::circuit::{self, Circuit};
use crate::machine::{Machine, limits};
use crate::report::window::WindowStudy;
use crate::study::axis::Axis;
use crate::study::found_window::Window;
use crate::study::repeat::PARTS;
use crate::study::varied::VariedMachine;
use crate::study::window::{Search, most_searched};

/// The options of `window`.
#[derive(Args, Debug)]
pub struct WindowArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// The key searched and its values, in place of the load: --over rpm=3..15/0.5
    #[arg(long, value_name = "KEY=FROM..TO/STEP", value_parser = Axis::parse, allow_hyphen_values = true, conflicts_with_all = ["from", "to"])]
    pub over: Option<Axis>,
    /// The least load to try
    #[arg(long, value_name = "N", default_value = "1", allow_negative_numbers = true, value_parser = load)]
    pub from: u32,
    /// The most [default: what the circuit can hold]
    #[arg(long, value_name = "N", allow_negative_numbers = true, value_parser = load)]
    pub to: Option<u32>,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// How much to simulate; --runs is the most for each value
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

/// Searches the values of one key of one machine.
pub fn window(args: &WindowArgs) -> Result<Answer, Failure> {
    not_twice(args)?;
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    match &args.over {
        Some(axis) => over(args, &source, (&machine, axis)),
        None => loads(args, &source, &machine),
    }
}

/// Refuses what is searched and set at once.
fn not_twice(args: &WindowArgs) -> Result<(), Failure> {
    let (load, speed) = match &args.over {
        Some(axis) => (axis.is_load(), axis.is_speed()),
        None => (true, false),
    };
    let twice = match () {
        () if load && args.change.marbles.is_some() => "--marbles",
        () if speed && args.change.rpm.is_some() => "--rpm",
        () => return Ok(()),
    };
    let (what, help) = match load {
        true => (
            "the load",
            "leave it out, or search another key, as in --marbles 30 --over rpm=3..15/0.5",
        ),
        false => (
            "the speed",
            "leave it out, or search another key, as in --rpm 7 --over marbles=10..60",
        ),
    };
    let what = format!("{twice} fixes {what}, which is what this search varies");
    Err(Failure::asked(what, help))
}

fn loads(args: &WindowArgs, source: &Source, machine: &Machine) -> Result<Answer, Failure> {
    let circuit = circuit::circuit(machine);
    let search = search(args, &circuit)?;
    let out = OutDir::of(&args.output, source)?;
    let quiet = args.output.answer_alone();
    let window = on_threads(args.study.threads, || {
        run(&search, &circuit, machine, quiet)
    })?;
    let study = window_study(machine, &circuit, &search, &window);
    publish(args, out.as_ref(), &study)
}

fn over(
    args: &WindowArgs,
    source: &Source,
    (machine, axis): (&Machine, &Axis),
) -> Result<Answer, Failure> {
    let varied = VariedMachine {
        text: &source.text,
        settings: &source.settings,
        axis,
        shared: OnceLock::new(),
    };
    if let Some(problems) = varied.never_a_machine() {
        return Err(unsound_over(
            source,
            &[axis],
            varied.laid_over(0),
            &problems,
        ));
    }
    let search = Search {
        axis: axis.clone(),
        runs: args.study.runs,
        seed: args.study.seed,
        horizon: args.study.horizon(),
        error: ERROR,
    };
    let out = OutDir::of(&args.output, source)?;
    let bar = progress::bar(0, args.output.answer_alone());
    let window = on_threads(args.study.threads, || {
        search.over(|at| varied.candidate(at), lengthen(&bar), || bar.inc(PARTS))
    })?;
    bar.finish_and_clear();
    // Names and limits are all that is asked of it.
    let circuit = circuit::rooms(machine);
    let study = window_study(machine, &circuit, &search, &window);
    publish(args, out.as_ref(), &study)
}

fn lengthen(bar: &ProgressBar) -> impl Fn(u64) {
    |runs| bar.inc_length(runs * PARTS)
}

/// Prints the answer and writes its files.
fn publish(
    args: &WindowArgs,
    out: Option<&OutDir>,
    study: &WindowStudy<'_>,
) -> Result<Answer, Failure> {
    let answer = StudyAnswer {
        output: &args.output,
        title: study.title,
        json: study.json(),
        findings: study.findings(),
        table: None,
    };
    answer.publish(out, "window", || {
        vec![("window.png", study.picture(Format::Wide).png)]
    })?;
    Ok(Answer::Given)
}

fn search(args: &WindowArgs, circuit: &Circuit) -> Result<Search, Failure> {
    let to = args.to.unwrap_or(most_searched(circuit).max(args.from));
    if to < args.from {
        return Err(Failure::asked(
            format!("--from {} is more than --to {to}", args.from),
            "give the least load first, as in --from 20 --to 60",
        ));
    }
    Ok(Search {
        axis: Axis::loads(args.from..=to),
        ..whole(&args.study, circuit)
    })
}

/// A search of every load the circuit can hold.
pub fn whole(study: &StudyArgs, circuit: &Circuit) -> Search {
    Search {
        axis: Axis::loads(1..=most_searched(circuit)),
        runs: study.runs,
        seed: study.seed,
        horizon: study.horizon(),
        error: ERROR,
    }
}

/// Searches, and shows how far it is unless `quiet`.
pub fn run(search: &Search, circuit: &Circuit, machine: &Machine, quiet: bool) -> Window {
    let bar = progress::bar(0, quiet);
    let window = search.window(circuit, &machine.workable, lengthen(&bar), || {
        bar.inc(PARTS)
    });
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
