//! From what was counted to what is wrong: approximate Bayesian computation by rejection, with local linear regression.
//!
//! Draws of the reference table that counted nearly the same as the maker are kept, the nearer with the more weight. Counts are
//! taken to a scale on which chance alone moves each by about one, so that all weigh alike. The chance of a cause is what its own
//! draws have of the weight on average; how large it is, is read off its draws after a regression has taken out what their counts
//! differ by. Source: M. A. Beaumont, W. Zhang, D. J. Balding, Genetics 162 (2002) 2025. The widths below were chosen by the
//! logarithmic score of 3,000 made-up makers at one machine, and are held by the calibration in `tests/stats/diagnose.rs`.

use rayon::prelude::*;

use super::hypotheses::Parameter;
use super::measure::{Exposure, Measurable, Measure};
use super::table::ReferenceTable;
use crate::stats::weighted::{RegressionPoint, Weighted, epanechnikov, quantile, slopes};

/// Width of the normal kernel by which causes are weighed, in standard deviations of chance, at least: Scott's rule for so many
/// draws (D. W. Scott, "Multivariate Density Estimation", 1992; from memory), times this.
const SCOTT: (f64, f64) = (100.0, 1.3);
/// It is wider where it would reach, in as many directions as there are counts, fewer than so many draws for each of them.
const REACHED: usize = 2;
/// And no fewer than these.
const FEWEST: usize = 4;
/// Draws of one cause that are kept, at least.
const KEPT_OF_ONE: usize = 60;
/// They are kept as far as two counts of one and the same machine differ, times this.
const REACH: f64 = 0.9;
/// What cannot be counted in a draw but was counted by the maker is so far off.
const NOTHING_THERE: f64 = 5.0;
/// A regression moves along a count only where its draws carry more than so much weight.
const RIDGE: f64 = 60.0;
/// How far from its nearest draws what was counted lies: to the mean of so many.
const NEIGHBOURS: usize = 10;
/// Draws by which that distance is judged, at most.
const JUDGED_BY: usize = 5000;

/// A reference table made ready for one set of things counted.
pub struct Inference<'a> {
    /// The table.
    pub table: &'a ReferenceTable,
    /// Which of its measures were counted.
    columns: Vec<usize>,
    scales: Vec<f64>,
    /// By draw: what was counted, on the scale where chance moves each by one.
    points: Vec<Vec<f64>>,
    /// How often each cause stands in the table.
    drawn: Vec<usize>,
}

/// What is likely after what was seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Posterior {
    /// The chance of each cause.
    pub shares: Vec<f64>,
    /// The weight of each draw; they sum to 1.
    pub weights: Vec<f64>,
}

/// A measure on a scale on which chance moves it by about the same whatever it is: Anscombe's transformations for counts
/// (Biometrika 35 (1948) 246), logarithms for times.
pub fn stabilised(measure: &Measure, value: f64) -> f64 {
    match (measure.what, measure.exposure) {
        (_, Exposure::Of(of)) => {
            let of = f64::from(of);
            let share = ((value + 0.375) / (of + 0.75)).clamp(0.0, 1.0);
            2.0 * of.sqrt() * libm::asin(share.sqrt())
        }
        (Measurable::Lap | Measurable::Time(_), _) => libm::log(value.max(1e-3)),
        (Measurable::Most(_) | Measurable::PerMinute, _) => value,
        _ => 2.0 * (value + 0.375).sqrt(),
    }
}

/// Chance moves a measure by so much at least.
fn least_scale(measure: &Measure) -> f64 {
    match (measure.what, measure.exposure) {
        (Measurable::Lap | Measurable::Time(_), _) => 0.01,
        (Measurable::Most(_), _) => 0.5,
        (Measurable::PerMinute, Exposure::Readings(n)) => 0.5 / f64::from(n.max(1)).sqrt(),
        _ => 1.0,
    }
}

