//! Close looks at wheels' places: each place is followed once, on all cores, and what was seen is remembered.
//!
//! What a look sees is a pure function of the place and of how long is looked, so that remembering it, here for the life of
//! the program and by the [`Keeper`] beyond it, changes no answer.

use std::collections::BTreeMap;
use std::sync::{Mutex, OnceLock};

use rayon::prelude::*;

use crate::contact::chances::{PickUpCounts, loops};
use crate::contact::passes::{Loop, LoopRecord, NO_PASS, Pass, follow};
use crate::contact::place::{Fineness, WheelPlace};

/// How long is looked: how often the lines of a look are followed, and for how many pockets each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    replications: u64,
    pockets: usize,
    /// Looks at most, each as long as the first, where only [`FEW`] pockets stalled.
    looks: u64,
}

/// Stalls that decide little: one that is seen may stand for one in ten thousand pockets, or for one in a hundred. From 5 on
/// their share is known to a factor of 2.5 either way (Poisson, 95 %).
const FEW: std::ops::RangeInclusive<u32> = 1..=4;

impl Effort {
    /// 720 pockets, of which some 580 meet somebody: chances of one line are known to about 4 points.
    pub const FULL: Effort = Effort {
        replications: 3,
        pockets: 45,
        looks: 6,
    };
    /// A quarter of it, for comparing machines with each other.
    pub const BRIEF: Effort = Effort {
        replications: 1,
        pockets: 35,
        looks: 6,
    };
}

impl Effort {
    /// The lines of a look, the first of which is 1.
    pub fn loops(self, look: u64) -> Vec<Loop> {
        loops(look, self.replications, self.pockets)
    }
}

/// Who keeps what looks saw beyond the life of the program, and tells how far they are.
pub trait Keeper: Send + Sync {
    /// What was kept under a question.
    fn find(&self, question: &str) -> Option<PickUpCounts>;
    /// Keeps the answer to a question.
    fn keep(&self, question: &str, counts: &PickUpCounts);
    /// So many lines are about to be followed.
    fn begins(&self, lines: u64);
    /// One of them has been followed.
    fn followed(&self);
}

static KEEPER: OnceLock<Box<dyn Keeper>> = OnceLock::new();
static SEEN: Mutex<BTreeMap<String, PickUpCounts>> = Mutex::new(BTreeMap::new());
/// Answers remembered at once: a few hundred kilobytes.
const REMEMBERED: usize = 1000;

/// Names the keeper, once; a second one is not heard.
pub fn keep_with(keeper: Box<dyn Keeper>) {
    let _ = KEEPER.set(keeper);
}

/// What pockets do at a place.
pub fn look(place: &WheelPlace, effort: Effort) -> PickUpCounts {
    let question = format!("{} {effort:?} {place:?}", crate::contact::EDITION);
    let mut seen = SEEN.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
    if let Some(counts) = seen.get(&question) {
        return counts.clone();
    }
    drop(seen);
    let counts = find_or_follow(place, effort, &question);
    seen = SEEN.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
    if seen.len() >= REMEMBERED {
        seen.clear();
    }
    seen.insert(question, counts.clone());
    counts
}

/// What is kept of such a look, or else what a look sees now, which is then kept.
fn find_or_follow(place: &WheelPlace, effort: Effort, question: &str) -> PickUpCounts {
    let Some(keeper) = KEEPER.get() else {
        return follow_all(place, effort);
    };
    if let Some(kept) = keeper.find(question) {
        return kept;
    }
    let counts = follow_all(place, effort);
    keeper.keep(question, &counts);
    counts
}

fn follow_all(place: &WheelPlace, effort: Effort) -> PickUpCounts {
    let mut counts = PickUpCounts::default();
    for look in 1..=effort.looks {
        counts.add(&follow_once(place, look, effort));
        if !FEW.contains(&counts.all().stalled) {
            break;
        }
    }
    counts
}

fn follow_once(place: &WheelPlace, look: u64, effort: Effort) -> PickUpCounts {
    let tasks = effort.loops(look);
    if let Some(keeper) = KEEPER.get() {
        keeper.begins(tasks.len() as u64);
    }
    let seen: Vec<LoopRecord> = tasks
        .into_par_iter()
        .map(|task| {
            let seen = follow(place, task, Fineness::FINE).unwrap_or_else(|_| crushed(task));
            if let Some(keeper) = KEEPER.get() {
                keeper.followed();
            }
            seen
        })
        .collect();
    PickUpCounts::gather(place, &seen)
}

/// A drive so strong that it crushes what it wedges: the look ends there, as a stall of its only pocket.
fn crushed(task: Loop) -> LoopRecord {
    let pass = Pass {
        in_line: task.marbles,
        met: task.marbles,
        waited_s: Some(1.0),
        stalled: true,
        ..NO_PASS
    };
    LoopRecord {
        passes: vec![pass],
        deepest: 0.0,
        sphere_steps: 0,
        fineness: Fineness::FINE,
    }
}
