//! Marbles in company: in a bowl, and at a hole.
//!
//! In a bowl marbles bump: one loses speed and falls through early, another gains it, stays longer or goes over an
//! unfenced rim. The share each hole takes stays even. How much depends on how full the bowl is, `cover`, the share of
//! its area that marbles take, (d/W)^2 a marble.
//!
//! **Fitted**: two constants to one measured row (cap 150 mm wide, 14 mm marbles in at 0.6 m/s, one a second, 24 at a
//! time: mean 13.7 s for 19.1 s alone, 23 of 96 over the rim). They are an assumption elsewhere.

use crate::physics::bowl::Dwell;
use crate::physics::mouth::fewest_in_dome;

/// Shortening of the dwell by company: dwell alone over dwell in company is 1 + this times cover. Fitted to one row.
pub const SHORTENING: f64 = 3.3;
/// Marbles thrown over an unfenced rim: share 1 - exp(-this times cover). Fitted to one row, entry at about 0.85 of the
/// speed of a circular orbit at the rim; slower entries are thrown out less.
pub const OVER_RIM: f64 = 2.3;

/// A bowl fed by a steady stream.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Company {
    /// Dwell of a marble in company, s.
    pub dwell: Dwell,
    /// Marbles in the bowl, mean (Little's law: rate times dwell).
    pub inside: f64,
    /// Share of the marbles that go over the rim if it has no fence: rough, see [`OVER_RIM`].
    pub over_rim: f64,
}

/// Dwell in a bowl of width `width_m` fed at `rate_per_s`: T = T_alone / (1 + k (d/W)^2 rate T), and the spread grows by
/// what the mean loses.
pub fn company(alone: Dwell, rate_per_s: f64, marble_m: f64, width_m: f64) -> Company {
    let each = (marble_m / width_m) * (marble_m / width_m);
    let c = SHORTENING * each * rate_per_s.max(0.0);
    let mean_s = 2.0 * alone.mean_s / (1.0 + (1.0 + 4.0 * c * alone.mean_s).sqrt());
    let lost = alone.mean_s - mean_s;
    let inside = rate_per_s.max(0.0) * mean_s;
    Company {
        dwell: Dwell {
            mean_s,
            sd_s: libm::hypot(alone.sd_s, lost),
        },
        inside,
        over_rim: 1.0 - libm::exp(-OVER_RIM * each * inside),
    }
}

/// Chance that at least `n` marbles are at a place together that marbles pass independently, `mean` of them there on
/// average: the Poisson law of the M/G/infinity queue, whatever the law of the passing time.
pub fn together(n: u32, mean: f64) -> f64 {
    let (mut term, mut below) = (libm::exp(-mean), 0.0);
    for k in 0..n {
        below += term;
        term *= mean / f64::from(k + 1);
    }
    (1.0 - below).max(0.0)
}

/// Time a marble takes to drop clear through a hole from the lip, s: sqrt(2 d/g).
pub fn passing_s(marble_m: f64) -> f64 {
    (2.0 * marble_m / crate::physics::G).sqrt()
}

/// Chance that a marble reaching a hole finds company enough to arch over it: the fewest for a dome less itself, of
/// marbles that come independently at `rate_per_s` to this hole and take `passing_s`. An upper bound: not every meeting
/// arches.
pub fn arch_bound(hole_m: f64, marble_m: f64, rate_per_s: f64) -> f64 {
    together(
        fewest_in_dome(hole_m, marble_m) - 1,
        rate_per_s * passing_s(marble_m),
    )
}
