//! Survival curves against the remission times of Freireich et al., "The effect of 6-mercaptopurine
//! on the duration of steroid-induced remissions in acute leukemia", Blood 21 (1963), data
//! read second-hand; curve, errors and test recomputed with lifelines 0.30.3.

use crate::studies::{close, ends};
use marblewright::stats::Estimate;
use marblewright::stats::survival::{Observation, event_rate, kaplan_meier, log_rank};

fn event(time: f64) -> Observation {
    Observation { time, event: true }
}

fn censored(time: f64) -> Observation {
    Observation { time, event: false }
}

fn treated() -> Vec<Observation> {
    let events = [6.0, 6.0, 6.0, 7.0, 10.0, 13.0, 16.0, 22.0, 23.0];
    let going = [
        6.0, 9.0, 10.0, 11.0, 17.0, 19.0, 20.0, 25.0, 32.0, 32.0, 34.0, 35.0,
    ];
    let going = going.into_iter().map(censored);
    going.chain(events.into_iter().map(event)).collect()
}

fn placebo() -> Vec<Observation> {
    let weeks = [
        1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23,
    ];
    weeks.into_iter().map(|w| event(f64::from(w))).collect()
}

#[test]
fn curve_and_greenwood_errors() {
    let curve = kaplan_meier(&treated()).unwrap();
    let expected = [
        (6.0, 0.857142857, 0.076360355),
        (7.0, 0.806722689, 0.086935285),
        (10.0, 0.752941176, 0.096349653),
        (13.0, 0.690196078, 0.106814708),
        (16.0, 0.627450980, 0.114053865),
        (22.0, 0.537815126, 0.128233752),
        (23.0, 0.448179272, 0.134591457),
    ];
    assert_eq!(curve.steps.len(), expected.len());
    for (step, (time, survival, error)) in curve.steps.iter().zip(expected) {
        assert_eq!(step.time, time);
        close(step.survival, survival, 5.1e-10);
        close(step.standard_error.unwrap(), error, 5.1e-10);
    }
}

#[test]
fn runs_censored_at_an_event_count_as_at_risk() {
    let curve = kaplan_meier(&treated()).unwrap();
    assert_eq!((curve.steps[0].at_risk, curve.steps[0].events), (21, 3));
    // One was censored at 6 and one at 9, after 6 and before 10.
    assert_eq!((curve.steps[1].at_risk, curve.steps[2].at_risk), (17, 15));
}

#[test]
fn log_log_band() {
    let curve = kaplan_meier(&treated()).unwrap();
    ends(curve.at(10.0, 0.95), 0.503200, 0.889362, 5e-7);
    ends(curve.at(23.0, 0.95), 0.188052, 0.680143, 5e-7);
    assert_eq!(curve.at(12.9, 0.95), curve.at(10.0, 0.95));
}

/// Medians of 23 and 8 weeks are the published ones.
#[test]
fn medians() {
    let treated = kaplan_meier(&treated()).unwrap();
    let placebo = kaplan_meier(&placebo()).unwrap();
    assert_eq!(treated.median(0.95).value, Some(23.0));
    assert_eq!(placebo.median(0.95).value, Some(8.0));
    close(placebo.at(8.0, 0.95).value.unwrap(), 0.380952381, 5e-10);
    // The band's lower line passes one half at 13 weeks (0.432 there, 0.503 before), the upper never.
    assert_eq!(treated.median(0.95).low, Some(13.0));
    assert_eq!(treated.median(0.95).high, None);
}

#[test]
fn log_rank_of_the_two_arms() {
    let test = log_rank(&treated(), &placebo()).unwrap();
    close(test.statistic, 16.792940989, 5e-9);
    close(test.p, 4.1688e-5, 5e-10);
    let swapped = log_rank(&placebo(), &treated()).unwrap();
    close(swapped.statistic, test.statistic, 1e-9);
}

/// Without censoring, the estimate is the plain share and Greenwood's error the binomial one.
#[test]
fn without_censoring_the_curve_is_the_share_still_going() {
    let runs: Vec<Observation> = (1..=40).map(|i| event(f64::from(i))).collect();
    let curve = kaplan_meier(&runs).unwrap();
    for step in &curve.steps[..39] {
        let share = 1.0 - step.time / 40.0;
        close(step.survival, share, 1e-14);
        close(
            step.standard_error.unwrap(),
            (share * (1.0 - share) / 40.0).sqrt(),
            1e-14,
        );
    }
    assert_eq!(curve.median(0.95).value, Some(20.0));
}

