//! Lifts whose course follows from their dimensions: how often they take, how much, and when it is at the top.

use crate::support::{circuit_of, entered_at, entries, file, index, machine, run, traced};
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::Nanos;

const MS: Nanos = 1_000_000;
const DRIVE: &str = "drive: { speed: 9 rpm }";

/// A lift under a ramp that is never empty, with room at its top for all.
fn fed(lift: &str) -> Circuit {
    let elements = format!(
        "ramp: {{ ramp: {{ time: 0 s }}, to: lift }}
         lift: {{ {lift}, to: top }}
         top: {{ track: {{ time: 1 s }}, to: ramp }}"
    );
    circuit_of(&file(200, DRIVE, &elements))
}

/// Marbles that the lift took in so many minutes.
fn taken(circuit: &Circuit, minutes: f64) -> u64 {
    run(circuit, 60.0 * minutes).elements[index(circuit, "lift")].entries
}

/// Cups a minute are speed over pitch: 15 m a minute at a pitch of 0.25 m, four to the metre, are 60: the worked example of a
/// maker of bucket elevators, whose share of filled cups does not go for single marbles.
#[test]
fn cups_a_minute_are_speed_over_pitch() {
    // A sprocket of 15 m / pi round turns the chain 15 m; once a minute that is 15 m a minute. 12 cups: 3 m of chain.
    let sprocket_mm = 1500.0 / std::f64::consts::PI;
    let chain = |holds: u32| {
        format!(
            "chain-lift: {{ cups: 12, holds: {holds}, pitch: 250 mm, rise: 1.2 m, sprocket: {sprocket_mm} mm, speed: 10 rpm }}"
        )
    };
    // The first cup stands at the foot at 0 s, and the 600th comes at the end of ten minutes.
    assert_eq!(taken(&fed(&chain(1)), 9.999), 600);
    assert_eq!(taken(&fed(&chain(3)), 9.999), 3 * 600);
}

/// 1.2 m of chain at 15 m a minute are 4.8 s, whichever the place in the cup.
#[test]
fn a_cup_is_at_the_top_when_the_rise_has_run_past() {
    let sprocket_mm = 1500.0 / std::f64::consts::PI;
    let circuit = fed(&format!(
        "chain-lift: {{ cups: 12, holds: 2, pitch: 250 mm, rise: 1.2 m, sprocket: {sprocket_mm} mm, mouth: 100 mm, speed: 10 rpm }}"
    ));
    let (_, trace) = traced(&circuit, 20.0);
    let (took, out) = (
        entries(&circuit, &trace, "lift"),
        entries(&circuit, &trace, "top"),
    );
    assert!(out.len() > 10);
    for ((up, marble), (top, same)) in took.iter().zip(&out) {
        assert_eq!((*marble, top - up), (*same, 4800 * MS));
    }
    // A mouth of 100 mm passes in 0.4 s, half of which is for each of two marbles.
    assert_eq!(
        entered_at(&circuit, &trace, "lift", MS)[..4],
        [0, 200, 1000, 1200]
    );
}

/// A marble of 16 mm on 4 degrees needs sqrt(d / a) to roll half its diameter from rest, with a = (5/7) g (sin t - c cos t) of
/// a rolling sphere (any textbook of mechanics): a cup that is open as long takes it, and one a little faster takes none.
#[test]
fn a_chain_takes_up_to_the_speed_at_which_marbles_still_roll_in() {
    let a: f64 = 5.0 / 7.0
        * 9.80665
        * (libm::sin(4f64.to_radians()) - 0.04 / 8.0 * libm::cos(4f64.to_radians()));
    let needed_s = (0.016 / a).sqrt();
    // Open over 40 - 16 mm of chain.
    let limit_m_s = 0.024 / needed_s;
    let taken_at = |share: f64| {
        let rpm = share * limit_m_s / (std::f64::consts::PI * 0.12) * 60.0;
        let elements = format!(
            "ramp: {{ ramp: {{ length: 3 m, slope: 4 deg, advance: 0 s }}, to: lift }}
             lift: {{ chain-lift: {{ cups: 24, pitch: 60 mm, rise: 500 mm, sprocket: 120 mm, mouth: 40 mm, speed: {rpm} rpm }}, to: top }}
             top: {{ track: {{ time: 1 s }}, to: ramp }}"
        );
        let head = "assume: { rolling-resistance: 0.04 mm }";
        let text = file(100, head, &elements).replace("count: 100", "count: 100, diameter: 16 mm");
        taken(&circuit_of(&text), 5.0)
    };
    assert!(taken_at(0.999) > 300, "{}", taken_at(0.999));
    assert_eq!(taken_at(1.001), 0);
}

/// A screw lifts one pitch a turn, and at one marble a turn it carries as many marbles a minute as it turns: textbook
/// kinematics of a screw whose nut, here the marble, does not turn with it.
#[test]
fn a_screw_lifts_one_pitch_a_turn() {
    let circuit = fed("screw-lift: { turns: 7.5, pitch: 30 mm, speed: 30 rpm }");
    assert_eq!(taken(&circuit, 9.99), 300);
    let (_, trace) = traced(&circuit, 60.0);
    let times = |name| entered_at(&circuit, &trace, name, MS);
    // 7.5 turns of 2 s, 225 mm: a pitch every 2 s.
    let (up, out) = (times("lift"), times("top"));
    assert_eq!((up[0], out[0], out[1]), (0, 15_000, 17_000));
    let machine = &machine(
        &file(
            1,
            "",
            "lift: { screw-lift: { turns: 7.5, pitch: 30 mm, speed: 30 rpm }, to: top }\ntop: { track: { time: 1 s }, to: lift }",
        ),
        &[],
    );
    let rise_m = machine.elements[0]
        .kind
        .lifting(None)
        .expect("a lift")
        .rise_m;
    assert!((rise_m / ((out[0] - up[0]) as f64 / 2000.0) - 0.030).abs() < 1e-12);
}

