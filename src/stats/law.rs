//! Time laws as statistics needs them: density, and the share of times below and above a time.
//!
//! They are the laws that the simulation draws from, so a normal law is one cut at zero.

use statrs::function::gamma::{checked_gamma_lr, checked_gamma_ur};

use crate::circuit::gamma;
use crate::machine::law::TimeLaw;

const ROOT_TWO_PI: f64 = 2.506_628_274_631_000_7;

/// Logarithm of the density at `t` seconds; minus infinity where no time can fall, and for a law that has no density.
pub fn log_density(law: &TimeLaw, t: f64) -> f64 {
    if t < 0.0 {
        return f64::NEG_INFINITY;
    }
    match *law {
        TimeLaw::Normal { mean_s, sd_s } => {
            let z = (t - mean_s) / sd_s;
            -z * z / 2.0 - libm::log(sd_s * ROOT_TWO_PI) - libm::log(above_normal(-mean_s / sd_s))
        }
        TimeLaw::Lognormal { mean_s, sd_s } => {
            let (mu, sigma) = log_moments(mean_s, sd_s);
            let z = (libm::log(t) - mu) / sigma;
            -z * z / 2.0 - libm::log(sigma * ROOT_TWO_PI) - libm::log(t)
        }
        TimeLaw::Gamma { shape, scale_s } if shape >= gamma::LARGE => {
            gamma::large_log_density(shape, t / scale_s) - libm::log(t)
        }
        TimeLaw::Gamma { shape, scale_s } => {
            (shape - 1.0) * libm::log(t)
                - t / scale_s
                - libm::lgamma(shape)
                - shape * libm::log(scale_s)
        }
        TimeLaw::Weibull { shape, scale_s } => {
            let x = libm::log(t / scale_s);
            libm::log(shape / scale_s) + (shape - 1.0) * x - libm::exp(shape * x)
        }
        TimeLaw::Exponential { mean_s } => -t / mean_s - libm::log(mean_s),
        TimeLaw::Uniform { low_s, high_s } if (low_s..=high_s).contains(&t) => {
            -libm::log(high_s - low_s)
        }
        TimeLaw::Triangular {
            low_s,
            mode_s,
            high_s,
        } if (low_s..=high_s).contains(&t) => {
            let leg = if t < mode_s {
                (t - low_s) / (mode_s - low_s)
            } else {
                (high_s - t) / (high_s - mode_s)
            };
            libm::log(2.0 * leg / (high_s - low_s))
        }
        _ => f64::NEG_INFINITY,
    }
}

/// Share of times up to `t` seconds, 0 to 1.
pub fn below(law: &TimeLaw, t: f64) -> f64 {
    if t <= 0.0 {
        return 0.0;
    }
    match *law {
        TimeLaw::Normal { mean_s, sd_s } => {
            let cut = above_normal(mean_s / sd_s);
            ((above_normal((mean_s - t) / sd_s) - cut) / (1.0 - cut)).max(0.0)
        }
        TimeLaw::Lognormal { mean_s, sd_s } => {
            let (mu, sigma) = log_moments(mean_s, sd_s);
            above_normal((mu - libm::log(t)) / sigma)
        }
        TimeLaw::Gamma { shape, scale_s } if shape >= gamma::LARGE => {
            gamma::below(shape, t / scale_s)
        }
        TimeLaw::Gamma { shape, scale_s } => {
            checked_gamma_lr(shape, t / scale_s).unwrap_or(f64::NAN)
        }
        TimeLaw::Weibull { shape, scale_s } => -libm::expm1(-libm::pow(t / scale_s, shape)),
        TimeLaw::Exponential { mean_s } => -libm::expm1(-t / mean_s),
        TimeLaw::Fixed { time_s } => f64::from(u8::from(t >= time_s)),
        TimeLaw::Samples { ref times_s } => {
            times_s.iter().filter(|time| **time <= t).count() as f64 / times_s.len() as f64
        }
        TimeLaw::Uniform { .. } | TimeLaw::Triangular { .. } => 1.0 - above(law, t),
    }
}

/// Share of times over `t` seconds, 0 to 1; exact to its last digits where it is small.
pub fn above(law: &TimeLaw, t: f64) -> f64 {
    if t <= 0.0 {
        return 1.0;
    }
    match *law {
        TimeLaw::Normal { mean_s, sd_s } => {
            above_normal((t - mean_s) / sd_s) / above_normal(-mean_s / sd_s)
        }
        TimeLaw::Lognormal { mean_s, sd_s } => {
            let (mu, sigma) = log_moments(mean_s, sd_s);
            above_normal((libm::log(t) - mu) / sigma)
        }
        TimeLaw::Gamma { shape, scale_s } if shape >= gamma::LARGE => {
            gamma::large_above(shape, t / scale_s)
        }
        TimeLaw::Gamma { shape, scale_s } => {
            checked_gamma_ur(shape, t / scale_s).unwrap_or(f64::NAN)
        }
        TimeLaw::Weibull { shape, scale_s } => libm::exp(-libm::pow(t / scale_s, shape)),
        TimeLaw::Exponential { mean_s } => libm::exp(-t / mean_s),
        TimeLaw::Uniform { low_s, high_s } => ((high_s - t) / (high_s - low_s)).clamp(0.0, 1.0),
        TimeLaw::Triangular {
            low_s,
            mode_s,
            high_s,
        } => match t {
            t if t <= low_s => 1.0,
            t if t >= high_s => 0.0,
            t if t < mode_s => {
                1.0 - (t - low_s) * (t - low_s) / ((high_s - low_s) * (mode_s - low_s))
            }
            t => (high_s - t) * (high_s - t) / ((high_s - low_s) * (high_s - mode_s)),
        },
        TimeLaw::Fixed { .. } | TimeLaw::Samples { .. } => 1.0 - below(law, t),
    }
}

