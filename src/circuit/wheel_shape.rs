//! A wheel's dimensions as physics and the close look see them: its pick-up, its pockets, where its marbles come out.

use std::f64::consts::{PI, TAU};

use super::close_look::{self, Effort};
use super::wheel_place::{slope_before, wheel_place};
use super::workshop::Workshop;
use crate::contact::pick_up_chances::PickUpCounts;
use crate::contact::place::WheelPlace;
use crate::machine::model::{self, WheelShape};
use crate::physics;
use crate::physics::hand_over::{LiftGeometry, Spread};
use crate::physics::release::{CARRIED_OVER_RAD, GuidePlate, PocketShape};

/// The closed limit of the pick-up; `None` where the marbles' diameter is not known.
pub fn at_pick_up(
    shape: &WheelShape,
    workshop: &Workshop,
) -> Option<physics::capture_limit::RampAtWheel> {
    Some(physics::capture_limit::RampAtWheel {
        marble_m: workshop.machine.marbles.diameter_m?,
        bore_m: shape.bore_m,
        slope_rad: slope_before(workshop),
        rolling_lever_m: workshop.machine.assume.rolling_m,
    })
}

/// What a close look sees at this speed (turns a minute), if one can be taken.
pub fn look(
    wheel: &model::PocketWheel,
    rpm: f64,
    effort: Effort,
    workshop: &Workshop,
) -> Option<PickUpCounts> {
    Some(close_look::look(&place(wheel, rpm, workshop)?, effort))
}

/// The place that a close look is taken at; `None` where there is nothing to look at: measured chances, no dimensions, or a
/// wheel that does not turn.
pub fn place(wheel: &model::PocketWheel, rpm: f64, workshop: &Workshop) -> Option<WheelPlace> {
    let shape = wheel
        .shape
        .as_ref()
        .filter(|_| wheel.pick_up.is_none() && rpm > 0.0)?;
    wheel_place(wheel, shape, rpm, workshop)
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
pub fn lift(shape: &WheelShape, workshop: &Workshop) -> Option<LiftGeometry> {
    let pocket = PocketShape {
        pitch_radius_m: shape.pitch_radius_m,
        bore_m: shape.bore_m,
        depth_m: shape.depth_m,
        tilt_rad: shape.tilt_rad,
    };
    let guide = shape.guide_rad.map(|end_rad| GuidePlate {
        end_rad,
        gap_m: shape.gap_m,
    });
    Some(LiftGeometry {
        pocket,
        marble: workshop.marble()?,
        surface: workshop.surface(),
        guide,
    })
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
    let Some(mouth) = shape.mouth_rad else {
        return Some((out, 1.0));
    };
    let chance = lift.chance_out_before(mouth, turning, &Spread::WORKSHOP);
    Some((out, chance.ok().flatten().unwrap_or(0.0)))
}

/// How fast marbles come out of the wheel's pockets onto what stands before it, m/s; `None` where its shape is not known or
/// they do not come out.
pub fn out_speed_m_s(wheel: &model::PocketWheel, rpm: f64, workshop: &Workshop) -> Option<f64> {
    let lift = lift(wheel.shape.as_ref()?, workshop)?;
    lift.out_speed_m_s(turning_rad_s(rpm)).ok()
}
