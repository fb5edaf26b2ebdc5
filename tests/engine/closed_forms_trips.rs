//! Gates that wait for another place, whose course is known to the nanosecond.

use crate::support::{circuit, entered_at, entries, traced};
use marblewright::circuit::draw::Nanos;
use marblewright::engine::Outcome;

const MS: Nanos = 1_000_000;

/// Every second marble comes by the plate, one each 2 s from 2 s on; the others wait at the gate, which it trips.
fn out_ms(marbles: u32, gate: &str, feed: &str) -> Vec<Nanos> {
    let circuit = circuit(
        marbles,
        &format!(
            "deal: {{ flip-gate: {{ time: 0 s, throw: 0 s }}, to: [hold, feed] }}
             hold: {{ escapement: {{ time: 2 s }}, to: plate }}
             plate: {{ track: {{ time: 1 s }}, to: end }}
             feed: {{ track: {{ time: {feed} }}, to: gate }}
             gate: {{ trip-gate: {{ trip: plate, {gate} }}, to: out }}
             out: {{ track: {{ time: 0 s }}, to: end }}
             end: {{ track: {{ time: 0 s }}, to: none }}"
        ),
    );
    let (_, trace) = traced(&circuit, 60.0);
    entered_at(&circuit, &trace, "out", MS)
}

#[test]
fn a_gate_lets_one_go_for_each_marble_that_comes_by() {
    assert_eq!(
        out_ms(10, "lets: 1", "0 s"),
        [2000, 4000, 6000, 8000, 10_000]
    );
}

#[test]
fn it_lets_go_as_many_as_a_trip_is_worth_and_stays_shut_between() {
    assert_eq!(
        out_ms(12, "lets: 3, shut: 0.5 s", "0 s"),
        [2000, 2500, 3000, 4000, 4500, 5000]
    );
}

/// Five trips from 2 to 10 s while nobody waits: only as many as it keeps count when five come at 11 s.
#[test]
fn it_keeps_no_more_trips_than_it_is_said_to() {
    assert_eq!(out_ms(10, "lets: 1, keeps: 2", "11 s"), [11_000, 11_000]);
    assert_eq!(out_ms(10, "lets: 1", "11 s"), [11_000]);
    assert_eq!(out_ms(10, "lets: 1, keeps: 5", "11 s").len(), 5);
}

/// Two go at once; the first trip is at 2 s.
#[test]
fn those_that_go_first_need_no_trip() {
    assert_eq!(out_ms(10, "first: 2", "0 s")[..3], [0, 0, 2000]);
}

/// What a trip allows waits with the head for room beyond: of two that may go at 2 s, the second goes when the first has
/// left the one place there, at 2 + 0.7 s.
#[test]
fn an_open_gate_waits_for_room() {
    let circuit = circuit(
        4,
        "deal: { flip-gate: { time: 0 s, throw: 0 s }, to: [hold, gate] }
         hold: { escapement: { time: 2 s }, to: plate }
         plate: { track: { time: 1 s }, to: end }
         gate: { trip-gate: { trip: plate, lets: 2 }, to: out }
         out: { track: { time: 0.7 s, places: 1, advance: 0 s }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 60.0);
    assert_eq!(entered_at(&circuit, &trace, "out", MS), [2000, 2700]);
}

/// Gates in a chain, each opened beyond the next: one marble at a time goes round, as trains on a line in blocks. A lap of
/// three blocks of 1 s takes 3 s, and the next marble sets off when the one ahead has come into the second block.
#[test]
fn gates_in_a_chain_keep_marbles_a_block_apart() {
    let circuit = circuit(
        5,
        "first: { trip-gate: { trip: second-block, first: 1 }, to: first-block }
         first-block: { track: { time: 1 s }, to: second }
         second: { trip-gate: { trip: third-block, first: 1 }, to: second-block }
         second-block: { track: { time: 1 s }, to: third }
         third: { trip-gate: { trip: end, first: 1 }, to: third-block }
         third-block: { track: { time: 1 s }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (result, trace) = traced(&circuit, 60.0);
    assert_eq!(
        entered_at(&circuit, &trace, "first-block", MS),
        [0, 1000, 2000, 3000, 4000]
    );
    assert_eq!(entries(&circuit, &trace, "end").len(), 5);
    assert!(result.jams.is_empty() && result.locks.is_empty());
}

/// A gate with one place lets one marble go, which the cup keeps: it gathers two, and the gate opens beyond it. Nothing is
/// due any more, and the hand still waits for a place.
#[test]
fn a_machine_at_rest_before_a_shut_gate_is_gridlocked() {
    let circuit = circuit(
        4,
        "gate: { trip-gate: { trip: beyond, first: 1, places: 1 }, to: cup }
         cup: { tipping-cup: { gathers: 2 }, to: beyond }
         beyond: { slide: { time: 1 s }, to: gate }",
    );
    let (result, _) = traced(&circuit, 600.0);
    assert_eq!(result.outcome, Outcome::Gridlocked);
}
