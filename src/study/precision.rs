//! As many runs as it takes: a study that stops once its main figures are precise enough, or its budget is spent.

use super::repeat::{Study, each};
use crate::circuit::Circuit;
use crate::findings::RunFigures;
use crate::findings::summary::LEVEL;
use crate::stats::sequential::{Decision, StoppingRule};

/// Runs between two looks at the precision; a fixed number, so that the study ends at the same run whatever the threads.
const BATCH: u32 = 10;
/// Runs before the first look: a lucky few that agree prove nothing.
const LEAST: u32 = 20;

/// Why a study stopped.
#[derive(Clone, Debug, PartialEq)]
pub struct Stopped {
    /// Whether the precision was reached; otherwise the budget ended the study.
    pub precise: bool,
    /// Names of the figures that are not precise enough.
    pub short: Vec<String>,
}

/// Runs `circuit` until the 95 % intervals of marbles a minute and of every wheel's fill are within `relative` of the
/// figure, or `most` runs are made; `take` gets the figures of each in order, `done` is
/// called as in [`each`].
///
/// Looking again and again makes the intervals cover a little less often than 95 % (Law & Kelton, as in
/// stats/sequential.rs); the least number of runs keeps that small.
pub fn run_until(
    circuit: &Circuit,
    study: &Study,
    (relative, most): (f64, u32),
    done: impl Fn(u64) + Sync,
    mut take: impl FnMut(RunFigures),
) -> Stopped {
    let rule = StoppingRule {
        relative_error: relative,
        level: LEVEL,
        least_runs: LEAST as usize,
        most_runs: most as usize,
    };
    let mut figures = main_figures(circuit);
    let mut made = 0;
    loop {
        let next = (made + BATCH).max(LEAST).min(most);
        each(circuit, study, made..next, &done, |run| {
            figures.iter_mut().for_each(|figure| figure.note(&run));
            take(run);
        });
        made = next;
        let decided: Vec<Decision> = figures
            .iter()
            .map(|figure| figure.judged(&rule, made))
            .collect();
        if decided.contains(&Decision::Continue) && made < most {
            continue;
        }
        let mut short = Vec::new();
        for (figure, decision) in figures.into_iter().zip(decided) {
            if decision != Decision::Precise {
                short.push(figure.name);
            }
        }
        return Stopped {
            precise: short.is_empty(),
            short,
        };
    }
}

/// A figure that is to be precise.
struct Main {
    name: String,
    /// The wheel of which it is the fill; none for marbles a minute.
    wheel: Option<usize>,
    /// Run by run; `None` where it does not exist in one.
    by_run: Option<Vec<f64>>,
}

/// Marbles a minute and every wheel's fill.
fn main_figures(circuit: &Circuit) -> Vec<Main> {
    let mut all = vec![Main {
        name: "marbles a minute".to_owned(),
        wheel: None,
        by_run: Some(Vec::new()),
    }];
    all.extend(circuit.wheels().map(|n| Main {
        name: format!("fill of `{}`", circuit.nodes[n].name),
        wheel: Some(n),
        by_run: Some(Vec::new()),
    }));
    all
}

impl Main {
    fn note(&mut self, run: &RunFigures) {
        let figure = match self.wheel {
            Some(n) => run.fill(n),
            None => run.throughput_per_min,
        };
        match (figure, &mut self.by_run) {
            (Some(figure), Some(all)) => all.push(figure),
            _ => self.by_run = None,
        }
    }

    /// A figure that does not exist in some run never becomes precise.
    fn judged(&self, rule: &StoppingRule, runs: u32) -> Decision {
        match &self.by_run {
            Some(all) => rule.judge(all),
            None if runs as usize >= rule.most_runs => Decision::BudgetSpent,
            None => Decision::Continue,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{circuit, machine};

    fn stopped(relative: f64, most: u32) -> (Stopped, Vec<RunFigures>) {
        let file = "format: 1
marbles: { count: 5 }
drive: { speed: 7.5 rpm }
start: ramp
circuit:
  ramp: { ramp: { time: { exponential: { mean: 6 s } }, places: 20 }, to: wheel }
  wheel: { pocket-wheel: { pockets: 20, lift: 180 deg }, to: ramp }";
        let circuit = circuit::circuit(&machine::read(file, &[]).expect("a sound file"));
        let mut runs = Vec::new();
        let study = Study {
            seed: 1,
            horizon: 600_000_000_000,
        };
        (
            run_until(
                &circuit,
                &study,
                (relative, most),
                |_| {},
                |run| runs.push(run),
            ),
            runs,
        )
    }

    #[test]
    fn a_finer_precision_takes_more_runs_and_the_budget_ends_it() {
        let ((coarse, few), (fine, more)) = (stopped(0.1, 400), stopped(0.01, 400));
        assert!(coarse.precise && fine.precise && few.len() < more.len());
        let (short, runs) = stopped(0.001, 30);
        assert_eq!(
            (runs.len(), short.precise, short.short.len()),
            (30, false, 2)
        );
    }

    #[test]
    fn the_precision_asked_for_is_there_when_it_stops_and_not_a_batch_before() {
        let (_, runs) = stopped(0.01, 400);
        let rule = StoppingRule {
            relative_error: 0.01,
            level: LEVEL,
            least_runs: 1,
            most_runs: usize::MAX,
        };
        let rates: Vec<f64> = runs
            .iter()
            .filter_map(|run| run.throughput_per_min)
            .collect();
        assert_eq!(rule.judge(&rates), Decision::Precise);
        let fills: Vec<f64> = runs
            .iter()
            .filter_map(|run| run.elements[1].wheel?.fill)
            .collect();
        let before = runs.len() - BATCH as usize;
        let both = [rule.judge(&rates[..before]), rule.judge(&fills[..before])];
        assert!(both.contains(&Decision::Continue));
    }
}
