//! Pocket wheels made ready: a wheel's dimensions to its clock, its chances at the pick-up and where its marbles come out.

use std::f64::consts::{PI, TAU};

use super::draw::nanos;
use super::drive::wheel_rpm;
use super::line::last_slope_rad;
use super::plan::{Plan, Role};
use super::pocket_wheel::{PocketClock, PocketWheel};
use super::workshop::Workshop;
use crate::machine::assumed::CHANNEL_DIAMETERS;
use crate::machine::model::{self, Kind, PickUp, WheelShape};
use crate::physics::hand_over::{Lift, Spread};
use crate::physics::pick_up::{self, RECOIL_S2, Wall};
use crate::physics::release::{CARRIED_OVER_RAD, Guide, Pocket};

/// Makes a pocket wheel ready. `drive` is the index of what turns it.
pub fn plan(wheel: &model::PocketWheel, drive: usize, workshop: &Workshop) -> Plan {
    let rpm = wheel_rpm(wheel, workshop.machine);
    let turn_s = 60.0 / rpm.max(1e-6);
    let out = wheel.shape.as_ref().and_then(|shape| hand_over(shape, rpm, workshop));
    let lift = match (wheel.lift, out) {
        (Some(model::Lift::Time(time_s)), _) => nanos(time_s),
        (Some(model::Lift::Arc(arc_rad)), _) | (None, Some((arc_rad, _))) => nanos(turn_s * arc_rad / (2.0 * PI)),
        (None, None) => nanos(turn_s / 2.0),
    };
    // A wheel has pockets all round: where the first stands counts only to the next.
    let pocket_s = turn_s / f64::from(wheel.pockets.max(1));
    let phase = nanos(pocket_s * (wheel.phase_rad / (2.0 * PI) * f64::from(wheel.pockets)).rem_euclid(1.0));
    // A whole number of pockets that came out of the reckoning a hair below itself.
    let phase = if phase < nanos(pocket_s) { phase } else { 0 };
    let computed = || chances(wheel.shape.as_ref()?, wheel.pockets, rpm, workshop);
    let pick_up = wheel.pick_up.or_else(computed).unwrap_or(PickUp { take: 1.0, pinch: 0.0 });
    let clock = PocketClock::new(nanos(turn_s), wheel.pockets, phase);
    let release = wheel.release.or(out.map(|(_, chance)| chance)).unwrap_or(1.0);
    let chances = [pick_up.take, pick_up.pinch, release];
    // However long the lift was measured to take, a pocket has let go before it takes the next marble.
    let lift = lift.min(clock.turn() - 1);
    Plan {
        room: wheel.pockets,
        role: Role::PocketWheel(PocketWheel::new(clock, lift, chances, drive)),
        ..workshop.blank()
    }
}

/// The pick-up as physics sees it; `None` where the marbles' diameter is not known.
pub fn at_pick_up(shape: &WheelShape, pockets: u32, workshop: &Workshop) -> Option<pick_up::PickUp> {
    let marble_m = workshop.machine.marbles.diameter_m?;
    Some(pick_up::PickUp {
        marble_m,
        marble_sd_m: workshop.machine.marbles.spread_m,
        bore_m: shape.bore_m,
        depth_m: shape.depth_m,
        pitch_radius_m: shape.pitch_radius_m,
        pockets,
        slope_rad: slope_before(workshop),
        slope_sd_rad: shape.slope_error_rad,
        surface: workshop.surface(),
        gap_m: shape.gap_m,
        channel_m: shape.channel_m.unwrap_or(CHANNEL_DIAMETERS.0 * marble_m),
        wall: if shape.relieved { Wall::Relieved } else { Wall::Square },
        off_circle_sd_m: shape.pitch_error_m,
        height_misfit_m: 0.0,
        recoil_s2: RECOIL_S2,
    })
}

/// Slope on which marbles wait before the wheel, radians.
fn slope_before(workshop: &Workshop) -> f64 {
    let slope = workshop.feeders().iter().find_map(|element| match &element.kind {
        Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line) => last_slope_rad(line),
        Kind::ReturnFloor(floor) => floor.shape.map(|shape| shape.valley_rad),
        _ => None,
    });
    slope.unwrap_or(workshop.machine.assume.slope_rad)
}

/// Chances of a waiting marble at each pocket, by the wheel's speed.
pub fn chances(shape: &WheelShape, pockets: u32, rpm: f64, workshop: &Workshop) -> Option<PickUp> {
    let chances = at_pick_up(shape, pockets, workshop)?.chances(rim_speed_m_s(shape, rpm));
    Some(PickUp { take: chances.take, pinch: chances.pinch })
}

/// Speed of the pockets along their circle, metres a second.
pub fn rim_speed_m_s(shape: &WheelShape, rpm: f64) -> f64 {
    turning_rad_s(rpm) * shape.pitch_radius_m
}

/// Turning of the wheel, radians a second.
pub fn turning_rad_s(rpm: f64) -> f64 {
    rpm / 60.0 * TAU
}

/// The pocket and its guide as physics sees them.
pub fn lift(shape: &WheelShape, workshop: &Workshop) -> Option<Lift> {
    let pocket = Pocket {
        pitch_radius_m: shape.pitch_radius_m,
        bore_m: shape.bore_m,
        depth_m: shape.depth_m,
        tilt_rad: shape.tilt_rad,
    };
    let guide = shape.guide_rad.map(|end_rad| Guide { end_rad, gap_m: shape.gap_m });
    Some(Lift { pocket, marble: workshop.marble()?, surface: workshop.surface(), guide })
}

/// Where a marble is out, radians past the lowest point, and the chance that it is so before the slide's mouth ends.
///
/// A marble that does not come out before the pocket dips inward again has no chance.
pub fn hand_over(shape: &WheelShape, rpm: f64, workshop: &Workshop) -> Option<(f64, f64)> {
    let lift = lift(shape, workshop)?;
    let turning = turning_rad_s(rpm);
    let out = lift.out_rad(turning).ok()?;
    if out >= CARRIED_OVER_RAD {
        return Some((shape.mouth_rad.unwrap_or(PI), 0.0));
    }
    let chance = |end| lift.chance_out_before(end, turning, &Spread::WORKSHOP).ok().flatten().unwrap_or(0.0);
    Some((out, shape.mouth_rad.map_or(1.0, chance)))
}
