//! A marble rolling straight down a slope: on a plane, on rails, in a groove.
//!
//! Newton and Euler for a solid ball that does not slip: with h the height of its centre over the line through the
//! contacts ("effective rolling radius", rho = h/R),
//!
//! a = g (sin t - c cos t) / (1 + (2/5) / rho^2)
//!
//! c is the coefficient of rolling resistance in the **moment** definition: a moment c R times the normal force holds
//! the ball back, so on a plane a = (5/7) g (sin t - c cos t) and the least slope that keeps it going is tan t = c
//! (as in Penner, "The physics of putting", Can. J. Phys. 80, 2002). The other definition in print, a force on the
//! centre of mass, is 5/7 of it (Cross, comment,
//! Am. J. Phys. 90, 648, 2022, against Minkin and Sikes, Am. J. Phys. 86, 77, 2018).
//!
//! In a V the resistance is the least sure part: rigid-body engines themselves settle it only to a few per cent. Against
//! one, rolling times are within 0.6 % in a V of 90 degrees; in one of 60 degrees at 2 to 4 degrees of slope, where
//! resistance eats a third of the pull, the model came out 1.3 to 2.5 % quick.
//! Drilling alone (lever arm 0.01 mm, no rolling resistance) makes 1 m in a V of 60 degrees 10 % slower at 1 degree of
//! slope and 4 % at 3 degrees than without: a marble deep in a groove turns about its contacts more than it rolls.
//!
//! Valid for one marble that rolls without slipping at up to about 1 m/s. Air drag is left out: for a 16 mm glass ball
//! it is 0.1 % of the weight at 1 m/s and 0.4 % at 2 m/s (drag coefficient after Schiller and Naumann).

use crate::physics::G;
use crate::physics::material::SurfaceProperties;

/// What a marble rolls in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Channel {
    /// A flat board, or a round-bottomed channel wider than the marble.
    Plane,
    /// Two square-edged rails with a clear gap between them, m.
    SharpRails {
        /// Clear gap, m, below the marble's diameter.
        gap_m: f64,
    },
    /// Two round rods.
    RoundRails {
        /// Radius of a rod, m.
        rod_radius_m: f64,
        /// Distance between the rods' centres, m.
        spacing_m: f64,
    },
    /// A V groove.
    Vee {
        /// Included angle, rad, above 0, up to pi.
        angle_rad: f64,
    },
}

/// Why a marble has no seat in a channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Misfit {
    /// It falls between the rails.
    FallsThrough,
    /// A dimension is zero, negative or not a number.
    Impossible,
}

/// How a marble sits in a channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seat {
    /// Effective rolling radius over marble radius, h/R, above 0, at most 1.
    pub radius_ratio: f64,
    /// Sum of the normal forces over m g cos t: 1 on a plane, R/h on two flanks, which wedge.
    pub load_ratio: f64,
}

impl Seat {
    /// On a plane.
    pub const PLANE: Seat = Seat {
        radius_ratio: 1.0,
        load_ratio: 1.0,
    };

    fn on_two(radius_ratio: f64) -> Seat {
        Seat {
            radius_ratio,
            load_ratio: 1.0 / radius_ratio,
        }
    }

    /// Acceleration as a share of the driving acceleration: 1 / (1 + (2/5) (R/h)^2); 5/7 on a plane.
    pub fn rolling_share(&self) -> f64 {
        1.0 / (1.0 + 0.4 / (self.radius_ratio * self.radius_ratio))
    }
}

impl Channel {
    /// How a marble of this radius (m) sits. Plane geometry: sharp rails h^2 = R^2 - gap^2/4; rods
    /// h = R sqrt(1 - (spacing/2/(R + rod))^2); a V of included angle B h = R sin(B/2).
    ///
    /// # Errors
    /// [`Misfit`] where it falls through or a dimension makes no sense.
    pub fn seat(&self, marble_radius_m: f64) -> Result<Seat, Misfit> {
        let r = positive(marble_radius_m)?;
        match *self {
            Channel::Plane => Ok(Seat::PLANE),
            Channel::SharpRails { gap_m } => astride(positive(gap_m)? / 2.0 / r),
            Channel::RoundRails {
                rod_radius_m,
                spacing_m,
            } => astride(positive(spacing_m)? / 2.0 / (r + positive(rod_radius_m)?)),
            Channel::Vee { angle_rad } => vee(positive(angle_rad)?),
        }
    }
}

