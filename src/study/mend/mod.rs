//! What to change so that a machine works, the cheapest first; of a machine that works, what would break it first.
//!
//! Single changes come first: each key is changed in either direction by more and more, until a few runs on the same random
//! numbers look right; then by as little as looks so. What looks right is put to the test on fresh runs: only what they show
//! to work is a mend. Where no single change is shown to work, pairs of those that did most are tried.
//!
//! **The error rate.** The runs that suggest a change and those that test it are different ones, so that only tests can
//! mislead. There are at most [`TESTS`], and each has an equal share of [`ERROR`] (Bonferroni), whether it is made or not: the
//! chance that any change at all is called a mend wrongly, or that anything is wrongly said to break the machine, is at most
//! that.

pub mod change;
mod trial;

use std::ops::Range;

use rayon::prelude::*;

pub use change::{Alteration, Changeable, Ladder, Touchable, changeables};
use trial::Seen;
pub use trial::{MendFollower, MendStopped, MendTrials, Tested};

use crate::findings::RunFigures;
use crate::findings::workable::{Verdict, runs_needed};
use crate::machine::knobs::CostClass;
use crate::machine::model::Workable;

/// The chance that anything at all is said wrongly.
pub const ERROR: f64 = 0.05;
/// Tests of single changes, and of pairs of them.
const SINGLE: usize = 24;
const PAIRS: usize = 8;
/// All tests: of the machine as it stands, too.
pub const TESTS: usize = 1 + SINGLE + PAIRS;
/// Mends, or margins, that are shown.
pub const SHOWN: usize = 5;
/// By so many steps a key is changed first, until it looks right.
const COARSE: [u32; 4] = [2, 6, 18, 54];
/// With so many mends in hand, dearer changes are not searched any more.
const ENOUGH: usize = 2;
/// By so many steps more where the tests do not bear out what looked right.
const FARTHER: [u32; 4] = [0, 1, 2, 4];
/// The changes that did most are tried in pairs.
const BEST: usize = 6;

/// A change, or several together, with what the tests show of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Mend {
    /// The changes.
    pub changes: Vec<Alteration>,
    /// What the tests show.
    pub tested: Tested,
}

impl Mend {
    /// The dearest of its changes, in the maker's order.
    fn cost(&self, order: &[CostClass]) -> (usize, usize, u32) {
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
    /// Keys that could be changed.
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

/// How costly changes are: the dearest of them, then how many, then how large.
fn cost(changes: &[Alteration], order: &[CostClass]) -> (usize, usize, u32) {
    let rank = |change: &Alteration| order.iter().position(|class| *class == change.class());
    let dearest = changes.iter().filter_map(rank).max().unwrap_or(0);
    let steps = changes.iter().map(|change| change.steps).sum();
    (dearest, changes.len(), steps)
}

/// What a ladder came to: the least change that looks right, or the one that did most.
#[derive(Clone, Debug)]
struct Climbed {
    change: Alteration,
    right: bool,
    /// How far off it is; 0 where it looks right.
    off: f64,
}

/// How far one ladder has been climbed.
struct Rungs<'a> {
    ladder: Ladder<'a>,
    before: u32,
    best: Option<Climbed>,
    open: bool,
}

impl<'a> Rungs<'a> {
    fn new(ladder: Ladder<'a>) -> Self {
        Rungs {
            ladder,
            before: 0,
            best: None,
            open: true,
        }
    }
}

/// The search under way.
struct MendSearch<'a> {
    trials: &'a MendTrials<'a>,
    order: &'a [CostClass],
    base_off: f64,
    /// The first runs of the machine as it stands.
    first: Vec<RunFigures>,
    shown: Vec<Mend>,
    climbed: Vec<Climbed>,
    tests: usize,
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
    let (base_off, first) = match trials.look(&[])? {
        Seen::Runs { off, first, .. } => (off, first),
        Seen::Impossible => (f64::INFINITY, Vec::new()),
    };
    let Some(base) = trials.test(&[])? else {
        return Err(MendStopped);
    };
    let mut search = MendSearch {
        trials,
        order,
        base_off,
        first,
        shown: Vec::new(),
        climbed: Vec::new(),
        tests: SINGLE,
    };
    let stopped = match base.judgement.verdict() {
        Verdict::Met => search.margins(keys),
        _ => search.mends(keys),
    };
    let (tried, runs) = trials.effort();
    Ok(MendFound {
        base,
        shown: search.shown,
        keys: keys.len(),
        tried,
        runs,
        stopped: stopped.is_err(),
    })
}