/// How far chance alone moves a measure, on its scale: as it does among machines with nothing wrong.
pub fn scale(table: &ReferenceTable, column: usize) -> f64 {
    let measure = &table.measures[column];
    let mut sums = (0.0, 0.0, 0.0);
    for draw in table.draws.iter().filter(|draw| draw.wrong.hypothesis == 0) {
        let x = stabilised(measure, draw.counted[column]);
        if x.is_finite() {
            sums = (sums.0 + 1.0, sums.1 + x, sums.2 + x * x);
        }
    }
    let (n, mean) = (sums.0, sums.1 / f64::max(sums.0, 1.0));
    let variance = if n > 1.0 {
        (sums.2 / n - mean * mean).max(0.0)
    } else {
        0.0
    };
    variance.sqrt().max(least_scale(measure))
}

impl<'a> Inference<'a> {
    /// For the measures in these columns of the table.
    pub fn new(table: &'a ReferenceTable, columns: &[usize]) -> Self {
        let scales: Vec<f64> = columns.iter().map(|&column| scale(table, column)).collect();
        let mut drawn = vec![0; table.hypotheses];
        for draw in &table.draws {
            drawn[draw.wrong.hypothesis] += 1;
        }
        let mut inference = Inference {
            table,
            columns: columns.to_vec(),
            scales,
            points: Vec::new(),
            drawn,
        };
        for draw in &table.draws {
            let counted: Vec<f64> = columns.iter().map(|&column| draw.counted[column]).collect();
            inference.points.push(inference.point(&counted));
        }
        inference
    }

    /// What was counted, in the order of the columns, on the scale where chance moves each by one.
    pub fn point(&self, counted: &[f64]) -> Vec<f64> {
        let mut point = Vec::new();
        for (k, (&column, value)) in self.columns.iter().zip(counted).enumerate() {
            point.push(stabilised(&self.table.measures[column], *value) / self.scales[k]);
        }
        point
    }

    fn distances(&self, seen: &[f64], without: Option<usize>) -> Vec<f64> {
        let mut all = Vec::with_capacity(self.points.len());
        for (n, point) in self.points.iter().enumerate() {
            let far = if Some(n) == without {
                f64::INFINITY
            } else {
                distance(point, seen)
            };
            all.push(far);
        }
        all
    }

    /// As far as two counts of one machine differ.
    fn reach(&self) -> f64 {
        REACH * (2.0 * self.columns.len() as f64).sqrt()
    }

    /// What is likely after these counts; draw number `without`, if any, is left out.
    pub fn posterior(&self, counted: &[f64], without: Option<usize>) -> Posterior {
        let distances = self.distances(&self.point(counted), without);
        let counts = self.columns.len();
        let near = nth_smallest(&distances, (REACHED * counts).max(FEWEST));
        let width = scott(counts).max(near / (counts as f64).sqrt());
        let mut weights = Vec::with_capacity(distances.len());
        let mut shares = vec![0.0; self.table.hypotheses];
        for (draw, far) in self.table.draws.iter().zip(&distances) {
            let cause = draw.wrong.hypothesis;
            let widths = far / width;
            let weight = libm::exp(-0.5 * widths * widths) / self.drawn[cause] as f64;
            weights.push(weight);
            shares[cause] += weight;
        }
        let total: f64 = shares.iter().sum();
        let whole = |all: &mut Vec<f64>| all.iter_mut().for_each(|one| *one /= total.max(1e-300));
        whole(&mut shares);
        whole(&mut weights);
        Posterior { shares, weights }
    }

    /// How far along its range a cause is, if it is this one, after these counts: draws of it with their weights.
    pub fn along(
        &self,
        hypothesis: usize,
        counted: &[f64],
        without: Option<usize>,
    ) -> Vec<Weighted> {
        let seen = self.point(counted);
        let mut of_it = Vec::new();
        for (n, (draw, point)) in self.table.draws.iter().zip(&self.points).enumerate() {
            if draw.wrong.hypothesis == hypothesis && Some(n) != without {
                of_it.push((draw.wrong, point, distance(point, &seen)));
            }
        }
        let far: Vec<f64> = of_it.iter().map(|(.., far)| *far).collect();
        let bandwidth = self
            .reach()
            .max(nth_smallest(&far, KEPT_OF_ONE) * 1.000_001);
        let mut kept = Vec::new();
        for (wrong, point, far) in of_it {
            let weight = epanechnikov((far / bandwidth).min(1.0));
            if weight > 0.0 {
                kept.push(regression_point(wrong, point, &seen, weight));
            }
        }
        adjusted(&kept)
    }

