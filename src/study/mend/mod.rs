//! What to change so that a machine works, the cheapest first; of a machine that works, what would break it first.
//!
//! Single changes come first: each key is changed in either direction by more and more, until a few runs on the same random
//! numbers look right; then by as little as looks so. What looks right is put to the test on fresh runs: only what they show
//! to work is a mend, and of each key one. Where no single change is shown to work, pairs of those that did most are tried.
//!
//! **The error rate.** The runs that suggest a change and those that test it are different ones, so that only tests can
//! mislead. There are at most [`TESTS`], and each has an equal share of [`ERROR`] (Bonferroni), whether it is made or not: the
//! chance that any change at all is called a mend wrongly, or that anything is wrongly said to break the machine, is at most
//! that.

pub mod change;
mod climb;
mod trial;

pub use change::{Alteration, Changeable, Touchable, changeables};
use climb::{Climb, Climbed};
pub use trial::{MendFollower, MendStopped, MendTrials, Tested};
use trial::{Seen, keeps_flow};

use crate::findings::workable::{Criterion, Verdict, runs_needed};
use crate::machine::knobs::CostClass;
use crate::machine::model::Workable;

/// The chance that anything at all is said wrongly.
pub const ERROR: f64 = 0.05;
/// Tests of single changes, and of pairs of them.
const SINGLE: usize = 40;
const PAIRS: usize = 8;
/// All tests: of the machine as it stands, too.
pub const TESTS: usize = 1 + SINGLE + PAIRS;
/// Mends, or margins, that are shown.
pub const SHOWN: usize = 5;
/// By so many steps more where the tests do not bear out what looked right: a little more first, and far more only when every
/// change has had its turn, so that one at the edge does not spend the tests of all.
const FARTHER: [[u32; 2]; 2] = [[0, 1], [2, 4]];
/// So many changes that did most are tried together with every other.
const FIRSTS: usize = 2;

/// A change, or several together, with what the tests show of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Mend {
    /// The changes.
    pub changes: Vec<Alteration>,
    /// What the tests show.
    pub tested: Tested,
}

impl Mend {
    /// What it costs, in the maker's order of classes.
    fn cost(&self, order: &[CostClass]) -> Cost {
        cost(&self.changes, order)
    }
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct MendFound {
    /// The machine as it stands.
    pub base: Tested,
    /// What is shown to mend it, the cheapest first; of a machine that works, what is shown to break it, the nearest first.
    pub shown: Vec<Mend>,
    /// Keys that were tried.
    pub keys: usize,
    /// Changes that were tried.
    pub tried: u64,
    /// Runs in all.
    pub runs: u64,
    /// Whether somebody stopped it.
    pub stopped: bool,
}

/// The fewest runs of `hours` each that can show a change to work.
pub fn needed(workable: &Workable, hours: f64) -> u32 {
    runs_needed(workable, hours, ERROR / TESTS as f64)
}

/// How costly changes are: the dearest of them, then how many, then how costly each is beside others of its class.
type Cost = (usize, usize, (bool, u32));

fn cost(changes: &[Alteration], order: &[CostClass]) -> Cost {
    let rank = |change: &Alteration| order.iter().position(|class| *class == change.class());
    let dearest = changes.iter().filter_map(rank).max().unwrap_or(0);
    let swaps = changes.iter().any(|change| change.of.swapped.is_some());
    let steps = changes.iter().map(|change| change.steps).sum();
    (dearest, changes.len(), (swaps, steps))
}

/// The search under way.
struct MendSearch<'a> {
    trials: &'a MendTrials<'a>,
    order: &'a [CostClass],
    /// What a few runs of the machine as it stands show.
    seen: Seen,
    /// What is wrong with it.
    wrong: Vec<Criterion>,
    /// Laps in a run of it.
    flow: f64,
    shown: Vec<Mend>,
    climbed: Vec<Climbed>,
    tests: usize,
    /// Keys that were tried.
    keys: usize,
}

