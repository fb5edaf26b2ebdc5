//! Whether an interval holds the truth.

use marblewright::stats::Estimate;

/// Whether `truth` lies between the ends, both included; never where an end is unknown.
pub fn contains(estimate: &Estimate, truth: f64) -> bool {
    estimate.low.is_some_and(|low| low <= truth) && estimate.high.is_some_and(|high| truth <= high)
}
