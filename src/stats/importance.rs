//! Which of several inputs decides an outcome: Sobol' indices from outcomes with some inputs drawn anew.
//!
//! I. M. Sobol', "Sensitivity estimates for nonlinear mathematical models", Math. Model. Comput. Exp. 1 (1993) 407, and "Global
//! sensitivity indices for nonlinear mathematical models and their Monte Carlo estimates", Math. Comput. Simul. 55 (2001)
//! 271. Estimators as A. Saltelli et al., "Variance based sensitivity analysis of model output", Comput. Phys. Commun. 181
//! (2010) 259, recommend them, table 2 b and f; f is that of M. J. W. Jansen, "Analysis of variance designs for model output",
//! Comput. Phys. Commun. 117 (1999) 35. Sources from memory.

use super::Estimate;
use super::estimate::mean_interval;

/// What one input, alone or with others, has to do with the variance of an outcome; shares of it.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct SobolIndices {
    /// What of the variance would go, on average, if this input were known.
    pub first: Estimate,
    /// What of it would stay, on average, if all others were known.
    pub total: Estimate,
}

/// Outcomes in the same order: of a first sample, of a second in which every input is drawn anew, and of the first with one
/// input from the second.
#[derive(Clone, Copy, Debug)]
pub struct SobolSample<'a> {
    /// The first sample.
    pub first: &'a [f64],
    /// All inputs drawn anew.
    pub second: &'a [f64],
    /// The first with one input from the second.
    pub one_redrawn: &'a [f64],
}

impl SobolSample<'_> {
    /// The indices of the input that was redrawn, with intervals at `level` that take the variance of the outcome as known;
    /// unknown where the outcome never varies.
    pub fn indices(&self, level: f64) -> SobolIndices {
        let variance = variance(self.first, self.second);
        let mut firsts = Vec::new();
        let mut totals = Vec::new();
        for ((a, b), ab) in self.first.iter().zip(self.second).zip(self.one_redrawn) {
            // Less the mean, which changes nothing on average and makes the estimate steadier.
            firsts.push((b - variance.mean) * (ab - a));
            totals.push(0.5 * (a - ab) * (a - ab));
        }
        let share = |terms: &[f64]| {
            if variance.variance <= 0.0 {
                return Estimate::unknown();
            }
            let scaled: Vec<f64> = terms.iter().map(|term| term / variance.variance).collect();
            mean_interval(&scaled, level)
        };
        SobolIndices {
            first: share(&firsts),
            total: share(&totals),
        }
    }
}

struct MeanVariance {
    mean: f64,
    variance: f64,
}

/// Of both samples together.
fn variance(first: &[f64], second: &[f64]) -> MeanVariance {
    let all = || first.iter().chain(second);
    let many = (first.len() + second.len()).max(1) as f64;
    let mean = all().sum::<f64>() / many;
    let squares: f64 = all().map(|x| (x - mean) * (x - mean)).sum();
    MeanVariance {
        mean,
        variance: squares / many,
    }
}
