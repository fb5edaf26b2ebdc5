//! Warm-up: how much of the beginning tells of the start rather than of the machine.

use super::describe;

/// Observations a batch in MSER-5.
pub const BATCH: usize = 5;

/// Batches that always stay: the rule's statistic falls by accident when only a few are left.
const LEAST_KEPT: usize = 5;

/// What the warm-up rule found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WarmUp {
    /// Leave out the first `delete` observations, a multiple of 5.
    Settled {
        /// Observations to leave out.
        delete: usize,
    },
    /// The best cut lies in the second half, or there are under 10 batches: watch for longer.
    NoSteadyState,
}

impl WarmUp {
    /// What is left of the series once the warm-up is cut; `None` where no steady state was found.
    pub fn kept<'a>(&self, series: &'a [f64]) -> Option<&'a [f64]> {
        match self {
            Self::Settled { delete } => series.get(*delete..),
            Self::NoSteadyState => None,
        }
    }
}

/// MSER-5: the cut that makes the mean of what is left most precise.
///
/// Batches of 5; over cuts d, the least sum of squares about the mean of the kept batches over
/// (k - d)^2. Of equal cuts the earliest is taken; at least 5 batches are kept; observations at the
/// end that fill no batch have no say in the cut. Data that are not finite have no steady state.
///
/// Source: White, "An effective truncation heuristic for bias reduction in simulation output",
/// Simulation 69 (1997); White, Cobb & Spratt, Winter Simulation Conference (2000).
pub fn mser_5(series: &[f64]) -> WarmUp {
    let batches: Option<Vec<f64>> = series.chunks_exact(BATCH).map(describe::mean).collect();
    let Some(batches) = batches.filter(|b| b.len() >= 2 * LEAST_KEPT) else {
        return WarmUp::NoSteadyState;
    };
    let cut = best_cut(&batches);
    if 2 * cut > batches.len() { WarmUp::NoSteadyState } else { WarmUp::Settled { delete: cut * BATCH } }
}

fn best_cut(batches: &[f64]) -> usize {
    let largest = batches.iter().fold(0.0_f64, |m, z| m.max(z.abs()));
    // Differences no larger than the rounding of the batch means are ties.
    let tie = 1e-26 * largest * largest;
    let (mut best, mut least) = (0, f64::INFINITY);
    let statistics = mser_statistics(batches);
    let cuts = batches.len() - LEAST_KEPT + 1;
    for (cut, statistic) in statistics.into_iter().take(cuts).enumerate() {
        if statistic < least - tie {
            (best, least) = (cut, statistic);
        }
    }
    best
}

/// For every cut, the sum of squares of what is left about its mean over its number squared, in the unit
/// of the data squared.
///
/// One pass from the end, by the updating formula of Welford, "Note on a method for calculating corrected
/// sums of squares and products", Technometrics 4 (1962): a long run has many cuts.
pub fn mser_statistics(batches: &[f64]) -> Vec<f64> {
    let (mut n, mut mean, mut squares) = (0.0, 0.0, 0.0);
    let from_the_end = batches.iter().rev().map(|z| {
        n += 1.0;
        let deviation = z - mean;
        mean += deviation / n;
        squares += deviation * (z - mean);
        squares / (n * n)
    });
    let mut statistics: Vec<f64> = from_the_end.collect();
    statistics.reverse();
    statistics
}

/// Mean over replications at each place of the series, as far as the shortest reaches.
///
/// `None` without replications, or where an observation is not finite.
pub fn mean_over_replications(replications: &[Vec<f64>]) -> Option<Vec<f64>> {
    let length = replications.iter().map(Vec::len).min()?;
    let column = |i: usize| -> Vec<f64> { replications.iter().map(|r| r[i]).collect() };
    (0..length).map(|i| describe::mean(&column(i))).collect()
}

/// Welch's moving average, to be looked at as a picture: the mean over `half_window` neighbours on
/// both sides, and near the start over as many on both sides as there are.
///
/// The window stays symmetric, since a lopsided one would smear the warm-up into the beginning. The
/// last `half_window` places have no average, so the answer is that much shorter.
///
/// Source: Welch, "The statistical analysis of simulation results", in The Computer Performance
/// Modeling Handbook (1983), in the form of Law & Kelton.
pub fn welch_moving_average(series: &[f64], half_window: usize) -> Option<Vec<f64>> {
    let length = series.len().saturating_sub(half_window);
    let average = |i: usize| {
        let reach = half_window.min(i);
        describe::mean(&series[i - reach..=i + reach])
    };
    (0..length).map(average).collect()
}
