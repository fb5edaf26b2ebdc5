//! Which time law could have given these stopwatch readings: maximum likelihood, with readings cut short.

use super::describe;
use super::readings::Readings;
use super::simplex::lowest;
use crate::machine::law::TimeLaw;
use crate::machine::limits;

/// The laws that can be fitted, by their names in the machine file.
pub const FITTED: [&str; 7] = [
    "normal",
    "lognormal",
    "gamma",
    "weibull",
    "exponential",
    "uniform",
    "triangular",
];
/// The laws whose ends are fitted to the extreme readings. The theory behind AIC does not reach them, and a machine
/// must expect times beyond the extremes seen, so they are fitted and judged but never chosen unasked.
pub const WITH_ENDS: [&str; 2] = ["uniform", "triangular"];
/// Fewest readings timed to their end from which anything is fitted.
pub const FEWEST: usize = 3;

/// A law fitted to readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Its name in the machine file.
    pub name: &'static str,
    /// The law.
    pub law: TimeLaw,
    /// How many numbers were fitted.
    pub parameters: usize,
    /// Logarithm of the likelihood.
    pub log_likelihood: f64,
    /// Akaike's criterion corrected for few readings; `None` where there are too few to correct for.
    pub aicc: Option<f64>,
}

/// The law called `name` under which the readings are likeliest.
///
/// `None` with fewer than [`FEWEST`] timed readings, where all are the same and no reading error is stated, for a
/// reading of zero, where the law could not be written in a machine file, and for a name that cannot be fitted.
pub fn fit(name: &str, readings: &Readings) -> Option<Fit> {
    let name = FITTED.into_iter().find(|known| *known == name)?;
    if readings.timed.len() < FEWEST || readings.timed.iter().any(|t| *t <= 0.0) {
        return None;
    }
    let readings = &readings.clone().without_what_is_negligible();
    let (at, height) = search(name, readings, |x| height(name, readings, x))?;
    let law = law(name, &at)?;
    Some(Fit {
        name,
        law,
        parameters: at.len(),
        log_likelihood: -height,
        aicc: aicc(-height, &at, readings.count()),
    })
}

/// How unlikely the readings are at a point of the search.
fn height(name: &str, readings: &Readings, x: &[f64]) -> f64 {
    match law(name, x) {
        Some(law) => -readings.log_likelihood(&law),
        None => f64::INFINITY,
    }
}

/// Where `height` is lowest of all places of the law called `name`, and its value there.
fn search(
    name: &str,
    readings: &Readings,
    height: impl Fn(&[f64]) -> f64,
) -> Option<(Vec<f64>, f64)> {
    let sizes = first_steps(name, readings.rough()?);
    let mut found = Vec::new();
    for start in starts(name, readings)? {
        found.extend(lowest(&start, &sizes[..start.len()], 1e-6, &height));
    }
    found.into_iter().min_by(|a, b| a.1.total_cmp(&b.1))
}

/// First steps of a search along its axes: where times hardly spread, a step as for others would leap over all that is likely.
fn first_steps(name: &str, (mean, sd): (f64, f64)) -> [f64; 3] {
    let (seconds, share) = ((10.0 * sd).min(0.1), (10.0 * sd / mean).min(0.1));
    match name {
        "normal" => [seconds, 0.1, 0.0],
        "lognormal" => [share, 0.1, 0.0],
        "gamma" => [0.1, share, 0.0],
        "uniform" | "triangular" => [0.2 * sd; 3],
        _ => [0.1; 3],
    }
}

/// Akaike's information criterion, corrected for few readings; `None` with no more readings than numbers `fitted` and one.
///
/// Source: Hurvich & Tsai, "Regression and time series model selection in small samples", Biometrika 76 (1989); from
/// memory.
pub fn aicc(log_likelihood: f64, fitted: &[f64], readings: usize) -> Option<f64> {
    let (k, n) = (fitted.len() as f64, readings as f64);
    let aicc = 2.0 * k - 2.0 * log_likelihood + 2.0 * k * (k + 1.0) / (n - k - 1.0);
    Some(aicc).filter(|aicc| n > k + 1.0 && aicc.is_finite())
}

