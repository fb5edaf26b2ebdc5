//! Shares and their intervals against published tables and exact sums.

use crate::studies::{close, ends};
use marblewright::stats::Estimate;
use marblewright::stats::proportion::{clopper_pearson, zero_event_bound};

/// Hanley & Lippman-Hand, JAMA 249, 1743 (1983): the rule of three, read second-hand; exact values
/// recomputed with mpmath 1.4.1.
#[test]
fn no_event_seen() {
    let table = [
        (10, 0.258865551),
        (30, 0.095033853),
        (100, 0.029513050),
        (300, 0.009936082),
        (1000, 0.002991250),
    ];
    for (trials, bound) in table {
        close(zero_event_bound(trials, 0.95).unwrap(), bound, 5e-10);
    }
    close(zero_event_bound(1000, 0.95).unwrap(), 3.0 / 1000.0, 1e-5);
    close(zero_event_bound(3, 0.95).unwrap(), 0.6316, 5e-5);
    ends(clopper_pearson(0, 100, 0.95), 0.0, 0.036216693, 5e-10);
    assert_eq!(zero_event_bound(0, 0.95), None);
}

/// Probability of at most `k` successes, summed term by term.
fn at_most(k: u64, n: u64, p: f64) -> f64 {
    let mut term = libm::pow(1.0 - p, n as f64);
    let mut sum = term;
    for i in 0..k {
        term *= (n - i) as f64 / (i + 1) as f64 * p / (1.0 - p);
        sum += term;
    }
    sum
}

/// What defines the interval (Clopper & Pearson, Biometrika 26, 1934): each end leaves half of the
/// error in the tail.
#[test]
fn clopper_pearson_ends_leave_half_of_the_error() {
    for (successes, trials) in [(1, 7), (3, 20), (19, 20), (130, 250), (2, 400)] {
        for level in [0.8, 0.95, 0.99] {
            let estimate = clopper_pearson(successes, trials, level);
            let half = (1.0 - level) / 2.0;
            let high = at_most(successes, trials, estimate.high.unwrap());
            let low = 1.0 - at_most(successes - 1, trials, estimate.low.unwrap());
            close(high, half, 1e-10);
            close(low, half, 1e-10);
        }
    }
}

#[test]
fn impossible_counts_are_unknown() {
    assert_eq!(clopper_pearson(0, 0, 0.95), Estimate::unknown());
    assert_eq!(clopper_pearson(3, 2, 0.95), Estimate::unknown());
    assert_eq!(clopper_pearson(1, 2, 1.5), Estimate::point(0.5));
    assert_eq!(clopper_pearson(0, 2, 1.5), Estimate::point(0.0));
    assert_eq!(clopper_pearson(1, 2, 0.0), Estimate::point(0.5));
}
