//! Sequential stopping: run until the figure is precise enough or the budget is spent.

use super::Estimate;
use super::estimate::mean_interval;

/// When a study stops.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StoppingRule {
    /// The precision wanted: error over true value, 0.02 for 2 %.
    pub relative_error: f64,
    /// Confidence level of the interval, 0 to 1.
    pub level: f64,
    /// Runs done before precision is looked at: a lucky few that agree prove nothing. 10 serves well.
    pub least_runs: usize,
    /// The budget.
    pub most_runs: usize,
}

/// What a stopping rule says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    /// Go on.
    Continue,
    /// Stop: the precision is reached.
    Precise,
    /// Stop: the budget is spent, and the precision is not reached.
    BudgetSpent,
}

impl StoppingRule {
    /// Whether the estimate is as precise as wanted; an unknown interval never is.
    ///
    /// The half-width may be g / (1 + g) of the estimate for a relative error of g, because the
    /// error is taken against the true value, which may be that much smaller.
    /// Source: Law & Kelton, "Simulation Modeling and Analysis", 3rd edition (2000).
    fn is_precise(&self, estimate: &Estimate) -> bool {
        let most = self.relative_error / (1.0 + self.relative_error);
        match (estimate.half_width(), estimate.value) {
            (Some(half), Some(value)) => half <= most * value.abs(),
            _ => false,
        }
    }

    /// Judges the runs so far, for the mean over them.
    ///
    /// To stop at the same run everywhere, ask at numbers of runs that do not depend on threads.
    pub fn judge(&self, runs: &[f64]) -> Decision {
        self.judge_estimate(runs.len(), &mean_interval(runs, self.level))
    }

    /// Judges any other estimate made from `runs` runs, such as a share.
    pub fn judge_estimate(&self, runs: usize, estimate: &Estimate) -> Decision {
        if runs >= self.least_runs && self.is_precise(estimate) {
            Decision::Precise
        } else if runs >= self.most_runs {
            Decision::BudgetSpent
        } else {
            Decision::Continue
        }
    }
}
