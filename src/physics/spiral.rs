//! A ball that circles down the inside of a cone.
//!
//! At any height it circles as fast as [`super::orbit`] says, v^2 = (5/7) g r tan a, and rolling resistance takes of its energy,
//! E = (3/2) m g r tan a, so slowly that it stays on circles: sqrt(r) shrinks evenly, by k / 2 a second, with
//!
//! k = (2/3) c sqrt((5/7) g tan a) (cos a + (5/7) sin^2 a / cos a) / tan a
//!
//! Own derivation; no spiral time was found in print, and no funnel's orbits are Kepler's (English and Mareno, "Trajectories of
//! rolling marbles on various funnels", Am. J. Phys. 80, 996, 2012). Left out: spin about the normal, bounces, other marbles, and
//! that an orbit which begins too slowly or too fast is no circle: it is counted as the circle of the same angular momentum.

use super::G;
use super::orbit::orbit_speed_m_s;
use super::rolling::{Seat, time_s};

/// A cone as the ball's centre sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spiral {
    /// From the axis to the ball's centre at the rim, m.
    pub rim_m: f64,
    /// The same where it falls through the hole, m.
    pub hole_m: f64,
    /// Slope of the wall, rad.
    pub slope_rad: f64,
    /// Coefficient of rolling resistance, as in [`crate::physics::rolling`], above 0.
    pub resistance: f64,
}

impl Spiral {
    /// From the rim, along which the ball comes in at this speed, m/s, to the hole on circles, s.
    pub fn time_s(&self, entry_m_s: f64) -> f64 {
        let begins = self.circle_m(entry_m_s);
        let (sine, cosine, tangent) = (
            libm::sin(self.slope_rad),
            libm::cos(self.slope_rad),
            libm::tan(self.slope_rad),
        );
        let pressed = cosine + 5.0 / 7.0 * sine * sine / cosine;
        let fades =
            2.0 / 3.0 * self.resistance * (5.0 / 7.0 * G * tangent).sqrt() * pressed / tangent;
        2.0 * (begins.sqrt() - self.hole_m.sqrt()).max(0.0) / fades
    }

    /// From rest at the rim straight down the wall, without resistance, s: no ball comes through it sooner. It rolls at
    /// (5/7) g sin a (any textbook of mechanics, a sphere on an incline).
    pub fn straight_down_s(&self) -> f64 {
        let (sine, cosine) = (libm::sin(self.slope_rad), libm::cos(self.slope_rad));
        let wall_m = (self.rim_m - self.hole_m).max(0.0) / cosine;
        time_s(wall_m, 0.0, Seat::PLANE.rolling_share() * G * sine).unwrap_or(0.0)
    }

    /// From the rim, along which the ball comes in at this speed, m/s, to the hole, s: on circles, or straight down where it
    /// comes too slowly for any.
    pub fn passage_s(&self, entry_m_s: f64) -> f64 {
        self.time_s(entry_m_s).max(self.straight_down_s())
    }

    /// The circle with the angular momentum of a ball that comes along the rim at this speed, m; never above the rim, nor below
    /// the hole.
    pub fn circle_m(&self, entry_m_s: f64) -> f64 {
        let share = entry_m_s / self.rim_speed_m_s();
        let circle = self.rim_m * libm::cbrt(share * share);
        circle.min(self.rim_m).max(self.hole_m)
    }

    /// Speed at which it circles along the rim, m/s.
    pub fn rim_speed_m_s(&self) -> f64 {
        orbit_speed_m_s(self.rim_m, self.slope_rad)
    }
}
