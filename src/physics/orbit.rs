//! A ball that circles in a bowl.

use super::G;

/// Speed of a circular orbit of the marble's centre at a distance from the axis, m/s, on a slope there, rad: v^2 = (5/7) g rho
/// tan alpha for a ball that rolls without spin about the normal (own derivation from Newton and Euler), 15.5 % below that
/// of a sliding point.
pub fn orbit_speed_m_s(radius_m: f64, slope_rad: f64) -> f64 {
    (5.0 / 7.0 * G * radius_m * libm::tan(slope_rad)).sqrt()
}
