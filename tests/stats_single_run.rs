//! Warm-up, batch means and sequential stopping.

mod stats_support;

use marblewright::stats::Estimate;
use marblewright::stats::batch::batch_means;
use marblewright::stats::describe::{lag_1_autocorrelation, mean, sd, variance};
use marblewright::stats::sequential::{Decision, Precision, StoppingRule};
use marblewright::stats::warm_up::{WarmUp, mean_over_replications, mser_5, mser_statistics, welch_moving_average};
use stats_support::{close, draws, normal, study};

/// Welch (1983) in the form of Law & Kelton: the window shrinks on both sides at once. A lopsided
/// window would give 8 at the first place. Worked by hand.
#[test]
fn moving_average_keeps_its_window_symmetric() {
    let series = [10.0, 8.0, 6.0, 4.0, 2.0, 2.0, 2.0];
    let average = welch_moving_average(&series, 2).unwrap();
    assert_eq!(average.len(), 5);
    for (actual, expected) in average.into_iter().zip([10.0, 8.0, 6.0, 4.4, 3.2]) {
        close(actual, expected, 1e-14);
    }
    assert_eq!(welch_moving_average(&series, 0).unwrap(), series);
    assert_eq!(welch_moving_average(&series, 9).unwrap(), Vec::<f64>::new());
}

#[test]
fn replications_are_averaged_as_far_as_the_shortest_reaches() {
    let rows = [vec![1.0, 2.0, 9.0], vec![3.0, 6.0]];
    assert_eq!(mean_over_replications(&rows).unwrap(), [2.0, 4.0]);
    assert_eq!(mean_over_replications(&[]), None);
    assert_eq!(mean_over_replications(&[vec![f64::NAN]]), None);
}

fn falling_series() -> Vec<f64> {
    let start = [20.0, 18.0, 15.0, 13.0, 12.0, 10.0, 9.0, 8.0, 7.0, 6.0];
    let steady = [5.0, 4.0, 6.0, 5.0, 5.0, 4.0, 6.0, 5.0, 4.0, 6.0];
    [start.to_vec(), steady.repeat(4)].concat()
}

/// White, Simulation 69 (1997), and White, Cobb & Spratt (2000) for the rule; the example worked by
/// hand: batches 15.6, 8, 5, 5, ...; the statistic is 0 at every cut from 2 on, and the earliest counts.
#[test]
fn mser_5_cuts_the_falling_start() {
    let series = falling_series();
    let batches: Vec<f64> = series.chunks(5).map(|b| b.iter().sum::<f64>() / 5.0).collect();
    close(batches[0], 15.6, 1e-14);
    let statistics = mser_statistics(&batches);
    close(statistics[0], 1.02864, 1e-13);
    close(statistics[1], 0.098765432, 5e-10);
    assert_eq!(statistics[2..], [0.0; 8]);
    let warm_up = mser_5(&series);
    assert_eq!(warm_up, WarmUp::Settled { delete: 10 });
    close(mean(warm_up.kept(&series).unwrap()).unwrap(), 5.0, 1e-14);
}

#[test]
fn mser_5_finds_no_steady_state_where_the_series_only_turns_late() {
    let mut series = draws(60, || 10.0);
    series.extend(draws(40, || 0.0));
    assert_eq!(mser_5(&series), WarmUp::NoSteadyState);
    assert_eq!(WarmUp::NoSteadyState.kept(&series), None);
    let climbing: Vec<f64> = (0..200).map(f64::from).collect();
    assert_eq!(mser_5(&climbing), WarmUp::NoSteadyState);
}

/// Two equal batches at the very end have a statistic of 0, by accident: they must not win.
#[test]
fn mser_5_is_not_taken_in_by_its_tail() {
    let mut rng = study(4, 0);
    let mut series = draws(490, || normal(&mut rng));
    series.extend([1.0; 10]);
    assert!(matches!(mser_5(&series), WarmUp::Settled { delete } if delete <= 250));
}

#[test]
fn mser_5_leaves_a_constant_whole_and_needs_ten_batches() {
    assert_eq!(mser_5(&[0.1; 53]), WarmUp::Settled { delete: 0 });
    assert_eq!(mser_5(&[0.1; 49]), WarmUp::NoSteadyState);
    assert_eq!(mser_5(&[f64::NAN; 60]), WarmUp::NoSteadyState);
}

/// The statistic of every cut, by its definition, on data with a large offset.
#[test]
fn mser_statistics_are_what_each_cut_gives_alone() {
    let mut rng = study(4, 1);
    let batches = draws(80, || 1e6 + normal(&mut rng));
    for (cut, statistic) in mser_statistics(&batches).into_iter().enumerate() {
        let kept = &batches[cut..];
        let n = kept.len() as f64;
        let squares = variance(kept).unwrap_or(0.0) * (n - 1.0);
        close(statistic, squares / (n * n), 1e-9);
    }
}

fn sawtooth() -> Vec<f64> {
    (1..=40).map(|i| f64::from(7 * i % 11)).collect()
}

/// Eight batches of five, worked with numpy and scipy 1.17.1.
#[test]
fn batch_means_of_a_sawtooth() {
    let result = batch_means(&sawtooth(), 8, 0.95).unwrap();
    let expected = [5.6, 5.4, 5.2, 5.0, 4.8, 4.6, 4.4, 6.4];
    for (actual, expected) in result.means.iter().zip(expected) {
        close(*actual, expected, 1e-14);
    }
    close(result.mean.value.unwrap(), 5.175, 1e-14);
    close(sd(&result.means).unwrap(), 0.636396103, 5e-10);
    close(result.mean.half_width().unwrap(), 0.532040457, 5e-10);
    assert_eq!(result.left_out, 0);
}

