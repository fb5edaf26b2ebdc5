//! Rolling resistance from times over known slopes.

use crate::physics::material::SurfaceProperties;
use crate::physics::rolling::{Seat, acceleration, time_s};
use crate::stats::Estimate;
use crate::stats::significance::{normal_critical, student_critical};

/// Confidence level of the interval.
const LEVEL: f64 = 0.95;
/// Lever arms tried to find where to search more closely.
const GRID: usize = 400;

/// A marble let go from rest on a flat board.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Roll {
    /// Way it rolled, metres.
    pub length_m: f64,
    /// Slope of the board, radians.
    pub slope_rad: f64,
    /// Time it took, seconds.
    pub time_s: f64,
}

/// What the rolls say of the lever arm of rolling resistance.
#[derive(Clone, Debug, PartialEq)]
pub struct LeverArm {
    /// The lever arm, metres; without an interval where one roll stands alone.
    pub lever_m: Estimate,
    /// Time that each roll should have taken with it, seconds.
    pub fitted_s: Vec<f64>,
    /// Whether the marble was no slower than one without any resistance.
    pub none_found: bool,
    /// How far the lever arm moves if every slope was measured a tenth of a degree wrong, metres.
    pub per_tenth_degree_m: f64,
}

/// The lever arm that fits the rolls best in least squares of time, for a marble of this radius (m) on a flat board.
///
/// The interval holds the lever arms whose sum of squares is not too much larger: by Student's t where the scatter of
/// the times is all that is known (two rolls or more), by the normal law where the times are known to `error_s` either
/// way. `None` without rolls, or where one stands on the level.
///
/// Source of the interval: Bates & Watts, "Nonlinear Regression Analysis" (1988), chapter 6; from memory.
pub fn lever_arm(rolls: &[Roll], radius_m: f64, error_s: Option<f64>) -> Option<LeverArm> {
    let shallowest = rolls
        .iter()
        .map(|roll| roll.slope_rad)
        .reduce(f64::min)
        .filter(|slope| *slope > 0.0)?;
    let most = radius_m * libm::tan(shallowest);
    let squares = |lever_m: f64| sum_of_squares(rolls, radius_m, lever_m);
    let best = lowest(&squares, most);
    let lever_m = match allowed(squares(best), rolls.len(), error_s) {
        None => Estimate::point(best),
        Some(allowed) => {
            let low = if squares(0.0) <= allowed {
                0.0
            } else {
                crossing(&squares, (0.0, best), allowed)
            };
            Estimate::interval(best, low, crossing(&squares, (most, best), allowed))
        }
    };
    Some(LeverArm {
        lever_m,
        fitted_s: rolls
            .iter()
            .map(|roll| rolled_s(roll, radius_m, best).unwrap_or(f64::NAN))
            .collect(),
        none_found: best <= most * 1e-6,
        per_tenth_degree_m: radius_m * 0.1_f64.to_radians(),
    })
}

/// The squares of the errors in time, s^2; endless where a marble would not keep rolling.
fn sum_of_squares(rolls: &[Roll], radius_m: f64, lever_m: f64) -> f64 {
    (rolls.iter())
        .map(|roll| match rolled_s(roll, radius_m, lever_m) {
            Some(time_s) => (time_s - roll.time_s).powi(2),
            None => f64::INFINITY,
        })
        .sum()
}

/// Time of a roll with this lever arm, seconds; `None` where the marble would not keep rolling.
fn rolled_s(roll: &Roll, radius_m: f64, lever_m: f64) -> Option<f64> {
    let surface = SurfaceProperties {
        rolling_lever_m: lever_m,
        ..SurfaceProperties::WOOD
    };
    let a = acceleration(roll.slope_rad, Seat::PLANE, radius_m, &surface);
    if a > 0.0 {
        time_s(roll.length_m, 0.0, a)
    } else {
        None
    }
}

/// Largest sum of squares within the interval; `None` where nothing tells how sure the times are.
fn allowed(least: f64, rolls: usize, error_s: Option<f64>) -> Option<f64> {
    match error_s {
        // A third of the square: the variance of an error that is as likely anywhere within the bound.
        Some(e) => normal_critical(LEVEL).map(|z| least + z * z * e * e / 3.0),
        None if rolls < 2 => None,
        None => {
            let free = rolls as f64 - 1.0;
            student_critical(LEVEL, free).map(|t| least * (1.0 + t * t / free))
        }
    }
}

