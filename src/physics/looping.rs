//! A ball that rolls through an upright loop.
//!
//! Newton and Euler for a ball that does not slip, its centre on a circle of radius r, at the angle f past the lowest point:
//! with k = (2/5)(R/h)^2 its share of spin and x = v^2 / (g r),
//!
//! x' = -2 (sin f + c (x + cos f)) / (1 + k)
//!
//! c is the coefficient of rolling resistance as in [`crate::physics::rolling`]; the rails press on the ball with
//! m g (x + cos f), and it stays on as long as that is above 0. Without resistance: v^2 = g r at the top, and a release from rest
//! (1/2)(5 + k) r above the bottom of the loop, 2.7 r for a ball on a plane (Halliday, Resnick and Walker, "Fundamentals of
//! Physics", the problem of a ball that rolls through a loop-the-loop; from memory for the place).
//!
//! Left out: slipping, which a ball does where it is pressed least, near the top; and what a loop's sideways lead takes.

use std::f64::consts::TAU;

use super::G;
use super::rolling::Seat;

/// Steps once round; even, for the time's integral.
const STEPS: u32 = 720;

/// A loop as its ball sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopTheLoop {
    /// Radius of the circle that the ball's centre goes round, m.
    pub centre_radius_m: f64,
    /// How the ball sits on its rails.
    pub seat: Seat,
    /// Coefficient of rolling resistance.
    pub resistance: f64,
}

/// Once round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Round {
    /// How long it takes, s.
    pub time_s: f64,
    /// Speed at the end, m/s.
    pub exit_m_s: f64,
}

impl LoopTheLoop {
    /// Least speed at the foot with which the ball stays on all the way, m/s.
    pub fn least_m_s(&self) -> f64 {
        // The course is linear in where it begins: what a beginning of 1 leaves, and what a beginning of 0 comes to.
        let fades = -2.0 * self.seat.rolling_share() * self.resistance;
        let mut least: f64 = 0.0;
        for (n, from_rest) in self.course(0.0).into_iter().enumerate() {
            let angle = angle(n);
            let needs = (-libm::cos(angle)).max(0.0) - from_rest;
            least = least.max(needs / libm::exp(fades * angle));
        }
        (least * G * self.centre_radius_m).sqrt()
    }

    /// Height above the foot from which a ball let go from rest has the least speed, m, where nothing slows it on the way down.
    pub fn least_height_m(&self) -> f64 {
        let least = self.least_m_s();
        least * least / (2.0 * G * self.seat.rolling_share())
    }

    /// Once round from this speed at the foot, m/s; `None` where the ball falls off.
    pub fn round(&self, entry_m_s: f64) -> Option<Round> {
        if entry_m_s < self.least_m_s() {
            return None;
        }
        let unit = G * self.centre_radius_m;
        let course = self.course(entry_m_s * entry_m_s / unit);
        let step = TAU / f64::from(STEPS);
        let mut sum = 0.0;
        for (n, x) in course.iter().enumerate() {
            let weight = match n {
                0 => 1.0,
                n if n as u32 == STEPS => 1.0,
                n if n % 2 == 1 => 4.0,
                _ => 2.0,
            };
            // The foot may be reached with next to no speed left.
            sum += weight / x.max(1e-9).sqrt();
        }
        Some(Round {
            time_s: (self.centre_radius_m / G).sqrt() * sum * step / 3.0,
            exit_m_s: (course.last()?.max(0.0) * unit).sqrt(),
        })
    }

    /// The square of the speed over g r, from `begins` at the foot, at each step once round (Runge and Kutta's fourth order).
    fn course(&self, begins: f64) -> Vec<f64> {
        let step = TAU / f64::from(STEPS);
        let slope = |angle: f64, x: f64| {
            let drag = self.resistance * (x + libm::cos(angle));
            -2.0 * self.seat.rolling_share() * (libm::sin(angle) + drag)
        };
        let mut x = begins;
        let mut all = vec![x];
        for n in 0..STEPS as usize {
            let (at, middle, next) = (angle(n), angle(n) + step / 2.0, angle(n + 1));
            let first = slope(at, x);
            let second = slope(middle, x + first * step / 2.0);
            let third = slope(middle, x + second * step / 2.0);
            let fourth = slope(next, x + third * step);
            x += step / 6.0 * (first + 2.0 * second + 2.0 * third + fourth);
            all.push(x);
        }
        all
    }
}

fn angle(step: usize) -> f64 {
    TAU / f64::from(STEPS) * step as f64
}
