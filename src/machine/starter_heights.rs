//! How high the wheels of a first machine have to lift: what falls in a lap, part by part, in marble diameters.

use super::starter::{Choices, Return, Splitter, TOP_SLIDES_DEG};
use super::starter_parts::SEE_SAW;
use super::starter_shows;

/// Slopes of the parts as the file writes them: ramps and hand-overs, tracks, flights of steps, the floor's pitches.
const SLOPES_DEG: [f64; 4] = [5.0, 4.0, 3.0, 2.0];
/// Fall onto the floor, marble diameters.
pub const ONTO_FLOOR: f64 = 3.0;
/// Height to spare in a lap, metres: workmanship at each joint, and lengths rounded to what a tape shows.
const SPARE_M: f64 = 0.025;
/// A wheel lifts a marble this share of its pitch radius, at least: the guide ends 140 degrees past the lowest point.
const LIFT: f64 = 1.766;
/// How much smaller each wheel is than the one below.
pub const SHRINK: f64 = 0.05;

/// Axle to pocket centre of the lowest wheel that lifts as high as a lap of this machine falls, metres.
pub fn radius_m(of: &Choices, load: u32) -> f64 {
    let lifts: f64 = (0..of.wheels)
        .map(|above| 1.0 - SHRINK * f64::from(above))
        .sum();
    height_m(of, load) / (LIFT * lifts)
}

/// Height that has to be lifted in a lap, metres.
pub fn height_m(of: &Choices, load: u32) -> f64 {
    fall(of, load) * of.marble_m + SPARE_M
}

/// Fall of a lap on the deepest way.
fn fall(of: &Choices, load: u32) -> f64 {
    let [ramp, track, steps, floor] = SLOPES_DEG.map(|slope| libm::sin(slope.to_radians()));
    let show = starter_shows::fall(of.show);
    let module = |n: u32| match (of.splitter, n) {
        (Splitter::Weir, 1) => 10.0 * steps + show,
        (_, 1) => 60.0 * track + 4.0 + show,
        (_, 2) => 23.0 * steps + 9.0 * (0.9 + 2.7 * floor),
        (_, 3) => 50.0 * track,
        _ => (8.0 * 3.0 * std::f64::consts::PI + 10.0) * track,
    };
    let splitter = match of.splitter {
        Splitter::None => 0.0,
        Splitter::Bowl => 1.6,
        Splitter::FlipGate | Splitter::Weir => 2.0,
        Splitter::Peg => 3.0,
        Splitter::SeeSaw => 2.0 * SEE_SAW.0 * libm::sin((SEE_SAW.1 / 2.0).to_radians()),
    };
    let home = match of.home {
        Return::Slide => 40.0 * track,
        Return::Floor => ONTO_FLOOR + (18.0 + 20.0) * floor,
    };
    let hand_overs = 14.0 * f64::from(of.wheels - 1) * ramp;
    let deepest = (1..=of.modules).map(module).fold(0.0, f64::max);
    let top_slide = if of.splitter == Splitter::Bowl {
        TOP_SLIDES_DEG.0
    } else {
        TOP_SLIDES_DEG.1
    };
    let top_slide = 12.0 * libm::sin(top_slide.to_radians());
    f64::from(load + 2) * ramp + hand_overs + top_slide + splitter + deepest + home
}
