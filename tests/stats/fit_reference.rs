//! Fits held to scipy on the same readings (`tests/reference/fit.py` writes `fit.json`), and p-values to what they claim.

use crate::support::interval::contains;
use marblewright::engine::streams::stream;
use marblewright::machine::law::TimeLaw;
use marblewright::stats::describe::{mean, sd};
use marblewright::stats::fit::{Fit, fit};
use marblewright::stats::fit_test::{distance, drawn_again};
use marblewright::stats::readings::Readings;
use marblewright::study::fit::fit_p;
use marblewright::study::rolling::{Roll, lever_arm};
use serde_json::Value;

fn reference() -> Value {
    serde_json::from_str(include_str!("../reference/fit.json")).expect("JSON")
}

fn numbers(value: &Value) -> Vec<f64> {
    value
        .as_array()
        .expect("a list")
        .iter()
        .map(|x| x.as_f64().expect("a number"))
        .collect()
}

fn readings(set: &Value) -> Readings {
    let error_s = set["error"].as_f64().expect("a number");
    Readings {
        timed: numbers(&set["timed"]),
        over: numbers(&set["over"]),
        error_s,
    }
}

/// The numbers of a law under the names that the reference gives them.
fn parameters(law: &TimeLaw) -> Vec<(&'static str, f64)> {
    match *law {
        TimeLaw::Normal { mean_s, sd_s } | TimeLaw::Lognormal { mean_s, sd_s } => {
            vec![("mean", mean_s), ("sd", sd_s)]
        }
        TimeLaw::Gamma { shape, scale_s } | TimeLaw::Weibull { shape, scale_s } => {
            vec![("shape", shape), ("scale", scale_s)]
        }
        TimeLaw::Exponential { mean_s } => vec![("mean", mean_s)],
        ref other => panic!("{other:?}"),
    }
}

/// scipy 1.17.1: likelihoods within 1e-6, so neither search stopped short of the top; parameters within 0.1 %, what a flat
/// top leaves open.
#[test]
fn likelihoods_and_parameters_are_those_of_scipy() {
    let mut held = 0;
    for set in reference()["sets"].as_array().expect("sets") {
        let readings = readings(set);
        for (name, theirs) in set["fits"].as_object().expect("fits") {
            let what = format!("{} {name} error {}", set["name"], readings.error_s);
            let ours = fit(name, &readings).unwrap_or_else(|| panic!("{what}"));
            let likelihood = theirs["log_likelihood"].as_f64().expect("a number");
            println!("{what}: {} against {likelihood}", ours.log_likelihood);
            assert!(
                (ours.log_likelihood - likelihood).abs() < 1e-6,
                "{what}: {} {likelihood}",
                ours.log_likelihood
            );
            for (parameter, value) in parameters(&ours.law) {
                let expected = theirs[parameter].as_f64().expect("a number");
                assert!(
                    (value / expected - 1.0).abs() < 1e-3,
                    "{what}: {parameter} {value} {expected}"
                );
            }
            held += 1;
        }
    }
    assert!(held >= 30, "only {held} fits were held to the reference");
}

/// scipy 1.17.1 `goodness_of_fit`: the same statistic for the same law, and a p-value that agrees within what 999 and 1999 rounds
/// leave to chance (three standard errors, 0.06 at most).
#[test]
fn p_values_are_those_of_scipy() {
    let mut held = 0;
    for set in reference()["sets"]
        .as_array()
        .expect("sets")
        .iter()
        .filter(|set| set["normal_fit"].is_object())
    {
        let readings = readings(set);
        let ours = fit("normal", &readings).expect("a fit");
        let theirs = &set["normal_fit"];
        // scipy's normal law is not cut at zero: only where that cut takes nothing are the two the same.
        if !matches!(ours.law, TimeLaw::Normal { mean_s, sd_s } if mean_s > 5.0 * sd_s) {
            continue;
        }
        // scipy divides by n - 1 where the likeliest sd divides by n.
        let [mean_s, sd_s] = [mean, sd].map(|figure| figure(&readings.timed).expect("a figure"));
        let law = TimeLaw::Normal { mean_s, sd_s };
        let far = distance(&readings, |t| readings.share_below(&law, t)).expect("a distance");
        assert!(
            (far - theirs["distance"].as_f64().expect("a number")).abs() < 1e-8,
            "{far} {theirs}"
        );
        let p = fit_p(&ours, &readings, "x", 1).expect("a p-value");
        println!("{}: p {p}, scipy {}", set["name"], theirs["p"]);
        assert!(
            (p - theirs["p"].as_f64().expect("a number")).abs() < 0.06,
            "{p} {theirs}"
        );
        held += 1;
    }
    assert!(held >= 1);
}