#[test]
fn observations_that_fill_no_batch_are_counted() {
    let result = batch_means(&[9.0, 1.0, 2.0, 3.0, 4.0], 2, 0.95).unwrap();
    assert_eq!((result.left_out, result.means), (1, vec![1.5, 3.5]));
    assert_eq!(batch_means(&[1.0], 2, 0.95), None);
    assert_eq!(batch_means(&[1.0, 2.0], 1, 0.95), None);
    assert_eq!(batch_means(&[1.0, f64::NAN], 2, 0.95), None);
}

/// First-order autoregression about 0, started in its steady state.
fn autoregression(phi: f64, n: usize, number: u64) -> Vec<f64> {
    let mut rng = study(5, number);
    let mut x = normal(&mut rng) / (1.0 - phi * phi).sqrt();
    draws(n, || {
        x = phi * x + normal(&mut rng);
        x
    })
}

/// With phi = 0.8, short batches still hang together (theory: the means of 5 are correlated by about
/// 0.5), long ones do not; the plain autocorrelation is phi.
#[test]
fn the_check_sees_batches_that_are_too_short() {
    let run = autoregression(0.8, 100_000, 0);
    close(lag_1_autocorrelation(&run).unwrap(), 0.8, 0.01);
    assert!(!batch_means(&run, 20_000, 0.95).unwrap().independent);
    assert!(batch_means(&run, 20, 0.95).unwrap().independent);
}

/// Theory: the variance of the mean is (1 + phi) / (1 - phi) = 9 times that of independent data, so 20
/// batches must give about three times the width that the single observations pretend to.
#[test]
fn batch_means_see_the_ninefold_variance() {
    let ratio = |number: u64| {
        let run = autoregression(0.8, 20_000, number);
        let honest = sd(&batch_means(&run, 20, 0.95).unwrap().means).unwrap();
        let naive = sd(&run).unwrap() / 1000_f64.sqrt();
        honest * honest / (naive * naive)
    };
    let ratios: Vec<f64> = (1..=100).map(ratio).collect();
    // One ratio scatters by sqrt(2/19) = 32 %, the mean of 100 by 3.2 %: three standard errors.
    close(mean(&ratios).unwrap(), 9.0, 9.0 * 0.1);
}

fn rule(precision: Precision) -> StoppingRule {
    StoppingRule { precision, level: 0.95, least_runs: 10, most_runs: 1000 }
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

/// Standard deviation 1 and half-width 0.1 need about (1.96 / 0.1)^2 = 384 runs.
#[test]
fn a_study_stops_at_its_precision() {
    let mut rng = study(6, 0);
    let (runs, decision) = stop(rule(Precision::Absolute(0.1)), || 5.0 + normal(&mut rng));
    assert_eq!(decision, Decision::Precise);
    close(runs as f64, 384.0, 90.0);
    let (relative_runs, decision) = stop(rule(Precision::Relative(0.02)), || 5.0 + normal(&mut rng));
    assert_eq!(decision, Decision::Precise);
    close(relative_runs as f64, 384.0 * 1.02 * 1.02, 90.0);
}

/// Law & Kelton: a relative error of a tenth wants a half-width of a tenth over eleven tenths.
#[test]
fn a_relative_error_is_taken_against_the_true_value() {
    let ten_give_or_take = |half: f64| Estimate { value: Some(10.0), low: Some(10.0 - half), high: Some(10.0 + half) };
    let precision = Precision::Relative(0.1);
    assert!(precision.reached(&ten_give_or_take(0.909)) && !precision.reached(&ten_give_or_take(0.910)));
    assert!(Precision::Absolute(0.1).reached(&ten_give_or_take(0.0999)));
    assert!(!precision.reached(&Estimate::unknown()));
}

#[test]
fn a_study_stops_at_its_budget_and_says_so() {
    let mut rng = study(6, 1);
    let decision = stop(rule(Precision::Absolute(0.01)), || normal(&mut rng));
    assert_eq!(decision, (1000, Decision::BudgetSpent));
}

#[test]
fn a_few_runs_that_agree_do_not_stop_a_study() {
    let decision = stop(rule(Precision::Absolute(0.1)), || 3.0);
    assert_eq!(decision, (10, Decision::Precise));
}

#[test]
fn an_unknown_interval_is_never_precise() {
    assert!(!Precision::Absolute(1e9).reached(&Estimate::point(1.0)));
    assert!(!Precision::Relative(1e9).reached(&Estimate::unknown()));
    assert!(!Precision::Relative(0.1).reached(&Estimate::interval(0.0, -1.0, 1.0)));
    let share = Estimate::interval(0.5, 0.45, 0.55);
    let rule = rule(Precision::Absolute(0.051));
    assert_eq!(rule.judge_estimate(9, &share), Decision::Continue);
    assert_eq!(rule.judge_estimate(10, &share), Decision::Precise);
}

/// A first stretch that lies off by one unit in the last place is rounding and no warm-up, whatever the unit.
#[test]
fn rounding_is_no_warm_up() {
    for level in [1e-9_f64, 1.0, 1e9] {
        let series: Vec<f64> = (0..100).map(|k| if k < 25 { level.next_up() } else { level }).collect();
        assert_eq!(mser_5(&series), WarmUp::Settled { delete: 0 }, "{level}");
    }
}

/// Of ten batches five may go, and here only the last five are alike.
#[test]
fn five_batches_are_kept_and_no_more_need_be() {
    let series: Vec<f64> = (0..10).flat_map(|k| [if k < 5 { 100.0 - 10.0 * f64::from(k) } else { 1.0 }; 5]).collect();
    assert_eq!(mser_5(&series), WarmUp::Settled { delete: 25 });
}
