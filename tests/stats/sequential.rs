//! When a study has made enough runs: its precision, its least runs and its budget.

use crate::studies::{close, normal, study};
use marblewright::stats::Estimate;
use marblewright::stats::sequential::{Decision, StoppingRule};

fn rule(relative_error: f64) -> StoppingRule {
    StoppingRule {
        relative_error,
        level: 0.95,
        least_runs: 10,
        most_runs: 1000,
    }
}

/// Runs a study one by one and says where and why it stopped.
fn stop(rule: StoppingRule, mut draw: impl FnMut() -> f64) -> (usize, Decision) {
    let mut runs = Vec::new();
    loop {
        runs.push(draw());
        let decision = rule.judge(&runs);
        if decision != Decision::Continue {
            return (runs.len(), decision);
        }
    }
}

/// Standard deviation 1 and half-width 0.1 need about (1.96 / 0.1)^2 = 384 runs; 0.1 is 2 % of 5.
#[test]
fn a_study_stops_at_its_precision() {
    let mut rng = study(6, 0);
    let (runs, decision) = stop(rule(0.02), || 5.0 + normal(&mut rng));
    assert_eq!(decision, Decision::Precise);
    close(runs as f64, 384.0 * 1.02 * 1.02, 90.0);
}

/// Law & Kelton: a relative error of a tenth wants a half-width of a tenth over eleven tenths.
#[test]
fn a_relative_error_is_taken_against_the_true_value() {
    let ten_give_or_take = |half: f64| Estimate {
        value: Some(10.0),
        low: Some(10.0 - half),
        high: Some(10.0 + half),
    };
    let decided = |half: f64| rule(0.1).judge_estimate(10, &ten_give_or_take(half));
    assert_eq!(
        (decided(0.909), decided(0.910)),
        (Decision::Precise, Decision::Continue)
    );
}

#[test]
fn a_study_stops_at_its_budget_and_says_so() {
    let mut rng = study(6, 1);
    let decision = stop(rule(0.01), || 5.0 + normal(&mut rng));
    assert_eq!(decision, (1000, Decision::BudgetSpent));
}

#[test]
fn a_few_runs_that_agree_do_not_stop_a_study() {
    let decision = stop(rule(0.1), || 3.0);
    assert_eq!(decision, (10, Decision::Precise));
}

#[test]
fn an_unknown_interval_is_never_precise() {
    for estimate in [
        Estimate::point(1.0),
        Estimate::unknown(),
        Estimate::interval(0.0, -1.0, 1.0),
    ] {
        assert_eq!(
            rule(1e9).judge_estimate(10, &estimate),
            Decision::Continue,
            "{estimate:?}"
        );
    }
}

#[test]
fn the_least_runs_are_made_however_precise_they_are() {
    let share = Estimate::interval(0.5, 0.45, 0.55);
    let rule = rule(0.112);
    assert_eq!(rule.judge_estimate(9, &share), Decision::Continue);
    assert_eq!(rule.judge_estimate(10, &share), Decision::Precise);
}
