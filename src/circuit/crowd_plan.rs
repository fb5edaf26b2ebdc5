//! Times, arches and losses by the crowd inside, from what a close look saw of a floor or a bowl.

use super::draw::{Chance, Draw};
use super::plan::{Blockage, Cause};
use crate::contact::crowd_counts::{CROWDS, CameInto, CrowdCounts};
use crate::machine::law::TimeLaw;
use crate::machine::limits::LONGEST_TIME_S;

/// Travel times of every entrance by class of crowd. Where nobody goes out, marbles stay for good.
pub fn travel(counts: &CrowdCounts, entrances: usize) -> Vec<Draw> {
    let mut travel = Vec::new();
    for entrance in 0..entrances {
        for class in 0..CROWDS {
            let mut times_s = counts.times_s(CameInto { entrance, class });
            if times_s.is_empty() {
                times_s.push(LONGEST_TIME_S);
            }
            travel.push(Draw::new(&TimeLaw::Samples { times_s }));
        }
    }
    travel
}

/// The chance that one that is about to leave arches with the others instead; `None` where none ever did.
pub fn arching(counts: &CrowdCounts) -> Option<Blockage> {
    let mut chance = Vec::new();
    for class in 0..CROWDS {
        chance.push(Chance::new(counts.ends(class).arch_share()));
    }
    if chance.iter().all(|chance| chance.never()) {
        return None;
    }
    Some(Blockage {
        chance,
        by_crowd: true,
        clears: None,
        cause: Cause::Arch,
        counterfactual: None,
    })
}

/// The chance that one that comes in goes over the side; empty where none ever did.
pub fn thrown_out(counts: &CrowdCounts) -> Vec<Chance> {
    let mut chance = Vec::new();
    for class in 0..CROWDS {
        chance.push(Chance::new(counts.ends(class).over_share()));
    }
    if chance.iter().all(|chance| chance.never()) {
        chance.clear();
    }
    chance
}
