//! A figure and how surely it is known.

use serde::{Deserialize, Serialize};

use super::{describe, significance};

/// A figure with its confidence interval; what does not exist is `None` and serialises as null.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// The point estimate, in the unit of the data.
    pub value: Option<f64>,
    /// Lower end of the interval.
    pub low: Option<f64>,
    /// Upper end of the interval.
    pub high: Option<f64>,
}

impl Estimate {
    /// Nothing is known.
    pub fn unknown() -> Self {
        Self::default()
    }

    /// A value without an interval.
    pub fn point(value: f64) -> Self {
        Self::from_parts(Some(value), None, None)
    }

    /// A value between two ends.
    pub fn interval(value: f64, low: f64, high: f64) -> Self {
        Self::from_parts(Some(value), Some(low), Some(high))
    }

    /// A value whose ends may be missing one by one; a part that is not finite is unknown.
    pub fn from_parts(value: Option<f64>, low: Option<f64>, high: Option<f64>) -> Self {
        let [value, low, high] = [value, low, high].map(|part| part.filter(|x| x.is_finite()));
        Self { value, low, high }
    }

    /// The same estimate with its interval cut to what is possible: a share never goes below 0 or above 1.
    pub fn within(self, low: f64, high: f64) -> Self {
        let [low, high] = [self.low, self.high].map(|end| end.map(|x| x.clamp(low, high)));
        Self { low, high, ..self }
    }

    /// The same estimate with a further, independent error: the arms of both add as the sides of a right angle do.
    pub fn widened(self, below: f64, above: f64) -> Self {
        let Some(value) = self.value else { return self };
        let mut wider = self;
        if let Some(low) = self.low
            && below > 0.0
        {
            wider.low = Some(value - libm::hypot(value - low, below));
        }
        if let Some(high) = self.high
            && above > 0.0
        {
            wider.high = Some(value + libm::hypot(high - value, above));
        }
        wider
    }

    /// The longer arm of the interval; `None` where either arm is unknown.
    pub fn half_width(&self) -> Option<f64> {
        let value = self.value?;
        Some((self.high? - value).max(value - self.low?))
    }
}

/// Mean of independent replications with Student's t interval.
///
/// One replication has a value and no interval. Replications that are all alike have an interval of
/// no width: true of the formula, but not evidence that the next one cannot differ.
///
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods (confidence limits for the mean).
pub fn mean_interval(replications: &[f64], level: f64) -> Estimate {
    let Some(mean) = describe::mean(replications) else {
        return Estimate::unknown();
    };
    match standard_error_times_t(replications, level) {
        Some(half) => Estimate::interval(mean, mean - half, mean + half),
        None => Estimate::point(mean),
    }
}

/// Mean of values that weigh unlike much, each from a replication of its own, with Student's t interval: for averages over
/// time the weight is the replication's time, and the mean is a ratio estimator.
///
/// `values` are (value, weight), weights not negative. The standard error is the jackknife's, which allows for the pull of
/// a heavy replication; the degrees of freedom are those of as many replications of equal weight as say as much (Kish). One
/// replication, or one that has all the weight, has a value and no interval; no weight at all has no value.
///
/// Sources: Cochran, "Sampling Techniques", 3rd edition (1977), chapter 6; Efron & Tibshirani, "An Introduction to the
/// Bootstrap" (1993), chapter 11; Kish, "Survey Sampling" (1965), section 11.7; all from memory.
pub fn weighted_mean_interval(values: &[(f64, f64)], level: f64) -> Estimate {
    let total: f64 = values.iter().map(|(_, weight)| weight).sum();
    if !(total > 0.0 && total.is_finite()) {
        return Estimate::unknown();
    }
    if values.iter().all(|(_, weight)| *weight == values[0].1) {
        let values: Vec<f64> = values.iter().map(|(value, _)| *value).collect();
        return mean_interval(&values, level);
    }
    let products = values.iter().map(|(value, weight)| value * weight);
    let mean = products.sum::<f64>() / total;
    let n = values.iter().filter(|(_, weight)| *weight > 0.0).count() as f64;
    let pulls = values
        .iter()
        .map(|(value, weight)| weight * (value - mean) / (total - weight));
    let variance = pulls.map(|pull| pull * pull).sum::<f64>() * (n - 1.0) / n;
    let squares: f64 = values.iter().map(|(_, weight)| weight * weight).sum();
    let alike = total * total / squares;
    match significance::student_critical(level, alike - 1.0).map(|t| t * variance.sqrt()) {
        Some(half) if half.is_finite() => Estimate::interval(mean, mean - half, mean + half),
        _ => Estimate::point(mean),
    }
}

/// As [`weighted_mean_interval`], the interval widened for what so few replications may not have shown: it is that of two
/// more replications, of `unseen.0` and `unseen.1` with the mean weight.
///
/// Replications that are all alike so have an interval of some width. It covers more often than `level`.
/// Source: the idea is that of Agresti & Coull, "Approximate is better than 'exact' for interval estimation of binomial
/// proportions", The American Statistician 52 (1998), who add two successes and two failures.
pub fn with_unseen_runs(values: &[(f64, f64)], unseen: (f64, f64), level: f64) -> Estimate {
    let seen = weighted_mean_interval(values, level);
    let (Some(value), Some(low), Some(high)) = (seen.value, seen.low, seen.high) else {
        return seen;
    };
    let weight = values.iter().map(|(_, weight)| weight).sum::<f64>() / values.len() as f64;
    let all = [values, &[(unseen.0, weight), (unseen.1, weight)]].concat();
    let wider = weighted_mean_interval(&all, level);
    // Two that lie within the spread of the others would narrow it.
    let (low, high) = (
        wider.low.map(|other| other.min(low)),
        wider.high.map(|other| other.max(high)),
    );
    Estimate::from_parts(Some(value), low, high)
}

fn standard_error_times_t(replications: &[f64], level: f64) -> Option<f64> {
    let n = replications.len() as f64;
    let sd = describe::sd(replications)?;
    Some(significance::student_critical(level, n - 1.0)? * sd / n.sqrt())
}
