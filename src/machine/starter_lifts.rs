//! The lift of a first machine that has no pocket wheel: how large it is, and how fast it turns.

use super::starter::Choices;
use super::starter_heights::height_m;

/// What lifts the marbles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LiftChoice {
    /// Pocket wheels.
    Wheels,
    /// Cups on a chain.
    Chain,
    /// A screw beside a rail.
    Screw,
    /// A stair of two combs.
    Stair,
    /// A tray.
    Stroke,
    /// A swing arm.
    Arm,
}

/// The lifts by the names that may be typed.
pub const LIFTS: [(&str, LiftChoice); 6] = [
    ("pocket-wheel", LiftChoice::Wheels),
    ("chain-lift", LiftChoice::Chain),
    ("screw-lift", LiftChoice::Screw),
    ("stair-lift", LiftChoice::Stair),
    ("stroke-lift", LiftChoice::Stroke),
    ("swing-arm", LiftChoice::Arm),
];

/// Diameter of the sprocket, and from cup to cup, marble diameters.
const CHAIN: (f64, f64) = (8.0, 4.0);
/// Height of a stair's step, and how far its comb moves, marble diameters.
const STAIR: (f64, f64) = (2.5, 3.75);
/// From turn to turn of a screw, marble diameters.
const PITCH: f64 = 2.0;
/// Speed of a chain for a marble of 16 mm, metres a second; as that of pockets it grows with the root of the marble's size.
const CHAIN_M_S: f64 = 0.04;
/// Turns a minute of the others for that marble; they go down with the root of its size, as rolling in takes longer.
const TURNS: f64 = 28.0;

/// Turns of the drive a minute at the usual pace.
pub fn rpm(of: &Choices) -> f64 {
    let root = (of.marble_m / 0.016).sqrt();
    match of.lift {
        LiftChoice::Chain => {
            let round_m = std::f64::consts::PI * CHAIN.0 * of.marble_m;
            CHAIN_M_S * root / round_m * 60.0
        }
        _ => TURNS / root,
    }
}

/// What it is, in the words of a comment: from marble to marble at its foot.
pub fn pace(of: &Choices, rpm: f64) -> String {
    let turns = match of.lift {
        LiftChoice::Chain => CHAIN.1 / (std::f64::consts::PI * CHAIN.0),
        _ => 1.0,
    };
    format!("The lift takes a marble every {:.1} s.", turns * 60.0 / rpm)
}

/// The lift, as high as a lap falls.
pub fn lift(of: &Choices, load: u32) -> String {
    let rise_m = height_m(of, load);
    let high = |step: f64| (rise_m / (step * of.marble_m)).ceil();
    let (rule, kind) = match of.lift {
        LiftChoice::Wheels => return String::new(),
        LiftChoice::Chain => (
            "cups four marbles apart, of which two and a half are open",
            format!(
                "chain-lift: {{ cups: {}, pitch: {}, rise: {}, sprocket: {}, mouth: {} }}",
                2.0 * high(CHAIN.1) + 8.0,
                of.times(CHAIN.1),
                of.length(rise_m),
                of.times(CHAIN.0),
                of.times(2.5)
            ),
        ),
        LiftChoice::Screw => (
            "a thread two marbles apart, beside a rail",
            format!(
                "screw-lift: {{ turns: {}, pitch: {}, thread: {} }}",
                high(PITCH),
                of.times(PITCH),
                of.times(0.4)
            ),
        ),
        LiftChoice::Stair => (
            "steps two and a half marbles high, and half as much again for the stroke",
            format!(
                "stair-lift: {{ steps: {}, step: {}, stroke: {}, tread: {}, slope: 6 deg }}",
                high(STAIR.0),
                of.times(STAIR.0),
                of.times(STAIR.1),
                of.times(1.25)
            ),
        ),
        LiftChoice::Stroke => (
            "one marble at a time; it stands at the foot for a third of its turn",
            format!(
                "stroke-lift: {{ stroke: {}, dwell: 0.35 }}",
                of.length(rise_m)
            ),
        ),
        LiftChoice::Arm => (
            "one marble at a time, from 45 degrees below level to 45 above",
            format!(
                "swing-arm: {{ arm: {}, down: 45 deg, up: 45 deg, dwell: 0.35 }}",
                of.length(rise_m / std::f64::consts::SQRT_2)
            ),
        ),
    };
    format!("  lift:   # {rule}\n    {kind}\n    to: top-slide\n")
}
