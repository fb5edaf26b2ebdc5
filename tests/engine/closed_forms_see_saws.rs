//! See-saws, whose course is known to the nanosecond.

use crate::support::{circuit, entered_at, traced};
use marblewright::circuit::draw::Nanos;
use marblewright::engine::Outcome;

const MS: Nanos = 1_000_000;

/// One marble a second comes; three of them tip it in 0.4 s, to the left first.
fn sides(marbles: u32) -> [Vec<Nanos>; 2] {
    let circuit = circuit(
        marbles,
        "feed: { escapement: { time: 1 s }, to: beam }
         beam: { see-saw: { gathers: 3, tip: 0.4 s }, to: [left, right] }
         left: { track: { time: 0 s }, to: end }
         right: { track: { time: 0 s }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 60.0);
    ["left", "right"].map(|side| entered_at(&circuit, &trace, side, MS))
}

#[test]
fn it_tips_by_number_to_each_side_in_turn() {
    let [left, right] = sides(11);
    assert_eq!(left, [3400, 3400, 3400, 9400, 9400, 9400]);
    // The last two of eleven wait in the raised tray for a third.
    assert_eq!(right, [6400, 6400, 6400]);
}

/// While the three go one a second through what lies beyond, the next wait outside: nobody comes in before the last has left,
/// and then at once.
#[test]
fn it_takes_none_before_the_last_has_left() {
    let circuit = circuit(
        6,
        "beam: { see-saw: { gathers: 3, tip: 0.4 s }, to: [left, right] }
         left: { escapement: { time: 1 s, places: 1 }, to: end }
         right: { track: { time: 0 s }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 60.0);
    assert_eq!(entered_at(&circuit, &trace, "left", MS), [400, 1400, 2400]);
    // The hand fills it again at 2.4 s.
    assert_eq!(
        entered_at(&circuit, &trace, "right", MS),
        [2800, 2800, 2800]
    );
}

/// With as many ways as sides that lead round to it, it never rests; with fewer marbles than tip it, it does.
#[test]
fn a_see_saw_that_too_few_marbles_reach_rests() {
    let of = |marbles| {
        let circuit = circuit(
            marbles,
            "beam: { see-saw: { gathers: 3, tip: 0.4 s }, to: [left, right] }
             left: { track: { time: 1 s }, to: beam }
             right: { track: { time: 2 s }, to: beam }",
        );
        traced(&circuit, 60.0).0.outcome
    };
    assert_eq!(of(2), Outcome::RanDry);
    assert_eq!(of(3), Outcome::Ran);
}
