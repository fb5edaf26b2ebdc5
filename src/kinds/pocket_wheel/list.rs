//! The dimensions of a pocket wheel, one by one.

use crate::machine::assumed::WHEEL_TORQUE_NM;
use crate::machine::model::{Lift, PocketWheel, TurnedBy};
use crate::sheet::dimensions::lister::Lister;

/// Lists the dimensions of a wheel.
pub fn wheel(of: &PocketWheel, list: &mut Lister) {
    list.count("pockets", of.pockets);
    if let Some(shape) = &of.shape {
        list.length("pitch-radius", shape.pitch_radius_m);
        list.length("bore", shape.bore_m);
        list.length("depth", shape.depth_m);
        list.angle("tilt", shape.tilt_rad);
        shape
            .guide_rad
            .iter()
            .for_each(|&guide| list.angle("guide", guide));
        shape
            .mouth_rad
            .iter()
            .for_each(|&mouth| list.angle("mouth-ends", mouth));
        list.lengths("channel", shape.channel_m);
        list.word("wall", if shape.relieved { "relieved" } else { "square" });
        let marble_m = list.machine().marbles.diameter_m.unwrap_or(0.0);
        list.length("cut-back", shape.cut_back_m(marble_m));
        list.word(
            "wall-ends",
            if shape.square_ends {
                "square"
            } else {
                "upright"
            },
        );
        list.lengths("guide-from", shape.guide_from_m);
        list.word(
            "guide-edge",
            if shape.lead_in { "lead-in" } else { "scraper" },
        );
        list.word("fence", if shape.is_fenced() { "yes" } else { "no" });
        list.torque("torque", shape.torque_nm.unwrap_or(WHEEL_TORQUE_NM.0));
        list.inertia("inertia", shape.inertia_kg_m2());
        list.length("gap", shape.gap_m);
        list.length("pitch-error", shape.pitch_error_m);
        list.angle("slope-error", shape.slope_error_rad);
    }
    match of.turned_by {
        TurnedBy::Drive { ratio } => list.number("gear", ratio),
        TurnedBy::OwnMotor { rpm } => list.rpm("speed", rpm),
    }
    list.angle("phase", of.phase_rad);
    match of.lift {
        Some(Lift::Arc(radians)) => list.angle("lift", radians),
        Some(Lift::Time(time_s)) => list.time("lift", time_s),
        None => {}
    }
    if let Some(chances) = of.pick_up {
        list.pick_up(chances);
    }
    of.release
        .iter()
        .for_each(|&chance| list.number("release", chance));
}