#[test]
fn beyond_the_last_run_nothing_is_known() {
    let curve = kaplan_meier(&treated()).unwrap();
    assert!(curve.at(35.0, 0.95).value.is_some());
    assert_eq!(curve.at(35.1, 0.95), Estimate::unknown());
    assert_eq!(curve.at(-1.0, 0.95), Estimate::unknown());
    assert_eq!(curve.at(f64::NAN, 0.95), Estimate::unknown());
    assert_eq!(
        kaplan_meier(&placebo()).unwrap().at(99.0, 0.95).value,
        Some(0.0)
    );
}

/// Twenty runs of eight hours without a jam: survival 1, and the exact bound .025^(1/20) under it.
#[test]
fn no_event_leaves_an_exact_bound_and_no_median() {
    let curve = kaplan_meier(&[censored(8.0); 20]).unwrap();
    let survival = curve.at(8.0, 0.95);
    assert_eq!((survival.value, survival.high), (Some(1.0), Some(1.0)));
    close(survival.low.unwrap(), libm::pow(0.025, 1.0 / 20.0), 1e-12);
    assert_eq!(curve.median(0.95), Estimate::unknown());
}

#[test]
fn everybody_gone_leaves_an_exact_bound_only_without_censoring() {
    let all = kaplan_meier(&[event(1.0); 20]).unwrap().at(8.0, 0.95);
    assert_eq!((all.value, all.low), (Some(0.0), Some(0.0)));
    close(all.high.unwrap(), 1.0 - libm::pow(0.025, 1.0 / 20.0), 1e-12);
    let mixed = [censored(0.5), event(1.0)];
    assert_eq!(
        kaplan_meier(&mixed).unwrap().at(8.0, 0.95),
        Estimate::point(0.0)
    );
}

#[test]
fn unusable_observations_are_refused() {
    assert!(kaplan_meier(&[]).is_none());
    assert!(kaplan_meier(&[event(-1.0)]).is_none());
    assert!(kaplan_meier(&[event(f64::NAN), event(1.0)]).is_none());
    assert!(log_rank(&[censored(1.0)], &[censored(2.0)]).is_none());
}

/// Probability of at most `k` events when `mean` are expected, summed term by term.
fn poisson_at_most(k: u64, mean: f64) -> f64 {
    let mut term = libm::exp(-mean);
    let mut sum = term;
    for i in 1..=k {
        term *= mean / i as f64;
        sum += term;
    }
    sum
}

/// What defines the interval (Garwood, Biometrika 28, 1936): each end leaves half of the error.
#[test]
fn event_rate_ends_leave_half_of_the_error() {
    for (events, hours) in [(1, 8.0), (7, 240.0), (60, 3.5)] {
        let rate = event_rate(events, hours, 0.95);
        close(rate.value.unwrap(), events as f64 / hours, 1e-15);
        close(
            poisson_at_most(events, rate.high.unwrap() * hours),
            0.025,
            1e-9,
        );
        close(
            poisson_at_most(events - 1, rate.low.unwrap() * hours),
            0.975,
            1e-9,
        );
    }
}

/// No event in `T` hours: the rate may be up to -ln(.025) / T, near the 3.69 of a two-sided bound.
#[test]
fn event_rate_without_an_event() {
    let rate = event_rate(0, 100.0, 0.95);
    assert_eq!((rate.value, rate.low), (Some(0.0), Some(0.0)));
    close(rate.high.unwrap(), -libm::log(0.025) / 100.0, 1e-12);
    assert_eq!(event_rate(0, 0.0, 0.95), Estimate::unknown());
    assert_eq!(event_rate(1, f64::NAN, 0.95), Estimate::unknown());
    assert_eq!(event_rate(1, 2.0, 2.0), Estimate::point(0.5));
}

/// The usual column of numbers at risk: 21 treated, 17 of them at 7 weeks, 15 at 10, 7 at 22 and 6 at 23.
#[test]
fn runs_still_watched_are_those_at_risk() {
    let curve = kaplan_meier(&treated()).expect("a curve");
    assert_eq!(
        [0.0, 6.0, 7.0, 10.0, 22.0, 23.0, 36.0].map(|time| curve.still_watched(time)),
        [21, 21, 17, 15, 7, 6, 0]
    );
}

#[test]
fn a_rate_needs_an_exposure_that_can_be() {
    for exposure in [0.0, -1.0, f64::INFINITY, f64::NAN] {
        assert_eq!(
            event_rate(3, exposure, 0.95),
            Estimate::unknown(),
            "{exposure}"
        );
    }
}
