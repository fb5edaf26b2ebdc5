//! The dimensions of each element kind.

use super::lister::Lister;
use crate::circuit::plan::Plan;
use crate::machine::assumed::WHEEL_TORQUE_NM;
use crate::machine::model::*;
use crate::sheet::spread;

/// Lists what an element of this kind has.
pub fn kind(kind: &Kind, plan: &Plan, list: &mut Lister) {
    match kind {
        Kind::Ramp(Ramp(of)) | Kind::Slide(Slide(of)) | Kind::Track(Track(of)) => {
            line(of, plan, list)
        }
        Kind::PocketWheel(of) => pocket_wheel(of, list),
        Kind::Bowl(of) => bowl(of, plan, list),
        Kind::FlipGate(of) => {
            fall(&of.fall, list);
            list.time("throw", of.throw_s);
            arch("stick", of.stick.as_ref(), list);
        }
        Kind::Peg(of) => {
            fall(&of.fall, list);
            list.shares(&of.shares);
        }
        Kind::Weir(of) => fall(&of.fall, list),
        Kind::Escapement(of) => {
            list.law("time", Some(&of.time));
            list.room("places", plan);
            when_full(of.when_full, list);
        }
        Kind::TippingCup(of) => {
            list.count("gathers", of.gathers);
            list.time("tip", of.tip_s);
            list.time("reset", of.reset_s);
            when_full(of.when_full, list);
        }
        Kind::ReturnFloor(of) => return_floor(of, plan, list),
    }
}

fn line(of: &Line, plan: &Plan, list: &mut Lister) {
    if list.is_written("segments") {
        list.under("segments", |list| {
            of.segments
                .iter()
                .enumerate()
                .for_each(|(n, one)| list.under(&n.to_string(), |list| segment(one, list)));
        });
    } else {
        of.segments.iter().for_each(|one| segment(one, list));
    }
    if !of.segments.is_empty() {
        channel(of.channel, list);
    }
    if let Some(speed) = of.entry_m_s {
        list.velocity("entry-speed", speed);
    }
    list.law("time", of.time.as_ref());
    if of.time.is_none() {
        let rolls = plan
            .travel
            .first()
            .filter(|_| !plan.stalls)
            .map_or("comes to rest".to_owned(), spread);
        list.computed("time", rolls);
    }
    list.room("places", plan);
    list.advance("advance", plan);
    when_full(of.when_full, list);
}

fn segment(of: &Segment, list: &mut Lister) {
    match *of {
        Segment::Straight {
            length_m,
            slope_rad,
        } => {
            list.length("length", length_m);
            list.slope("slope", slope_rad);
        }
        Segment::Bend {
            radius_m,
            turn_rad,
            slope_rad,
        } => list.under("bend", |list| {
            list.length("radius", radius_m);
            list.angle("turn", turn_rad);
            list.slope("slope", slope_rad);
        }),
        Segment::Drop { height_m } => list.length("drop", height_m),
        Segment::Steps {
            count,
            rise_m,
            run_m,
            slope_rad,
        } => list.under("steps", |list| {
            list.count("count", count);
            list.length("rise", rise_m);
            list.length("run", run_m);
            list.slope("slope", slope_rad);
        }),
        Segment::Corner {
            fall_m,
            gap_m,
            thickness_m,
        } => list.under("corner", |list| {
            list.length("fall", fall_m);
            list.length("gap", gap_m);
            list.length("thickness", thickness_m);
        }),
    }
}

fn channel(of: Channel, list: &mut Lister) {
    match of {
        Channel::Plane => list.word("channel", "plane"),
        Channel::Vee { angle_rad } => list.under("channel", |list| list.angle("vee", angle_rad)),
        Channel::SharpRails { gap_m } => list.under("channel", |list| list.length("rails", gap_m)),
        Channel::RoundRails {
            rod_radius_m,
            spacing_m,
        } => list.under("channel", |list| {
            list.under("rods", |list| {
                list.length("diameter", 2.0 * rod_radius_m);
                list.length("spacing", spacing_m);
            });
        }),
    }
}

fn when_full(of: WhenFull, list: &mut Lister) {
    list.word(
        "when-full",
        if of == WhenFull::Hold {
            "hold"
        } else {
            "spill"
        },
    );
}

fn arch(key: &str, of: Option<&Arch>, list: &mut Lister) {
    let Some(of) = of else { return };
    list.under(key, |list| {
        list.number("chance", of.chance);
        match &of.clears {
            Some(law) => list.law("clears", Some(law)),
            None => list.word("clears", "never"),
        }
    });
}

fn fall(of: &Fall, list: &mut Lister) {
    match &of.time {
        Some(time) => list.law("time", Some(time)),
        None => list.length("drop", of.drop_m),
    }
}

fn pocket_wheel(of: &PocketWheel, list: &mut Lister) {
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
        list.under("pick-up", |list| {
            list.number("take", chances.take);
            list.number("pinch", chances.pinch);
        });
    }
    of.release
        .iter()
        .for_each(|&chance| list.number("release", chance));
}

fn bowl(of: &Bowl, plan: &Plan, list: &mut Lister) {
    if let Some(shape) = &of.shape {
        list.length("width", shape.width_m);
        list.length("depth", shape.depth_m);
        list.length("hole", shape.hole_m);
        list.length("hole-circle", shape.hole_circle_m);
        if let Some(speed) = shape.entry_m_s {
            list.velocity("entry-speed", speed);
        }
    }
    list.law("swirl", of.swirl.as_ref());
    if let (None, Some(draw)) = (&of.swirl, plan.travel.first()) {
        list.computed("swirl", spread(draw));
    }
    list.shares(&of.shares);
    list.room("room", plan);
    list.advance("hole-time", plan);
    arch("arch", of.arch.as_ref(), list);
    when_full(of.when_full, list);
}

fn return_floor(of: &ReturnFloor, plan: &Plan, list: &mut Lister) {
    if let Some(shape) = &of.shape {
        list.length("width", shape.width_m);
        list.length("depth", shape.depth_m);
        list.slope("cross-pitch", shape.cross_rad);
        list.slope("valley-pitch", shape.valley_rad);
        list.length("mouth", shape.mouth_m);
        list.length("fall", shape.fall_m);
    }
    list.law("time", of.time.as_ref());
    list.room("room", plan);
    list.advance("mouth-time", plan);
    arch("arch", of.arch.as_ref(), list);
    when_full(of.when_full, list);
}
