//! Mean, spread and serial correlation, by formulas that keep their digits.
//!
//! The one-pass sum of squares loses every digit on data with a large offset, so deviations are
//! taken from the mean first (two passes) and the rounding of that mean is corrected for:
//! Chan, Golub & LeVeque, "Algorithms for computing the sample variance", The American
//! Statistician 37 (1983).

/// Arithmetic mean; `None` without data or where an observation is not finite.
pub fn mean(xs: &[f64]) -> Option<f64> {
    let n = xs.len() as f64;
    let rough = xs.iter().sum::<f64>() / n;
    let correction = xs.iter().map(|x| x - rough).sum::<f64>() / n;
    Some(rough + correction).filter(|m| m.is_finite())
}

/// Sample variance, divisor n - 1; `None` under two observations or where one is not finite.
pub fn variance(xs: &[f64]) -> Option<f64> {
    if xs.len() < 2 {
        return None;
    }
    let n = xs.len() as f64;
    let mean = mean(xs)?;
    let squares: f64 = xs.iter().map(|x| (x - mean) * (x - mean)).sum();
    let rest: f64 = xs.iter().map(|x| x - mean).sum();
    Some(((squares - rest * rest / n) / (n - 1.0)).max(0.0)).filter(|v| v.is_finite())
}

/// Sample standard deviation, divisor n - 1; `None` as for [`variance`].
pub fn sd(xs: &[f64]) -> Option<f64> {
    variance(xs).map(f64::sqrt)
}

/// Lag-1 autocorrelation, -1 to 1: neighbours' products over the sum of squares, both about the mean.
///
/// `None` under two observations or without any spread.
/// Source: NIST/SEMATECH e-Handbook (autocorrelation).
pub fn lag_1_autocorrelation(xs: &[f64]) -> Option<f64> {
    if xs.len() < 2 {
        return None;
    }
    let mean = mean(xs)?;
    let squares: f64 = xs.iter().map(|x| (x - mean) * (x - mean)).sum();
    let neighbours: f64 = xs.windows(2).map(|pair| (pair[0] - mean) * (pair[1] - mean)).sum();
    Some(neighbours / squares).filter(|r| r.is_finite())
}

/// A straight line through points, y = intercept + slope x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Value at x = 0, in the unit of y.
    pub intercept: f64,
    /// Rise per unit of x.
    pub slope: f64,
    /// Share of the spread of y that the line explains, 0 to 1; `None` where y has no spread.
    pub r_squared: Option<f64>,
}

/// Least-squares line; `None` where lengths differ, x has no spread, or a number is not finite.
///
/// Source: NIST/SEMATECH e-Handbook (linear least squares).
pub fn least_squares_line(xs: &[f64], ys: &[f64]) -> Option<Line> {
    if xs.len() != ys.len() {
        return None;
    }
    let (x_mean, y_mean) = (mean(xs)?, mean(ys)?);
    let sum_of_products = |a: &[f64], a_mean: f64, b: &[f64], b_mean: f64| -> f64 {
        let pairs = a.iter().zip(b);
        pairs.map(|(u, v)| (u - a_mean) * (v - b_mean)).sum()
    };
    let sxx = sum_of_products(xs, x_mean, xs, x_mean);
    let sxy = sum_of_products(xs, x_mean, ys, y_mean);
    let syy = sum_of_products(ys, y_mean, ys, y_mean);
    let slope = Some(sxy / sxx).filter(|b| b.is_finite())?;
    Some(Line {
        intercept: y_mean - slope * x_mean,
        slope,
        r_squared: Some(slope * sxy / syy).filter(|r| r.is_finite()),
    })
}