/// A stair lifts one step a stroke.
#[test]
fn a_stair_lifts_one_step_a_stroke() {
    let circuit = fed(
        "stair-lift: { steps: 8, step: 40 mm, stroke: 60 mm, tread: 20 mm, slope: 6 deg, speed: 30 rpm }",
    );
    assert_eq!(taken(&circuit, 9.99), 300);
    let (_, trace) = traced(&circuit, 60.0);
    assert_eq!(
        entered_at(&circuit, &trace, "top", MS)[..2],
        [16_000, 18_000]
    );
}

/// The combs let a marble roll while z = h/2 - (s/2) cos stands above h: at s = 2 h a third of a turn, acos(1/2) / pi. On the
/// least slope a tread of 20 mm takes just that long: sin t = 2 l / ((5/7) g T^2) without resistance.
#[test]
fn a_stair_needs_the_least_slope_for_its_stroke() {
    let rolls_s: f64 = 1.0 / 3.0;
    let least_deg =
        libm::asin(2.0 * 0.020 / (5.0 / 7.0 * 9.80665 * rolls_s * rolls_s)).to_degrees();
    let taken_on = |slope_deg: f64| {
        let lift = format!(
            "stair-lift: {{ steps: 8, step: 40 mm, stroke: 80 mm, tread: 20 mm, slope: {slope_deg} deg, speed: 60 rpm }}"
        );
        let elements = format!(
            "ramp: {{ ramp: {{ time: 0 s }}, to: lift }}
             lift: {{ {lift}, to: top }}
             top: {{ track: {{ time: 1 s }}, to: ramp }}"
        );
        let head = "assume: { rolling-resistance: 0 mm }";
        let text = file(100, head, &elements).replace("count: 100", "count: 100, diameter: 16 mm");
        taken(&circuit_of(&text), 1.0)
    };
    assert!((2.9..3.0).contains(&least_deg), "{least_deg}");
    assert_eq!(
        (taken_on(least_deg * 0.999), taken_on(least_deg * 1.001)),
        (0, 61)
    );
}

/// One marble a stroke: 20 a minute at 20 rpm, each up for half of what is left of 3 s after a dwell of 0.9 s.
#[test]
fn a_stroke_lift_brings_one_marble_a_stroke() {
    let circuit = fed("stroke-lift: { stroke: 300 mm, dwell: 0.3, speed: 20 rpm }");
    assert_eq!(taken(&circuit, 9.99), 200);
    let (_, trace) = traced(&circuit, 60.0);
    assert_eq!(entered_at(&circuit, &trace, "top", MS)[..2], [1050, 4050]);
}

/// An arm brings one marble a turn, as a tray does, and no higher than the sines of where it stands.
#[test]
fn a_swing_arm_brings_one_marble_a_turn() {
    let arm = "swing-arm: { arm: 200 mm, down: 30 deg, up: 90 deg, dwell: 0.4, speed: 20 rpm }";
    let circuit = fed(arm);
    assert_eq!(taken(&circuit, 9.99), 200);
    let (_, trace) = traced(&circuit, 60.0);
    // A turn takes 3 s, of which 1.2 at the foot and 0.9 up.
    assert_eq!(entered_at(&circuit, &trace, "top", MS)[..2], [900, 3900]);
    let machine = machine(
        &file(
            3,
            "",
            &format!("lift: {{ {arm}, to: top }}\ntop: {{ track: {{ time: 1 s }}, to: lift }}"),
        ),
        &[],
    );
    let rise_m = machine.elements[0]
        .kind
        .lifting(None)
        .expect("a lift")
        .rise_m;
    assert!((rise_m - 0.2 * (0.5 + 1.0)).abs() < 1e-12, "{rise_m}");
}

/// A screw of two turns and a third place to fall back in: behind a slide that stays full, two marbles go round for ever,
/// each at the foot again three turns after it was there before.
#[test]
fn what_finds_no_room_above_a_screw_comes_again() {
    let text = file(
        9,
        "drive: { speed: 30 rpm }",
        "ramp: { ramp: { time: 0 s }, to: lift }
         lift: { screw-lift: { turns: 2, pitch: 30 mm }, to: slide }
         slide: { slide: { time: 1 s, places: 1 }, to: slow }
         slow: { escapement: { time: 1000 s, places: 1 }, to: ramp }",
    );
    let result = run(&circuit_of(&text), 59.0);
    let lift = result.elements[1].pockets.expect("a lift");
    // Taken at 0, 2, 4 ... s; out at 4 and 6 s; then three places, all taken, of which one is at the top every 2 s from 8 s on.
    assert_eq!(
        (lift.passed, lift.carrying, lift.carried_over),
        (30, 30, 26)
    );
}
