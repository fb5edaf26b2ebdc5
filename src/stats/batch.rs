//! Batch means: an interval from one long run.

use super::{Estimate, describe, estimate, significance};

/// The mean of one long run, judged by the means of consecutive stretches of it.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchMeans {
    /// Mean of each batch, in order.
    pub means: Vec<f64>,
    /// Mean over all batches with its t interval.
    pub mean: Estimate,
    /// Lag-1 autocorrelation of the batch means; `None` where they have no spread.
    pub lag_1: Option<f64>,
    /// False where neighbouring batches are visibly alike or opposed: the interval is then not to be
    /// trusted, and longer batches are due. Unknown correlation counts as not visible.
    pub independent: bool,
    /// Observations at the start that fill no batch and were left out.
    pub left_out: usize,
}

/// Cuts a run into `batches` equal stretches and treats their means as independent replications.
///
/// The check calls batches dependent when the lag-1 autocorrelation is further from 0 than
/// z(level) / sqrt(batches). `None` under two batches, with fewer observations than batches, with a
/// level outside 0 to 1, or where an observation is not finite. 10 to 30 batches serve well.
///
/// Source: Schmeiser, "Batch size effects in the analysis of simulation output", Operations Research
/// 30 (1982); the bound on the autocorrelation: NIST/SEMATECH e-Handbook.
pub fn batch_means(run: &[f64], batches: usize, level: f64) -> Option<BatchMeans> {
    if batches < 2 || run.len() < batches {
        return None;
    }
    let left_out = run.len() % batches;
    let stretches = run[left_out..].chunks_exact(run.len() / batches);
    let means: Vec<f64> = stretches.map(describe::mean).collect::<Option<_>>()?;
    let lag_1 = describe::lag_1_autocorrelation(&means);
    let bound = significance::normal_critical(level)? / (batches as f64).sqrt();
    Some(BatchMeans {
        mean: estimate::mean_interval(&means, level),
        independent: lag_1.is_none_or(|r| r.abs() <= bound),
        means,
        lag_1,
        left_out,
    })
}
