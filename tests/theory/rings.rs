//! Rings of places with fixed times, by the equations of max-plus algebra.
//!
//! Source: F. Baccelli, G. Cohen, G. Olsder and J.-P. Quadrat, Synchronization and Linearity (1992): an event happens at the
//! latest of what it waits for. Marble m enters its p-th place when its time in the place before is over and the marble
//! ahead has left for the place after. The cycle time follows: N marbles in M places pass min(N / sum t, 1 / max t).

use crate::support::{circuit, entries, gridlocked_at, run, traced};
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::{Nanos, nanos};
use marblewright::engine::Outcome;
use proptest::prelude::*;

/// A ring of gates with one place each.
fn ring(marbles: u32, times_ms: &[u64], kind: &str) -> Circuit {
    circuit(marbles, &places(times_ms, kind))
}

/// The same ring, fed from a line in which all marbles wait; from the hand they would let go first whoever comes round.
fn fed(marbles: u32, times_ms: &[u64], kind: &str) -> Circuit {
    let feed = "feed: { track: { time: 0 s, advance: 0 s }, to: p0 }\n";
    circuit(marbles, &(feed.to_owned() + &places(times_ms, kind)))
}

fn places(times_ms: &[u64], kind: &str) -> String {
    let place = |(k, time): (usize, &u64)| {
        let next = (k + 1) % times_ms.len();
        format!(
            "p{k}: {{ {kind}: {{ time: {} s, places: 1 }}, to: p{next} }}\n",
            *time as f64 / 1000.0
        )
    };
    times_ms.iter().enumerate().map(place).collect()
}

/// When marble m enters its p-th place, for p below `places`; all wait before the first one at the start.
fn max_plus(marbles: usize, times_ms: &[u64], places: usize) -> Vec<Vec<Nanos>> {
    let ring = times_ms.len();
    let mut enters: Vec<Vec<Nanos>> = vec![Vec::new(); marbles];
    // Whoever is ahead comes first: p + m grows along every wait but those on the same diagonal, which go down in m.
    for diagonal in 0..places + marbles {
        for m in 0..marbles.min(diagonal + 1) {
            let p = diagonal - m;
            let done = if p == 0 {
                0
            } else {
                enters[m][p - 1] + nanos(times_ms[(p - 1) % ring] as f64 / 1000.0)
            };
            let left = match m {
                0 if p < ring => 0,
                0 => enters[marbles - 1][p - ring + 1],
                _ => enters[m - 1][p + 1],
            };
            enters[m].push(done.max(left));
        }
    }
    enters
}

/// Entries into the first place in `window_s`, a whole number of periods, long after the start.
fn passed(circuit: &Circuit, window_s: f64) -> u64 {
    let entries = |time_s| run(circuit, time_s).elements[0].entries;
    entries(1000.25 + window_s) - entries(1000.25)
}

#[test]
fn throughput_is_the_load_over_the_round_or_the_slowest_place() {
    for (times, marbles, a_second) in [
        (&[1000; 5][..], 1, 0.2),
        (&[1000; 5], 2, 0.4),
        (&[1000; 5], 3, 0.6),
        (&[1000; 5], 4, 0.8),
        (&[1000, 2000, 1000, 1000], 1, 0.2),
        (&[1000, 2000, 1000, 1000], 2, 0.4),
        (&[1000, 2000, 1000, 1000], 3, 0.5),
    ] {
        for kind in ["escapement", "track"] {
            assert_eq!(
                passed(&ring(marbles, times, kind), 1000.0) as f64,
                1000.0 * a_second,
                "{marbles} in {times:?}"
            );
        }
    }
}

/// The last marble takes a ring from its best to nothing, which is told when the last marble is done and asks for a place.
#[test]
fn a_ring_filled_to_the_last_place_is_gridlock_and_not_a_hang() {
    for kind in ["escapement", "track"] {
        gridlocked_at(&run(&ring(5, &[1000; 5], kind), 1e6), nanos(5.0));
        // Marbles come in at 0, 1, 3 and 5 s; the last to be done stands in the 2-second place from 5 s to 7 s.
        gridlocked_at(
            &run(&fed(4, &[1000, 2000, 1000, 1000], kind), 1e6),
            nanos(7.0),
        );
        // More marbles than places: the rest never leave the hand.
        let result = run(&ring(9, &[1000; 5], kind), 1e6);
        assert_eq!(
            (result.outcome, result.left_in_hand),
            (Outcome::Gridlocked, 4)
        );
    }
}

/// Two rings through one place: each has room, but the shared part is full of marbles for the other.
#[test]
fn two_rings_can_lock_each_other() {
    let circuit = circuit(
        4,
        "feed: { track: { time: 0 s, advance: 0 s }, to: gate }
         gate: { flip-gate: { time: 1 s, throw: 0 s }, to: [left, right] }
         left: { track: { time: 1 s, places: 1 }, to: gate }
         right: { track: { time: 1 s, places: 2 }, to: gate }",
    );
    // 1 s left, 2 s right, 3 s to the left, where one has waited for the gate since 2 s: for good.
    gridlocked_at(&run(&circuit, 1e6), nanos(3.0));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_entry_is_when_max_plus_says(
        times_ms in prop::collection::vec(1u64..3000, 2..9),
        load in 1usize..8,
        escapements in any::<bool>(),
    ) {
        let marbles = load.min(times_ms.len() - 1);
        let rounds = 1 + 200_000 / times_ms.iter().sum::<u64>() as usize;
        let enters = max_plus(marbles, &times_ms, (rounds + 2) * times_ms.len());
        // The equations have all marbles poured in before the first comes round, which goes before those in the hand.
        let last = times_ms.len() - 1;
        prop_assume!(marbles < 2 || enters[marbles - 1][0] < enters[0][last] + nanos(times_ms[last] as f64 / 1000.0));
        let circuit = ring(marbles as u32, &times_ms, if escapements { "escapement" } else { "track" });
        let (result, trace) = traced(&circuit, 200.0);
        prop_assert_eq!(result.outcome, Outcome::Ran);
        for k in 0..times_ms.len() {
            let mut due: Vec<(Nanos, u32)> = (0..marbles)
                .flat_map(|m| enters[m].iter().skip(k).step_by(times_ms.len()).map(move |&time| (time, m as u32)))
                .filter(|&(time, _)| time <= result.end)
                .collect();
            due.sort_unstable();
            prop_assert_eq!(entries(&circuit, &trace, &format!("p{k}")), due);
        }
    }
}
