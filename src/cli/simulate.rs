//! The runs of a study: as many as its verdict needs, or as it takes to know its figures well, or as there is time for.

use std::time::Instant;

use super::progress;
use super::run::RunOptions;
use crate::circuit::Circuit;
use crate::findings::summary::LEVEL;
use crate::findings::words::{count, percent};
use crate::findings::workable::{Judgement, Verdict, judge_all};
use crate::findings::{RunFigures, Runs};
use crate::machine::model::Workable;
use crate::study::decided::{Budget, run_until_decided};
use crate::study::precision::run_until;

/// The runs of a study.
pub struct Simulated {
    /// The runs.
    pub runs: Runs,
    /// What they show.
    pub judgement: Judgement,
    /// What ended them, where that was not the last of them.
    pub ended: Option<StudyEnd>,
}

/// Makes the runs: as many as it takes.
pub fn simulate(
    how: &RunOptions,
    machine: (&Circuit, &Workable),
    take: impl FnMut(&RunFigures),
) -> Simulated {
    let bar = progress::bar(u64::from(how.study.runs), how.quiet);
    let done = |parts| bar.inc(parts);
    let simulated = match how.precision {
        Some(precision) => as_precise(precision, how, machine, (done, take)),
        None => as_decided(how, machine, (done, take)),
    };
    bar.finish_and_clear();
    simulated
}

fn as_precise(
    precision: f64,
    how: &RunOptions,
    (circuit, workable): (&Circuit, &Workable),
    (done, mut take): (impl Fn(u64) + Sync, impl FnMut(&RunFigures)),
) -> Simulated {
    let mut runs = Runs::new(circuit.start);
    let wanted = (precision, how.study.runs);
    let stopped = run_until(circuit, &how.study.study(), wanted, done, |run| {
        take(&run);
        runs.push(run);
    });
    Simulated {
        judgement: judge_all(circuit, workable, &runs, LEVEL),
        runs,
        ended: Some(match stopped.precise {
            true => StudyEnd::Precise(precision),
            false => StudyEnd::Imprecise(precision, stopped.short),
        }),
    }
}

fn as_decided(
    how: &RunOptions,
    machine: (&Circuit, &Workable),
    (done, take): (impl Fn(u64) + Sync, impl FnMut(&RunFigures)),
) -> Simulated {
    let is_over = || how.until.is_some_and(|until| Instant::now() >= until);
    let budget = Budget {
        runs: how.study.runs,
        every_run: how.every_run,
        is_over: &is_over,
        error: 1.0 - LEVEL,
    };
    let (runs, judgement) = run_until_decided(machine, &how.study.study(), &budget, done, take);
    let all = runs.count() as u64 == u64::from(budget.runs);
    let ended = match judgement.verdict() {
        _ if all => None,
        Verdict::Unsure => Some(StudyEnd::OutOfTime),
        _ => Some(StudyEnd::Decided),
    };
    Simulated {
        runs,
        judgement,
        ended,
    }
}

/// What ended a study before all its runs, or one that was to reach a precision.
#[derive(Clone, Debug, PartialEq)]
pub enum StudyEnd {
    /// The runs show whether the machine works.
    Decided,
    /// The time was over.
    OutOfTime,
    /// The figures are known to this share.
    Precise(f64),
    /// They are not, these of them.
    Imprecise(f64, Vec<String>),
}

impl StudyEnd {
    /// As the results name it.
    pub fn name(&self) -> &'static str {
        match self {
            StudyEnd::Decided => "verdict",
            StudyEnd::OutOfTime => "time",
            StudyEnd::Precise(_) => "precision",
            StudyEnd::Imprecise(..) => "budget",
        }
    }

    /// In a sentence, after so many runs.
    pub fn says(&self, runs: usize) -> String {
        let runs = count(runs as u64, "run");
        match self {
            StudyEnd::Decided => format!("Stopped after {runs}: they show whether it works."),
            StudyEnd::OutOfTime => format!("Stopped after {runs}: its time was over."),
            StudyEnd::Precise(to) => {
                let to = percent(*to);
                format!("Stopped after {runs}: marbles a minute and every fill are known to {to}.")
            }
            StudyEnd::Imprecise(to, short) => format!(
                "Stopped by its budget of {runs}: {} not known to {} yet; give it more with --runs.",
                short.join(", "),
                percent(*to)
            ),
        }
    }
}