/// The law at a point of the search; `None` where it does not exist or a machine file could not hold it.
fn law(name: &str, x: &[f64]) -> Option<TimeLaw> {
    let law = match name {
        "normal" => TimeLaw::Normal {
            mean_s: x[0],
            sd_s: positive_exp(x[1])?,
        },
        "lognormal" => {
            let sigma = positive_exp(x[1])?;
            let mean_s = libm::exp(x[0] + sigma * sigma / 2.0);
            TimeLaw::Lognormal {
                mean_s,
                sd_s: mean_s * libm::expm1(sigma * sigma).sqrt(),
            }
        }
        "gamma" => TimeLaw::Gamma {
            shape: positive_exp(x[0])?,
            scale_s: positive_exp(x[1])? / positive_exp(x[0])?,
        },
        "weibull" => TimeLaw::Weibull {
            shape: positive_exp(x[0]).filter(|shape| (0.05..=10_000.0).contains(shape))?,
            scale_s: positive_exp(x[1])?,
        },
        "exponential" => TimeLaw::Exponential {
            mean_s: positive_exp(x[0])?,
        },
        "uniform" => TimeLaw::Uniform {
            low_s: x[0],
            high_s: x[1],
        },
        _ => TimeLaw::Triangular {
            low_s: x[0],
            mode_s: x[1],
            high_s: x[2],
        },
    };
    let ordered = match law {
        TimeLaw::Uniform { low_s, high_s } => 0.0 <= low_s && low_s < high_s,
        TimeLaw::Triangular {
            low_s,
            mode_s,
            high_s,
        } => 0.0 <= low_s && low_s < mode_s && mode_s < high_s,
        _ => true,
    };
    Some(law).filter(|law| ordered && can_be_written(law))
}

/// exp(x), where that is neither 0 nor infinite.
fn positive_exp(x: f64) -> Option<f64> {
    Some(libm::exp(x)).filter(|e| e.is_finite() && *e > 0.0)
}

/// Whether every time that the law is written with is one that a machine file can hold.
fn can_be_written(law: &TimeLaw) -> bool {
    let times_s = match *law {
        TimeLaw::Normal { mean_s, sd_s } | TimeLaw::Lognormal { mean_s, sd_s } => [mean_s, sd_s],
        TimeLaw::Gamma { shape, scale_s } => [shape * scale_s, shape.sqrt() * scale_s],
        TimeLaw::Uniform { high_s, .. } | TimeLaw::Triangular { high_s, .. } => [high_s; 2],
        TimeLaw::Weibull { scale_s, .. } => [scale_s, law.typical_s()],
        _ => [law.typical_s(); 2],
    };
    times_s
        .iter()
        .all(|time_s| (0.0..=limits::LONGEST_TIME_S).contains(time_s))
}

