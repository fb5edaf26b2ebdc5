//! Which error decides: in how many machines the answer turns where it alone is drawn anew.
//!
//! That share, over twice the variance of "it works" over makers, is the error's total Sobol' index, which counts what it
//! does alone and together with others; the first-order index, what it does alone, is known less well from as few makers
//! and stands beside it. Other runs of the very same machine are tried too: what turns as seldom as with these is chance.

use super::{MakerOutcome, Makers, Plans, Redrawn};
use crate::findings::summary::LEVEL;
use crate::stats::Estimate;
use crate::stats::importance::{SobolIndices, SobolSample};
use crate::stats::proportion::wilson;

/// Makers whose errors are drawn anew one at a time, at most: there are many errors.
pub const RANKED_MAKERS: u32 = 100;

/// What one error does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Importance {
    /// Its index among the errors.
    pub error: usize,
    /// Share of machines in which the answer turns where it alone is drawn anew.
    pub turns: Estimate,
    /// Its Sobol' indices.
    pub indices: SobolIndices,
}

/// What every error does.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranking {
    /// Makers that were tried.
    pub makers: u32,
    /// The errors, the one that turns most answers first.
    pub errors: Vec<Importance>,
    /// Share of machines in which the answer turns with other runs alone.
    pub by_chance: Estimate,
}

impl Ranking {
    /// The errors that turn more answers than other runs do, beyond the doubt that so few makers leave.
    pub fn deciding(&self) -> impl Iterator<Item = &Importance> {
        let chance = self.by_chance.value.unwrap_or(0.0);
        self.errors
            .iter()
            .filter(move |one| one.turns.low.unwrap_or(0.0) > chance)
    }
}

/// How many machines [`rank`] tries.
pub fn builds_to_rank(plans: &Plans, outcomes: &[MakerOutcome]) -> u64 {
    if outcomes.iter().all(MakerOutcome::works) {
        return 0;
    }
    ranked_makers(outcomes.len()) as u64 * (plans.errors.len() as u64 + 2)
}

fn ranked_makers(makers: usize) -> usize {
    makers.min(RANKED_MAKERS as usize)
}

/// Ranks the errors by what they do to machines of which `outcomes` are known, none of them where all work; `None` where `go_on` says no before all is
/// done. It is called once a machine.
pub fn rank(
    plans: &Plans,
    outcomes: &[MakerOutcome],
    go_on: &(dyn Fn() -> bool + Sync),
) -> Option<Ranking> {
    let many = ranked_makers(outcomes.len());
    if outcomes.iter().all(MakerOutcome::works) {
        return Some(Ranking {
            makers: many as u32,
            errors: Vec::new(),
            by_chance: Estimate::unknown(),
        });
    }
    let known = works(&outcomes[..many]);
    let redrawn = |redrawn: Redrawn| {
        let makers = Makers {
            redrawn,
            ..plans.makers()
        };
        let outcomes = plans.outcomes(many as u32, &makers, go_on);
        (outcomes.len() == many).then(|| works(&outcomes))
    };
    let second = redrawn(Redrawn::Errors)?;
    let other_runs = redrawn(Redrawn::Runs)?;
    let mut errors = Vec::new();
    for error in 0..plans.errors.len() {
        let one_redrawn = redrawn(Redrawn::Error(error))?;
        let sample = SobolSample {
            first: &known,
            second: &second,
            one_redrawn: &one_redrawn,
        };
        errors.push(Importance {
            error,
            turns: turned(&known, &one_redrawn),
            indices: sample.indices(LEVEL),
        });
    }
    // A stable sort: of equals the first in the list of errors comes first.
    let turns = |one: &Importance| one.turns.value.unwrap_or(0.0);
    errors.sort_by(|one, other| turns(other).total_cmp(&turns(one)));
    Some(Ranking {
        makers: many as u32,
        errors,
        by_chance: turned(&known, &other_runs),
    })
}

fn works(outcomes: &[MakerOutcome]) -> Vec<f64> {
    let one = |outcome: &MakerOutcome| if outcome.works() { 1.0 } else { 0.0 };
    outcomes.iter().map(one).collect()
}

fn turned(known: &[f64], other: &[f64]) -> Estimate {
    let turned = known
        .iter()
        .zip(other)
        .filter(|(one, other)| one != other)
        .count();
    wilson(turned as u64, known.len() as u64, LEVEL)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turns(value: f64, low: f64) -> Estimate {
        Estimate {
            value: Some(value),
            low: Some(low),
            high: None,
        }
    }

    /// What turns surely more answers than other runs do decides; what turns as many, or more but perhaps by chance, does not.
    #[test]
    fn what_turns_more_than_chance_decides() {
        let known = [1.0, 0.0, 1.0, 0.0];
        let sample = SobolSample {
            first: &known,
            second: &known,
            one_redrawn: &known,
        };
        let one = |(error, turns)| Importance {
            error,
            turns,
            indices: sample.indices(LEVEL),
        };
        let all = [
            turns(0.4, 0.2),
            turns(0.3, 0.1),
            turns(0.3, 0.09),
            Estimate::unknown(),
        ];
        let ranking = Ranking {
            makers: 4,
            errors: all.into_iter().enumerate().map(one).collect(),
            by_chance: turns(0.1, 0.0),
        };
        let deciding: Vec<usize> = ranking.deciding().map(|one| one.error).collect();
        assert_eq!(deciding, [0]);
    }

    #[test]
    fn turns_are_counted_machine_by_machine() {
        let found = turned(&[1.0, 0.0, 1.0, 0.0], &[1.0, 1.0, 0.0, 0.0]);
        assert_eq!(found, wilson(2, 4, LEVEL));
        assert_eq!(found.value, Some(0.5));
    }
}
