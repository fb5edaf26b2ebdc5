//! Quantiles: what nine runs in ten stay under.

use statrs::distribution::{Binomial, DiscreteCDF};

use super::Estimate;
use super::significance::{tail, valid};

/// Sample quantile, 0 <= p <= 1: definition 7, straight lines between order statistics with the
/// smallest at 0 and the largest at 1.
///
/// `None` without data, or where an observation is not finite.
/// Source: Hyndman & Fan, "Sample quantiles in statistical packages", The American Statistician 50,
/// (1996).
pub fn quantile(xs: &[f64], p: f64) -> Option<f64> {
    interpolate(&sorted(xs)?, p)
}

/// Sample quantile with an interval between two order statistics, free of any assumption on the
/// distribution; it covers at least `level`.
///
/// An end is unknown where even the smallest or the largest observation does not reach far enough:
/// five runs have no 95 % interval for their median. Continuous data; ties only make it cover more.
/// Source: David & Nagaraja, "Order Statistics", 3rd edition (2003).
pub fn quantile_interval(xs: &[f64], p: f64, level: f64) -> Estimate {
    let Some(sorted) = sorted(xs) else {
        return Estimate::unknown();
    };
    let ranks = order_statistic_ranks(sorted.len() as u64, p, level);
    let at = |rank: u64| sorted[rank as usize - 1];
    Estimate::from_parts(interpolate(&sorted, p), ranks.0.map(at), ranks.1.map(at))
}

/// Ranks, counted from 1, of the order statistics that enclose the p-quantile with at least `level`.
///
/// The number of observations under the quantile is binomial (n, p); each tail gets half of what
/// `level` leaves out.
pub fn order_statistic_ranks(n: u64, p: f64, level: f64) -> (Option<u64>, Option<u64>) {
    let (Some(tail), Some(p)) = (tail(level), valid(p)) else {
        return (None, None);
    };
    let Ok(below) = Binomial::new(p, n) else {
        return (None, None);
    };
    // A tail that is met exactly must not be missed by a rounding.
    let tail = tail * (1.0 + 1e-12);
    // Rank r is above the quantile when fewer than r observations lie below it.
    let safely_under = |r: u64| below.cdf(r - 1) <= tail;
    let safely_over = |r: u64| below.sf(r - 1) <= tail;
    let under = first_rank(n, |r| !safely_under(r)) - 1;
    let over = first_rank(n, safely_over);
    (Some(under).filter(|r| *r >= 1), Some(over).filter(|r| *r <= n))
}

/// The first of the ranks 1 to n at which `holds` turns true and stays so; n + 1 if it never does.
fn first_rank(n: u64, holds: impl Fn(u64) -> bool) -> u64 {
    let (mut low, mut high) = (1, n + 1);
    while low < high {
        let middle = low + (high - low) / 2;
        if holds(middle) { high = middle } else { low = middle + 1 }
    }
    low
}

fn sorted(xs: &[f64]) -> Option<Vec<f64>> {
    if xs.is_empty() || !xs.iter().all(|x| x.is_finite()) {
        return None;
    }
    let mut sorted = xs.to_vec();
    sorted.sort_by(f64::total_cmp);
    Some(sorted)
}

fn interpolate(sorted: &[f64], p: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&p) {
        return None;
    }
    let place = p * (sorted.len() - 1) as f64;
    let below = sorted[place.floor() as usize];
    let above = sorted[place.ceil() as usize];
    Some(below + (above - below) * (place - place.floor()))
}
