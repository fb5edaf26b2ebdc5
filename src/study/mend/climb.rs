//! One key at a time, in one direction, by more and more, until a few runs look right; then by as little as looks so.

use std::ops::Range;

use rayon::prelude::*;

use super::change::{Alteration, Changeable, Ladder};
use super::trial::{FARTHEST, MendStopped, Seen, keeps_flow, off};
use super::{MendSearch, SHOWN};
use crate::findings::RunFigures;
use crate::findings::workable::Criterion;
use crate::machine::knobs::CostClass;

/// By so many steps a key is changed first, until it looks right: finer and farther where that costs nothing but a hand.
const TURNED: &[u32] = &[2, 4, 6, 9, 12, 18, 24, 36, 54, 81, 121];
const CUT: &[u32] = &[2, 6, 12, 18];
/// Twice as much or half as much, and then four times or a quarter, where that is farther still.
const FAR: [(f64, f64); 2] = [(1.0, 0.5), (3.0, 0.75)];
/// Where a key made things worse so often from one rung to the next, nobody goes on in that direction.
const WORSE: u32 = 3;
/// What a ladder came to: the least change that looks right, or the one that did most.
#[derive(Clone, Debug)]
pub(super) struct Climbed {
    /// The change.
    pub(super) change: Alteration,
    /// How far off it is, all criteria together, and those alone that are wrong with the machine as it stands.
    pub(super) off: f64,
    pub(super) off_at_first: f64,
}

/// From where ladders are climbed.
pub(super) struct Foot<'a> {
    /// What is changed already.
    others: &'a [Alteration],
    /// The first runs of that.
    first: Vec<RunFigures>,
    /// What is wrong with it, and how far off it is.
    wrong: Vec<Shortfall>,
    off: f64,
    /// Whether a change is wanted after which the machine works, or one after which it does not.
    works: bool,
}

/// What keeps a machine from working: a criterion, or that too few laps are left.
type Shortfall = Option<Criterion>;

/// How far one ladder has been climbed.
struct Rungs<'a> {
    ladder: Ladder<'a>,
    steps: Vec<u32>,
    before: u32,
    /// What was wrong there.
    wrong: Vec<Shortfall>,
    best: Option<Climbed>,
    /// How far off it was there, and how often it had grown.
    off: f64,
    worse: u32,
    open: bool,
}

impl<'a> Rungs<'a> {
    fn new(ladder: Ladder<'a>, foot: &Foot) -> Self {
        let mut steps = match ladder.of.knob.class {
            CostClass::Turn => TURNED.to_vec(),
            _ => CUT.to_vec(),
        };
        for (more, less) in FAR {
            let times = if ladder.more { more } else { less };
            let far = ladder.steps_of_all().map_or(0.0, |all| times * all);
            let last = steps.last().copied().unwrap_or(0);
            if far.floor() > f64::from(last) {
                steps.push(far.floor() as u32);
            }
        }
        Rungs {
            ladder,
            steps,
            before: 0,
            wrong: foot.wrong.clone(),
            best: None,
            off: foot.off,
            worse: 0,
            open: true,
        }
    }
}

/// Keys on their way up, all on the same rung.
pub(super) struct Climb<'a> {
    ladders: Vec<Rungs<'a>>,
    rung: usize,
    /// Keys that came to a change that looks as wanted.
    right: Vec<String>,
}

impl<'a> Climb<'a> {
    pub(super) fn new(keys: &'a [Changeable], foot: &Foot) -> Self {
        let ladders = Ladder::all(keys).into_iter();
        Climb {
            ladders: ladders.map(|ladder| Rungs::new(ladder, foot)).collect(),
            rung: 0,
            right: Vec::new(),
        }
    }

    /// Of the keys of which no change looks as wanted, the one that did most.
    pub(super) fn rest(self) -> Vec<Climbed> {
        let right = self.right;
        let best = self.ladders.into_iter().filter_map(|rungs| rungs.best);
        best.filter(|one| !right.contains(&one.change.of.key))
            .collect()
    }
}