/// Searches for what mends the machine; where it works, for what breaks it.
///
/// # Errors
/// Where somebody stops it before anything is known of the machine as it stands.
pub fn mend(
    trials: &MendTrials,
    keys: &[Changeable],
    order: &[CostClass],
) -> Result<MendFound, MendStopped> {
    let seen = trials.look(&[])?;
    let Seen::Runs { judgement, .. } = &seen else {
        return Err(MendStopped);
    };
    let wrong = judgement.results.iter().filter(|result| !result.likely);
    let wrong = wrong.map(|result| result.criterion).collect();
    let Some(base) = trials.test(&[])? else {
        return Err(MendStopped);
    };
    let mut search = MendSearch {
        trials,
        order,
        flow: base.flow(),
        wrong,
        seen,
        shown: Vec::new(),
        climbed: Vec::new(),
        tests: SINGLE,
        keys: 0,
    };
    let stopped = match base.judgement.verdict() {
        // Nothing that is tried could be shown.
        _ if trials.too_few() => Ok(()),
        // It seems to work: what it wants is more runs, not a mend.
        Verdict::Unsure if base.judgement.likely() => Ok(()),
        Verdict::Met => search.margins(keys),
        _ => search.mends(keys),
    };
    let (tried, runs) = trials.effort();
    Ok(MendFound {
        base,
        shown: search.shown,
        keys: search.keys,
        tried,
        runs,
        stopped: stopped.is_err(),
    })
}

