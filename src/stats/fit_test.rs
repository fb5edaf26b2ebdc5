//! How far readings lie from a law that was fitted to them, and how far readings of that very law would lie.

use rand_chacha::rand_core::Rng;

use super::fit::Fit;
use super::readings::Readings;
use super::survival::kaplan_meier;
use crate::circuit::draw::share;
use crate::circuit::quantile::quantile;

/// Anderson and Darling's distance between the readings' distribution and `share_below`, what the law gives.
///
/// It is their integral n (F_n - F)^2 / (F (1 - F)) dF with the Kaplan-Meier curve as F_n, up to the last reading where
/// that one was cut short; without such readings it is the usual statistic. `None` without a timed reading, or where
/// one is impossible under the law.
///
/// Source: Anderson & Darling (1952) as in D'Agostino & Stephens, "Goodness-of-fit techniques" (1986), chapter 4; from
/// memory.
pub fn distance(readings: &Readings, share_below: impl Fn(f64) -> f64) -> Option<f64> {
    let curve = kaplan_meier(&readings.observations())?;
    let last_timed = curve.steps.last()?.time;
    let last_cut = readings.over.iter().copied().max_by(f64::total_cmp);
    let end = match last_cut {
        Some(cut) if cut > last_timed => share_below(cut),
        _ => 1.0,
    };
    let (mut sum, mut u, mut height) = (0.0, 0.0, 0.0);
    for step in &curve.steps {
        let next = share_below(step.time);
        sum += antiderivative(height, next) - antiderivative(height, u);
        (u, height) = (next, 1.0 - step.survival);
    }
    sum += antiderivative(height, end) - antiderivative(height, u);
    Some(readings.count() as f64 * sum).filter(|distance| distance.is_finite())
}

/// Of (s - u)^2 / (u (1 - u)) by u.
fn antiderivative(s: f64, u: f64) -> f64 {
    weighted_log(s * s, u) - weighted_log((1.0 - s) * (1.0 - s), 1.0 - u) - u
}

/// Nothing without weight, also where the logarithm is infinite.
fn weighted_log(weight: f64, x: f64) -> f64 {
    if weight == 0.0 {
        0.0
    } else {
        weight * libm::log(x)
    }
}

/// After how long the maker stopped watching: times, each with the share of readings stopped by then.
///
/// It is the Kaplan-Meier curve with the two kinds of reading exchanged (Efron, "Censored data and the bootstrap",
/// Journal of the American Statistical Association 76, 1981; from memory). With one limit it says: always that one.
pub fn limits(readings: &Readings) -> Vec<(f64, f64)> {
    let mut turned = readings.observations();
    for observation in &mut turned {
        observation.event = !observation.event;
    }
    let Some(curve) = kaplan_meier(&turned) else {
        return Vec::new();
    };
    let steps = curve.steps.iter();
    steps.map(|step| (step.time, 1.0 - step.survival)).collect()
}

/// As many readings as there were, drawn from the fitted law, misread and cut short as those were.
pub fn drawn_again(
    fit: &Fit,
    readings: &Readings,
    limits: &[(f64, f64)],
    random: &mut impl Rng,
) -> Readings {
    let mut again = Readings {
        error_s: readings.error_s,
        ..Readings::default()
    };
    for _ in 0..readings.count() {
        let misread = (2.0 * share(random.next_u64()) - 1.0) * readings.error_s;
        let time = (quantile(&fit.law, share(random.next_u64())) + misread).max(1e-9);
        let stopped = share(random.next_u64());
        match limits.iter().find(|(_, share)| stopped < *share) {
            Some(&(limit, _)) if time > limit => again.over.push(limit),
            _ => again.timed.push(time),
        }
    }
    again
}

#[cfg(test)]
mod tests {
    use super::*;

    fn readings(timed: &[f64], over: &[f64]) -> Readings {
        Readings {
            timed: timed.to_vec(),
            over: over.to_vec(),
            error_s: 0.0,
        }
    }

    /// Anderson and Darling's, of ten numbers against the uniform law, recomputed with numpy.
    #[test]
    fn without_readings_cut_short_it_is_the_usual_statistic() {
        let times = [
            0.621, 0.503, 0.203, 0.477, 0.710, 0.581, 0.329, 0.480, 0.554, 0.382,
        ];
        let found = distance(&readings(&times, &[]), |t| t).expect("one");
        assert!((found - 1.389162209).abs() < 5e-10, "{found}");
    }

    /// By hand: one reading at 1/2 and one cut short there, so the curve is 1/2 from there to the end of watching.
    #[test]
    fn watching_ends_with_the_last_reading() {
        let found = distance(&readings(&[0.5], &[0.75]), |t| t).expect("one");
        let by_hand =
            2.0 * ((-libm::log(0.5) - 0.5) + 0.25 * (libm::log(1.5) + libm::log(2.0)) - 0.25);
        assert!((found - by_hand).abs() < 1e-12, "{found} {by_hand}");
        assert_eq!(distance(&readings(&[], &[1.0]), |t| t), None);
    }

    /// Evenly from 2 s to 4 s, read to 0.5 s either way: from 1.5 s to 4.5 s about a mean of 3 s with a variance of
    /// (2^2 + 1^2)/12; a watch that ends at 3.5 s misses those over it, (4.5 - 3.5)^2/(2 * 2 * 1) of them.
    #[test]
    fn what_is_drawn_again_is_misread_and_cut_short_alike() {
        use rand_chacha::rand_core::SeedableRng;
        let law = crate::machine::law::TimeLaw::Uniform {
            low_s: 2.0,
            high_s: 4.0,
        };
        let fit = Fit {
            name: "uniform",
            law,
            parameters: 2,
            log_likelihood: 0.0,
            aicc: None,
        };
        let readings = Readings {
            timed: vec![3.0; 40_000],
            over: Vec::new(),
            error_s: 0.5,
        };
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        let all = drawn_again(&fit, &readings, &[], &mut random);
        assert_eq!(all.error_s, 0.5, "fitted again as the readings were");
        assert!(all.over.is_empty() && all.timed.iter().all(|t| (1.5..=4.5).contains(t)));
        let (mean, variance) = (
            super::super::describe::mean(&all.timed),
            super::super::describe::variance(&all.timed),
        );
        assert!(
            (mean.expect("one") - 3.0).abs() < 0.013
                && (variance.expect("one") / (5.0 / 12.0) - 1.0).abs() < 0.03
        );
        let cut = drawn_again(&fit, &readings, &[(3.5, 1.0)], &mut random);
        assert!(cut.over.iter().all(|t| *t == 3.5) && cut.timed.iter().all(|t| *t <= 3.5));
        let over = cut.over.len() as f64 / 40_000.0;
        assert!((over - 0.25).abs() < 0.01, "{over}");
    }

    /// Of the two cut short one was at 2 s, the other went on to 5 s.
    #[test]
    fn each_limit_has_its_share() {
        assert_eq!(
            limits(&readings(&[1.0], &[2.0, 5.0])),
            [(2.0, 0.5), (5.0, 1.0)]
        );
    }

    #[test]
    fn one_limit_is_the_limit_of_all() {
        assert_eq!(limits(&readings(&[1.0, 2.0], &[5.0, 5.0])), [(5.0, 1.0)]);
        assert!(limits(&readings(&[1.0, 2.0], &[])).is_empty());
    }
}
