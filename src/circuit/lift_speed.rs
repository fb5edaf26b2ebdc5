//! A lift other than a wheel at the speed it turns: when its seats come, and whether marbles roll into them in time.

use super::drive::turned_rpm;
use super::wheel_place::slope_before;
use super::workshop::Workshop;
use crate::machine::model::{Lifting, TurnedBy};
use crate::physics::capture_limit::RampAtWheel;

/// A lift that turns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiftSpeed {
    /// Turns of its shaft a minute.
    pub rpm: f64,
    /// From seat to seat, s.
    pub every_s: f64,
    /// How long a seat is open to each of the marbles that it takes, s.
    pub open_s: f64,
    /// How long a marble takes to roll in, s; `None` where its size is not known or nothing makes it roll.
    pub roll_in_s: Option<f64>,
    /// Whether nothing makes it roll.
    pub stalls: bool,
}

impl LiftSpeed {
    /// The lift as it turns; `None` where nothing turns it.
    pub fn new(lifting: &Lifting, turned_by: TurnedBy, workshop: &Workshop) -> Option<Self> {
        let rpm = turned_rpm(turned_by, workshop.machine);
        if rpm <= 0.0 {
            return None;
        }
        let every_s = 60.0 / rpm / lifting.a_turn;
        let acceleration = ramp(lifting, workshop).map(|ramp| ramp.acceleration_m_s2());
        let far_m = lifting.roll_in.far_m.unwrap_or(0.0);
        Some(LiftSpeed {
            rpm,
            every_s,
            open_s: every_s * lifting.roll_in.open / f64::from(lifting.holds),
            roll_in_s: acceleration
                .filter(|&a| a > 0.0)
                .map(|a| (2.0 * far_m / a).sqrt()),
            stalls: acceleration.is_some_and(|a| a <= 0.0),
        })
    }

    /// Whether marbles that wait come in before a seat is past; nothing speaks against it where their size is not known.
    pub fn takes(&self) -> bool {
        !self.stalls && self.roll_in_s.is_none_or(|needed| needed <= self.open_s)
    }

    /// The speed up to which marbles come in, turns a minute; `None` where any will do, or none.
    pub fn limit_rpm(&self) -> Option<f64> {
        Some(self.rpm * self.open_s / self.roll_in_s?)
    }
}

/// What marbles roll in on; `None` where their size is not known.
pub fn ramp(lifting: &Lifting, workshop: &Workshop) -> Option<RampAtWheel> {
    lifting.roll_in.far_m?;
    let slope = lifting.roll_in.slope_rad;
    let marble_m = workshop.machine.marbles.diameter_m?;
    Some(RampAtWheel {
        marble_m,
        bore_m: marble_m,
        slope_rad: slope.unwrap_or_else(|| slope_before(workshop)),
        rolling_lever_m: workshop.machine.assume.rolling_m,
    })
}
