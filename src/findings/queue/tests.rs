use std::cell::Cell;

use super::*;
use crate::engine::Outcome;
use crate::findings::incidents::IncidentKind;
use crate::findings::made_up::{MadeUp, RING, S, moved};
use crate::findings::replay::Replay;

/// Four marbles wait at the escapement: what does not happen by itself in a minute of the ring.
fn crowd() -> Incident {
    Incident {
        count: 4,
        ..Incident::single(IncidentKind::Backlog, 3, 10 * S)
    }
}

/// What a writer does of what was seen: its sentences, and what it took away.
fn written(
    seen: &[(Nanos, TraceEvent)],
    tell: impl Fn(&mut StoryWriter, &Incident),
) -> (Vec<String>, Vec<Change>) {
    let circuit = MadeUp::of(RING).circuit;
    let replay = Replay::made_up(&circuit, seen, &[]);
    let incident = crowd();
    let mut writer = StoryWriter::new(&circuit, &replay, &incident);
    tell(&mut writer, &incident);
    let texts = writer.texts().into_iter().map(str::to_owned).collect();
    (texts, writer.asked())
}

fn blocked(time_s: u64, node: usize, cause: Cause) -> (Nanos, TraceEvent) {
    (time_s * S, TraceEvent::Blocked { node, cause })
}

#[test]
fn arrivals_are_those_of_the_time_with_their_sources() {
    let seen = [
        moved(1, 0, (2, 3)),
        moved(2, 1, (2, 3)),
        moved(2, 5, (3, 4)),
        moved(3, 2, (0, 3)),
        moved(4, 0, (3, 4)),
        moved(9, 3, (2, 3)),
    ];
    let (texts, _) = written(&seen, |writer, _| {
        writer.arrivals(3, &(0..=3 * S));
        writer.arrivals(3, &(0..=5 * S));
        writer.arrivals(4, &(0..=3 * S));
    });
    assert_eq!(
        texts,
        [
            "From 0:00 to 0:03, 3 came to `gate` (2 from `cup`, 1 from `ramp`), and none left.",
            "From 0:00 to 0:05, 3 came to `gate` (2 from `cup`, 1 from `ramp`), and 1 left.",
        ]
    );
}

#[test]
fn the_last_blockage_is_that_of_the_element_and_no_pinch() {
    let seen = [
        blocked(1, 3, Cause::Arch),
        blocked(3, 3, Cause::Stick),
        blocked(4, 1, Cause::Pinch),
        blocked(5, 4, Cause::Arch),
        blocked(6, 3, Cause::Pinch),
    ];
    let circuit = MadeUp::of(RING).circuit;
    let replay = Replay::made_up(&circuit, &seen, &[]);
    let incident = crowd();
    let writer = StoryWriter::new(&circuit, &replay, &incident);
    let last = |node, time_s: u64| writer.last_blockage(node, time_s * S).map(|time| time / S);
    assert_eq!(
        [last(3, 9), last(3, 2), last(3, 0)],
        [Some(3), Some(1), None]
    );
    assert_eq!([last(1, 9), last(4, 4), last(4, 5)], [None, None, Some(5)]);
}

#[test]
fn what_was_stuck_before_is_taken_away() {
    let seen = [blocked(2, 3, Cause::Arch)];
    let asked = |to_s: u64| {
        written(&seen, |writer, effect| {
            writer.wedged_before(3, to_s * S, effect)
        })
        .1
    };
    assert_eq!(asked(10), [Change::LeaveOut(3, 2 * S)]);
    assert_eq!(asked(2), []);
}

