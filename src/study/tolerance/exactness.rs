//! How exact the deciding errors must be for nearly every machine to work.
//!
//! The same makers, with the same draws and the same runs, work more exactly in one thing, then in two, until at least
//! [`ENOUGH`] of their machines work: first as if that were exact, and where that is enough, by halving how exact down to
//! [`STEPS`] steps. It is taken that more exact is no worse.

use super::importance::Ranking;
use super::{MakerOutcome, Makers, Plans, Redrawn, share};
use crate::stats::Estimate;

/// The share of machines that should work.
pub const ENOUGH: f64 = 0.95;
/// Errors that are made more exact together, at most.
const TOGETHER: usize = 4;
/// Steps between exact and as inexact as now: shares of the standard deviation or range, each a twentieth.
pub const STEPS: u32 = 20;
/// Trials of one number of errors, at most: none of the error, and halvings of the steps.
const TRIALS: u64 = 1 + 5;

/// What was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Exactness {
    /// The errors that were made more exact, by index, the deciding one first.
    pub errors: Vec<usize>,
    /// What they are multiplied by; `None`: even exact they do not let enough machines work.
    pub scale: Option<f64>,
    /// The share of machines that work then.
    pub share: Estimate,
}

/// How many machines [`exactness`] tries at most.
pub fn builds_to_search(plans: &Plans, outcomes: &[MakerOutcome], ranking: &Ranking) -> u64 {
    let together = ranking.deciding().count().min(TOGETHER) as u64;
    if is_enough(outcomes) || together == 0 {
        return 0;
    }
    u64::from(plans.effort().makers) * (together - 1 + TRIALS)
}

/// Searches how exact the deciding errors must be, one of them, then two and so on: what was tried of each number, the last
/// with an answer if there is one. Nothing where enough machines work already or nothing decides; `None` where `go_on` says
/// no before all is done.
pub fn exactness(
    plans: &Plans,
    outcomes: &[MakerOutcome],
    ranking: &Ranking,
    go_on: &(dyn Fn() -> bool + Sync),
) -> Option<Vec<Exactness>> {
    let mut tried = Vec::new();
    if is_enough(outcomes) {
        return Some(tried);
    }
    let deciding: Vec<usize> = ranking.deciding().map(|one| one.error).collect();
    for together in 1..=deciding.len().min(TOGETHER) {
        let errors = deciding[..together].to_vec();
        let search = MoreExact {
            plans,
            errors: &errors,
            makers: outcomes.len() as u32,
            go_on,
        };
        let exact = search.at(0)?;
        let (mut found, mut outcomes) = (None, exact);
        if is_enough(&outcomes) {
            let (step, coarsest) = search.coarsest(outcomes)?;
            (found, outcomes) = (Some(scale(step)), coarsest);
        }
        tried.push(Exactness {
            errors,
            scale: found,
            share: share(&outcomes),
        });
        if found.is_some() {
            break;
        }
    }
    Some(tried)
}

fn scale(step: u32) -> f64 {
    f64::from(step) / f64::from(STEPS)
}

/// Whether so many work that it is enough, as they stand.
pub fn is_enough(outcomes: &[MakerOutcome]) -> bool {
    share(outcomes).value.is_some_and(|value| value >= ENOUGH)
}

/// Makers who work more exactly in some things.
struct MoreExact<'a> {
    plans: &'a Plans,
    errors: &'a [usize],
    makers: u32,
    go_on: &'a (dyn Fn() -> bool + Sync),
}

impl MoreExact<'_> {
    fn at(&self, step: u32) -> Option<Vec<MakerOutcome>> {
        let mut scales = vec![1.0; self.plans.errors.len()];
        for &error in self.errors {
            scales[error] = scale(step);
        }
        let makers = Makers {
            scales,
            redrawn: Redrawn::Nothing,
        };
        let outcomes = self.plans.outcomes(self.makers, &makers, self.go_on);
        (outcomes.len() == self.makers as usize).then_some(outcomes)
    }

    /// The coarsest step at which enough work, between exact, where they do, and as now, where they do not.
    fn coarsest(&self, exact: Vec<MakerOutcome>) -> Option<(u32, Vec<MakerOutcome>)> {
        let (mut enough, mut too_coarse, mut found) = (0, STEPS, exact);
        while too_coarse - enough > 1 {
            let middle = (enough + too_coarse) / 2;
            let outcomes = self.at(middle)?;
            if is_enough(&outcomes) {
                (enough, found) = (middle, outcomes);
            } else {
                too_coarse = middle;
            }
        }
        Some((enough, found))
    }
}
