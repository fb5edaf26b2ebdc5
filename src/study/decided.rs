//! As many runs as the verdict needs: a study that stops once the runs show whether the machine works, or its budget is spent.
//!
//! The runs are looked at after numbers of them that are fixed beforehand, each look with its share of the chance of error
//! (Bonferroni, as in [`super::looks`]), so that stopping early makes no verdict less sure.

use super::looks::{Look, one_machine};
use super::repeat::{Study, each};
use crate::circuit::Circuit;
use crate::circuit::draw::seconds;
use crate::findings::workable::{Judgement, Verdict, judge_all, runs_needed};
use crate::findings::{RunFigures, Runs};
use crate::machine::model::Workable;

/// Runs between two looks at the clock: enough to keep all cores busy.
const PART: u32 = 16;

/// When a study ends at the latest.
#[derive(Clone, Copy)]
pub struct Budget<'a> {
    /// The most runs.
    pub runs: u32,
    /// Whether all of them are made, even once they show whether the machine works.
    pub every_run: bool,
    /// Whether the time is over: no run is begun after that.
    pub is_over: &'a dyn Fn() -> bool,
    /// The chance that the verdict is wrong.
    pub error: f64,
}

impl Budget<'_> {
    fn looks(&self, workable: &Workable, study: &Study) -> Vec<Look> {
        if self.every_run {
            return vec![Look {
                runs: self.runs,
                error_share: 1.0,
            }];
        }
        let hours = seconds(study.horizon) / 3600.0;
        one_machine(self.runs, |share| {
            runs_needed(workable, hours, self.error * share)
        })
    }
}

/// Runs `circuit` until the runs show whether it works, or the budget is spent, and returns them with what they show; `take`
/// gets the figures of each in order, `done` is called as in [`each`].
///
/// The clock decides nothing but how many runs there are: a last look, with all that is left of the chance of error, is at
/// those that were made in time.
pub fn run_until_decided(
    (circuit, workable): (&Circuit, &Workable),
    study: &Study,
    budget: &Budget,
    done: impl Fn(u64) + Sync,
    mut take: impl FnMut(&RunFigures),
) -> (Runs, Judgement) {
    let mut runs = Runs::new(circuit.start);
    let mut judgement = judge_all(circuit, workable, &runs, 1.0 - budget.error);
    let (mut made, mut error_left) = (0, budget.error);
    for look in budget.looks(workable, study) {
        while made < look.runs && (made == 0 || !(budget.is_over)()) {
            let next = (made + PART).min(look.runs);
            each(circuit, study, made..next, &done, |run| {
                take(&run);
                runs.push(run);
            });
            made = next;
        }
        let is_last = made < look.runs || made == budget.runs;
        let error = match is_last {
            true => error_left,
            false => budget.error * look.error_share,
        };
        error_left -= error;
        judgement = judge_all(circuit, workable, &runs, 1.0 - error);
        if is_last || judgement.verdict() != Verdict::Unsure {
            break;
        }
    }
    (runs, judgement)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::summary::LEVEL;
    use crate::{circuit, machine};

    const ERROR: f64 = 1.0 - LEVEL;

    /// Runs made of a small machine, with its verdict.
    fn decided(least_fill: &str, budget: &Budget) -> (usize, Verdict) {
        let file = format!(
            "format: 1
marbles: {{ count: 5 }}
drive: {{ speed: 7.5 rpm }}
start: ramp
circuit:
  ramp: {{ ramp: {{ time: {{ exponential: {{ mean: 6 s }} }}, places: 20 }}, to: wheel }}
  wheel: {{ pocket-wheel: {{ pockets: 20, lift: 180 deg }}, to: ramp }}
workable: {{ least-fill: {least_fill}, jams-per-8h: 0 }}"
        );
        let machine = machine::read(&file, &[]).expect("a sound file");
        let circuit = circuit::circuit(&machine);
        let study = Study {
            seed: 1,
            horizon: 600_000_000_000,
        };
        let machine = (&circuit, &machine.workable);
        let (runs, judgement) = run_until_decided(machine, &study, budget, |_| {}, |_| {});
        (runs.count(), judgement.verdict())
    }

    fn runs(runs: u32) -> Budget<'static> {
        Budget {
            runs,
            every_run: false,
            is_over: &|| false,
            error: ERROR,
        }
    }

    /// 0.05 * 0.5 = 0.025, and ln 0.025 / ln 0.95 = 71.9: so many runs without a fault show that it works; one starved wheel
    /// shows at the first look.
    #[test]
    fn a_study_stops_at_the_look_that_decides_it() {
        assert_eq!(decided("0.1", &runs(200)), (72, Verdict::Met));
        assert_eq!(decided("0.9", &runs(200)), (20, Verdict::Broken));
        let every_run = Budget {
            every_run: true,
            ..runs(100)
        };
        assert_eq!(decided("0.1", &every_run), (100, Verdict::Met));
    }

    /// 0.05 * 0.99 = 0.0495, and ln 0.0495 / ln 0.95 = 58.6, so that 59 are the fewest, as with one look.
    #[test]
    fn a_small_budget_is_spent_in_two_looks() {
        assert_eq!(decided("0.1", &runs(59)), (59, Verdict::Met));
        assert_eq!(decided("0.1", &runs(58)), (58, Verdict::Unsure));
        assert_eq!(decided("0.1", &runs(5)), (5, Verdict::Unsure));
    }

    #[test]
    fn no_run_is_begun_once_the_time_is_over_but_the_first_few() {
        let over = Budget {
            is_over: &|| true,
            ..runs(200)
        };
        assert_eq!(decided("0.1", &over), (PART as usize, Verdict::Unsure));
        assert_eq!(decided("0.9", &over), (PART as usize, Verdict::Broken));
    }
}