/// Points from which the search for a law begins.
fn starts(name: &str, readings: &Readings) -> Option<Vec<Vec<f64>>> {
    let (mean, sd) = readings.rough()?;
    let cv = sd / mean;
    let log = libm::log;
    let variance = libm::log1p(cv * cv);
    let (least, most) = describe::extremes(&readings.all());
    let (low, high) = ((least - 0.1 * sd).max(least / 2.0), most + 0.1 * sd);
    Some(match name {
        "normal" => vec![vec![mean, log(sd)]],
        "lognormal" => vec![vec![log(mean) - variance / 2.0, log(variance.sqrt())]],
        "gamma" => vec![vec![-2.0 * log(cv), log(mean)]],
        "weibull" => vec![vec![log((1.2 / cv).clamp(0.2, 5_000.0)), log(mean * 1.05)]],
        "exponential" => vec![vec![log(mean)]],
        // Without anything left open, the likeliest ends are the extremes themselves.
        "uniform" if readings.error_s <= 0.0 && readings.over.is_empty() => vec![vec![least, most]],
        "uniform" => vec![vec![low, high]],
        _ => [0.15, 0.5, 0.85]
            .into_iter()
            .map(|part| vec![low, low + part * (high - low), high])
            .collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::super::law::below;
    use super::*;

    const TIMES: [f64; 12] = [
        4.8, 5.1, 4.95, 5.3, 5.02, 4.7, 5.6, 5.15, 4.88, 5.05, 5.4, 4.99,
    ];

    fn readings(error_s: f64) -> Readings {
        Readings {
            timed: TIMES.to_vec(),
            over: Vec::new(),
            error_s,
        }
    }

    #[test]
    fn a_normal_law_has_the_mean_of_the_readings() {
        let fit = fit("normal", &readings(0.0)).expect("a fit");
        let TimeLaw::Normal { mean_s, sd_s } = fit.law else {
            panic!("{fit:?}")
        };
        let (mean, variance) = (
            describe::mean(&TIMES).expect("a mean"),
            describe::variance(&TIMES).expect("one"),
        );
        assert!((mean_s - mean).abs() < 1e-5, "{mean_s} {mean}");
        assert!(
            (sd_s - (variance * 11.0 / 12.0).sqrt()).abs() < 1e-5,
            "{sd_s}"
        );
    }

    /// A reading error explains part of the spread: its own variance is a third of its square.
    #[test]
    fn a_reading_error_leaves_less_spread_to_the_marbles() {
        let sd = |error_s| match fit("normal", &readings(error_s)).expect("a fit").law {
            TimeLaw::Normal { sd_s, .. } => sd_s,
            other => panic!("{other:?}"),
        };
        let (plain, cleared) = (sd(0.0), sd(0.2));
        assert!(
            (plain * plain - cleared * cleared - 0.04 / 3.0).abs() < 0.002,
            "{plain} {cleared}"
        );
    }

    /// Readings from 1.5 s to 17 h, whose likeliest lognormal law has a standard deviation of years; most just under the
    /// longest time and still going then; and readings likeliest under a normal law with its mean below zero.
    #[test]
    fn no_law_is_wider_than_a_machine_file_can_say() {
        let wild = Readings {
            timed: vec![1.5, 61_112.0, 120.0],
            ..Readings::default()
        };
        let long = Readings {
            timed: vec![70_000.0, 84_000.0, 86_000.0],
            over: vec![86_300.0; 9],
            error_s: 0.0,
        };
        let falling = Readings {
            timed: vec![0.1, 0.2, 0.3, 0.5, 0.9, 1.6, 2.9],
            ..Readings::default()
        };
        let misread = Readings {
            error_s: 0.2,
            ..falling.clone()
        };
        let all = [wild, long, falling, misread];
        let fits = all
            .iter()
            .flat_map(|readings| FITTED.into_iter().filter_map(|name| fit(name, readings)));
        for fit in fits {
            let time = crate::machine::write_law::law(&fit.law);
            let file = format!(
                "format: 1\nmarbles: {{ count: 1 }}\nstart: a\ncircuit: {{ a: {{ track: {{ time: {time} }}, to: none }} }}"
            );
            crate::machine::read(&file, &[])
                .unwrap_or_else(|problems| panic!("{time}: {problems:?}"));
        }
    }

    /// Half of a lognormal law's times are under exp(mu), and 0.841345 under exp(mu + sigma), by the normal table.
    #[test]
    fn a_lognormal_law_is_searched_by_its_logarithms() {
        for (mu, sigma) in [(0.3_f64, 0.4_f64), (-1.0, 1.5), (2.0, 0.05)] {
            let found = law("lognormal", &[mu, libm::log(sigma)]).expect("a law");
            assert!(
                (below(&found, libm::exp(mu)) - 0.5).abs() < 1e-12,
                "{found:?}"
            );
            assert!(
                (below(&found, libm::exp(mu + sigma)) - 0.841_344_746).abs() < 1e-9,
                "{found:?}"
            );
        }
    }

    #[test]
    fn places_of_the_search_without_a_law() {
        for (name, at) in [
            ("normal", [5.0, -800.0, 0.0]),
            ("normal", [5.0, 800.0, 0.0]),
            ("normal", [-1.0, 0.0, 0.0]),
            ("exponential", [-800.0, 0.0, 0.0]),
            ("uniform", [-1.0, 2.0, 0.0]),
            ("uniform", [3.0, 2.0, 0.0]),
            ("triangular", [-1.0, 1.0, 2.0]),
            ("triangular", [1.0, 0.5, 2.0]),
            ("triangular", [1.0, 3.0, 2.0]),
        ] {
            assert_eq!(law(name, &at), None, "{name} {at:?}");
        }
    }

    /// A machine file holds times up to a day: the mean and the deviation of a gamma law, sqrt(shape) scales, and the scale and
    /// the mean of a Weibull law, Gamma(1 + 1/shape) scales.
    #[test]
    fn laws_are_written_with_times_of_a_day_at_most() {
        let gamma = |shape, scale_s| can_be_written(&TimeLaw::Gamma { shape, scale_s });
        assert!(gamma(100.0, 100.0) && !gamma(100.0, 1000.0));
        assert!(gamma(0.01, 1e5) && !gamma(0.01, 1e6));
        let weibull = |shape, scale_s| can_be_written(&TimeLaw::Weibull { shape, scale_s });
        assert!(weibull(2.2, 86_000.0) && !weibull(2.2, 90_000.0));
        assert!(weibull(0.2, 700.0) && !weibull(0.2, 1000.0));
    }

    /// By hand: 2 k - 2 log L + 2 k (k + 1)/(n - k - 1).
    #[test]
    fn the_criterion_by_hand() {
        assert_eq!(aicc(-10.0, &[0.0; 2], 11), Some(4.0 + 20.0 + 12.0 / 8.0));
        assert_eq!(aicc(3.0, &[0.0; 3], 5), Some(6.0 - 6.0 + 24.0));
        assert_eq!(
            [1, 2, 3].map(|readings| aicc(-10.0, &[0.0; 2], readings)),
            [None; 3]
        );
        assert_eq!(aicc(f64::NEG_INFINITY, &[0.0; 2], 11), None);
    }

    /// Exponential readings cut short: total time over the number that ended, a textbook result.
    #[test]
    fn readings_cut_short_lengthen_the_mean() {
        let readings = Readings {
            timed: vec![1.0, 2.0, 3.0, 4.0],
            over: vec![5.0, 5.0],
            error_s: 0.0,
        };
        let TimeLaw::Exponential { mean_s } = fit("exponential", &readings).expect("a fit").law
        else {
            panic!()
        };
        assert!((mean_s - 5.0).abs() < 1e-4, "{mean_s}");
    }

    #[test]
    fn a_negligible_reading_error_is_as_good_as_none() {
        for name in FITTED {
            assert_eq!(
                fit(name, &readings(1e-7)),
                fit(name, &readings(0.0)),
                "{name}"
            );
        }
    }

    #[test]
    fn what_cannot_be_fitted_is_unknown() {
        assert_eq!(
            fit(
                "normal",
                &Readings {
                    timed: vec![2.0; 8],
                    ..Readings::default()
                }
            ),
            None
        );
        assert_eq!(
            fit(
                "normal",
                &Readings {
                    timed: vec![2.0, 3.0],
                    ..Readings::default()
                }
            ),
            None
        );
        assert_eq!(fit("samples", &readings(0.0)), None);
        assert_eq!(aicc(-3.0, &[0.0; 2], 3), None);
    }

    #[test]
    fn every_law_is_fitted_above_its_start() {
        for name in FITTED {
            let fit = fit(name, &readings(0.05)).unwrap_or_else(|| panic!("{name}"));
            assert!(
                fit.log_likelihood.is_finite() && fit.aicc.is_some(),
                "{fit:?}"
            );
        }
    }

    /// Twenty readings from a millisecond to a hundred nanoseconds apart, with reading errors from none to far over that: a
    /// p-value takes a thousand searches, so that each has to end soon.
    #[test]
    fn a_search_ends_soon_however_little_the_readings_differ() {
        for (step, error_s) in [1e-3, 1e-5, 1e-7]
            .iter()
            .flat_map(|s| [1e-7, 1e-6, 1e-5, 1e-2].map(|e| (*s, e)))
        {
            let timed = (0..20)
                .map(|k| 5.2 + step * (0.1 * f64::from(k * 7 % 13) + f64::from(k % 3)))
                .collect();
            let readings = Readings {
                timed,
                over: Vec::new(),
                error_s,
            }
            .without_what_is_negligible();
            for name in FITTED {
                let asked = std::cell::Cell::new(0);
                let found = search(name, &readings, |x| {
                    asked.set(asked.get() + 1);
                    height(name, &readings, x)
                });
                let likelihood = found.map(|(_, height)| -height);
                println!(
                    "{name}, {step} s apart, read to {error_s} s: {} places, {likelihood:?}",
                    asked.get()
                );
                assert!(
                    likelihood.is_some() && asked.get() < 1000,
                    "{name}: {}",
                    asked.get()
                );
            }
        }
    }
}
