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
        let finite = |part: Option<f64>| part.filter(|x| x.is_finite());
        Self { value: finite(value), low: finite(low), high: finite(high) }
    }

    /// The same estimate with its interval cut to what is possible: a share never goes below 0 or above 1.
    pub fn within(self, low: f64, high: f64) -> Self {
        let cut = |end: Option<f64>| end.map(|x| x.clamp(low, high));
        Self { value: self.value, low: cut(self.low), high: cut(self.high) }
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

fn standard_error_times_t(replications: &[f64], level: f64) -> Option<f64> {
    let n = replications.len() as f64;
    let sd = describe::sd(replications)?;
    Some(significance::student_critical(level, n - 1.0)? * sd / n.sqrt())
}
