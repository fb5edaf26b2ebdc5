//! Quantiles and the order statistics that enclose them.

mod stats_support;

use marblewright::stats::Estimate;
use marblewright::stats::quantile::{order_statistic_ranks, quantile, quantile_interval};
use stats_support::close;

/// Hyndman & Fan, The American Statistician 50 (1996), definition 7: the k-th of n order statistics
/// stands at (k - 1) / (n - 1), straight lines between.
#[test]
fn order_statistics_stand_at_their_places() {
    let xs = [9.0, 1.0, 4.0, 2.0, 7.0];
    for (k, x) in [1.0, 2.0, 4.0, 7.0, 9.0].into_iter().enumerate() {
        close(quantile(&xs, k as f64 / 4.0).unwrap(), x, 1e-12);
    }
    close(quantile(&xs, 0.30).unwrap(), 2.4, 1e-12);
    close(quantile(&[1.0, 2.0, 3.0, 4.0], 0.25).unwrap(), 1.75, 1e-12);
}

/// Probability of each number of successes in `n` trials, by building Pascal's triangle up.
fn binomial(n: usize, p: f64) -> Vec<f64> {
    let mut row = vec![1.0];
    for _ in 0..n {
        let mut next = vec![0.0; row.len() + 1];
        for (k, x) in row.iter().enumerate() {
            next[k] += x * (1.0 - p);
            next[k + 1] += x * p;
        }
        row = next;
    }
    row
}

/// The smaller rank may be r only if fewer than r under the quantile is rarer than the tail allows, and
/// no closer rank may be; likewise the larger. For every n to 60 and several quantiles and levels.
#[test]
fn ranks_are_the_closest_that_keep_the_level() {
    for n in 1..=60 {
        for p in [0.05, 0.3, 0.5, 0.9, 0.95] {
            for level in [0.8, 0.95, 0.99] {
                check_ranks(n, p, level);
            }
        }
    }
}

fn check_ranks(n: usize, p: f64, level: f64) {
    let chances = binomial(n, p);
    // Where a sum meets the tail exactly, rounding must not decide.
    let tail = (1.0 - level) / 2.0 + 1e-13;
    let under = |rank: usize| chances[..rank].iter().sum::<f64>() <= tail;
    let over = |rank: usize| chances[rank..].iter().sum::<f64>() <= tail;
    let low = (1..=n).rev().find(|r| under(*r)).map(|r| r as u64);
    let high = (1..=n).find(|r| over(*r)).map(|r| r as u64);
    assert_eq!(order_statistic_ranks(n as u64, p, level), (low, high), "{n} {p} {level}");
}

/// Ten observations: the second and the ninth enclose the median with 1 - 22/1024 = 97.9 %, as in every
/// table of the sign test.
#[test]
fn the_median_of_ten() {
    assert_eq!(order_statistic_ranks(10, 0.5, 0.95), (Some(2), Some(9)));
    let xs: Vec<f64> = (1..=10).rev().map(f64::from).collect();
    assert_eq!(quantile_interval(&xs, 0.5, 0.95), Estimate::interval(5.5, 2.0, 9.0));
}

/// All five on one side of the median has probability 2/32 > 5 %; for six it is 2/64.
#[test]
fn five_runs_have_no_interval_for_their_median_and_six_have() {
    let xs = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
    assert_eq!(quantile_interval(&xs[..5], 0.5, 0.95), Estimate::point(3.0));
    assert_eq!(quantile_interval(&xs, 0.5, 0.95), Estimate::interval(3.5, 1.0, 6.0));
}

#[test]
fn what_does_not_exist_is_unknown() {
    assert_eq!(quantile_interval(&[], 0.5, 0.95), Estimate::unknown());
    assert_eq!(quantile_interval(&[1.0, f64::NAN], 0.5, 0.95), Estimate::unknown());
    assert_eq!(quantile(&[1.0], 1.1), None);
    assert_eq!(quantile(&[1.0], f64::NAN), None);
    assert_eq!(quantile_interval(&[2.0], 0.0, 0.95), Estimate::point(2.0));
    assert_eq!(order_statistic_ranks(10, 0.5, 1.0), (None, None));
}
