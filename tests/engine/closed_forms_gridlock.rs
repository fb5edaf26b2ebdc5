//! Gridlocks that nobody's asking anew would show, and full elements that only look like one, known to the nanosecond.

use crate::support::{circuit, circuit_of, entered_at, file, gridlocked_at, run, traced};
use marblewright::circuit::draw::Nanos;
use marblewright::engine::Outcome;

const S: Nanos = 1_000_000_000;

/// The last place of a ring is taken by one who had asked for it before the ring did, and then nobody asks any more.
///
/// From 2 s on the way back waits for the file, behind the one at the side. At 3 s the file's first goes onto the way back,
/// its second finds that full, and the place goes to the one at the side, who is still on its way along the file.
#[test]
fn a_ring_is_gridlocked_when_the_last_who_asked_from_outside_is_in() {
    let circuit = circuit(
        4,
        "deal: { flip-gate: { time: 0 s, throw: 0 s }, to: [file, file, back, side] }
         file: { track: { time: 3 s, places: 2 }, to: back }
         back: { track: { time: 2 s, places: 2 }, to: file }
         side: { track: { time: 1 s }, to: file }",
    );
    gridlocked_at(&run(&circuit, 60.0), 3 * S);
}

/// A wheel that carries a marble in every pocket past a full slide is a link of a gridlock as any full element.
#[test]
fn a_ring_through_a_full_wheel_is_gridlocked() {
    let ring = |marbles| {
        let text = file(
            marbles,
            "drive: { speed: 7.5 rpm }",
            "feed: { track: { time: 0 s }, to: ramp }
             ramp: { ramp: { time: 0.5 s, places: 2 }, to: wheel }
             wheel: { pocket-wheel: { pockets: 4, lift: 90 deg }, to: slide }
             slide: { slide: { time: 5 s, places: 2 }, to: ramp }",
        );
        run(&circuit_of(&text), 3600.0)
    };
    let full = ring(8);
    println!("{:?} at {} s", full.outcome, full.end / S);
    assert_eq!(full.outcome, Outcome::Gridlocked);
    assert!(
        full.elements[1..]
            .iter()
            .zip([2, 4, 2])
            .all(|(element, room)| element.entries - element.exits == room)
    );
    assert_eq!(ring(7).outcome, Outcome::Ran);
}

/// A weir that waits beside a full end still has its other way, and so have those who wait behind it.
#[test]
fn who_waits_behind_a_weir_is_not_stuck_while_one_of_its_ways_moves() {
    let circuit = circuit(
        4,
        "feed: { track: { time: 0 s }, to: weir }
         weir: { weir: { time: 0 s }, to: [rest, slow] }
         rest: { track: { time: 0 s, places: 1 }, to: none }
         slow: { track: { time: 1 s, places: 1 }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (result, trace) = traced(&circuit, 60.0);
    let times = |name| entered_at(&circuit, &trace, name, S);
    assert_eq!(
        (times("rest"), times("slow"), times("end")),
        (vec![0], vec![0, 1, 2], vec![1, 2, 3])
    );
    assert_eq!((result.outcome, result.end), (Outcome::RanDry, 3 * S));
}
