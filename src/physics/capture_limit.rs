//! The closed limit of a pocket that passes a waiting marble: how fast the rim may run for a marble that rolls by itself.
//!
//! A marble waits at the face and rolls down the ramp with an acceleration a. It is in when its middle has crossed the face,
//! before the pocket's trailing edge comes: while the pocket moves by D - d/2, the marble rolls by d/2. So the rim may run
//! at v0 = (D - d/2) sqrt(a/d). What marbles do to each other, to the wall and to the wheel is followed by `contact`.

use crate::physics::G;

/// The least slope (rad) on which a sphere rolls `far_m` from rest in `time_s`, where `resistance` is the lever arm of rolling
/// resistance over its radius: from (5/7) g (sin t - c cos t) = 2 l / T^2. `None` where no slope will do.
pub fn least_slope_rad(far_m: f64, (time_s, resistance): (f64, f64)) -> Option<f64> {
    let needed = 2.0 * far_m / (time_s * time_s) / (5.0 / 7.0 * G);
    let sine = needed / (1.0 + resistance * resistance).sqrt();
    (sine < 1.0).then(|| libm::asin(sine) + libm::atan(resistance))
}

/// A ramp at a pocket wheel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RampAtWheel {
    /// Diameter of the marbles, m, above 0.
    pub marble_m: f64,
    /// Diameter of the pockets, m.
    pub bore_m: f64,
    /// Slope of the ramp, rad.
    pub slope_rad: f64,
    /// Lever arm of rolling resistance, m.
    pub rolling_lever_m: f64,
}

impl RampAtWheel {
    /// Acceleration down the ramp, m/s2: (5/7) g (sin t - c cos t), c lever arm over radius.
    pub fn acceleration_m_s2(&self) -> f64 {
        let resistance = self.rolling_lever_m / (self.marble_m / 2.0);
        5.0 / 7.0 * G * (libm::sin(self.slope_rad) - resistance * libm::cos(self.slope_rad))
    }

    /// Rim speed at which the centre of a marble just crosses the face before the trailing edge comes, m/s:
    /// v0 = (D - d/2) sqrt(a/d); 0 if it does not fit or does not roll.
    pub fn face_speed_m_s(&self) -> f64 {
        let (a, d) = (self.acceleration_m_s2(), self.marble_m);
        if a <= 0.0 || self.bore_m <= d {
            0.0
        } else {
            (self.bore_m - d / 2.0) * (a / d).sqrt()
        }
    }

    /// Time for the next marble to roll up by one diameter, s; `None` if it does not roll. A lower bound: marbles in a
    /// line rub against each other.
    pub fn refill_s(&self) -> Option<f64> {
        let a = self.acceleration_m_s2();
        (a > 0.0).then(|| (2.0 * self.marble_m / a).sqrt())
    }
}
