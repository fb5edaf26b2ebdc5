//! Weighted samples: kernel weights, quantiles, and linear regression near a point.

/// Epanechnikov's kernel at a distance, in bandwidths, without its factor: 1 at the point, 0 from one bandwidth on.
///
/// Source: V. A. Epanechnikov, Theory Probab. Appl. 14 (1969) 153, as used by Beaumont, Zhang & Balding (2002); from memory.
pub fn epanechnikov(bandwidths: f64) -> f64 {
    (1.0 - bandwidths * bandwidths).max(0.0)
}

/// A number with its weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighted {
    /// The number.
    pub value: f64,
    /// Its weight, at least 0.
    pub weight: f64,
}

/// The value below which a share `p` of the weight lies; `None` without any weight.
pub fn quantile(sample: &[Weighted], p: f64) -> Option<f64> {
    let mut sorted: Vec<Weighted> = sample.to_vec();
    sorted.retain(|one| one.weight > 0.0);
    sorted.sort_by(|a, b| a.value.total_cmp(&b.value));
    let total: f64 = sorted.iter().map(|one| one.weight).sum();
    let mut so_far = 0.0;
    for one in &sorted {
        so_far += one.weight;
        if so_far >= p * total {
            return Some(one.value);
        }
    }
    sorted.last().map(|one| one.value)
}

/// One observation of a regression.
#[derive(Clone, Debug, PartialEq)]
pub struct RegressionPoint {
    /// What it is regressed on, as distances from the point at which the answer is wanted.
    pub from_there: Vec<f64>,
    /// The figure, with its weight.
    pub figure: Weighted,
}

/// The slopes of a weighted linear regression with an intercept, each held back by `ridge` units of weight, so that what hardly
/// varies moves nothing. All zero where they cannot be found.
pub fn slopes(points: &[RegressionPoint], ridge: f64) -> Vec<f64> {
    let width = points.first().map_or(0, |point| point.from_there.len());
    // The normal equations, with the intercept first.
    let mut left = vec![vec![0.0; width + 1]; width + 1];
    let mut right = vec![0.0; width + 1];
    for point in points {
        let mut row = vec![1.0];
        row.extend(&point.from_there);
        let Weighted { value, weight } = point.figure;
        for i in 0..=width {
            for j in 0..=width {
                left[i][j] += weight * row[i] * row[j];
            }
            right[i] += weight * row[i] * value;
        }
    }
    for (i, row) in left.iter_mut().enumerate().skip(1) {
        row[i] += ridge;
    }
    match solved(left, right) {
        Some(found) => found[1..].to_vec(),
        None => vec![0.0; width],
    }
}

/// The solution of a system of linear equations by Gauss's elimination with the largest pivot; `None` where there is none.
fn solved(mut left: Vec<Vec<f64>>, mut right: Vec<f64>) -> Option<Vec<f64>> {
    let n = right.len();
    for k in 0..n {
        let pivot = (k..n).max_by(|&a, &b| left[a][k].abs().total_cmp(&left[b][k].abs()))?;
        if left[pivot][k].abs() < 1e-12 {
            return None;
        }
        left.swap(k, pivot);
        right.swap(k, pivot);
        let (pivot_row, pivot_right) = (left[k].clone(), right[k]);
        for i in k + 1..n {
            let times = left[i][k] / pivot_row[k];
            for (value, above) in left[i].iter_mut().zip(&pivot_row) {
                *value -= times * above;
            }
            right[i] -= times * pivot_right;
        }
    }
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|j| left[k][j] * right[j]).sum();
        right[k] = (right[k] - known) / left[k][k];
    }
    Some(right)
}

/// What is not known of one of several possibilities, bits: the sum of -p log2 p (Shannon, Bell Syst. Tech. J. 27 (1948) 379).
pub fn entropy_bits(shares: impl Iterator<Item = f64>) -> f64 {
    let mut sum = 0.0;
    for share in shares.filter(|&share| share > 0.0) {
        sum -= share * libm::log2(share);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(figure: impl Fn(f64, f64) -> f64) -> Vec<RegressionPoint> {
        let mut all = Vec::new();
        for n in 0..20 {
            let (x, y) = (f64::from(n % 5) - 2.0, f64::from(n % 7) - 3.0);
            all.push(RegressionPoint {
                from_there: vec![x, y],
                figure: Weighted {
                    value: figure(x, y),
                    weight: 1.0 + f64::from(n),
                },
            });
        }
        all
    }

    #[test]
    fn a_plane_is_found_whatever_the_weights() {
        let found = slopes(&points(|x, y| 4.0 + 2.0 * x - 0.5 * y), 0.0);
        assert!(
            (found[0] - 2.0).abs() < 1e-9 && (found[1] + 0.5).abs() < 1e-9,
            "{found:?}"
        );
    }

    /// What never varies has no slope of its own: a ridge leaves it at zero, and without one there is no answer.
    #[test]
    fn what_never_varies_moves_nothing() {
        let level = |point: RegressionPoint| RegressionPoint {
            from_there: vec![point.from_there[0], 0.0],
            ..point
        };
        let all: Vec<_> = points(|x, _| 3.0 * x).into_iter().map(level).collect();
        let found = slopes(&all, 1e-6);
        assert!(
            (found[0] - 3.0).abs() < 1e-6 && found[1] == 0.0,
            "{found:?}"
        );
        assert_eq!(slopes(&all, 0.0), [0.0, 0.0]);
    }

    #[test]
    fn quantiles_go_by_weight() {
        let sample = [(3.0, 1.0), (1.0, 2.0), (2.0, 1.0)];
        let sample = sample.map(|(value, weight)| Weighted { value, weight });
        let at = |p| quantile(&sample, p);
        assert_eq!(
            [at(0.4), at(0.6), at(0.9)],
            [Some(1.0), Some(2.0), Some(3.0)]
        );
        assert_eq!(quantile(&[], 0.5), None);
    }

    /// Shannon's own example of two possibilities (1948, figure 7): one bit where both are alike, none where one is sure.
    #[test]
    fn what_is_not_known_is_counted_in_bits() {
        assert_eq!(entropy_bits([0.5, 0.5].into_iter()), 1.0);
        assert_eq!(entropy_bits([1.0, 0.0].into_iter()), 0.0);
        assert_eq!(entropy_bits([0.25; 4].into_iter()), 2.0);
    }
}
