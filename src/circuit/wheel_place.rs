//! A wheel's place from its dimensions: what a close look follows marbles in.

use std::f64::consts::TAU;

use super::drive::at_drive;
use super::marbles::marbles;
use super::workshop::Workshop;
use crate::contact::place::{Guide, GuideBevel, Ramp, WallEnds, WheelPlace};
use crate::contact::pocket_wheel::{TorqueLine, WheelDimensions};
use crate::machine::assumed::{CHANNEL_DIAMETERS, WHEEL_TORQUE_NM};
use crate::machine::model::{self, TurnedBy};

/// Where the guide of a cut-back wall starts if it is not given: beyond the channel, in marbles.
const GUIDE_FROM_DIAMETERS: f64 = 2.0;
/// Speed that a drive lacks when it pulls with all its torque, rad/s: a geared motor hardly yields until it stands.
const YIELDS_RAD_S: f64 = 0.1;
/// Slowest pockets that are followed, one in so many seconds, and fastest, m/s: beyond either nothing changes any more.
const SLOWEST_S: f64 = 2.0;
const FASTEST_M_S: f64 = 1.5;

/// The place of a wheel with these dimensions at a speed (turns a minute, above 0); `None` where the marbles are not known.
pub fn wheel_place(
    wheel: &model::PocketWheel,
    shape: &model::WheelShape,
    rpm: f64,
    workshop: &Workshop,
) -> Option<WheelPlace> {
    let marbles = marbles(workshop)?;
    let d = marbles.diameter_m;
    let channel_m = shape.channel_m.unwrap_or(CHANNEL_DIAMETERS.0 * d);
    let guide_from_m = match shape.guide_from_m {
        Some(given) => given,
        None => channel_m / 2.0 + GUIDE_FROM_DIAMETERS * d,
    };
    let ramp = Ramp {
        slope_rad: slope_before(workshop),
        slope_sd_rad: shape.slope_error_rad,
        length_m: 20.0 * d,
        channel_m,
        half_floor_m: guide_from_m.max(channel_m / 2.0) + d / 2.0,
        gap_m: shape.gap_m,
        end_height_m: shape.bore_m / 2.0 / libm::cos(shape.tilt_rad) - d / 2.0
            + shape.ramp_end_off_m,
        end_height_sd_m: shape.pitch_error_m,
        wall_height_m: 2.0 * d,
        ends: if shape.square_ends {
            WallEnds::Square
        } else {
            WallEnds::Upright
        },
        cut_back_m: shape.cut_back_m(d),
        fence: shape.is_fenced(),
        lid_m: Some(1.7 * d),
        arrives_m_s: arrives_m_s(workshop),
    };
    Some(WheelPlace {
        guide: guide(shape, ramp.cut_back_m, guide_from_m),
        marbles,
        wheel: WheelDimensions {
            pitch_radius_m: shape.pitch_radius_m,
            pockets: wheel.pockets,
            bore_m: shape.bore_m,
            depth_m: shape.depth_m,
            tilt_rad: shape.tilt_rad,
        },
        drive: drive(wheel, shape, followed_rad_s(wheel, shape, rpm), workshop),
        ramp,
    })
}

/// The guide, which starts at the wall unless that is cut back or the guide's start is given.
fn guide(shape: &model::WheelShape, cut_back_m: f64, from_m: f64) -> Guide {
    if shape.guide_rad.is_none() {
        return Guide::No;
    }
    if cut_back_m <= 0.0 && shape.guide_from_m.is_none() {
        return Guide::FromWall;
    }
    let bevel = if shape.lead_in {
        GuideBevel::LeadIn
    } else {
        GuideBevel::Scraper
    };
    Guide::From(from_m, bevel)
}

/// The turning that is followed, rad/s.
fn followed_rad_s(wheel: &model::PocketWheel, shape: &model::WheelShape, rpm: f64) -> f64 {
    let slowest = TAU / f64::from(wheel.pockets) / SLOWEST_S;
    (rpm / 60.0 * TAU)
        .min(FASTEST_M_S / shape.pitch_radius_m)
        .max(slowest)
}

/// The drive as the wheel feels it.
fn drive(
    wheel: &model::PocketWheel,
    shape: &model::WheelShape,
    speed_rad_s: f64,
    workshop: &Workshop,
) -> TorqueLine {
    let machine = workshop.machine;
    let torque_n_m = match (shape.torque_nm, &machine.drive.motor, &wheel.turned_by) {
        (Some(given), _, _) => given,
        (None, Some(motor), TurnedBy::Drive { ratio }) => {
            at_drive(machine, motor).stall_torque_n_m / ratio
        }
        _ => WHEEL_TORQUE_NM.0,
    };
    TorqueLine {
        speed_rad_s,
        torque_n_m,
        gain_n_m_s: torque_n_m / YIELDS_RAD_S,
        inertia_kg_m2: shape.inertia_kg_m2(),
    }
}

/// Slope on which marbles wait before the wheel, rad.
pub fn slope_before(workshop: &Workshop) -> f64 {
    let mut feeders = workshop.feeders().into_iter();
    let slope = feeders.find_map(|element| element.kind.exit_slope_rad());
    slope.unwrap_or(workshop.machine.assume.slope_rad)
}

/// Speed at which a lone marble comes to the wheel, m/s: what the fastest line that leads there gives it.
fn arrives_m_s(workshop: &Workshop) -> f64 {
    let mut fastest: f64 = 0.0;
    for element in workshop.feeders() {
        if let Some(line) = element.kind.line()
            && let Some(Ok(passage)) = Workshop::new(workshop.machine, element).roll(line)
        {
            fastest = fastest.max(passage.exit_speed_m_s);
        }
    }
    fastest
}
