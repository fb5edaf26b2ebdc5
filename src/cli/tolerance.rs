//! `tolerance`: of so many makers, how many have a machine that works, and what must be exact.

use std::path::PathBuf;

use clap::Args;

use super::answer::StudyAnswer;
use super::args::{ChangeArgs, OutputArgs, UnitsArgs, number_in, seed, threads};
use super::failure::Failure;
use super::run::driven_rpm;
use super::source::Source;
use super::threads::on_threads;
use super::write::OutDir;
use super::{Answer, interrupt, progress};
use crate::charts::canvas::Format;
use crate::circuit::draw::nanos;
use crate::machine::Machine;
use crate::machine::limits;
use crate::machine::units::System;
use crate::report::tolerance::ToleranceStudy;
use crate::study::repeat::{PARTS, Study};
use crate::study::tolerance::{Plans, Tolerance, ToleranceEffort};

/// The options of `tolerance`.
#[derive(Args, Debug)]
pub struct ToleranceArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// How many makers build it
    #[arg(long, value_name = "N", default_value_t = MAKERS, allow_negative_numbers = true, value_parser = makers)]
    pub makers: u32,
    /// Runs of each maker's machine
    #[arg(long, value_name = "R", default_value_t = RUNS, allow_negative_numbers = true, value_parser = runs)]
    pub runs: u32,
    /// Hours of machine time in each run
    #[arg(long, value_name = "H", default_value_t = HOURS, allow_negative_numbers = true, value_parser = hours)]
    pub hours: f64,
    /// Seed of the luck; the same seed gives the same answer to the last digit
    #[arg(long, value_name = "S", default_value = "1", allow_negative_numbers = true, value_parser = seed)]
    pub seed: u64,
    /// Number of threads; 0 for one a core
    #[arg(long, value_name = "N", default_value = "0", allow_negative_numbers = true, value_parser = threads)]
    pub threads: usize,
    /// What to change in the plan
    #[command(flatten)]
    pub change: ChangeArgs,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
    /// How lengths are shown, where there are any
    #[command(flatten)]
    pub units: UnitsArgs,
}

/// Makers, runs of each and hours of each run where nobody says how many.
const MAKERS: u32 = 200;
const RUNS: u32 = 4;
const HOURS: f64 = 0.5;
/// Most makers, and most runs of each: so that runs can be numbered.
const MOST: (u32, u32) = (100_000, 1_000);

fn makers(text: &str) -> Result<u32, String> {
    let help = format!("write a whole number of makers from 1 to {}", MOST.0);
    number_in(text, 1..=MOST.0, help)
}

fn runs(text: &str) -> Result<u32, String> {
    let help = format!("write a whole number of runs from 1 to {}", MOST.1);
    number_in(text, 1..=MOST.1, help)
}

fn hours(text: &str) -> Result<f64, String> {
    let help = format!("write hours from 0.01 to {}, as in 2 or 0.5", limits::HOURS);
    number_in(text, 0.01..=limits::HOURS, help)
}

/// Tries the makers of one plan.
pub fn tolerance(args: &ToleranceArgs) -> Result<Answer, Failure> {
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    let out = OutDir::of(&args.output, &source)?;
    let effort = ToleranceEffort {
        makers: args.makers,
        runs: args.runs,
        study: Study {
            seed: args.seed,
            horizon: nanos(args.hours * 3600.0),
        },
    };
    let quiet = args.output.answer_alone();
    let (plans, found) = on_threads(args.threads, || run(&machine, effort, quiet))?;
    let study = tolerance_study(&machine, (&plans, &found), args.units.system(machine.units));
    let answer = StudyAnswer {
        output: &args.output,
        title: &study.plan().title,
        json: study.json(),
        findings: study.findings(),
        table: None,
    };
    answer.publish(out.as_ref(), "tolerance", || {
        vec![("tolerance.png", study.picture(Format::Wide).png)]
    })?;
    if found.is_complete() {
        Ok(Answer::Given)
    } else {
        Ok(Answer::Interrupted)
    }
}

/// What is tried where nobody says how much; none where it is stopped.
pub fn whole(machine: &Machine, seed: u64, quiet: bool) -> Option<(Plans, Tolerance)> {
    let effort = ToleranceEffort {
        makers: MAKERS,
        runs: RUNS,
        study: Study {
            seed,
            horizon: nanos(HOURS * 3600.0),
        },
    };
    let (plans, found) = run(machine, effort, quiet);
    found.is_complete().then_some((plans, found))
}

/// What was found, to be reported.
pub fn tolerance_study<'a>(
    machine: &Machine,
    (plans, found): (&'a Plans, &'a Tolerance),
    system: System,
) -> ToleranceStudy<'a> {
    ToleranceStudy {
        rpm: driven_rpm(machine),
        plans,
        found,
        system,
    }
}

/// Tries them, and shows how far it is unless `quiet`. The first request to stop is heard once close looks are done.
fn run(machine: &Machine, effort: ToleranceEffort, quiet: bool) -> (Plans, Tolerance) {
    let plans = Plans::of(machine, effort);
    interrupt::finish_runs();
    let bar = progress::bar(0, quiet);
    let runs = u64::from(effort.runs);
    let go_on = || {
        bar.inc(runs * PARTS);
        !interrupt::asked()
    };
    let found = plans.study(|builds| bar.inc_length(builds * runs * PARTS), &go_on);
    bar.finish_and_clear();
    (plans, found)
}