/// scipy 1.17.1 `curve_fit` on the same rolls.
#[test]
fn the_lever_arm_is_that_of_scipy() {
    let rolling = &reference()["rolling"];
    let roll = |row: &Value| {
        let [length_m, degrees, time_s] = numbers(row)[..] else {
            panic!("{row}")
        };
        Roll {
            length_m,
            slope_rad: degrees.to_radians(),
            time_s,
        }
    };
    let rolls: Vec<Roll> = rolling["rolls"]
        .as_array()
        .expect("rolls")
        .iter()
        .map(roll)
        .collect();
    let radius_m = rolling["radius"].as_f64().expect("a number");
    let ours = lever_arm(&rolls, radius_m, None).expect("rolls").lever_m;
    let theirs = rolling["lever"].as_f64().expect("a number");
    println!("lever arm {ours:?}, scipy {theirs}");
    assert!(
        (ours.value.expect("one") / theirs - 1.0).abs() < 1e-5,
        "{ours:?} {theirs}"
    );
    assert!(contains(&ours, theirs), "{ours:?} {theirs}");
}

/// The p-values of readings that do come from the law: even between 0 and 1 if they are honest.
fn p_values(
    name: &'static str,
    law: &TimeLaw,
    n: usize,
    limit: Option<f64>,
    error_s: f64,
    studies: u64,
) -> Vec<f64> {
    let limits: Vec<(f64, f64)> = limit.map(|limit| (limit, 1.0)).into_iter().collect();
    let truth = Fit {
        name,
        law: law.clone(),
        parameters: 0,
        log_likelihood: 0.0,
        aicc: None,
    };
    let count = Readings {
        timed: vec![1.0; n],
        over: Vec::new(),
        error_s,
    };
    let one = |k: u64| {
        let drawn = drawn_again(&truth, &count, &limits, &mut stream(7, k, "null"));
        fit_p(&fit(name, &drawn)?, &drawn, "null", 1000 + k)
    };
    (0..studies).filter_map(one).collect()
}

fn refused(p_values: &[f64]) -> f64 {
    p_values.iter().filter(|p| **p < 0.05).count() as f64 / p_values.len() as f64
}

/// How likely numbers that are even between 0 and 1 are to lie as far from evenness as these, by Kolmogorov's limit with
/// Stephens' factor for few of them: M. A. Stephens, "EDF statistics for goodness of fit and some comparisons", J. Am. Stat.
/// Assoc. 69, 730-737 (1974), from memory. For 0.05 and under, where further terms of the limit are nothing.
fn evenness(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    let count = all.len() as f64;
    let gap = |(rank, p): (f64, &f64)| ((rank + 1.0) / count - p).max(p - rank / count);
    let d = all
        .iter()
        .enumerate()
        .map(|(rank, p)| gap((rank as f64, p)))
        .fold(0.0, f64::max);
    let scaled = (count.sqrt() + 0.12 + 0.11 / count.sqrt()) * d;
    2.0 * libm::exp(-2.0 * scaled * scaled)
}

/// Exact critical values at 5 % (scipy 1.17.1, `kstwo`): one of `n` numbers stands `d` too high, so do all below it.
#[test]
fn evenness_is_measured_as_kolmogorov_and_smirnov_do() {
    for (n, d) in [
        (20, 0.294075),
        (30, 0.241703),
        (50, 0.188406),
        (100, 0.134028),
    ] {
        let shifted: Vec<f64> = (1..=n)
            .map(|rank| (f64::from(rank) / f64::from(n) - d).max(0.0))
            .collect();
        let p = evenness(shifted);
        assert!((p - 0.05).abs() < 0.001, "{n}: {p}");
    }
}

