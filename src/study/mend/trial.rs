//! Runs of the machine with changes laid over it: a few to see how it looks, many to show it.

use std::ops::Range;
use std::sync::atomic::{AtomicU64, Ordering};

use rayon::prelude::*;

use super::change::Alteration;
use super::{ERROR, TESTS, needed};
use crate::circuit::draw::seconds;
use crate::circuit::{self, Circuit};
use crate::findings::workable::{Criterion, CriterionResult, Judgement, judge, judge_all};
use crate::findings::{RunFigures, Runs};
use crate::machine::{self, Machine, Setting};
use crate::study::repeat::{Study, run_watched};

/// Runs that show how a change looks: first so many, and so many in all if all is well in the first.
const FIRST: u32 = 6;
const LOOK: u32 = 24;
/// A change after which less than this share of the laps is left is no mend: a wheel that lets no marble go is full
/// and never jams.
const KEPT_FLOW: f64 = 0.5;
/// No criterion counts as farther off than this, nor its limit as less than that.
pub(super) const FARTHEST: f64 = 10.0;
const LEAST: f64 = 0.05;

/// Somebody stopped the search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MendStopped;

/// Whoever follows the search: asked before every run whether to go on, and informed of every run.
pub trait MendFollower: Sync {
    /// Whether to go on.
    fn go_on(&self) -> bool;
    /// So many runs are about to be made.
    fn planned(&self, runs: u64);
    /// A run is done.
    fn ran(&self);
}

/// The machine, and how it is run.
pub struct MendTrials<'a> {
    /// The text of its file.
    pub text: &'a str,
    /// What is laid over it everywhere.
    pub settings: &'a [Setting],
    /// The seed, and the machine time of each run.
    pub study: Study,
    /// Runs of each test.
    pub runs: u32,
    /// Who follows.
    pub follower: &'a dyn MendFollower,
    /// Changes tried and runs made.
    pub made: (AtomicU64, AtomicU64),
}

/// What a look at a change shows.
pub(super) enum Seen {
    /// There is no such machine.
    Impossible,
    /// How it ran.
    Runs {
        /// What the figures show as they stand.
        judgement: Judgement,
        /// The first runs, as a glance at the machine has them.
        first: Vec<RunFigures>,
        /// Laps in a run, on average.
        flow: f64,
    },
}

/// What the runs of a test show.
#[derive(Clone, Debug, PartialEq)]
pub struct Tested {
    /// What they show, with the error of a test.
    pub judgement: Judgement,
    /// The runs.
    pub runs: Runs,
}

impl Tested {
    /// Laps in a run, on average.
    pub(super) fn flow(&self) -> f64 {
        flow(&self.runs.batches)
    }
}

impl MendTrials<'_> {
    fn machine(&self, changes: &[Alteration]) -> Option<Machine> {
        let mut settings = self.settings.to_vec();
        settings.extend(changes.iter().map(Alteration::setting));
        machine::read(self.text, &settings).ok()
    }

    /// Whether there is a machine with these changes.
    pub(super) fn is_machine(&self, changes: &[Alteration]) -> bool {
        self.machine(changes).is_some()
    }

    /// Whether the runs of a test are too few to show anything to work.
    pub(super) fn too_few(&self) -> bool {
        let hours = seconds(self.study.horizon) / 3600.0;
        self.machine(&[])
            .is_none_or(|machine| self.runs < needed(&machine.workable, hours))
    }

    /// A few runs with changes: at first of a machine that is only glanced at, and where that looks well, of one that is looked
    /// at for longer.
    pub(super) fn look(&self, changes: &[Alteration]) -> Result<Seen, MendStopped> {
        let Some(machine) = self.machine(changes) else {
            return Ok(Seen::Impossible);
        };
        if !self.follower.go_on() {
            return Err(MendStopped);
        }
        self.made.0.fetch_add(1, Ordering::Relaxed);
        let mut circuit = circuit::glance(&machine);
        let first = self.run(&circuit, 0..FIRST)?;
        let judged =
            |circuit: &Circuit, runs: &[RunFigures]| judge(circuit, &machine.workable, runs, 0.5);
        let mut runs = first.clone();
        if judged(&circuit, &runs).likely() && circuit::is_looked_at(&machine) {
            circuit = circuit::sketch(&machine);
            runs = self.run(&circuit, 0..FIRST)?;
        }
        if judged(&circuit, &runs).likely() {
            runs.extend(self.run(&circuit, FIRST..LOOK)?);
        }
        Ok(Seen::Runs {
            judgement: judged(&circuit, &runs),
            flow: flow(&runs),
            first,
        })
    }

    /// Many runs with changes, none of which a look has seen; none where there is no such machine.
    pub(super) fn test(&self, changes: &[Alteration]) -> Result<Option<Tested>, MendStopped> {
        let Some(machine) = self.machine(changes) else {
            return Ok(None);
        };
        if !self.follower.go_on() {
            return Err(MendStopped);
        }
        let circuit = circuit::circuit(&machine);
        let mut runs = Runs::new(circuit.start);
        runs.extend(self.run(&circuit, LOOK..LOOK.saturating_add(self.runs))?);
        let level = 1.0 - ERROR / TESTS as f64;
        let judgement = judge_all(&circuit, &machine.workable, &runs, level);
        Ok(Some(Tested { judgement, runs }))
    }

    fn run(&self, circuit: &Circuit, range: Range<u32>) -> Result<Vec<RunFigures>, MendStopped> {
        self.follower.planned(range.len() as u64);
        self.made.1.fetch_add(range.len() as u64, Ordering::Relaxed);
        let one = |run: u32| {
            if !self.follower.go_on() {
                return Err(MendStopped);
            }
            let figures = run_watched(circuit, &self.study, run, &mut ());
            self.follower.ran();
            Ok(figures)
        };
        range.into_par_iter().map(one).collect()
    }

    /// Changes tried and runs made so far.
    pub(super) fn effort(&self) -> (u64, u64) {
        let (tried, runs) = &self.made;
        (tried.load(Ordering::Relaxed), runs.load(Ordering::Relaxed))
    }
}

