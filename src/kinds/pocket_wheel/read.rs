//! A pocket wheel from the keys of the file.

use std::f64::consts::PI;

use crate::machine::assumed::{PITCH_ERROR_M, SLOPE_ERROR_RAD};
use crate::machine::description::KeyMeaning;
use crate::machine::fields::Fields;
use crate::machine::limits;
use crate::machine::model::{Lift, PocketWheel, WheelShape};
use crate::machine::outline::Shape;
use crate::machine::read_parts::CHANCE;
use crate::machine::units::{self, ANGLE, DURATION, INERTIA, LENGTH, TORQUE};
use crate::machine::yaml::Value;

/// What each of its keys means.
pub const KEYS: &[KeyMeaning] = &[
    ("pockets", "Number of pockets."),
    ("pitch-radius", "From the axle to the centre of a pocket."),
    ("bore", "Diameter of the pockets."),
    ("pocket-wheel.depth", "Depth of the pockets."),
    (
        "tilt",
        "How far the pockets' axis is out of square with the wheel's face.",
    ),
    ("guide", "Where the guide ends, past the lowest point."),
    (
        "mouth-ends",
        "Where the slide's mouth ends, past the lowest point.",
    ),
    (
        "pocket-wheel.channel",
        "Width of the channel that feeds the wheel.",
    ),
    (
        "wall",
        "Whether the channel's wall runs up to the wheel or is cut back and fenced.",
    ),
    (
        "cut-back",
        "How far the wall on the leaving side stops short of the wheel.",
    ),
    (
        "wall-ends",
        "Whether the walls' ends are cut upright or square to the ramp.",
    ),
    (
        "guide-from",
        "From the middle of the channel to where the guide starts.",
    ),
    (
        "guide-edge",
        "Whether the edge of a guide that does not start at the wall turns marbles back or leads them in.",
    ),
    (
        "fence",
        "Whether a fence stands on the open side where the wall is cut back.",
    ),
    ("torque", "Greatest torque of its drive, at the wheel."),
    (
        "inertia",
        "Moment of inertia of the wheel and what turns with it.",
    ),
    ("gap", "Gap between ramp and wheel face."),
    (
        "pitch-error",
        "Standard deviation of pocket centres off the pitch circle.",
    ),
    ("slope-error", "Standard deviation of the ramp's slope."),
    (
        "phase",
        "Angle the first pocket has to go to the pick-up at the start.",
    ),
    ("lift", "Measured arc, or time, from pick-up to release."),
];

/// A wheel from the keys of the file.
pub fn wheel(of: &mut Fields) -> Option<PocketWheel> {
    let pockets = of.count("pockets", 1..=limits::POCKETS);
    let pockets = of.required("pockets", "20", pockets);
    let shape = shape(of);
    let wheel = PocketWheel {
        pockets: pockets.unwrap_or(1),
        shape,
        turned_by: of.turned_by(),
        phase_rad: of
            .quantity("phase", &ANGLE, -2.0 * PI..=2.0 * PI)
            .unwrap_or(0.0),
        lift: lift(of),
        pick_up: of.pick_up(),
        release: of.number("release", CHANCE),
    };
    pockets.map(|_| wheel)
}

fn shape(of: &mut Fields) -> Option<WheelShape> {
    let pitch_radius = of.quantity("pitch-radius", &LENGTH, 0.01..=5.0);
    let bore = of.quantity("bore", &LENGTH, 0.002..=0.2);
    let depth = of.quantity("depth", &LENGTH, 0.001..=0.2);
    let tilt = of.quantity("tilt", &ANGLE, 0.0..=PI / 4.0);
    let guide_rad = of.quantity("guide", &ANGLE, 0.0..=2.0 * PI);
    let mouth_rad = of.quantity("mouth-ends", &ANGLE, PI / 2.0..=2.0 * PI);
    let channel_m = of.quantity("channel", &LENGTH, 0.002..=0.5);
    let relieved = of
        .choice("wall", &[("square", false), ("relieved", true)])
        .unwrap_or(false);
    let cut_back = of.quantity("cut-back", &LENGTH, 0.0..=0.5);
    let square_ends = of
        .choice("wall-ends", &[("upright", false), ("square", true)])
        .unwrap_or(false);
    let guide_from_m = of.quantity("guide-from", &LENGTH, 0.001..=0.5);
    let lead_in = of
        .choice("guide-edge", &[("scraper", false), ("lead-in", true)])
        .unwrap_or(false);
    let fence = of.choice("fence", &[("yes", true), ("no", false)]);
    let torque_nm = of.quantity("torque", &TORQUE, 1e-3..=20.0);
    let inertia_kg_m2 = of.quantity("inertia", &INERTIA, 1e-5..=10.0);
    let gap_m = of.quantity("gap", &LENGTH, 0.0..=0.02).unwrap_or(0.001);
    let pitch_error_m = of
        .quantity("pitch-error", &LENGTH, 0.0..=0.02)
        .unwrap_or(PITCH_ERROR_M.0);
    let slope_error_rad = of
        .quantity("slope-error", &ANGLE, 0.0..=PI / 18.0)
        .unwrap_or(SLOPE_ERROR_RAD.0);
    of.together(&["pitch-radius", "bore", "depth", "tilt"]);
    if pitch_radius.is_none() && bore.is_none() && depth.is_none() && tilt.is_none() {
        return None;
    }
    let pitch_radius_m = of.required("pitch-radius", "120 mm", pitch_radius)?;
    let bore_m = of.required("bore", "18 mm", bore)?;
    Some(WheelShape {
        pitch_radius_m,
        bore_m,
        depth_m: of.required("depth", "14 mm", depth)?,
        tilt_rad: of.required("tilt", "7 deg", tilt)?,
        guide_rad,
        mouth_rad,
        channel_m,
        relieved,
        cut_back,
        square_ends,
        guide_from_m,
        lead_in,
        fence,
        torque_nm,
        inertia_kg_m2,
        gap_m,
        pitch_error_m,
        slope_error_rad,
        ramp_end_off_m: 0.0,
    })
}

fn lift(of: &mut Fields) -> Option<Lift> {
    of.note("lift", || Shape::Shared("lift"));
    let node = of.get("lift")?;
    let typed = match &node.value {
        Value::Text(text) if units::quantity(text, &DURATION).is_ok() => {
            return of.duration("lift").map(Lift::Time);
        }
        Value::Text(text) if units::quantity(text, &ANGLE).is_ok() => {
            return of
                .quantity("lift", &ANGLE, PI / 18.0..=2.0 * PI - PI / 18.0)
                .map(Lift::Arc);
        }
        Value::Text(text) => format!("`lift: {text}`"),
        other => format!("`lift` is {}, which", other.kind()),
    };
    let help = "write an arc, as in `180 deg`, or a measured time, as in `4.2 s`";
    of.wrong(
        "lift",
        node,
        format!("{typed} is neither an angle nor a time"),
        help,
    );
    None
}