/// The wheel misses a marble at 2 s, carries one over at 3 s, and stands from 5 s to 35 s.
#[test]
fn a_slow_wheel_is_asked_for_what_it_did_meanwhile() {
    let seen = [
        moved(1, 0, (0, 1)),
        (2 * S, TraceEvent::Missed { wheel: 1 }),
        (
            3 * S,
            TraceEvent::CarriedOver {
                marble: 0,
                wheel: 1,
            },
        ),
        blocked(5, 1, Cause::Pinch),
    ];
    let asked = |node, from_s: u64, to_s: u64| {
        let time = from_s * S..=to_s * S;
        written(&seen, |writer, effect| {
            writer.slow_wheel(node, &time, effect)
        })
        .1
    };
    let stood = Change::LeaveOut(1, 5 * S);
    assert_eq!(asked(1, 0, 4), [Change::NoMiss(1), Change::NoCarryOver(1)]);
    assert_eq!(asked(1, 3, 4), [Change::NoCarryOver(1)]);
    assert_eq!(asked(1, 5, 5), [stood]);
    assert_eq!(asked(1, 35, 50), [stood]);
    assert_eq!(asked(1, 36, 50), []);
    assert_eq!(asked(3, 0, 50), []);
}

#[test]
fn three_marbles_from_one_emptying_make_a_crowd() {
    let mut seen = Vec::new();
    for marble in 0..3 {
        seen.push(moved(u64::from(marble) + 1, marble, (1, 2)));
    }
    for marble in 0..3 {
        seen.push(moved(4, marble, (2, 3)));
    }
    let asked = |seen: &[(Nanos, TraceEvent)]| {
        written(seen, |writer, effect| {
            writer.batches(3, &(0..=10 * S), effect)
        })
        .1
    };
    assert_eq!(asked(&seen), [Change::NoCup(2)]);
    assert_eq!(asked(&seen[..5]), []);
}

/// Marble 2 comes last into the cup before it empties at 4 s, when marble 5 leaves the slide; marble 3 comes after.
#[test]
fn the_marble_that_makes_a_cup_tip_is_its_last() {
    let seen = [
        moved(1, 0, (1, 2)),
        moved(2, 2, (1, 2)),
        moved(3, 5, (3, 4)),
        moved(4, 0, (2, 3)),
        moved(4, 2, (2, 3)),
        moved(4, 5, (4, 0)),
        moved(5, 3, (1, 2)),
        moved(6, 3, (2, 3)),
    ];
    let (texts, _) = written(&seen, |writer, _| writer.last_into(2, 4 * S));
    assert_eq!(
        texts,
        ["`cup` empties at its marble number 3, which was marble 2, from `wheel` at 0:02."]
    );
}

/// One marble waits at the escapement whatever the load and the places are: half the load, and as many places more as there
/// are marbles, changed nothing.
#[test]
fn what_no_remedy_keeps_away_is_told_of_the_greatest() {
    let asked = |node| {
        let one = Incident {
            count: 1,
            ..crowd()
        };
        written(&[], |writer, _| writer.remedies(node, &one)).1
    };
    assert_eq!(asked(3), [Change::Load(3), Change::Places(3, 6)]);
    assert_eq!(asked(1), [Change::Load(3)]);
}

/// Whatever is just enough is found, and in no more checks than doubling and halving take.
#[test]
fn the_least_that_is_enough_is_found_by_halves() {
    let checked = |amount: u32, enough: u32| Checked {
        change: Change::LeaveOut(amount as usize, 0),
        effect: crowd(),
        then: (amount < enough).then_some(0),
        next: None,
        end: (Outcome::Ran, 60 * S),
        others: None,
    };
    for most in 1..=40 {
        for enough in 1..=most + 1 {
            let checks = Cell::new(0);
            let found = least(most, |amount| {
                assert!((1..=most).contains(&amount));
                checks.set(checks.get() + 1);
                assert!(checks.get() <= 12, "{most} {enough}");
                checked(amount, enough)
            });
            let found = found.map(|checked| checked.change);
            let is = (enough <= most).then_some(Change::LeaveOut(enough as usize, 0));
            assert_eq!(found, is, "{most} {enough}");
        }
    }
}