/// Laps in a run, on average.
fn flow(runs: &[RunFigures]) -> f64 {
    let laps: u64 = runs.iter().map(|run| run.laps).sum();
    let all: u32 = runs.iter().map(|run| run.runs).sum();
    laps as f64 / f64::from(all.max(1))
}

/// Whether enough laps are left, where there were so many before.
pub(super) fn keeps_flow(now: f64, before: f64) -> bool {
    now >= KEPT_FLOW * before
}

/// How far figures are off what is good enough, the criteria that are `counted` together: how many times over the limit, as a
/// logarithm, so that what is far off still has a way to go; of a fill, the share that is missing.
pub(super) fn off(judgement: &Judgement, counted: impl Fn(Criterion) -> bool) -> f64 {
    let results = judgement.results.iter();
    let wrong = results.filter(|result| !result.likely && counted(result.criterion));
    wrong.map(one_off).sum()
}

fn one_off(result: &CriterionResult) -> f64 {
    let Some(value) = result.figure.value else {
        return FARTHEST;
    };
    match result.criterion {
        Criterion::Fill(_) => (result.limit - value) / result.limit.max(0.01),
        _ => libm::log(value / result.limit.max(LEAST)).clamp(0.0, FARTHEST),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::made_up::MadeUp;
    use crate::findings::workable::Verdict;
    use crate::stats::Estimate;

    fn result(
        criterion: Criterion,
        limit: f64,
        value: Option<f64>,
        likely: bool,
    ) -> CriterionResult {
        CriterionResult {
            criterion,
            verdict: Verdict::Unsure,
            figure: Estimate {
                value,
                ..Estimate::unknown()
            },
            of_runs: false,
            limit,
            by_default: false,
            likely,
        }
    }

    /// Twice as many jams as allowed and half the fill that is missing; what keeps to its limit counts nothing.
    #[test]
    fn what_is_wrong_adds_up_and_nothing_else() {
        let judgement = Judgement {
            results: vec![
                result(Criterion::Jams, 3.0, Some(6.0), false),
                result(Criterion::Fill(0), 0.8, Some(0.4), false),
                result(Criterion::Spills, 1.0, Some(7.0), true),
            ],
        };
        let ln2 = std::f64::consts::LN_2;
        assert!((off(&judgement, |_| true) - (ln2 + 0.5)).abs() < 1e-12);
        assert!((off(&judgement, |one| one == Criterion::Jams) - ln2).abs() < 1e-12);
        assert_eq!(off(&judgement, |one| one == Criterion::Spills), 0.0);
    }

    #[test]
    fn nothing_is_off_beyond_bounds() {
        let off = |criterion, limit, value| one_off(&result(criterion, limit, value, false));
        assert_eq!(off(Criterion::Fill(0), 0.8, None), FARTHEST);
        assert_eq!(off(Criterion::Jams, 3.0, Some(1e9)), FARTHEST);
        assert_eq!(off(Criterion::Jams, 3.0, Some(1.0)), 0.0);
        // A limit of nothing at all is taken for one in twenty.
        assert!((off(Criterion::Spills, 0.0, Some(0.1)) - std::f64::consts::LN_2).abs() < 1e-12);
    }

    #[test]
    fn half_of_the_laps_must_be_left() {
        let one = MadeUp::new(1, "least-fill: 0.5").run(0, |_| 0.5);
        let with = |laps, runs| RunFigures {
            laps,
            runs,
            ..one.clone()
        };
        // A batch of three and a single run.
        assert_eq!(flow(&[with(9, 3), with(3, 1)]), 3.0);
        assert_eq!(flow(&[]), 0.0);
        assert!(keeps_flow(1.5, 3.0) && !keeps_flow(1.49, 3.0));
    }
}
