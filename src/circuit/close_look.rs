//! Close looks at places where marbles meet: each is followed once, on all cores, and what was seen is remembered.
//!
//! What a look sees is a pure function of the place and of how long is looked, so that remembering it, here for the life of
//! the program and by the [`Keeper`] beyond it, changes no answer.

use std::collections::BTreeMap;
use std::fmt::Debug;
use std::ops::{Range, RangeInclusive};
use std::sync::{Arc, Mutex, OnceLock};

use rayon::prelude::*;

use crate::contact::EDITION;
use crate::contact::crowd::{self, CrowdLoop, CrowdPlace};
use crate::contact::crowd_counts::{CrowdCounts, CrowdLook, crowd_loops};
use crate::contact::passes::{Loop, LoopRecord, NO_PASS, Pass, follow};
use crate::contact::pick_up_chances::{PickUpCounts, loops};
use crate::contact::place::{Fineness, WheelPlace};

/// How long is looked: how often the lines of a look are followed, and for how many pockets each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    replications: u64,
    pockets: usize,
    /// Looks at most, each as long as the first, where only [`FEW`] pockets stalled.
    looks: u64,
    /// Looks where a line is often missed.
    looks_where_missed: u64,
    /// Marbles that come into a floor or a bowl for each class of company.
    entries: usize,
    /// Whether marbles are away for long in some of the lines, which takes most of the time.
    sparse: bool,
}

/// Stalls that decide little: one that is seen may stand for one in ten thousand pockets, or for one in a hundred. From 5 on
/// their share is known to a factor of 2.5 either way (Poisson, 95 %).
const FEW: RangeInclusive<u32> = 1..=4;
/// Shares of a line that pockets take where much hangs on who was missed before, so that one look shows few of each.
const OFTEN_MISSED: Range<f64> = 0.02..0.98;

impl Effort {
    /// 720 pockets, most of which meet somebody: chances of one line are known to about 4 points.
    pub const FULL: Effort = Effort {
        replications: 2,
        pockets: 45,
        looks: 6,
        looks_where_missed: 4,
        entries: 80,
        sparse: true,
    };
    /// A quarter of it, for comparing machines with each other.
    pub const BRIEF: Effort = Effort {
        replications: 1,
        pockets: 24,
        looks: 6,
        looks_where_missed: 1,
        entries: 16,
        sparse: true,
    };
    /// A twelfth of it, for telling what is worth a longer look: of chances of 1 in 30 and more.
    pub const GLANCE: Effort = Effort {
        replications: 1,
        pockets: 8,
        looks: 1,
        looks_where_missed: 1,
        entries: 8,
        sparse: false,
    };
}

impl Effort {
    /// The lines of a look, the first of which is 1.
    pub fn loops(self, look: u64) -> Vec<Loop> {
        let mut all = loops(look, self.replications, self.pockets);
        all.retain(|one| self.sparse || one.away_pockets <= 1.0);
        all
    }
}

/// Who keeps what looks saw beyond the life of the program, and tells how far they are.
pub trait Keeper: Send + Sync {
    /// The numbers that were kept under a question.
    fn find(&self, question: &str) -> Option<Vec<u32>>;
    /// Keeps the answer to a question.
    fn keep(&self, question: &str, numbers: &[u32]);
    /// So many loops are about to be followed.
    fn begins(&self, loops: u64);
    /// One of them has been followed.
    fn followed(&self);
}

static KEEPER: OnceLock<Box<dyn Keeper>> = OnceLock::new();
static SEEN: Mutex<BTreeMap<String, Arc<[u32]>>> = Mutex::new(BTreeMap::new());
/// Answers remembered at once: some megabytes.
const REMEMBERED: usize = 1000;

/// Names the keeper, once; a second one is not heard.
pub fn keep_with(keeper: Box<dyn Keeper>) {
    let _ = KEEPER.set(keeper);
}

/// What pockets do at a place.
pub fn look(place: &WheelPlace, effort: Effort) -> PickUpCounts {
    let question = format!("{EDITION} {effort:?} {place:?}");
    let find = || follow_all(place, effort).to_numbers();
    remembered(question, PickUpCounts::from_numbers, find).unwrap_or_default()
}