impl MendSearch<'_> {
    /// A machine with changes, as a few runs show it, as what ladders are climbed from.
    pub(super) fn foot<'a>(&self, others: &'a [Alteration], seen: &Seen, works: bool) -> Foot<'a> {
        let (first, off) = match seen {
            Seen::Impossible => (Vec::new(), 0.0),
            Seen::Runs { first, .. } => (first.clone(), self.off(seen)),
        };
        Foot {
            others,
            first,
            wrong: self.faults(seen),
            off,
            works,
        }
    }

    /// What is wrong with a machine.
    fn faults(&self, seen: &Seen) -> Vec<Shortfall> {
        let Seen::Runs {
            judgement, flow, ..
        } = seen
        else {
            return Vec::new();
        };
        let results = judgement.results.iter().filter(|result| !result.likely);
        let mut all: Vec<Shortfall> = results.map(|result| Some(result.criterion)).collect();
        if !keeps_flow(*flow, self.flow) {
            all.push(None);
        }
        all
    }

    /// How far off all that is wrong is together.
    fn off(&self, seen: &Seen) -> f64 {
        match seen {
            Seen::Impossible => FARTHEST,
            Seen::Runs {
                judgement, flow, ..
            } => {
                let idle = !keeps_flow(*flow, self.flow);
                off(judgement, |_| true) + if idle { FARTHEST } else { 0.0 }
            }
        }
    }

    /// Whether a change leads to a machine that works, or to one that does not, as wanted.
    fn is_wanted(&self, seen: &Seen, foot: &Foot) -> bool {
        match seen {
            Seen::Impossible => false,
            Seen::Runs { .. } if foot.works => self.faults(seen).is_empty(),
            Seen::Runs { judgement, .. } => !judgement.likely(),
        }
    }

    /// Every key in either direction, all of them by as many steps at a time, until enough changes look as wanted: these, the
    /// smallest first; none where there are no more.
    pub(super) fn climb_on(
        &self,
        climb: &mut Climb,
        foot: &Foot,
    ) -> Result<Vec<Climbed>, MendStopped> {
        let mut right: Vec<Climbed> = Vec::new();
        let longest = climb.ladders.iter().map(|rungs| rungs.steps.len()).max();
        while right.len() < SHOWN && climb.rung < longest.unwrap_or(0) {
            let rung = climb.rung;
            let climbed: Result<Vec<Option<Climbed>>, MendStopped> = climb
                .ladders
                .par_iter_mut()
                .map(|rungs| self.climb(rungs, rung, foot))
                .collect();
            right.extend(climbed?.into_iter().flatten());
            climb.rung += 1;
        }
        let keys = right.iter().map(|one| one.change.of.key.clone());
        climb.right.extend(keys);
        right.sort_by_key(|one| one.change.size());
        Ok(right)
    }

    /// One ladder up to its next rung; the least change that looks as wanted, if it has come to that.
    fn climb(
        &self,
        rungs: &mut Rungs,
        rung: usize,
        foot: &Foot,
    ) -> Result<Option<Climbed>, MendStopped> {
        let Some(&steps) = rungs.steps.get(rung).filter(|_| rungs.open) else {
            return Ok(None);
        };
        let with = |steps: u32| {
            let change = rungs.ladder.change(steps)?;
            Some(beside(foot.others, &change))
        };
        let possible =
            |steps: &u32| with(*steps).is_some_and(|changes| self.trials.is_machine(&changes));
        let Some(farthest) = (rungs.before + 1..=steps).rev().find(possible) else {
            rungs.open = false;
            return Ok(None);
        };
        let Some(change) = rungs.ladder.change(farthest) else {
            return Ok(None);
        };
        let seen = self.trials.look(&beside(foot.others, &change))?;
        let between = (rungs.before, farthest);
        rungs.before = farthest;
        let Seen::Runs {
            judgement, first, ..
        } = &seen
        else {
            return Ok(None);
        };
        // A key that changes nothing in any run is one that nothing goes by.
        rungs.open = farthest == steps && *first != foot.first;
        if self.is_wanted(&seen, foot) {
            rungs.open = false;
            return self.least(&rungs.ladder, foot, between.0..between.1);
        }
        let now = self.faults(&seen);
        let before = std::mem::replace(&mut rungs.wrong, now.clone());
        if foot.works && !share_any(&before, &now) {
            let found = self.turn(&rungs.ladder, foot, [(between.0, before), (between.1, now)])?;
            if found.is_some() {
                rungs.open = false;
                return Ok(found);
            }
        }
        let all = self.off(&seen);
        if all > rungs.off {
            rungs.worse += 1;
        }
        rungs.off = all;
        rungs.open &= rungs.worse < WORSE;
        if rungs.best.as_ref().is_none_or(|best| all < best.off) {
            rungs.best = Some(Climbed {
                change,
                off: all,
                off_at_first: off(judgement, |one| self.wrong.contains(&one)),
            });
        }
        Ok(None)
    }

    /// What looks right between two rungs at which different things are wrong: too little of a key at one, too much at the
    /// other.
    fn turn(
        &self,
        ladder: &Ladder,
        foot: &Foot,
        [(mut low, few), (mut high, many)]: [(u32, Vec<Shortfall>); 2],
    ) -> Result<Option<Climbed>, MendStopped> {
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            let Some(change) = ladder.change(middle) else {
                break;
            };
            let seen = self.trials.look(&beside(foot.others, &change))?;
            if self.is_wanted(&seen, foot) {
                return self.least(ladder, foot, low..middle);
            }
            let now = self.faults(&seen);
            match (share_any(&now, &few), share_any(&now, &many)) {
                (true, false) => low = middle,
                (false, true) => high = middle,
                _ => break,
            }
        }
        Ok(None)
    }

    /// The least change along a ladder that looks as wanted, as the last one of `between` does and the first one does not.
    pub(super) fn least(
        &self,
        ladder: &Ladder,
        foot: &Foot,
        between: Range<u32>,
    ) -> Result<Option<Climbed>, MendStopped> {
        let (mut low, mut high) = (between.start, between.end);
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            let wanted = match ladder.change(middle) {
                Some(change) => {
                    let seen = self.trials.look(&beside(foot.others, &change))?;
                    self.is_wanted(&seen, foot)
                }
                None => false,
            };
            if wanted {
                high = middle;
            } else {
                low = middle;
            }
        }
        Ok(ladder.change(high).map(|change| Climbed {
            change,
            off: 0.0,
            off_at_first: 0.0,
        }))
    }
}

fn beside(others: &[Alteration], change: &Alteration) -> Vec<Alteration> {
    let mut all = others.to_vec();
    all.push(change.clone());
    all
}

fn share_any(some: &[Shortfall], others: &[Shortfall]) -> bool {
    some.iter().any(|one| others.contains(one))
}
