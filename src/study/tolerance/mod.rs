//! Of so many makers who build a plan, how many have a machine that works.
//!
//! Each maker's workshop errs in its own way, and has its own friction: all that [`build_errors`] names is drawn once a maker
//! and holds for that machine's life. What differs from marble to marble and from event to event is drawn in its runs, as
//! everywhere. A draw belongs to seed, maker and error, so that one error more changes no other's draws. Makers have runs of
//! their own, numbered on from maker to maker, so that they are independent and their share is a binomial one.
//!
//! A maker's machine **works** if its few runs, as they stand, keep to everything in `workable` ([`crate::findings::workable::Judgement::likely`]): of
//! what must not happen at all, none may be seen in fewer than twenty runs. A machine at the very edge may be misjudged
//! either way; that is part of the noise that [`importance`] tells apart by giving makers other runs.
//!
//! Wheels, floors and bowls are not looked at for each maker: see [`super::interpolated`].

pub mod exactness;
pub mod importance;

use rayon::prelude::*;

use self::exactness::{Exactness, builds_to_search, exactness};
use self::importance::{Ranking, builds_to_rank, rank};
use super::interpolated::Interpolated;
use super::interpolated::design::design;
use super::repeat::{Study, run_watched};
use crate::circuit::quantile::normal;
use crate::engine::streams::stream;
use crate::findings::RunFigures;
use crate::findings::summary::LEVEL;
use crate::findings::workable::{Criterion, judge};
use crate::machine::Machine;
use crate::machine::build_error::{BuildError, BuildErrorLaw, build_errors, drawn_once};
use crate::stats::Estimate;
use crate::stats::latin_hypercube::unit;
use crate::stats::proportion::wilson;

/// Machines that are looked at closely: enough to find the few numbers of some twenty that decide.
const LOOKS: usize = 96;
/// The first of the runs that makers have where everything but their machine is drawn anew.
const OTHER_RUNS: u32 = 1 << 31;
/// Makers that are followed before somebody is asked whether to go on.
const TOGETHER: usize = 64;

/// How much is tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToleranceEffort {
    /// How many makers.
    pub makers: u32,
    /// Runs of each maker's machine.
    pub runs: u32,
    /// The seed, and the machine time of each run.
    pub study: Study,
}

/// A plan, all in which its builds differ, and what close looks tell of them.
#[derive(Clone, Debug)]
pub struct Plans {
    plan: Machine,
    /// All in which builds differ.
    pub errors: Vec<BuildError>,
    /// What was seen of a few builds.
    pub table: Interpolated,
    effort: ToleranceEffort,
}

/// What became of a maker's machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MakerOutcome {
    /// What goes wrong, the gravest of it; `None`: it works.
    pub wrong: Option<Criterion>,
}

/// What of a maker is drawn anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Redrawn {
    /// Nothing.
    Nothing,
    /// One error.
    Error(usize),
    /// All errors.
    Errors,
    /// The runs.
    Runs,
}

/// Makers who are tried: how exactly they work, and what is drawn anew of each.
#[derive(Clone, Debug)]
pub struct Makers {
    /// What each error is multiplied by.
    pub scales: Vec<f64>,
    /// What is drawn anew.
    pub redrawn: Redrawn,
}

/// What was found; what was not done before somebody stopped it is `None`.
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerance {
    /// What became of each maker's machine.
    pub outcomes: Vec<MakerOutcome>,
    /// What each error does.
    pub ranking: Option<Ranking>,
    /// How exact the deciding ones must be.
    pub exactness: Option<Vec<Exactness>>,
}

impl Tolerance {
    /// Whether all was done.
    pub fn is_complete(&self) -> bool {
        self.exactness.is_some()
    }
}

impl MakerOutcome {
    /// Whether the machine works.
    pub fn works(&self) -> bool {
        self.wrong.is_none()
    }
}

impl Plans {
    /// Looks closely at a few builds of `machine`.
    pub fn of(machine: &Machine, effort: ToleranceEffort) -> Plans {
        let plan = drawn_once(machine);
        let errors = build_errors(machine);
        let few = design(&plan, &errors, LOOKS);
        Plans {
            table: Interpolated::of(&few),
            plan,
            errors,
            effort,
        }
    }

    /// Makes the machines of all makers, finds what decides and how exact it must be. `planned` hears of machines about to be
    /// made, at most; `go_on` is asked once a machine.
    pub fn study(&self, planned: impl Fn(u64), go_on: &(dyn Fn() -> bool + Sync)) -> Tolerance {
        let makers = self.effort.makers;
        planned(u64::from(makers));
        let outcomes = self.outcomes(makers, &self.makers(), go_on);
        let mut found = Tolerance {
            ranking: None,
            exactness: None,
            outcomes,
        };
        if found.outcomes.len() == makers as usize {
            planned(builds_to_rank(self, &found.outcomes));
            found.ranking = rank(self, &found.outcomes, go_on);
        }
        if let Some(ranking) = &found.ranking {
            planned(builds_to_search(self, &found.outcomes, ranking));
            found.exactness = exactness(self, &found.outcomes, ranking, go_on);
        }
        found
    }

