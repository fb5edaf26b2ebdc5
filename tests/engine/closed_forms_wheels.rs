//! Pocket wheels whose course is known to the nanosecond: carried over, stopped, and several on one drive.

use crate::support::{circuit, circuit_of, entered_at, entries, file, index, run, traced};
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::Nanos;
use marblewright::circuit::plan::Cause;
use marblewright::engine::Outcome;
use marblewright::engine::watch::TraceEvent;
use marblewright::findings::trace::Trace;

const S: Nanos = 1_000_000_000;
const MS: Nanos = 1_000_000;

/// A wheel with a pocket every 2 s, 2 s to the top, and one place behind it, which a slow gate frees.
fn blocked(gate_time: &str) -> String {
    format!(
        "ramp: {{ ramp: {{ time: 0 s }}, to: wheel }}
         wheel: {{ pocket-wheel: {{ pockets: 4, lift: 90 deg }}, to: slide }}
         slide: {{ slide: {{ time: 1 s, places: 1 }}, to: slow }}
         slow: {{ escapement: {{ time: {gate_time}, places: 1 }}, to: end }}
         end: {{ track: {{ time: 0 s }}, to: none }}"
    )
}

/// A pocket every 2 s, 2 s to the top, and behind it one place that a slow gate frees at 18.7, 34.4, 50.1 s.
///
/// Marbles are taken by pockets 0 to 4. The first two get out at once; the third comes to the top at 6, 14 and 22 s, the
/// fourth from 8 s on each 8 s until 40 s, the fifth from 10 s on until 58 s. So pockets 6, 10; 7, 11, 15, 19; 8, 12, 16,
/// 20, 24, 28 pass the pick-up with a marble they already carry.
#[test]
fn a_blocked_slide_sends_marbles_round_again() {
    let circuit = circuit(5, &blocked("15.7 s"));
    let (result, trace) = traced(&circuit, 60.0);
    let seconds = |name| entered_at(&circuit, &trace, name, S);
    assert_eq!(seconds("wheel"), [0, 2, 4, 6, 8]);
    assert_eq!(seconds("slide"), [2, 4, 22, 40, 58]);
    let pockets = result.elements[1].pockets.expect("a wheel");
    assert_eq!(
        (pockets.passed, pockets.carrying, pockets.carried_over),
        (31, 5 + 12, 12)
    );
    assert_eq!(pockets.longest_empty, 3, "pockets 21 to 23 and 25 to 27");
}