/// Where `squares` is lowest from 0 to `most`: on a grid, then by thirds between the neighbours of its lowest point.
fn lowest(squares: &impl Fn(f64) -> f64, most: f64) -> f64 {
    let at = |k: usize| most * k as f64 / GRID as f64;
    let first = (0..GRID)
        .min_by(|&a, &b| squares(at(a)).total_cmp(&squares(at(b))))
        .unwrap_or(0);
    let (mut low, mut high) = (at(first.saturating_sub(1)), at(first + 1));
    for _ in 0..120 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if squares(a) <= squares(b) {
            high = b
        } else {
            low = a
        }
    }
    if squares(0.0) <= squares(low) && first <= 1 {
        0.0
    } else {
        (low + high) / 2.0
    }
}

/// Where between `outside` and `inside` the sum of squares comes down to `allowed`.
fn crossing(
    squares: &impl Fn(f64) -> f64,
    (mut outside, mut inside): (f64, f64),
    allowed: f64,
) -> f64 {
    for _ in 0..100 {
        let middle = (outside + inside) / 2.0;
        if squares(middle) <= allowed {
            inside = middle
        } else {
            outside = middle
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a = (5/7) g (sin t - (b/R) cos t), t = sqrt(2 L / a).
    fn by_hand(length_m: f64, degrees: f64, lever_m: f64) -> Roll {
        let slope_rad = degrees.to_radians();
        let a =
            5.0 / 7.0 * 9.80665 * (libm::sin(slope_rad) - lever_m / 0.008 * libm::cos(slope_rad));
        Roll {
            length_m,
            slope_rad,
            time_s: (2.0 * length_m / a).sqrt(),
        }
    }

    #[test]
    fn times_of_a_known_marble_give_its_lever_arm_back() {
        let rolls = [
            by_hand(0.6, 2.0, 5e-5),
            by_hand(0.6, 3.0, 5e-5),
            by_hand(0.9, 4.0, 5e-5),
        ];
        let found = lever_arm(&rolls, 0.008, Some(0.02)).expect("rolls");
        let lever = found.lever_m;
        assert!((lever.value.expect("one") - 5e-5).abs() < 1e-9, "{lever:?}");
        assert!(
            lever.low.expect("low") < 5e-5 && lever.high.expect("high") > 5e-5 && !found.none_found
        );
    }

    #[test]
    fn one_roll_has_no_interval_unless_its_error_is_known() {
        let roll = [by_hand(0.6, 3.0, 4e-5)];
        assert_eq!(
            lever_arm(&roll, 0.008, None)
                .expect("a roll")
                .lever_m
                .half_width(),
            None
        );
        assert!(
            lever_arm(&roll, 0.008, Some(0.05))
                .expect("a roll")
                .lever_m
                .half_width()
                .is_some()
        );
        assert_eq!(lever_arm(&[], 0.008, None), None);
    }

    #[test]
    fn a_marble_faster_than_physics_allows_is_noticed() {
        let fast = by_hand(0.6, 3.0, 0.0);
        let rolls = [
            Roll {
                time_s: fast.time_s * 0.97,
                ..fast
            },
            Roll {
                time_s: fast.time_s * 0.96,
                ..fast
            },
        ];
        let found = lever_arm(&rolls, 0.008, None).expect("rolls");
        assert!(
            found.none_found && found.lever_m.value == Some(0.0),
            "{found:?}"
        );
    }

    /// Student's t with 4 degrees of freedom is 2.776445, the normal law's point 1.959964; an error anywhere within a bound
    /// has a third of its square for its variance.
    #[test]
    fn the_sum_of_squares_may_be_so_much_larger() {
        let near = |is: Option<f64>, by_hand: f64| {
            assert!(
                (is.expect("a sum") - by_hand).abs() < 1e-5,
                "{is:?} {by_hand}"
            )
        };
        near(
            allowed(2.0, 5, None),
            2.0 * (1.0 + 2.776445 * 2.776445 / 4.0),
        );
        near(allowed(2.0, 5, Some(0.3)), 2.0 + 1.959964 * 1.959964 * 0.03);
        near(allowed(2.0, 1, Some(0.3)), 2.0 + 1.959964 * 1.959964 * 0.03);
        assert_eq!(allowed(2.0, 1, None), None);
        assert_eq!(allowed(2.0, 0, None), None);
        near(allowed(2.0, 2, None), 2.0 * (1.0 + 12.7062047 * 12.7062047));
    }

    #[test]
    fn a_marble_that_rolls_on_the_level_tells_nothing() {
        let flat = Roll {
            slope_rad: 0.0,
            ..by_hand(0.6, 3.0, 4e-5)
        };
        assert_eq!(
            lever_arm(&[by_hand(0.6, 3.0, 4e-5), flat], 0.008, None),
            None
        );
    }
}