    /// The plan that all build.
    pub fn plan(&self) -> &Machine {
        &self.plan
    }

    /// What is tried.
    pub fn effort(&self) -> ToleranceEffort {
        self.effort
    }

    /// Makers who work as exactly as the file says.
    pub fn makers(&self) -> Makers {
        Makers {
            scales: vec![1.0; self.errors.len()],
            redrawn: Redrawn::Nothing,
        }
    }

    /// What each error amounts to at a maker.
    pub fn amounts(&self, maker: u32, makers: &Makers) -> Vec<f64> {
        let mut amounts = Vec::new();
        for (n, error) in self.errors.iter().enumerate() {
            let anew = match makers.redrawn {
                Redrawn::Error(one) => one == n,
                Redrawn::Errors => true,
                Redrawn::Nothing | Redrawn::Runs => false,
            };
            let name = format!("build\0{}{}", error.key, if anew { "\0again" } else { "" });
            let mut random = stream(self.effort.study.seed, u64::from(maker), &name);
            amounts.push(amount(error.law, unit(&mut random), makers.scales[n]));
        }
        amounts
    }

    /// The machine of a maker.
    pub fn built(&self, maker: u32, makers: &Makers) -> Machine {
        let mut machine = self.plan.clone();
        for (error, amount) in self.errors.iter().zip(self.amounts(maker, makers)) {
            error.apply(&mut machine, amount);
        }
        machine
    }

    /// The number of the first run of a maker.
    pub fn first_run(&self, maker: u32, redrawn: Redrawn) -> u32 {
        let first = maker * self.effort.runs;
        match redrawn {
            Redrawn::Runs => OTHER_RUNS + first,
            _ => first,
        }
    }

    /// What becomes of one maker's machine.
    pub fn outcome(&self, maker: u32, makers: &Makers) -> MakerOutcome {
        let machine = self.built(maker, makers);
        let circuit = self.table.circuit(&machine);
        let first = self.first_run(maker, makers.redrawn);
        let runs: Vec<RunFigures> = (first..first + self.effort.runs)
            .map(|run| run_watched(&circuit, &self.effort.study, run, &mut ()))
            .collect();
        let judgement = judge(&circuit, &machine.workable, &runs, LEVEL);
        let mut wrong = judgement.results.iter().filter(|result| !result.likely);
        MakerOutcome {
            wrong: wrong.next().map(|result| result.criterion),
        }
    }

    /// What becomes of the machines of the first so many makers, in order; fewer where `go_on` says no before all are done.
    /// It is called once a maker.
    pub fn outcomes(
        &self,
        many: u32,
        makers: &Makers,
        go_on: &(dyn Fn() -> bool + Sync),
    ) -> Vec<MakerOutcome> {
        let mut all = Vec::new();
        for first in (0..many).step_by(TOGETHER) {
            let last = (first + TOGETHER as u32).min(many);
            let one = |maker: u32| go_on().then(|| self.outcome(maker, makers));
            let some: Vec<Option<MakerOutcome>> = (first..last).into_par_iter().map(one).collect();
            let done = some.iter().take_while(|outcome| outcome.is_some()).count();
            all.extend(some.into_iter().take(done).flatten());
            if done < (last - first) as usize {
                break;
            }
        }
        all
    }
}

fn amount(law: BuildErrorLaw, drawn: f64, scale: f64) -> f64 {
    match law {
        BuildErrorLaw::Normal { sd } => sd * scale * normal(drawn),
        BuildErrorLaw::Uniform { low, high, usual } => {
            usual + scale * (low + drawn * (high - low) - usual)
        }
    }
}

/// The share of machines that work, with Wilson's interval.
pub fn share(outcomes: &[MakerOutcome]) -> Estimate {
    let works = outcomes.iter().filter(|outcome| outcome.works()).count();
    wilson(works as u64, outcomes.len() as u64, LEVEL)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_is_as_large_as_its_law_and_scale_say() {
        let normal = BuildErrorLaw::Normal { sd: 0.2 };
        let of_normal = |drawn, scale| amount(normal, drawn, scale);
        // A standard normal number is below 1.959964 in 97.5 % of cases.
        assert!(of_normal(0.5, 3.0).abs() < 1e-12);
        assert!((of_normal(0.975, 1.0) - 0.2 * 1.959964).abs() < 1e-6);
        assert!((of_normal(0.025, 0.5) + 0.1 * 1.959964).abs() < 1e-6);
        let uniform = BuildErrorLaw::Uniform {
            low: 2.0,
            high: 6.0,
            usual: 3.0,
        };
        // With a scale of 1 the whole range, with less as much less about what is usual.
        assert_eq!(amount(uniform, 0.25, 1.0), 3.0);
        assert_eq!(amount(uniform, 0.75, 1.0), 5.0);
        assert_eq!(amount(uniform, 0.75, 0.5), 4.0);
        assert_eq!(amount(uniform, 0.0, 0.5), 2.5);
        assert_eq!(amount(uniform, 0.75, 0.0), 3.0);
    }
}
