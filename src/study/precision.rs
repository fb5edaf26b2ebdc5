//! As many runs as it takes: a study that stops once its main figures are precise enough, or its budget is spent.

use super::repeat::repeat_each;
use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::findings::RunFigures;
use crate::findings::summary::LEVEL;
use crate::stats::sequential::{Decision, StoppingRule};

/// Runs between two looks at the precision; a fixed number, so that the study ends at the same run whatever the threads.
const BATCH: u32 = 10;
/// Runs before the first look: a lucky few that agree prove nothing.
const LEAST: u32 = 20;

/// Runs of a study, and why it stopped.
#[derive(Clone, Debug, PartialEq)]
pub struct Stopped {
    /// The figures of runs 0 up.
    pub runs: Vec<RunFigures>,
    /// Whether the precision was reached; otherwise the budget ended the study.
    pub precise: bool,
    /// Names of the figures that are not precise enough.
    pub short: Vec<String>,
}

/// Runs `circuit` until the 95 % intervals of marbles a minute and of every wheel's fill are within `relative` of the
/// figure, or `most` runs are made; `done` is called once a run.
///
/// Looking again and again makes the intervals cover a little less often than 95 % (Law & Kelton, as in
/// stats/sequential.rs); the least number of runs keeps that small.
pub fn run_until(
    circuit: &Circuit,
    seed: u64,
    (relative, most): (f64, u32),
    horizon: Nanos,
    done: impl Fn() + Sync,
) -> Stopped {
    let rule =
        StoppingRule { relative_error: relative, level: LEVEL, least_runs: LEAST as usize, most_runs: most as usize };
    let mut runs: Vec<RunFigures> = Vec::new();
    loop {
        let next = (runs.len() as u32 + BATCH).max(LEAST).min(most);
        let job = (circuit.clone(), runs.len() as u32..next);
        runs.extend(repeat_each(&[job], seed, horizon, &done).into_iter().flatten());
        let decided: Vec<(String, Decision)> = main_figures(circuit, &runs)
            .into_iter()
            .map(|(name, figures)| (name, figures.map_or(unknown(&runs, &rule), |figures| rule.judge(&figures))))
            .collect();
        if decided.iter().any(|(_, decision)| *decision == Decision::Continue) && (runs.len() as u32) < most {
            continue;
        }
        let short = decided.into_iter().filter(|(_, d)| *d != Decision::Precise).map(|(name, _)| name);
        let short: Vec<String> = short.collect();
        return Stopped { runs, precise: short.is_empty(), short };
    }
}

/// A figure that does not exist in some run never becomes precise.
fn unknown(runs: &[RunFigures], rule: &StoppingRule) -> Decision {
    if runs.len() >= rule.most_runs { Decision::BudgetSpent } else { Decision::Continue }
}

/// Marbles a minute and every wheel's fill, run by run; `None` where it does not exist in one.
fn main_figures(circuit: &Circuit, runs: &[RunFigures]) -> Vec<(String, Option<Vec<f64>>)> {
    let rate = runs.iter().map(|run| run.throughput_per_min).collect();
    let wheels = circuit.nodes.iter().enumerate().filter(|(_, plan)| plan.wheel().is_some());
    let fill = |n: usize| runs.iter().map(|run| run.elements[n].wheel?.fill).collect();
    let fills = wheels.map(|(n, plan)| (format!("fill of `{}`", plan.name), fill(n)));
    std::iter::once(("marbles a minute".to_owned(), rate)).chain(fills).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{circuit, machine};

    fn stopped(relative: f64, most: u32) -> Stopped {
        let file = "format: 1
marbles: { count: 5 }
drive: { speed: 7.5 rpm }
start: ramp
circuit:
  ramp: { ramp: { time: { exponential: { mean: 6 s } }, places: 20 }, to: wheel }
  wheel: { pocket-wheel: { pockets: 20, lift: 180 deg }, to: ramp }";
        let circuit = circuit::circuit(&machine::read(file, &[]).expect("a sound file"));
        run_until(&circuit, 1, (relative, most), 600_000_000_000, || {})
    }

    #[test]
    fn a_finer_precision_takes_more_runs_and_the_budget_ends_it() {
        let (coarse, fine, short) = (stopped(0.1, 400), stopped(0.01, 400), stopped(0.001, 30));
        assert!(coarse.precise && fine.precise && coarse.runs.len() < fine.runs.len());
        assert_eq!((short.runs.len(), short.precise, short.short.len()), (30, false, 2));
    }

    #[test]
    fn the_precision_asked_for_is_there_when_it_stops_and_not_a_batch_before() {
        let fine = stopped(0.01, 400);
        let rule = StoppingRule { relative_error: 0.01, level: LEVEL, least_runs: 1, most_runs: usize::MAX };
        let rates: Vec<f64> = fine.runs.iter().filter_map(|run| run.throughput_per_min).collect();
        assert_eq!(rule.judge(&rates), Decision::Precise);
        let fills: Vec<f64> = fine.runs.iter().filter_map(|run| run.elements[1].wheel?.fill).collect();
        let before = fine.runs.len() - BATCH as usize;
        let both = [rule.judge(&rates[..before]), rule.judge(&fills[..before])];
        assert!(both.contains(&Decision::Continue));
    }
}