fn positive(x: f64) -> Result<f64, Misfit> {
    if x > 0.0 && x.is_finite() {
        Ok(x)
    } else {
        Err(Misfit::Impossible)
    }
}

/// On two contacts whose normals stand off the vertical by an angle of this sine.
fn astride(sine: f64) -> Result<Seat, Misfit> {
    if sine >= 1.0 {
        return Err(Misfit::FallsThrough);
    }
    Ok(Seat::on_two((1.0 - sine * sine).sqrt()))
}

fn vee(angle_rad: f64) -> Result<Seat, Misfit> {
    if angle_rad > std::f64::consts::PI {
        return Err(Misfit::Impossible);
    }
    Ok(Seat::on_two(libm::sin(angle_rad / 2.0)))
}

/// Coefficient of rolling resistance c of a marble in its seat, moment definition: what m g cos t is multiplied by.
///
/// Each contact takes its own normal force N; the turning splits into rolling (share h/R) and drilling about the normal
/// (the rest), held back by moments N times each lever arm that share one limit ellipse (the limit surface of combined
/// sliding and drilling; an assumption, within 0.6 % of the engine's rolling times). The power lost over the speed gives
/// c = (sum N / m g cos t) sqrt((b h/R)^2 + (p)^2 (1 - (h/R)^2)) / h; on a plane c = b/R.
pub fn resistance(seat: Seat, marble_radius_m: f64, surface: &SurfaceProperties) -> f64 {
    let rho = seat.radius_ratio;
    let roll = surface.rolling_lever_m * rho;
    let drill_squared = surface.drilling_lever_m * surface.drilling_lever_m * (1.0 - rho * rho);
    seat.load_ratio * (roll * roll + drill_squared).sqrt() / (rho * marble_radius_m)
}

/// Acceleration down the slope of a marble that is moving down it, m/s2; negative where it is being slowed.
/// A negative slope is uphill. `slope_rad` between -pi/2 and pi/2.
pub fn acceleration(
    slope_rad: f64,
    seat: Seat,
    marble_radius_m: f64,
    surface: &SurfaceProperties,
) -> f64 {
    let c = resistance(seat, marble_radius_m, surface);
    seat.rolling_share() * G * (libm::sin(slope_rad) - c * libm::cos(slope_rad))
}

/// Least slope that keeps a marble moving, rad: tan t = c.
pub fn least_slope_rad(seat: Seat, marble_radius_m: f64, surface: &SurfaceProperties) -> f64 {
    libm::atan(resistance(seat, marble_radius_m, surface))
}

/// Steepest slope on which a marble rolls without slipping, rad: tan t = mu L (1 + (5/2) rho^2), L the load ratio;
/// (7/2) mu on a plane (Aghamohammadi and Aghamohammadi, "Slipping and rolling on an inclined plane", 2011).
pub fn slip_slope_rad(seat: Seat, surface: &SurfaceProperties) -> f64 {
    let rho = seat.radius_ratio;
    libm::atan(surface.sliding_friction * seat.load_ratio * (1.0 + 2.5 * rho * rho))
}

/// Time (s) to go `length_m` from `entry_speed_m_s` at a steady acceleration, or `None` if it stops before.
/// Lengths and speeds at least 0.
pub fn time_s(length_m: f64, entry_speed_m_s: f64, acceleration_m_s2: f64) -> Option<f64> {
    if length_m <= 0.0 {
        return Some(0.0);
    }
    let exit = exit_speed_m_s(length_m, entry_speed_m_s, acceleration_m_s2)?;
    let sum = entry_speed_m_s + exit;
    (sum > 0.0).then(|| 2.0 * length_m / sum)
}

/// Speed (m/s) after `length_m`, or `None` if it stops before.
pub fn exit_speed_m_s(length_m: f64, entry_speed_m_s: f64, acceleration_m_s2: f64) -> Option<f64> {
    let squared = entry_speed_m_s * entry_speed_m_s + 2.0 * acceleration_m_s2 * length_m;
    (squared >= 0.0).then(|| squared.sqrt())
}