    /// How far machines of the table lie from their nearest neighbours. The first ones are of all causes in turn.
    pub fn usual_loneliness(&self) -> Vec<f64> {
        let judged_by = self.points.len().min(JUDGED_BY);
        (0..judged_by)
            .into_par_iter()
            .map(|n| self.loneliness(&self.points[n], Some(n)))
            .collect()
    }

    /// The chance that a machine of the table lies as far from its nearest neighbours, of which `usual` is a sample, as what was
    /// counted does: small where nothing in the table explains it. A prior predictive check (G. E. P. Box, J. R. Stat. Soc. A 143
    /// (1980) 383).
    pub fn fits(&self, counted: &[f64], usual: &[f64]) -> f64 {
        let far = self.loneliness(&self.point(counted), None);
        let as_far = usual.iter().filter(|&&other| other >= far).count();
        (1 + as_far) as f64 / (1 + usual.len()) as f64
    }

    /// Mean distance to the nearest draws.
    fn loneliness(&self, seen: &[f64], without: Option<usize>) -> f64 {
        let mut distances = self.distances(seen, without);
        let n = NEIGHBOURS.min(distances.len() - 1);
        distances.select_nth_unstable_by(n, f64::total_cmp);
        distances[..n].iter().sum::<f64>() / n.max(1) as f64
    }
}

fn scott(counts: usize) -> f64 {
    let (draws, times) = SCOTT;
    times * libm::pow(draws, -1.0 / (counts as f64 + 4.0))
}

fn distance(one: &[f64], other: &[f64]) -> f64 {
    let mut squares = 0.0;
    for (a, b) in one.iter().zip(other) {
        let far = a - b;
        squares += if far.is_nan() {
            NOTHING_THERE * NOTHING_THERE
        } else {
            far * far
        };
    }
    squares.sqrt()
}

fn nth_smallest(all: &[f64], n: usize) -> f64 {
    if all.is_empty() {
        return 0.0;
    }
    let mut sorted = all.to_vec();
    let n = n.min(all.len()) - 1;
    *sorted.select_nth_unstable_by(n, f64::total_cmp).1
}

fn regression_point(wrong: Parameter, point: &[f64], seen: &[f64], weight: f64) -> RegressionPoint {
    let along = wrong.along.clamp(0.001, 0.999);
    let mut from_there = Vec::new();
    for (a, b) in point.iter().zip(seen) {
        let far = a - b;
        from_there.push(if far.is_nan() { 0.0 } else { far });
    }
    RegressionPoint {
        from_there,
        figure: Weighted {
            value: libm::log(along / (1.0 - along)),
            weight,
        },
    }
}

/// What the draws would be had each counted what was seen: the regression's slopes taken out, on the logit scale, which keeps
/// them within the range.
fn adjusted(kept: &[RegressionPoint]) -> Vec<Weighted> {
    let slopes = slopes(kept, RIDGE);
    let mut all = Vec::new();
    for point in kept {
        let moved: f64 = point
            .from_there
            .iter()
            .zip(&slopes)
            .map(|(far, slope)| far * slope)
            .sum();
        let logit = point.figure.value - moved;
        all.push(Weighted {
            value: 1.0 / (1.0 + libm::exp(-logit)),
            weight: point.figure.weight,
        });
    }
    all
}

/// The middle and the ends of 95 %, how far along the range.
pub fn middle_and_ends(along: &[Weighted]) -> Option<[f64; 3]> {
    Some([
        quantile(along, 0.025)?,
        quantile(along, 0.5)?,
        quantile(along, 0.975)?,
    ])
}