/// Holds p-values to evenness by Kolmogorov and Smirnov at 1 in 1000, seeds fixed.
fn even(
    name: &'static str,
    law: TimeLaw,
    n: usize,
    limit: Option<f64>,
    error_s: f64,
    studies: u64,
) {
    let all = p_values(name, &law, n, limit, error_s, studies);
    assert!(
        all.len() as u64 * 10 >= studies * 9,
        "{name}: only {} of {studies} studies had a p-value",
        all.len()
    );
    let refused = refused(&all);
    let p = evenness(all);
    println!(
        "{name}, {n} readings, limit {limit:?}, error {error_s}: {refused:.3} refused at 0.05, evenness p {p:.4}"
    );
    assert!(p > 0.001, "{name}: evenness {p}, refused {refused}");
}

/// Holds p-values to no more small ones than promised by the one-sided law of Smirnov, exp(-2 n d^2), at 1 in 1000.
fn not_too_small(name: &'static str, law: TimeLaw, n: usize, studies: u64) {
    let mut all = p_values(name, &law, n, None, 0.0, studies);
    all.sort_by(f64::total_cmp);
    let count = all.len() as f64;
    let d = all
        .iter()
        .zip(1..)
        .map(|(p, rank)| f64::from(rank) / count - p)
        .fold(0.0, f64::max);
    let refused = refused(&all);
    println!(
        "{name}, {n} readings: {refused:.3} refused at 0.05, at most {d:.3} more than promised below any p-value"
    );
    assert!(
        count > 0.9 * studies as f64 && libm::exp(-2.0 * count * d * d) > 0.001,
        "{name}: {d}"
    );
}

#[test]
fn p_values_are_even_where_the_law_is_true() {
    even(
        "exponential",
        TimeLaw::Exponential { mean_s: 3.0 },
        12,
        None,
        0.0,
        60,
    );
}

#[test]
#[ignore = "minutes: cargo test --release --test stats fit_reference:: -- --ignored --nocapture"]
fn p_values_are_even_for_every_law_with_errors_and_limits() {
    even(
        "normal",
        TimeLaw::Normal {
            mean_s: 5.0,
            sd_s: 0.4,
        },
        15,
        None,
        0.0,
        400,
    );
    even(
        "normal",
        TimeLaw::Normal {
            mean_s: 5.0,
            sd_s: 0.4,
        },
        15,
        None,
        0.3,
        400,
    );
    even(
        "lognormal",
        TimeLaw::Lognormal {
            mean_s: 4.0,
            sd_s: 1.5,
        },
        20,
        Some(5.0),
        0.0,
        400,
    );
    even(
        "gamma",
        TimeLaw::Gamma {
            shape: 3.0,
            scale_s: 1.0,
        },
        12,
        None,
        0.0,
        400,
    );
    even(
        "weibull",
        TimeLaw::Weibull {
            shape: 1.8,
            scale_s: 4.0,
        },
        20,
        Some(6.0),
        0.1,
        400,
    );
    even(
        "uniform",
        TimeLaw::Uniform {
            low_s: 2.0,
            high_s: 4.0,
        },
        20,
        None,
        0.2,
        400,
    );
    // Its likeliest mode is the lowest reading in two studies of three, and what is fitted to readings drawn from that lies
    // further off: its p-values are too large.
    not_too_small(
        "triangular",
        TimeLaw::Triangular {
            low_s: 2.0,
            mode_s: 3.0,
            high_s: 6.0,
        },
        20,
        400,
    );
}

/// What p-values are for: a wrong law is found out.
#[test]
fn a_wrong_law_is_mostly_refused() {
    let truth = TimeLaw::Lognormal {
        mean_s: 4.0,
        sd_s: 8.0,
    };
    let drawn = Fit {
        name: "lognormal",
        law: truth,
        parameters: 0,
        log_likelihood: 0.0,
        aicc: None,
    };
    let count = Readings {
        timed: vec![1.0; 60],
        over: Vec::new(),
        error_s: 0.0,
    };
    let refused = |k: &u64| {
        let drawn = drawn_again(&drawn, &count, &[], &mut stream(3, *k, "wrong"));
        fit("normal", &drawn)
            .and_then(|fit| fit_p(&fit, &drawn, "wrong", *k))
            .is_some_and(|p| p < 0.05)
    };
    let refusals = (0..10).filter(refused).count();
    assert!(refusals >= 8, "{refusals} of 10");
}
