//! Critical values and tail areas: how far chance alone goes.
//!
//! Every argument is checked here, so that no caller can reach one of the panics of `statrs`.

use statrs::distribution::{Beta, ChiSquared, ContinuousCDF, StudentsT};
use statrs::function::erf;

use super::root::rising_root;

/// The outcome of a significance test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Test {
    /// The test statistic.
    pub statistic: f64,
    /// Degrees of freedom of its reference distribution.
    pub degrees_of_freedom: f64,
    /// Probability, under the null hypothesis, of a statistic at least this far out: 0 to 1.
    pub p: f64,
}

/// `level` itself if it lies strictly between 0 and 1.
pub(crate) fn valid(level: f64) -> Option<f64> {
    Some(level).filter(|l| 0.0 < *l && *l < 1.0)
}

fn number(statistic: f64) -> Option<f64> {
    Some(statistic).filter(|x| !x.is_nan())
}

/// Half of what `level` leaves out: 0.025 for 0.95.
pub(crate) fn tail(level: f64) -> Option<f64> {
    valid(level).map(|l| (1.0 - l) / 2.0)
}

/// z with `level` of the standard normal between -z and z: 1.96 for 0.95.
pub fn normal_critical(level: f64) -> Option<f64> {
    valid(level).map(|l| std::f64::consts::SQRT_2 * erf::erf_inv(l))
}

/// t with `level` of Student's distribution between -t and t: 2.262 for 0.95 and 9 degrees of freedom.
pub fn student_critical(level: f64, degrees_of_freedom: f64) -> Option<f64> {
    student_upper(tail(level)?, degrees_of_freedom)
}

/// Quantile of Student's distribution; `None` unless 0 < p < 1 and there are degrees of freedom.
pub(crate) fn student_quantile(p: f64, degrees_of_freedom: f64) -> Option<f64> {
    if valid(p)? < 0.5 {
        student_upper(p, degrees_of_freedom).map(|t| -t)
    } else {
        student_upper(1.0 - p, degrees_of_freedom)
    }
}

/// From here on Fisher's expansion about the normal quantile is good to 11 digits.
const MANY_DEGREES_OF_FREEDOM: f64 = 1e4;

/// The t that a share `tail`, at most one half, of Student's distribution exceeds.
fn student_upper(tail: f64, degrees_of_freedom: f64) -> Option<f64> {
    let student = StudentsT::new(0.0, 1.0, degrees_of_freedom).ok()?;
    if degrees_of_freedom >= MANY_DEGREES_OF_FREEDOM {
        return Some(fisher_expansion(
            normal_critical(1.0 - 2.0 * tail)?,
            degrees_of_freedom,
        ));
    }
    rising_root(|t| -student.sf(t), -tail)
}

/// Abramowitz & Stegun, "Handbook of Mathematical Functions" (1964), chapter 26, first three terms.
fn fisher_expansion(z: f64, degrees_of_freedom: f64) -> f64 {
    let square = z * z;
    let first = z * (square + 1.0) / 4.0;
    let second = z * ((5.0 * square + 16.0) * square + 3.0) / 96.0;
    z + (first + second / degrees_of_freedom) / degrees_of_freedom
}

/// Two-sided p-value of a t statistic.
pub(crate) fn student_two_sided_p(statistic: f64, degrees_of_freedom: f64) -> Option<f64> {
    let t = StudentsT::new(0.0, 1.0, degrees_of_freedom).ok()?;
    let statistic = number(statistic)?;
    Some((2.0 * t.sf(statistic.abs())).min(1.0))
}

/// Upper-tail p-value of a chi-square statistic.
pub(crate) fn chi_square_p(statistic: f64, degrees_of_freedom: f64) -> Option<f64> {
    let chi_square = ChiSquared::new(degrees_of_freedom).ok()?;
    Some(chi_square.sf(number(statistic)?))
}

/// Quantile of the chi-square distribution.
pub(crate) fn chi_square_quantile(p: f64, degrees_of_freedom: f64) -> Option<f64> {
    let chi_square = ChiSquared::new(degrees_of_freedom).ok()?;
    rising_root(|x| chi_square.cdf(x), valid(p)?)
}

/// Quantile of the beta distribution.
pub(crate) fn beta_quantile(p: f64, a: f64, b: f64) -> Option<f64> {
    let beta = Beta::new(a, b).ok()?;
    rising_root(|x| beta.cdf(x), valid(p)?)
}
