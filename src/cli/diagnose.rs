//! `diagnose`: what was counted at the real machine, which cause explains it, and what to measure next.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::answer::StudyAnswer;
use super::args::{ChangeArgs, OutputArgs, UnitsArgs, number_in, seed, threads};
use super::diagnostics::{self, SourceText};
use super::failure::Failure;
use super::rewrite::can_write;
use super::source::Source;
use super::threads::on_threads;
use super::write::OutDir;
use super::{Answer, diagnose_into, progress};
use crate::charts::canvas::{FOR_TELEPHONES, Format};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, nanos};
use crate::machine::{Place, Problem};
use crate::report::diagnose::DiagnosisReport;
use crate::study::diagnose::hypotheses::Hypotheses;
use crate::study::diagnose::measure::SeenCount;
use crate::study::diagnose::seen::{Misseen, parse};
use crate::study::diagnose::{DiagnoseEffort, diagnose as study};
use crate::study::repeat::PARTS;

/// The options of `diagnose`.
#[derive(Args, Debug)]
pub struct DiagnoseArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// What was counted or timed, as often as needed: wheel.misses=12/100 pockets, floor.jams=3/2h, spills=2/2h, lap=48,51,47 s,
    /// track.time=5.2 s, ramp.most=14/2h waiting, per-minute=31, wheel.empty=7/100, wheel.carried=4/2h
    #[arg(long, value_name = "WHAT=VALUE", required = true)]
    pub seen: Vec<String>,
    /// Hours of counting where WHAT=VALUE does not say how long, and for what could be counted next
    #[arg(long, value_name = "H", default_value = "2", allow_negative_numbers = true, value_parser = hours)]
    pub hours: f64,
    /// Machines that are made up and compared with what was seen
    #[arg(long, value_name = "N", default_value = "4000", allow_negative_numbers = true, value_parser = draws)]
    pub draws: usize,
    /// Seed of the luck; the same seed gives the same answer to the last digit
    #[arg(long, value_name = "S", default_value = "1", allow_negative_numbers = true, value_parser = seed)]
    pub seed: u64,
    /// Number of threads; 0 for one a core
    #[arg(long, value_name = "N", default_value = "0", allow_negative_numbers = true, value_parser = threads)]
    pub threads: usize,
    /// Write the likeliest cause into the machine file, and change nothing else in it
    #[arg(long)]
    pub write: bool,
    /// How the machine file was changed while it was counted
    #[command(flatten)]
    pub change: ChangeArgs,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
    /// How lengths are shown, where there are any
    #[command(flatten)]
    pub units: UnitsArgs,
}

/// Hours of counting that are simulated at most.
const LONGEST_H: f64 = 24.0;
/// Machines made up at least and at most.
const DRAWS: (usize, usize) = (200, 200_000);

fn hours(text: &str) -> Result<f64, String> {
    number_in(
        text,
        0.1..=LONGEST_H,
        format!("write a number of hours from 0.1 to {LONGEST_H}"),
    )
}

fn draws(text: &str) -> Result<usize, String> {
    let (least, most) = DRAWS;
    number_in(
        text,
        least..=most,
        format!("write a whole number of machines from {least} to {most}"),
    )
}

/// Says what is likely wrong with a machine.
pub fn diagnose(args: &DiagnoseArgs) -> Result<Answer, Failure> {
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    source.machine()?;
    if args.write {
        can_write(&source)?;
    }
    let watched = nanos(args.hours * 3600.0);
    let rooms = crate::circuit::rooms(&source.machine()?);
    let seen = all_seen(args, &rooms, watched)?;
    let out = OutDir::of(&args.output, &source)?;
    let effort = DiagnoseEffort {
        draws: args.draws,
        seed: args.seed,
        watched,
    };
    let bar = progress::bar(0, args.output.answer_alone());
    let found = on_threads(args.threads, || {
        let hypotheses = Hypotheses::of(&source.text, &source.settings)?;
        bar.inc_length(effort.draws(&hypotheses) as u64 * PARTS);
        let found = study(&hypotheses, &seen, &effort, || bar.inc(PARTS));
        Some((hypotheses, found))
    })?;
    bar.finish_and_clear();
    let Some((hypotheses, found)) = found else {
        return Err(Failure::InAnswer);
    };
    let report = DiagnosisReport {
        hypotheses: &hypotheses,
        seen: &seen,
        found: &found,
        seed: args.seed,
        watched,
        system: args.units.system(hypotheses.machine().units),
    };
    let written = if args.write {
        Some(diagnose_into::write(&source, &report)?)
    } else {
        None
    };
    let answer = StudyAnswer {
        output: &args.output,
        title: &hypotheses.machine().title,
        json: report.json(),
        findings: report.findings(),
        table: None,
    };
    answer.print()?;
    if let Some(lines) = written.filter(|_| !args.output.json) {
        writeln!(super::print::out(), "{}", lines.join("\n"))?;
    }
    if let Some(out) = &out {
        answer.write(out, "diagnose", || {
            vec![
                ("diagnose.png".to_owned(), report.picture(Format::Wide).png),
                (
                    format!("diagnose{FOR_TELEPHONES}.png"),
                    report.picture(Format::Narrow).png,
                ),
            ]
        })?;
    }
    Ok(Answer::Given)
}

/// Everything that was seen, or every mistake in it with its place.
fn all_seen(
    args: &DiagnoseArgs,
    circuit: &Circuit,
    watched: Nanos,
) -> Result<Vec<SeenCount>, Failure> {
    let (mut seen, mut problems, mut page) = (Vec::<SeenCount>::new(), Vec::new(), String::new());
    for (n, text) in args.seen.iter().enumerate() {
        let text = text.replace(['\n', '\r'], " ");
        match parse(&text, circuit, watched) {
            Ok(one)
                if seen
                    .iter()
                    .any(|other| other.measure.what == one.measure.what) =>
            {
                let wrong = Misseen {
                    start: 0,
                    end: text.find('=').unwrap_or(text.len()),
                    what: format!("`{}` was given before", one.measure.what.typed(circuit)),
                    help: "give all that was counted of it at once, as in lap=48,51,47 s"
                        .to_owned(),
                };
                problems.push(problem((n, page.len()), wrong, &text));
            }
            Ok(one) => seen.push(one),
            Err(wrong) => problems.push(problem((n, page.len()), wrong, &text)),
        }
        page += &text;
        page.push('\n');
    }
    if problems.is_empty() {
        return Ok(seen);
    }
    let page = SourceText {
        name: "--seen",
        text: &page,
        settings: &[],
    };
    Err(Failure::Machine(diagnostics::render(page, &problems)))
}

/// A mistake in the `n`-th text, which begins at byte `before` of all of them.
fn problem((n, before): (usize, usize), wrong: Misseen, text: &str) -> Problem {
    let start = wrong.start.min(text.len());
    Problem {
        place: Some(Place::File {
            start: before + start,
            end: before + wrong.end.max(start),
            line: n + 1,
            column: text[..start].chars().count() + 1,
        }),
        key: String::new(),
        what: wrong.what,
        help: wrong.help,
    }
}