impl MendSearch<'_> {
    fn mends(&mut self, keys: &[Changeable]) -> Result<(), MendStopped> {
        for class in self.order {
            let of_class = keys.iter().filter(|key| key.knob.class == *class);
            let of_class: Vec<Changeable> = of_class.cloned().collect();
            let mut climbed = self.climb_all(&of_class, true)?;
            climbed.sort_by_key(|one| one.change.steps);
            for one in climbed.iter().filter(|one| one.right) {
                let ladder = one.change.ladder();
                self.test_ladder(&ladder, &one.change, Verdict::Met)?;
                if self.shown.len() >= SHOWN {
                    return Ok(());
                }
            }
            if self.shown.len() >= ENOUGH {
                return Ok(());
            }
            self.climbed.extend(climbed);
        }
        if self.shown.is_empty() {
            self.tests = PAIRS;
            self.pairs()?;
        }
        Ok(())
    }

    /// The nearest change of each key that is shown to break the machine.
    fn margins(&mut self, keys: &[Changeable]) -> Result<(), MendStopped> {
        let mut climbed = self.climb_all(keys, false)?;
        climbed.retain(|one| one.right);
        climbed.sort_by_key(|one| (one.change.steps, one.change.class()));
        for one in &climbed {
            if self.shown.len() >= SHOWN {
                break;
            }
            let ladder = one.change.ladder();
            self.test_ladder(&ladder, &one.change, Verdict::Broken)?;
        }
        self.shown.sort_by_key(|one| one.changes[0].steps);
        Ok(())
    }

    /// Every key in either direction, all of them by as many steps at a time: the changes after which the machine looks as if it
    /// `works`, or as if it does not, and of other keys those that did most. When enough are right, nobody goes farther.
    fn climb_all(&self, keys: &[Changeable], works: bool) -> Result<Vec<Climbed>, MendStopped> {
        let mut open: Vec<Rungs> = Ladder::all(keys).into_iter().map(Rungs::new).collect();
        let mut right = Vec::new();
        for steps in COARSE {
            let climbed: Result<Vec<Option<Climbed>>, MendStopped> = open
                .par_iter_mut()
                .map(|rungs| self.climb(rungs, steps, works))
                .collect();
            right.extend(climbed?.into_iter().flatten());
            if right.len() >= SHOWN {
                break;
            }
        }
        let found = |key: &str| right.iter().any(|one: &Climbed| one.change.of.key == key);
        let rest = open.into_iter().filter_map(|rungs| rungs.best);
        let mut rest: Vec<Climbed> = rest.collect();
        rest.retain(|one| !found(&one.change.of.key));
        right.extend(rest);
        Ok(right)
    }

    /// One ladder up to so many steps; the least change that looks as wanted, if it has come to that.
    fn climb(
        &self,
        rungs: &mut Rungs,
        steps: u32,
        works: bool,
    ) -> Result<Option<Climbed>, MendStopped> {
        if !rungs.open {
            return Ok(None);
        }
        let possible = |steps: &u32| self.trials.is_machine(rungs.ladder.change(*steps));
        let Some(farthest) = (rungs.before + 1..=steps).rev().find(possible) else {
            rungs.open = false;
            return Ok(None);
        };
        let Some(change) = rungs.ladder.change(farthest) else {
            return Ok(None);
        };
        let Seen::Runs { likely, off, first } = self.trials.look(&[change.clone()])? else {
            return Ok(None);
        };
        // A key that changes nothing in any run is one that nothing goes by.
        rungs.open = farthest == steps && first != self.first;
        if likely == works {
            rungs.open = false;
            return self.least(&rungs.ladder, &[], rungs.before..farthest, works);
        }
        if rungs.best.as_ref().is_none_or(|best| off < best.off) {
            rungs.best = Some(Climbed {
                change,
                right: false,
                off,
            });
        }
        rungs.before = farthest;
        Ok(None)
    }

    /// The least change along a ladder that looks as if it `works`, or does not, as the last one of `between` looks and the
    /// first one does not.
    fn least(
        &self,
        ladder: &Ladder,
        others: &[Alteration],
        between: Range<u32>,
        works: bool,
    ) -> Result<Option<Climbed>, MendStopped> {
        let (mut low, mut high) = (between.start, between.end);
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            let likely = match ladder.change(middle) {
                Some(change) => self.trials.look(&beside(others, &change))?.likely(),
                None => None,
            };
            if likely == Some(works) {
                high = middle;
            } else {
                low = middle;
            }
        }
        Ok(ladder.change(high).map(|change| Climbed {
            change,
            right: true,
            off: 0.0,
        }))
    }

    /// Tests a change, and farther ones along its ladder, until the tests show `wanted`.
    fn test_ladder(
        &mut self,
        ladder: &Ladder,
        from: &Alteration,
        wanted: Verdict,
    ) -> Result<(), MendStopped> {
        for more in FARTHER {
            let Some(change) = ladder.change(from.steps + more) else {
                break;
            };
            if self.test(vec![change], wanted)? {
                break;
            }
        }
        Ok(())
    }

    /// Tests changes together; whether that shows `wanted`. Nothing is tested any more when all tests are spent.
    fn test(&mut self, changes: Vec<Alteration>, wanted: Verdict) -> Result<bool, MendStopped> {
        if self.tests == 0 {
            return Ok(false);
        }
        self.tests -= 1;
        let Some(tested) = self.trials.test(&changes)? else {
            return Ok(false);
        };
        let shown = tested.judgement.verdict() == wanted;
        if shown {
            self.shown.push(Mend { changes, tested });
            let order = self.order;
            self.shown.sort_by_key(|mend| mend.cost(order));
        }
        Ok(shown)
    }

    /// The changes that did most, two at a time: each pair by as little as looks right.
    fn pairs(&mut self) -> Result<(), MendStopped> {
        let mut best = std::mem::take(&mut self.climbed);
        let base = self.base_off;
        best.retain(|one| one.right || one.off < base);
        best.sort_by(|a, b| a.off.total_cmp(&b.off));
        best.truncate(BEST);
        let mut right: Vec<Vec<Alteration>> = Vec::new();
        for (n, first) in best.iter().enumerate() {
            for second in &best[n + 1..] {
                if right.len() < SHOWN && first.change.of.key != second.change.of.key {
                    right.extend(self.pair(&first.change, &second.change)?);
                }
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

    /// Two changes together, made as small as they may be, where they look right.
    fn pair(
        &self,
        first: &Alteration,
        second: &Alteration,
    ) -> Result<Option<Vec<Alteration>>, MendStopped> {
        let both = [first.clone(), second.clone()];
        if self.trials.look(&both)?.likely() != Some(true) {
            return Ok(None);
        }
        let beside_first = std::slice::from_ref(first);
        let all = 0..second.steps;
        let Some(less) = self.least(&second.ladder(), beside_first, all, true)? else {
            return Ok(None);
        };
        let beside_second = std::slice::from_ref(&less.change);
        let all = 0..first.steps;
        let other = self.least(&first.ladder(), beside_second, all, true)?;
        Ok(other.map(|other| vec![other.change, less.change]))
    }
}

fn beside(others: &[Alteration], change: &Alteration) -> Vec<Alteration> {
    let mut all = others.to_vec();
    all.push(change.clone());
    all
}