/// Share of times from `from` to `to` seconds, kept exact in both tails.
pub fn between(law: &TimeLaw, from: f64, to: f64) -> f64 {
    let low = below(law, from);
    if low < 0.5 {
        below(law, to) - low
    } else {
        above(law, from) - above(law, to)
    }
}

/// Share of a standard normal above `z`.
fn above_normal(z: f64) -> f64 {
    0.5 * libm::erfc(z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Mean and standard deviation of the logarithm.
fn log_moments(mean_s: f64, sd_s: f64) -> (f64, f64) {
    let cv = sd_s / mean_s;
    let variance = libm::log1p(cv * cv);
    (libm::log(mean_s) - variance / 2.0, variance.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An exponential law's closed form, where one of the two shares is all there is.
    #[test]
    fn shares_are_exact_in_both_tails() {
        let law = TimeLaw::Exponential { mean_s: 1.0 };
        let low = between(&law, 1e-20, 3e-20);
        assert!((low / 2e-20 - 1.0).abs() < 1e-12, "{low}");
        let high = between(&law, 60.0, 61.0);
        assert!(
            (high / (libm::exp(-60.0) - libm::exp(-61.0)) - 1.0).abs() < 1e-12,
            "{high}"
        );
    }

    #[test]
    fn no_time_falls_before_nought() {
        let law = TimeLaw::Exponential { mean_s: 2.0 };
        assert_eq!(log_density(&law, -1.0), f64::NEG_INFINITY);
        assert!((log_density(&law, 0.0) + libm::log(2.0)).abs() < 1e-12);
    }

    fn laws() -> Vec<TimeLaw> {
        vec![
            TimeLaw::Normal {
                mean_s: 1.0,
                sd_s: 0.8,
            },
            TimeLaw::Lognormal {
                mean_s: 3.0,
                sd_s: 1.0,
            },
            TimeLaw::Gamma {
                shape: 4.0,
                scale_s: 0.7,
            },
            TimeLaw::Weibull {
                shape: 2.0,
                scale_s: 3.0,
            },
            TimeLaw::Exponential { mean_s: 2.0 },
            TimeLaw::Uniform {
                low_s: 1.0,
                high_s: 4.0,
            },
            TimeLaw::Triangular {
                low_s: 0.7,
                mode_s: 2.1,
                high_s: 4.3,
            },
        ]
    }

    #[test]
    fn the_density_is_the_slope_of_the_share_below_and_both_shares_make_one() {
        for law in laws() {
            for t in [0.4, 1.3, 2.6, 3.9] {
                let slope = between(&law, t - 1e-5, t + 1e-5) / 2e-5;
                let density = libm::exp(log_density(&law, t));
                assert!(
                    (slope - density).abs() < 1e-6,
                    "{law:?} at {t}: {slope} {density}"
                );
                assert!(
                    (below(&law, t) + above(&law, t) - 1.0).abs() < 1e-12,
                    "{law:?} at {t}"
                );
            }
            assert_eq!((below(&law, -1.0), above(&law, -1.0)), (0.0, 1.0));
        }
    }

    #[test]
    fn nothing_lies_beyond_the_ends_of_a_law() {
        for law in laws().split_off(5) {
            assert_eq!((below(&law, 5.0), above(&law, 5.0)), (1.0, 0.0), "{law:?}");
            assert_eq!((below(&law, 0.5), above(&law, 0.5)), (0.0, 1.0), "{law:?}");
            assert_eq!(
                (log_density(&law, 0.5), log_density(&law, 5.0)),
                (f64::NEG_INFINITY, f64::NEG_INFINITY)
            );
        }
        let fixed = TimeLaw::Fixed { time_s: 2.0 };
        assert_eq!([1.9, 2.0, 2.1].map(|t| below(&fixed, t)), [0.0, 1.0, 1.0]);
        let samples = TimeLaw::Samples {
            times_s: vec![1.0, 2.0, 2.0, 5.0],
        };
        assert_eq!(
            [0.9, 1.0, 2.0, 6.0].map(|t| (below(&samples, t), above(&samples, t))),
            [(0.0, 1.0), (0.25, 0.75), (0.75, 0.25), (1.0, 0.0)]
        );
    }

    #[test]
    fn shares_are_those_that_the_simulation_draws_by() {
        for law in laws() {
            for p in [0.02, 0.3, 0.77] {
                let t = crate::circuit::quantile::quantile(&law, p);
                assert!((below(&law, t) - p).abs() < 1e-9, "{law:?}: {p} at {t}");
            }
        }
    }
}
