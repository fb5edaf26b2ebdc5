//! Several designs at once: differences that hold together.
//!
//! With k designs there are k (k - 1) / 2 pairs, and each pair looked at alone would bring its own
//! chance of a false finding. Both corrections keep the chance of any false finding under 1 - level.
//! Source: Holm, "A simple sequentially rejective multiple test procedure", Scandinavian Journal of
//! Statistics 6 (1979), which also states Bonferroni's.

use super::compare::{TTest, paired_t};
use super::significance::tail;

/// How p-values are corrected for the number of comparisons.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Correction {
    /// Every p times the number of comparisons; agrees with the intervals.
    Bonferroni,
    /// Step-down: never finds less than Bonferroni. Its decisions have no intervals of their own, so
    /// a pair may count as distinct although its Bonferroni interval just includes 0.
    Holm,
}

/// p-values corrected for their number, in the order given; compare them with 1 - level.
pub fn adjusted_p(p_values: &[f64], correction: Correction) -> Vec<f64> {
    let count = p_values.len() as f64;
    match correction {
        Correction::Bonferroni => p_values.iter().map(|p| (p * count).min(1.0)).collect(),
        Correction::Holm => holm(p_values),
    }
}

fn holm(p_values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p_values.len()).collect();
    order.sort_by(|a, b| p_values[*a].total_cmp(&p_values[*b]));
    let mut adjusted = vec![0.0; p_values.len()];
    let mut so_far = 0.0_f64;
    for (rank, index) in order.into_iter().enumerate() {
        let left = (p_values.len() - rank) as f64;
        so_far = so_far.max((p_values[index] * left).min(1.0));
        adjusted[index] = so_far;
    }
    adjusted
}

/// The level each of `comparisons` intervals needs for all of them to hold at `level` together.
///
/// `None` without comparisons or with a level outside 0 to 1. Bonferroni.
pub fn bonferroni_level(level: f64, comparisons: usize) -> Option<f64> {
    let left_out = 2.0 * tail(level)? / comparisons as f64;
    Some(1.0 - left_out).filter(|l| l.is_finite())
}

/// Two designs compared among several.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DesignPair {
    /// Index of the first design.
    pub first: usize,
    /// Index of the second design.
    pub second: usize,
    /// First minus second; its interval is Bonferroni's, its p-value not yet corrected.
    pub test: TTest,
    /// p-value corrected for the number of pairs.
    pub adjusted_p: f64,
    /// Whether the evidence carries a difference.
    pub distinct: bool,
}

/// Every pair of designs, each a row of runs on the same random, by the paired t test.
///
/// `None` under two designs, or where some pair cannot be compared (see [`paired_t`]).
pub fn all_pairs(
    designs: &[Vec<f64>],
    level: f64,
    correction: Correction,
) -> Option<Vec<DesignPair>> {
    let comparisons = designs.len() * designs.len().saturating_sub(1) / 2;
    let pair_level = bonferroni_level(level, comparisons)?;
    let mut pairs = Vec::with_capacity(comparisons);
    for first in 0..designs.len() {
        for second in first + 1..designs.len() {
            pairs.push(DesignPair {
                first,
                second,
                test: paired_t(&designs[first], &designs[second], pair_level)?,
                adjusted_p: 1.0,
                distinct: false,
            });
        }
    }
    let p_values: Vec<f64> = pairs.iter().map(|pair| pair.test.p).collect();
    let adjusted = adjusted_p(&p_values, correction);
    for (pair, p) in pairs.iter_mut().zip(adjusted) {
        pair.adjusted_p = p;
        pair.distinct = p <= 2.0 * tail(level).unwrap_or(0.0);
    }
    Some(pairs)
}

/// The design that is distinct from, and larger than, every other; `None` where the evidence names none.
///
/// Where less is better, look for [`clear_lowest`].
pub fn clear_highest(pairs: &[DesignPair]) -> Option<usize> {
    clear_extreme(pairs, 1.0)
}

/// The design that is distinct from, and smaller than, every other; `None` where the evidence names none.
pub fn clear_lowest(pairs: &[DesignPair]) -> Option<usize> {
    clear_extreme(pairs, -1.0)
}

fn clear_extreme(pairs: &[DesignPair], sign: f64) -> Option<usize> {
    let designs = 1 + pairs.iter().map(|p| p.second).max()?;
    (0..designs).find(|&design| {
        let mut own = pairs
            .iter()
            .filter(|pair| pair.first == design || pair.second == design);
        own.all(|pair| leads(pair, design, sign))
    })
}

/// Whether a pair's evidence puts `design` ahead, the larger one with `sign` 1 and the smaller with -1.
fn leads(pair: &DesignPair, design: usize, sign: f64) -> bool {
    let side = if pair.first == design { sign } else { -sign };
    match pair.test.difference.value {
        Some(difference) => pair.distinct && difference * side > 0.0,
        None => false,
    }
}