/// What marbles do in company in a place, of which there may be several alike that differ in what the file does not tell.
pub fn look_at_crowd<P: CrowdPlace + Debug + Sync>(places: &[P], effort: Effort) -> CrowdCounts {
    let entrances = places.first().map_or(1, P::entrances);
    follow_crowds(
        places,
        &crowd_loops(CrowdLook {
            entrances,
            entries: effort.entries / places.len().max(1),
        }),
    )
}

/// Marbles that are followed alone to see how fast they come out of a place.
const LONE: usize = 8;

/// How fast marbles that meet nobody come out of a place, m/s; `None` where none comes out.
pub fn lone_speed_m_s<P: CrowdPlace + Debug + Sync>(place: &P) -> Option<f64> {
    let alone = CrowdLoop {
        kept: 1,
        entries: LONE,
        apart_s: 0.0,
        first: 1,
        seed: 0,
    };
    follow_crowds(std::slice::from_ref(place), &[alone]).lone_speed_m_s()
}

fn follow_crowds<P: CrowdPlace + Debug + Sync>(places: &[P], loops: &[CrowdLoop]) -> CrowdCounts {
    let question = format!("{EDITION} {loops:?} {places:?}");
    let entrances = places.first().map_or(1, P::entrances);
    let find = || {
        let mut tasks = Vec::new();
        for task in loops {
            tasks.extend(places.iter().map(|place| (place, *task)));
        }
        let seen: Vec<_> = followed_all(tasks, |(place, task)| crowd::follow(place, task));
        CrowdCounts::gather(entrances, &seen).to_numbers()
    };
    remembered(question, CrowdCounts::from_numbers, find).unwrap_or_default()
}

/// The answer to a question as it was remembered or kept, or else as it is found now, which is then remembered and kept.
fn remembered<T>(
    question: String,
    read: impl Fn(&[u32]) -> Option<T>,
    find: impl FnOnce() -> Vec<u32>,
) -> Option<T> {
    let mut seen = SEEN.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
    if let Some(numbers) = seen.get(&question) {
        return read(numbers);
    }
    drop(seen);
    let is_sound = |numbers: &[u32]| read(numbers).is_some();
    let numbers: Arc<[u32]> = kept_or_found(&question, is_sound, find).into();
    seen = SEEN.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
    if seen.len() >= REMEMBERED {
        seen.clear();
    }
    seen.insert(question, Arc::clone(&numbers));
    read(&numbers)
}

fn kept_or_found(
    question: &str,
    is_sound: impl Fn(&[u32]) -> bool,
    find: impl FnOnce() -> Vec<u32>,
) -> Vec<u32> {
    let Some(keeper) = KEEPER.get() else {
        return find();
    };
    if let Some(kept) = keeper.find(question).filter(|kept| is_sound(kept)) {
        return kept;
    }
    let numbers = find();
    keeper.keep(question, &numbers);
    numbers
}

/// Follows tasks on all cores, in their order, and tells the keeper.
fn followed_all<T: Send, R: Send>(tasks: Vec<T>, follow: impl Fn(T) -> R + Sync) -> Vec<R> {
    if let Some(keeper) = KEEPER.get() {
        keeper.begins(tasks.len() as u64);
    }
    tasks
        .into_par_iter()
        .map(|task| {
            let seen = follow(task);
            if let Some(keeper) = KEEPER.get() {
                keeper.followed();
            }
            seen
        })
        .collect()
}

fn follow_all(place: &WheelPlace, effort: Effort) -> PickUpCounts {
    let mut counts = PickUpCounts::default();
    for look in 1..=effort.looks {
        counts.add(&follow_once(place, look, effort));
        let missed = OFTEN_MISSED.contains(&counts.line().shares().take);
        let few_stalls = FEW.contains(&counts.all().stalled);
        if !(few_stalls || missed && look < effort.looks_where_missed) {
            break;
        }
    }
    counts
}

fn follow_once(place: &WheelPlace, look: u64, effort: Effort) -> PickUpCounts {
    let seen = followed_all(effort.loops(look), |task| {
        follow(place, task, Fineness::FINE).unwrap_or_else(|_| crushed(task))
    });
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