/// Later marbles find pockets in which earlier ones come round again, and take the first that is free.
#[test]
fn a_waiting_marble_lets_carried_over_pockets_pass() {
    let circuit = circuit(
        6,
        "ramp: { ramp: { time: 0 s, places: 1, advance: 7.5 s }, to: wheel }
         wheel: { pocket-wheel: { pockets: 4, lift: 90 deg }, to: slide }
         slide: { slide: { time: 1 s, places: 1 }, to: slow }
         slow: { escapement: { time: 1000 s, places: 1 }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    // The first two get out. The third, taken by pocket 8 at 16 s, comes round in 12, 16, 20 ...; the fourth is there at
    // 23.5 s, lets 12 pass and takes 13 at 26 s; the fifth, at 33.5 s, lets 17 pass, which the fourth is in, and takes 18;
    // the sixth, at 43.5 s, lets 22 pass and takes 23 at 46 s.
    let (result, trace) = traced(&circuit, 200.0);
    let picked = entered_at(&circuit, &trace, "wheel", S);
    assert_eq!(picked, [0, 8, 16, 26, 36, 46]);
    let pockets = result.elements[1].pockets.expect("a wheel");
    // Pockets 0, 4, 8, 12, 13, 16, 17, 18, 20 and all from there on carry a marble.
    assert_eq!((pockets.passed, pockets.carrying), (101, 8 + 81));
    assert_eq!(pockets.longest_empty, 3);
}

/// When the wheel jammed with a pinch.
fn pinches(trace: &Trace) -> Vec<Nanos> {
    let pinch = trace.seen.iter().filter(|seen| {
        matches!(
            seen.what,
            TraceEvent::Blocked {
                cause: Cause::Pinch,
                ..
            }
        )
    });
    pinch.map(|seen| seen.time).collect()
}

#[test]
fn each_pinch_shifts_the_pockets_by_exactly_the_stop() {
    let text = file(
        3,
        "drive: { speed: 7.5 rpm }\ntending: clear after 3.3 s",
        "ramp: { ramp: { time: 0.5 s }, to: wheel }
         wheel: { pocket-wheel: { pockets: 20, pick-up: { take: 0, pinch: 1 } }, to: ramp }",
    );
    let (result, trace) = traced(&circuit_of(&text), 100.0);
    // The marble comes at 0.5 s and meets the pocket of 0.8 s, and the next ones 0.4 s of turning later each.
    let expected: Vec<Nanos> = (0..27).map(|k| 800 * MS + k * (400 + 3300) * MS).collect();
    assert_eq!(pinches(&trace), expected);
    let pockets = result.elements[1].pockets.expect("a wheel");
    // At 100 s the wheel stands in its 27th stop: 28 pockets and the two before the marble came have passed.
    assert_eq!((pockets.pinched, pockets.passed), (27, 29));
}

/// What a drive's clock shows at `time`, if it stood for `stop` after each of `pinches`.
fn clock(time: Nanos, pinches: &[Nanos], stop: Nanos) -> Nanos {
    time - pinches
        .iter()
        .filter(|&&pinch| pinch < time)
        .map(|pinch| stop.min(time - pinch))
        .sum::<Nanos>()
}

/// Three wheels, each in a loop of its own; the first pinches, the second shares its drive, the third has a motor.
fn three_wheels() -> Circuit {
    let text = file(
        30,
        "drive: { speed: 7.5 rpm }\ntending: clear after 7.123456789 s",
        "deal: { flip-gate: { time: 0.01 s, throw: 0 s }, to: [ramp1, ramp2, ramp3] }
         ramp1: { ramp: { time: 0.37 s }, to: wheel1 }
         ramp2: { ramp: { time: 0.37 s }, to: wheel2 }
         ramp3: { ramp: { time: 0.37 s }, to: wheel3 }
         wheel1: { pocket-wheel: { pockets: 20, lift: 72 deg, pick-up: { take: 0.8, pinch: 0.05 } }, to: slide1 }
         wheel2: { pocket-wheel: { pockets: 10, lift: 180 deg, gear: 2, phase: 9 deg }, to: slide2 }
         wheel3: { pocket-wheel: { pockets: 16, lift: 90 deg, speed: 7.5 rpm }, to: slide3 }
         slide1: { slide: { time: { exponential: { mean: 2 s } } }, to: ramp1 }
         slide2: { slide: { time: { exponential: { mean: 2 s } } }, to: ramp2 }
         slide3: { slide: { time: { exponential: { mean: 2 s } } }, to: ramp3 }",
    );
    circuit_of(&text)
}

#[test]
fn wheels_on_one_drive_stop_together_and_one_with_its_own_motor_goes_on() {
    let circuit = three_wheels();
    let (result, trace) = traced(&circuit, 1800.0);
    let stop = 7_123_456_789;
    let pinches = pinches(&trace);
    assert!(pinches.len() > 30, "{} pinches", pinches.len());
    for (k, (pocket, phase, lift, stops)) in [
        (400 * MS, 0, 1600 * MS, &pinches[..]),
        (400 * MS, 100 * MS, 2 * S, &pinches[..]),
        (500 * MS, 0, 2 * S, &[]),
    ]
    .into_iter()
    .enumerate()
    {
        let shown = |name: String| {
            let at = entries(&circuit, &trace, &name).into_iter();
            at.map(|(time, _)| clock(time, stops, stop))
                .collect::<Vec<_>>()
        };
        let (picked, out) = (
            shown(format!("wheel{}", k + 1)),
            shown(format!("slide{}", k + 1)),
        );
        assert!(picked.len() > 400, "{} pick-ups", picked.len());
        assert!(
            picked.iter().all(|time| time % pocket == phase),
            "wheel {}: every pick-up is at a pocket",
            k + 1
        );
        assert!(
            picked.iter().zip(&out).all(|(up, down)| down - up == lift),
            "wheel {}: every lift is an arc",
            k + 1
        );
        let passed = result.elements[index(&circuit, &format!("wheel{}", k + 1))]
            .pockets
            .expect("a wheel")
            .passed;
        assert_eq!(
            passed,
            (clock(result.end, stops, stop) - phase) / pocket + 1
        );
    }
    assert_eq!(result.jam_count(), pinches.len() as u64);
}

/// The clock of a wheel whose pocket takes a third of a nanosecond too much to write down does not drift.
#[test]
fn a_wheel_keeps_time_over_ten_thousand_hours() {
    let circuit = circuit_of(&file(
        1,
        "drive: { speed: 7 rpm }",
        "ramp: { ramp: { time: 1 h }, to: wheel }
         wheel: { pocket-wheel: { pockets: 9 }, to: ramp }",
    ));
    let pockets = run(&circuit, 36_000_000.0).elements[1]
        .pockets
        .expect("a wheel");
    // 36e6 s at 7 turns a minute are 4.2e6 turns; a turn is 60/7 s, written as 8 571 428 571 ns, 0.43 ns short.
    assert_eq!(pockets.passed, 4_200_000 * 9 + 1);
}

/// Four places full from 10 s, when the sixth marble is taken up, until the gate lets one more out at 20 s.
#[test]
fn a_wheel_is_full_until_its_last_free_pocket_is_free_again() {
    let circuit = circuit(6, &blocked("15.7 s"));
    let result = run(&circuit, 60.0);
    assert_eq!(result.elements[1].full_time, 10 * S);
}

/// From the fifth on every pocket goes round with a marble, and one more waits: none of them is counted before it passes.
#[test]
fn pockets_that_a_waiting_marble_sees_coming_have_not_passed_yet() {
    let circuit = circuit(7, &blocked("1000 s"));
    let pockets = run(&circuit, 61.0).elements[1].pockets.expect("a wheel");
    assert_eq!(
        (pockets.passed, pockets.carrying, pockets.longest_empty),
        (31, 31, 0)
    );
}

/// A wheel whose lift was measured longer than its motor turns it round in.
fn slow_lift(marbles: u32) -> Circuit {
    circuit_of(&file(
        marbles,
        "drive: { motor: { no-load-speed: 60 rpm, stall-torque: 0.5 N m } }",
        "wheel: { pocket-wheel: { pockets: 3, lift: 5 s }, to: slide }
         slide: { slide: { time: 0.1 s }, to: wheel }",
    ))
}

/// A pocket carries one marble however slowly it was measured to rise: it has let go before it takes the next.
#[test]
fn a_lift_measured_longer_than_a_turn_ends_with_the_turn() {
    let result = run(&slow_lift(9), 60.0);
    let pockets = result.elements[0].pockets.expect("a wheel");
    assert_eq!(
        (result.outcome, pockets.carrying),
        (Outcome::Ran, pockets.passed)
    );
}

/// However slow its lift was measured to be, a pocket is empty a nanosecond before it comes to the pick-up again.
#[test]
fn a_pocket_is_empty_just_before_it_takes_again() {
    let circuit = slow_lift(1);
    let turn = circuit.nodes[0].wheel().expect("a wheel").clock.turn();
    let (_, trace) = traced(&circuit, 10.0);
    assert_eq!(entries(&circuit, &trace, "slide")[0].0, turn - 1);
}

#[test]
fn a_lift_that_nothing_tells_is_half_a_turn() {
    let circuit = circuit(
        1,
        "wheel: { pocket-wheel: { pockets: 4 }, to: slide }\nslide: { slide: { time: 1 s }, to: wheel }",
    );
    let (_, trace) = traced(&circuit, 10.0);
    assert_eq!(entries(&circuit, &trace, "slide")[0].0, 4 * S);
}

/// A weir's first way is a wheel for which nobody waits: its marble waits there, though the second way frees earlier.
/// Where somebody waits there already it waits for both.
#[test]
fn a_weir_waits_at_a_wheel_alone_if_it_is_the_first_there() {
    let picked = |second: &str| {
        let circuit = circuit(
            3,
            &format!(
                "deal: {{ flip-gate: {{ time: 0 s, throw: 0 s }}, to: [side, {second}, feed, ramp] }}
                 feed: {{ track: {{ time: 0.5 s }}, to: weir }}
                 ramp: {{ ramp: {{ time: 0.1 s }}, to: wheel }}
                 weir: {{ weir: {{ time: 0 s }}, to: [wheel, side] }}
                 side: {{ track: {{ time: 1 s, places: 1 }}, to: end }}
                 wheel: {{ pocket-wheel: {{ pockets: 4, lift: 90 deg }}, to: end }}
                 end: {{ track: {{ time: 0 s }}, to: none }}"
            ),
        );
        let (_, trace) = traced(&circuit, 60.0);
        let times = |name| entered_at(&circuit, &trace, name, MS);
        (times("wheel"), times("side"))
    };
    assert_eq!(
        (picked("end"), picked("ramp")),
        ((vec![2000], vec![0]), (vec![2000], vec![0, 1000]))
    );
}
