//! Two designs: do they differ, by how much, and how many runs would tell?

use super::describe;
use super::significance::{student_critical, student_quantile, student_two_sided_p, valid};
use super::{Estimate, estimate};

/// Size, mean and spread of a sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SampleSummary {
    /// Number of observations.
    pub n: f64,
    /// Mean.
    pub mean: f64,
    /// Standard deviation, divisor n - 1.
    pub sd: f64,
}

impl SampleSummary {
    /// Summary of a sample; `None` under two observations or where one is not finite.
    pub fn of(sample: &[f64]) -> Option<Self> {
        Some(Self {
            n: sample.len() as f64,
            mean: describe::mean(sample)?,
            sd: describe::sd(sample)?,
        })
    }
}

/// A difference, first minus second, and whether chance explains it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TTest {
    /// The difference of the means with its t interval.
    pub difference: Estimate,
    /// Student's t; `None` where the differences have no spread.
    pub statistic: Option<f64>,
    /// Degrees of freedom.
    pub degrees_of_freedom: f64,
    /// Two-sided p-value, 0 to 1.
    pub p: f64,
}

/// Paired t test of runs that share their random numbers (common random numbers), first minus second.
///
/// Differences that are all alike have no spread for t to be measured in; then the interval has no
/// width and p is the sign test's 2^(1 - n), so that two runs never pass for proof. `None` where the
/// lengths differ, under two pairs, or where a number is not finite.
///
/// Source: Student, "The probable error of a mean", Biometrika 6 (1908).
pub fn paired_t(first: &[f64], second: &[f64], level: f64) -> Option<TTest> {
    if first.len() != second.len() {
        return None;
    }
    let differences: Vec<f64> = first.iter().zip(second).map(|(a, b)| a - b).collect();
    let SampleSummary { n, mean, sd } = SampleSummary::of(&differences)?;
    let (statistic, p) = if sd > 0.0 {
        let t = mean / (sd / n.sqrt());
        (Some(t), student_two_sided_p(t, n - 1.0)?)
    } else if mean == 0.0 {
        (None, 1.0)
    } else {
        (None, libm::exp2(1.0 - n))
    };
    Some(TTest {
        difference: estimate::mean_interval(&differences, level),
        statistic,
        degrees_of_freedom: n - 1.0,
        p,
    })
}

/// No study is asked for more runs than this.
const MOST_RUNS: u64 = 1_000_000_000;

/// How many pairs of runs a two-sided t test at `level` needs to find a true mean difference of
/// `difference` with probability `power`, when single differences scatter by `sd`.
///
/// The smallest n with sqrt(n) |difference| / sd >= t(level) + t(power), n - 1 degrees of freedom. Without any spread every
/// further run differs the same way, and the sign test's 2^(1 - n) of [`paired_t`] decides: the smallest n at which it is
/// within 1 - `level`. `None` where the difference is 0 or a number not finite, or a billion runs would not do: a tie.
///
/// Source: NIST/SEMATECH e-Handbook (sample sizes required), with t in place of z throughout.
pub fn runs_to_settle(difference: f64, sd: f64, level: f64, power: f64) -> Option<u64> {
    valid(level)?;
    valid(power)?;
    if sd == 0.0 && difference.is_finite() && difference != 0.0 {
        return (2..).find(|&n: &u64| libm::exp2(1.0 - n as f64) <= 1.0 - level);
    }
    let ratio = Some(difference.abs() / sd).filter(|r| r.is_finite() && *r > 0.0)?;
    let mut high = 2;
    while !settles(high, ratio, level, power) {
        high *= 2;
        if high > MOST_RUNS {
            return None;
        }
    }
    let mut low = high / 2;
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if settles(middle, ratio, level, power) {
            high = middle
        } else {
            low = middle
        }
    }
    Some(high)
}

/// Whether `n` pairs find a difference of `ratio` standard deviations; never where a quantile does not exist.
fn settles(n: u64, ratio: f64, level: f64, power: f64) -> bool {
    let n = n as f64;
    match (
        student_critical(level, n - 1.0),
        student_quantile(power, n - 1.0),
    ) {
        (Some(a), Some(b)) => n.sqrt() * ratio >= a + b,
        _ => false,
    }
}