impl MendSearch<'_> {
    fn mends(&mut self, keys: &[Changeable]) -> Result<(), MendStopped> {
        for (n, class) in self.order.iter().enumerate() {
            // Dearer classes keep their share of tests: a few changes at the edge would else spend all.
            let left = self.tests - self.tests.div_ceil(self.order.len() - n);
            let climbed = self.class(keys, *class, (Verdict::Met, left))?;
            if self.shown.len() >= SHOWN {
                return Ok(());
            }
            self.climbed.extend(climbed);
        }
        if self.shown.is_empty() {
            self.tests = PAIRS;
            self.pairs(keys)?;
        }
        Ok(())
    }

    /// The nearest changes of each key that are shown to break the machine.
    fn margins(&mut self, keys: &[Changeable]) -> Result<(), MendStopped> {
        for class in self.order {
            self.class(keys, *class, (Verdict::Broken, 0))?;
            if self.shown.len() >= SHOWN {
                break;
            }
        }
        self.shown.sort_by_key(|one| one.changes[0].steps);
        Ok(())
    }

    /// The keys of one class, farther and farther, until as many changes are shown as there may be, or only so many tests are
    /// `left`; returns those that did most of what never looked as wanted.
    fn class(
        &mut self,
        keys: &[Changeable],
        class: CostClass,
        (wanted, left): (Verdict, usize),
    ) -> Result<Vec<Climbed>, MendStopped> {
        let of_class = keys.iter().filter(|key| key.knob.class == class);
        let of_class: Vec<Changeable> = of_class.cloned().collect();
        self.keys += of_class.len();
        let foot = self.foot(&[], &self.seen, wanted == Verdict::Met);
        let mut climb = Climb::new(&of_class, &foot);
        loop {
            let right = self.climb_on(&mut climb, &foot)?;
            if right.is_empty() {
                break;
            }
            self.test_all(right, (wanted, left))?;
            if self.is_enough(left) {
                break;
            }
        }
        Ok(climb.rest())
    }

    /// Tests changes, and farther ones along their ladders, until each is shown to be as `wanted`, or it is enough.
    fn test_all(
        &mut self,
        mut open: Vec<Climbed>,
        (wanted, left): (Verdict, usize),
    ) -> Result<(), MendStopped> {
        for round in FARTHER {
            let mut still_open = Vec::new();
            for one in open {
                let settled = wanted == Verdict::Met && self.is_mended_by(&one.change.of.key);
                if !settled && !self.test_ladder(&one.change, (round, wanted, left))? {
                    still_open.push(one);
                }
            }
            open = still_open;
        }
        Ok(())
    }

    /// Whether a change of that key is shown: one the other way would be no other thing to do, but another's place taken.
    fn is_mended_by(&self, key: &str) -> bool {
        let mut changes = self.shown.iter().flat_map(|mend| &mend.changes);
        changes.any(|change| change.of.key == key)
    }

    /// Whether as many changes are shown as there may be, or only so many tests are `left`.
    fn is_enough(&self, left: usize) -> bool {
        self.shown.len() >= SHOWN || self.tests <= left
    }

    /// Tests a change by so many steps more along its ladder; whether one of them is shown to be as `wanted`.
    fn test_ladder(
        &mut self,
        change: &Alteration,
        (farther, wanted, left): ([u32; 2], Verdict, usize),
    ) -> Result<bool, MendStopped> {
        let ladder = change.ladder();
        for more in farther {
            if self.is_enough(left) {
                return Ok(false);
            }
            let Some(change) = ladder.change(change.steps + more) else {
                return Ok(false);
            };
            if self.test(vec![change], wanted)? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Tests changes together; whether that shows `wanted`. Nothing is tested any more when all tests are spent.
    fn test(&mut self, changes: Vec<Alteration>, wanted: Verdict) -> Result<bool, MendStopped> {
        if self.tests == 0 {
            return Ok(false);
        }
        let Some(tested) = self.trials.test(&changes)? else {
            return Ok(false);
        };
        self.tests -= 1;
        let enough = wanted != Verdict::Met || keeps_flow(tested.flow(), self.flow);
        let shown = enough && tested.judgement.verdict() == wanted;
        if shown {
            self.shown.push(Mend { changes, tested });
            let order = self.order;
            self.shown.sort_by_key(|mend| mend.cost(order));
        }
        Ok(shown)
    }

    /// The changes that did most, each with every other change, by as little as looks right.
    fn pairs(&mut self, keys: &[Changeable]) -> Result<(), MendStopped> {
        let mut right: Vec<Vec<Alteration>> = Vec::new();
        for first in self.firsts() {
            if right.len() < SHOWN {
                right.extend(self.with_another(&first, keys)?);
            }
        }
        let order = self.order;
        right.sort_by_key(|changes| cost(changes, order));
        for changes in right {
            self.test(changes, Verdict::Met)?;
            if self.shown.len() >= SHOWN {
                break;
            }
        }
        Ok(())
    }

    /// The change that came nearest to what is good enough, and the one that mended most of what was wrong at first, whatever
    /// else it broke.
    fn firsts(&mut self) -> Vec<Alteration> {
        let mut tried = std::mem::take(&mut self.climbed);
        tried.sort_by(|a, b| a.off_at_first.total_cmp(&b.off_at_first));
        let mut firsts: Vec<Alteration> = Vec::new();
        firsts.extend(tried.first().map(|one| one.change.clone()));
        tried.sort_by(|a, b| a.off.total_cmp(&b.off));
        for one in tried {
            if firsts.len() < FIRSTS && firsts.iter().all(|first| first.of.key != one.change.of.key)
            {
                firsts.push(one.change);
            }
        }
        firsts
    }

    /// A change together with each other one after which the machine looks right, both made as small as they may be.
    fn with_another(
        &self,
        first: &Alteration,
        keys: &[Changeable],
    ) -> Result<Vec<Vec<Alteration>>, MendStopped> {
        let others = std::slice::from_ref(first);
        let foot = self.foot(others, &self.trials.look(others)?, true);
        let rest = keys.iter().filter(|key| key.key != first.of.key);
        let rest: Vec<Changeable> = rest.cloned().collect();
        let mut pairs = Vec::new();
        for second in self.climb_on(&mut Climb::new(&rest, &foot), &foot)? {
            let others = std::slice::from_ref(&second.change);
            let foot = self.foot(others, &Seen::Impossible, true);
            if let Some(less) = self.least(&first.ladder(), &foot, 0..first.steps)? {
                pairs.push(vec![less.change, second.change.clone()]);
            }
        }
        Ok(pairs)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine::model::Unset;

    /// ln(0.05 / tests) / ln 0.95, where some jams are allowed at least -ln(0.05 / tests) * 8 / hours of one an eight hours.
    #[test]
    fn so_many_runs_show_that_a_change_mends() {
        let workable = |jams_per_8h| Workable {
            least_fill: 0.0,
            jams_per_8h,
            spills: 0,
            backlog: Vec::new(),
            unset: Unset::default(),
        };
        let chances = libm::log(TESTS as f64 / 0.05);
        let never = (chances / -libm::log(0.95)).ceil() as u32;
        assert_eq!(needed(&workable(0.0), 1.0), never);
        assert_eq!(needed(&workable(1.0), 0.1), (80.0 * chances).ceil() as u32);
    }
}
