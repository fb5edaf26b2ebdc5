//! Times, arches and losses of a floor or a bowl: as measured, or by the crowd inside, from what a close look saw.

use super::draw::{Chance, Draw};
use super::plan::{Blockage, Cause, blockage};
use crate::contact::crowd_counts::{CROWDS, CameInto, CrowdCounts, EndCounts};
use crate::machine::law::TimeLaw;
use crate::machine::limits::LONGEST_TIME_S;
use crate::machine::model::Arch;

/// Travel times of so many entrances, as measured, else as seen; none where neither is known. With as many classes of crowd each
/// where the second is true. Where nobody goes out, marbles stay for good; where fewer entrances were seen, the rest are as the
/// last of them.
pub fn travel(
    measured: Option<&TimeLaw>,
    seen: Option<&CrowdCounts>,
    entrances: usize,
) -> (Vec<Draw>, bool) {
    match (measured, seen) {
        (Some(law), _) => (vec![Draw::new(law); entrances], false),
        (None, Some(counts)) => (travel_in_crowd(counts, entrances), true),
        (None, None) => (vec![Draw::Fixed(0); entrances], false),
    }
}

fn travel_in_crowd(counts: &CrowdCounts, entrances: usize) -> Vec<Draw> {
    let mut travel = Vec::new();
    for entrance in 0..entrances {
        let entrance = entrance.min(counts.entrances() - 1);
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

/// Arches as measured, else by the chance that one that is about to leave arches with the others instead; `None` where neither is
/// known, or none ever did.
pub fn arches(measured: Option<&Arch>, seen: Option<&CrowdCounts>) -> Option<Blockage> {
    if let Some(arch) = measured {
        return Some(blockage(arch, Cause::Arch));
    }
    let chance = chances(seen?, EndCounts::arch_share);
    (!chance.is_empty()).then_some(Blockage {
        chance,
        by_crowd: true,
        clears: None,
        cause: Cause::Arch,
        counterfactual: None,
    })
}

/// How all marbles ended that a close look followed, where it tells how they arch.
pub fn followed(measured: Option<&Arch>, seen: Option<&CrowdCounts>) -> Option<EndCounts> {
    if measured.is_some() {
        return None;
    }
    let mut sum = EndCounts::default();
    for class in 0..CROWDS {
        let ends = seen?.ends_of_class(class);
        sum.out += ends.out;
        sum.over += ends.over;
        sum.arched += ends.arched;
    }
    Some(sum)
}

/// The chance that one that comes in goes over the side, by class of crowd; empty where none ever did.
pub fn thrown_out(seen: &CrowdCounts) -> Vec<Chance> {
    chances(seen, EndCounts::over_share)
}

/// A share of each class of crowd; empty where it is never seen.
fn chances(seen: &CrowdCounts, share: fn(EndCounts) -> f64) -> Vec<Chance> {
    let mut chances = Vec::new();
    for class in 0..CROWDS {
        chances.push(Chance::new(share(seen.ends(class))));
    }
    if chances.iter().all(|chance| chance.never()) {
        chances.clear();
    }
    chances
}
