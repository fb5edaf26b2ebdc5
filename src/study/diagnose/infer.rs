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

#[cfg(test)]
mod tests {
    use super::super::table::ReferenceDraw;
    use super::*;

    /// A table of marbles a minute, which are weighed as they are: the cause of each draw, how far along, and its counts.
    fn table(draws: &[(usize, f64, &[f64])]) -> ReferenceTable {
        let measure = Measure {
            what: Measurable::PerMinute,
            exposure: Exposure::Readings(1),
        };
        let draw = |&(hypothesis, along, counted): &(usize, f64, &[f64])| ReferenceDraw {
            wrong: Parameter { hypothesis, along },
            counted: counted.to_vec(),
        };
        ReferenceTable {
            measures: vec![measure; draws[0].2.len()],
            draws: draws.iter().map(draw).collect(),
            hypotheses: 1 + draws.iter().map(|draw| draw.0).max().unwrap_or(0),
        }
    }

    fn assert_near(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-12, "{found}, not {expected}");
    }

    /// Nothing wrong counts -1 or 1: chance moves it by one. Cause 1 counts 0 or 2.
    const FOUR: [(usize, f64, &[f64]); 4] = [
        (0, 0.5, &[-1.0]),
        (0, 0.5, &[1.0]),
        (1, 0.5, &[0.0]),
        (1, 0.5, &[2.0]),
    ];

    #[test]
    fn causes_are_weighed_by_how_near_their_draws_are() {
        // The fourth draw is 2 off, which is the width.
        let of = table(&FOUR);
        let found = Inference::new(&of, &[0]).posterior(&[0.0], None);
        let (far, farther) = (libm::exp(-0.125), libm::exp(-0.5));
        let total = 2.0 * far + 1.0 + farther;
        assert_near(found.shares[0], 2.0 * far / total);
        assert_near(found.shares[1], (1.0 + farther) / total);
        for (weight, expected) in found.weights.iter().zip([far, far, 1.0, farther]) {
            assert_near(*weight, expected / total);
        }
    }

    #[test]
    fn a_draw_left_out_has_no_say() {
        // With enough draws at hand the width is Scott's.
        let of = table(&[FOUR; 100].concat());
        let inference = Inference::new(&of, &[0]);
        let all = inference.posterior(&[0.0], None);
        let found = inference.posterior(&[0.0], Some(2));
        let weight = |far: f64| libm::exp(-0.5 * far * far / (scott(1) * scott(1)));
        let (nothing_wrong, cause) = (200.0 * weight(1.0), 100.0 * (1.0 + weight(2.0)));
        assert_near(all.shares[1], cause / (nothing_wrong + cause));
        assert_near(found.weights[2], 0.0);
        assert_near(
            found.shares[1],
            (cause - 1.0) / (nothing_wrong + cause - 1.0),
        );
    }

    /// A cause drawn four times as often is no likelier for it, and with enough draws near the kernel is as wide as Scott's rule
    /// says.
    #[test]
    fn how_often_a_cause_was_drawn_tells_nothing() {
        let mut draws = vec![(0, 0.5, &[-1.0][..]), (0, 0.5, &[1.0])];
        draws.extend([(1, 0.5, &[0.0][..]); 8]);
        let of = table(&draws);
        let found = Inference::new(&of, &[0]).posterior(&[0.0], None);
        let widths = 1.0 / (1.3 * libm::pow(100.0, -0.2));
        let far = libm::exp(-0.5 * widths * widths);
        assert_near(found.shares[0], far / (far + 1.0));
    }

    /// What cannot be counted in a draw is 5 off; with two counts the fourth draw, 5 off and so the farthest, is √2 widths off.
    #[test]
    fn what_is_not_there_is_far_off() {
        let of = table(&[
            (0, 0.5, &[-1.0, -1.0]),
            (0, 0.5, &[1.0, 1.0]),
            (1, 0.5, &[0.0, 0.0]),
            (2, 0.5, &[0.0, f64::NAN]),
        ]);
        let found = Inference::new(&of, &[0, 1]).posterior(&[0.0, 0.0], None);
        // Squared: 2, 2, 0 and 25 over 25 / 2.
        let far = libm::exp(-0.5 * 2.0 / 12.5);
        let missing = libm::exp(-1.0);
        let total = far + 1.0 + missing;
        assert_near(found.shares[0], far / total);
        assert_near(found.shares[1], 1.0 / total);
        assert_near(found.shares[2], missing / total);
    }

    #[test]
    fn chance_moves_a_measure_as_it_does_where_nothing_is_wrong() {
        let of = table(&[
            (0, 0.5, &[1.0, 7.0]),
            (0, 0.5, &[5.0, 7.0]),
            (0, 0.5, &[f64::NAN, 7.0]),
            (1, 0.5, &[90.0, 90.0]),
        ]);
        assert_near(scale(&of, 0), 2.0);
        // Never by less than half a marble in one reading.
        assert_near(scale(&of, 1), 0.5);
    }

    #[test]
    fn measures_are_brought_to_scales_on_which_chance_is_alike() {
        let scaled = |what, exposure, value| {
            let measure = Measure { what, exposure };
            (stabilised(&measure, value), least_scale(&measure))
        };
        let of_100 = Exposure::Of(100);
        // 50 of 100, with 3/8 and 3/4 added: a half, of which the arc sine of the root is an eighth of a turn.
        let (half, least) = scaled(Measurable::Misses(0), of_100, 50.0);
        assert_near(half, 20.0 * std::f64::consts::FRAC_PI_4);
        assert_near(least, 1.0);
        let readings = Exposure::Readings(4);
        assert_eq!(scaled(Measurable::Lap, readings, 1.0), (0.0, 0.01));
        let (short, _) = scaled(Measurable::Time(0), readings, 0.0);
        assert_near(short, libm::log(1e-3));
        let during = Exposure::During(1);
        assert_eq!(scaled(Measurable::Jams(None), during, 0.625), (2.0, 1.0));
        assert_eq!(scaled(Measurable::Most(0), during, 3.0), (3.0, 0.5));
        assert_eq!(scaled(Measurable::PerMinute, readings, 9.0), (9.0, 0.25));
    }

    /// Draws of one cause, one off either way, of which what was counted tells the logit of how far along: -1 or 1. All lie within
    /// the reach of 0.9 √2. The slope is held back by 60 units of weight.
    #[test]
    fn what_was_counted_tells_how_far_along() {
        let logistic = |logit: f64| 1.0 / (1.0 + libm::exp(-logit));
        let mut draws = FOUR.to_vec();
        draws.truncate(2);
        for _ in 0..100 {
            draws.push((1, logistic(-1.0), &[-1.0]));
            draws.push((1, logistic(1.0), &[1.0]));
        }
        let of = table(&draws);
        let inference = Inference::new(&of, &[0]);
        let weight = 1.0 - 1.0 / (2.0 * 0.9 * 0.9);
        let slope = 200.0 * weight / (200.0 * weight + 60.0);
        let found = inference.along(1, &[0.0], Some(2));
        assert_eq!(found.len(), 199);
        let found = inference.along(1, &[0.0], None);
        assert_eq!(found.len(), 200);
        for (n, one) in found.iter().enumerate() {
            let logit = if n % 2 == 0 { -1.0 } else { 1.0 };
            assert_near(one.weight, weight);
            assert_near(one.value, logistic(logit - slope * logit));
        }
    }

    /// Where few draws of a cause are near, its nearest sixty are kept, however far.
    #[test]
    fn the_nearest_draws_of_a_cause_are_kept_however_far() {
        let counts: Vec<[f64; 1]> = (0..100).map(|n| [10.0 + f64::from(n)]).collect();
        let mut draws = FOUR.to_vec();
        draws.truncate(2);
        draws.extend(counts.iter().map(|counted| (1, 0.5, &counted[..])));
        let of = table(&draws);
        let found = Inference::new(&of, &[0]).along(1, &[0.0], None);
        assert_eq!(found.len(), 60);
    }

    #[test]
    fn who_stands_alone_fits_nothing() {
        let of = table(&FOUR);
        let inference = Inference::new(&of, &[0]);
        // Each draw's distances to the other three, its mean: (1 + 2 + 3) / 3, (1 + 1 + 2) / 3 twice, and again 2.
        let usual = inference.usual_loneliness();
        for (found, expected) in usual.iter().zip([2.0, 4.0 / 3.0, 4.0 / 3.0, 2.0]) {
            assert_near(*found, expected);
        }
        // Of four draws the nearest three tell: of 0.5 they are 0.5, 0.5 and 1.5 off, of 9 they are 7, 8 and 9 off.
        assert_near(inference.fits(&[0.5], &usual), 1.0);
        assert_near(inference.fits(&[9.0], &usual), 0.2);
        // Of 2.5 they are 0.5, 1.5 and 2.5 off.
        assert_near(inference.fits(&[2.5], &usual), 0.6);
    }
}
