//! Where marbles of a wheel come out, and what has to stand there.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::physics::hand_over::{LiftGeometry, Spread, mouth_width_m};

/// A guide begins this far before the quarter turn, where pockets begin to dip outward, radians: our own margin.
pub const GUIDE_MARGIN_RAD: f64 = 10.0 * PI / 180.0;
/// Air at each side of a marble in the slide's mouth, metres: our own margin.
const CLEARANCE_M: f64 = 0.002;
/// Standard deviations of workmanship that the slide's mouth takes in.
pub const SPREADS: f64 = 2.0;

/// Where marbles of a wheel come out at its speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PocketExit {
    /// They leave, radians past the lowest point.
    pub leave_rad: f64,
    /// They are out.
    pub out_rad: f64,
    /// Standard deviation of both from workmanship.
    pub sd_rad: f64,
}

impl PocketExit {
    /// Where a lift lets go at a turning speed; `None` where marbles are carried over, or the pocket cannot hold one.
    pub fn of(lift: &LiftGeometry, turning_rad_s: f64) -> Option<PocketExit> {
        let sd_rad = lift.out_sd_rad(turning_rad_s, &Spread::WORKSHOP).ok()??;
        let (leave_rad, out_rad) = (
            lift.leave_rad(turning_rad_s).ok()?,
            lift.out_rad(turning_rad_s).ok()?,
        );
        Some(PocketExit {
            leave_rad,
            out_rad,
            sd_rad,
        })
    }

    /// From the first to the last angle at which the slide's mouth must be open: nearly every marble of nearly every
    /// wheel built to these dimensions.
    pub fn mouth_rad(&self) -> (f64, f64) {
        (
            self.leave_rad - SPREADS * self.sd_rad,
            self.out_rad + SPREADS * self.sd_rad,
        )
    }

    /// Width of the mouth that takes all of it, metres.
    pub fn mouth_m(&self, pitch_radius_m: f64, marble_m: f64) -> f64 {
        let (first, last) = self.mouth_rad();
        mouth_width_m(pitch_radius_m, first, last, marble_m, CLEARANCE_M)
    }
}

/// Where the guide begins, radians past the lowest point.
pub fn guide_from_rad() -> f64 {
    FRAC_PI_2 - GUIDE_MARGIN_RAD
}
