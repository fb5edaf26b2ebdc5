//! Dimensions of a pocket wheel that do not go together, and a lift that contradicts the speed.

use std::f64::consts::PI;

use crate::machine::check_shapes::ElementCheck;
use crate::machine::model::{Lift, PocketWheel, TurnedBy, WheelShape};
use crate::machine::units::{ANGLE, DURATION, LENGTH, SPEED};

/// Whether a wheel's dimensions go together, and with the marbles.
pub fn wheel(wheel: &PocketWheel, at: &ElementCheck) {
    lift(wheel, at);
    let (Some(shape), Some(_)) = (&wheel.shape, at.diameter_m) else {
        return;
    };
    at.passes("bore", "pocket", shape.bore_m);
    if let Some(channel_m) = shape.channel_m {
        at.passes("channel", "channel", channel_m);
    }
    pockets(wheel.pockets, shape, at);
    if let (Some(guide), Some(mouth)) = (shape.guide_rad, shape.mouth_rad)
        && mouth <= guide
    {
        let (guide, mouth) = (ANGLE.show(guide), ANGLE.show(mouth));
        let what = format!("the slide's mouth ends at {mouth}, before the guide ends at {guide}");
        at.wrong(
            "mouth-ends",
            what,
            "end the guide lower: marbles leave between the two",
        );
    }
}

/// Whether a measured lift contradicts the speed.
fn lift(wheel: &PocketWheel, at: &ElementCheck) {
    let rpm = match wheel.turned_by {
        TurnedBy::Drive { ratio } => at.machine().drive.rpm * ratio,
        TurnedBy::OwnMotor { rpm } => rpm,
    };
    let Some(Lift::Time(lift_s)) = wheel.lift else {
        return;
    };
    // Without a speed in the file there is nothing to hold the time against.
    if rpm > 0.0 && lift_s >= 60.0 / rpm {
        let (lift, turn) = (DURATION.show(lift_s), DURATION.show(60.0 / rpm));
        let what = format!(
            "`lift` takes {lift}, longer than a whole turn at {} ({turn})",
            SPEED.show(rpm)
        );
        at.wrong(
            "lift",
            what,
            "write it as an arc, as in `lift: 180 deg`, or turn more slowly",
        );
    }
}

fn pockets(pockets: u32, shape: &WheelShape, at: &ElementCheck) {
    let spacing_m = 2.0 * shape.pitch_radius_m * libm::sin(PI / f64::from(pockets));
    let (bore, spacing) = (LENGTH.show(shape.bore_m), LENGTH.show(spacing_m));
    if shape.bore_m >= 2.0 * shape.pitch_radius_m {
        let what = format!("a pocket of {bore} covers the whole pitch circle");
        at.wrong("bore", what, "make `pitch-radius` larger");
    } else if pockets > 1 && spacing_m <= shape.bore_m {
        let what = format!(
            "{pockets} pockets of {bore} run into each other: their centres are {spacing} apart"
        );
        at.wrong(
            "pockets",
            what,
            "drill fewer pockets, or make `pitch-radius` larger",
        );
    }
}
