//! Crowding at the single-file mouth of a floor or funnel: when do marbles wedge across it?
//!
//! A newcomer and any two of the marbles already there may make an arch, so the risk grows with the number of pairs
//! waiting, not with any angle: the cumulated hazard of `n` together is q times the number of threes, C(n, 3).
//! One marble or two never arch.
//!
//! q follows the time marbles spend before the mouth (inverse of the acceleration down the board), the friction that
//! holds an arch, and falls with the width of the opening as exp(-alpha (D/d)^2), the shape of C. C. Thomas and
//! D. J. Durian, "Fraction of clogging configurations sampled by granular hopper flow" (2015): exponential in the width
//! to the power of the dimension, two on a board.
//!
//! **Fitted**: [`THREES`] to fifteen measured rows with a 1.3 d mouth at 3 degrees, [`WIDTH`] to one row at 1.6 d. That q
//! goes with friction and against acceleration to the first power was chosen, and agrees with two rows each. The half
//! angle of the funnel (30 to 75 degrees) makes no difference that those curves can tell.
//!
//! The newcomer's risk is never put above what a dense crowd in a silo does: I. Zuriguel et al., PRE 71, 051303 (2005),
//! a pessimistic bound. Arches that a vibrating machine shakes loose are left out, so all of this is an upper estimate.

use crate::physics::material::SurfaceProperties;

/// Chance-rate of an arch for each three marbles together at a mouth of 1.3 diameters, a slope of 3 degrees, a sliding
/// friction of 0.35 and a rolling resistance of 0.0057. Fitted; its rows alone leave it uncertain by about a third.
pub const THREES: f64 = 0.0115;
/// Fall of the risk with the square of opening over diameter. Fitted to one row: uncertain by about a third.
pub const WIDTH: f64 = 2.9;

const OPENING_RATIO: f64 = 1.3;
const FRICTION: f64 = 0.35;
/// sin 3 deg - 0.0057 cos 3 deg.
const DRIVE: f64 = 0.0466;

/// A single-file way out of a board.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mouth {
    /// Clear opening, m.
    pub opening_m: f64,
    /// Slope of the board towards it, rad.
    pub slope_rad: f64,
    /// Friction and rolling resistance there.
    pub surface: SurfaceProperties,
}

/// Mean number of grains between two clogs of a dense crowd over a round hole: A/(Rc - R)^gamma, A = 9900, Rc = 4.94,
/// gamma = 6.9, R = opening over diameter (Zuriguel et al., PRE 71, 051303, 2005); endless from Rc on, which later
/// work (Thomas and Durian 2015) takes for a convenience of the fit: no opening is a guarantee.
pub fn mean_avalanche(opening_ratio: f64) -> f64 {
    if opening_ratio >= 4.94 {
        return f64::INFINITY;
    }
    9900.0 / libm::pow(4.94 - opening_ratio, 6.9)
}

/// Chance that a grain of a dense crowd is the one that clogs: 1/(1 + mean avalanche).
pub fn jam_bound(opening_ratio: f64) -> f64 {
    1.0 / (1.0 + mean_avalanche(opening_ratio))
}

/// Fewest balls in a dome over a hole: about (D/d)^2 + 1 (A. Marin and M. Souzy, Annu. Rev. Fluid Mech. 57, 2025), never
/// fewer than three.
pub fn fewest_in_dome(opening_m: f64, marble_m: f64) -> u32 {
    let ratio = opening_m / marble_m;
    (ratio * ratio + 1.0).ceil().clamp(3.0, 1e6) as u32
}

/// Rate of arches for each three marbles together.
fn per_three(mouth: &Mouth, marble_m: f64) -> f64 {
    let ratio = mouth.opening_m / marble_m;
    let resistance = 2.0 * mouth.surface.rolling_lever_m / marble_m;
    let drive = libm::sin(mouth.slope_rad) - resistance * libm::cos(mouth.slope_rad);
    if drive <= 0.0 {
        return f64::INFINITY;
    }
    let width = libm::exp(-WIDTH * (ratio * ratio - OPENING_RATIO * OPENING_RATIO));
    THREES * width * (mouth.surface.sliding_friction / FRICTION) * (DRIVE / drive)
}

/// Chance that a marble arriving at a mouth where `waiting` others are (come within about a second, not yet gone) makes
/// an arch: 1 - exp(-q C(waiting, 2)), at most [`jam_bound`]; 0 for fewer than two others.
pub fn hazard(waiting: u32, mouth: &Mouth, marble_m: f64) -> f64 {
    if waiting < 2 {
        return 0.0;
    }
    if mouth.opening_m <= marble_m {
        return 1.0;
    }
    let pairs = f64::from(waiting) * f64::from(waiting - 1) / 2.0;
    let free = 1.0 - libm::exp(-per_three(mouth, marble_m) * pairs);
    free.min(jam_bound(mouth.opening_m / marble_m))
}

/// Chance that `n` marbles arriving within about a second block the mouth: 1 - product of (1 - hazard).
pub fn block_chance(n: u32, mouth: &Mouth, marble_m: f64) -> f64 {
    1.0 - (0..n)
        .map(|waiting| 1.0 - hazard(waiting, mouth, marble_m))
        .product::<f64>()
}
