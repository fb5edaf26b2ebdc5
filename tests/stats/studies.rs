//! What the tests of the statistics share: comparing digits, and drawing from laws that are known.

pub use crate::support::interval;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Asserts that `actual` is `expected` to within `tolerance`, absolute.
#[track_caller]
pub fn close(actual: f64, expected: f64, tolerance: f64) {
    let error = (actual - expected).abs();
    assert!(
        error <= tolerance,
        "got {actual}, expected {expected}, off by {error:e} where {tolerance:e} is allowed"
    );
}

/// Asserts both ends of an interval.
#[track_caller]
pub fn ends(estimate: marblewright::stats::Estimate, low: f64, high: f64, tolerance: f64) {
    close(estimate.low.expect("a low end"), low, tolerance);
    close(estimate.high.expect("a high end"), high, tolerance);
}

/// The stream of one study of a repeated-study test.
pub fn study(seed: u64, number: u64) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(number);
    rng
}

/// A number above 0 and at most 1.
pub fn uniform(rng: &mut ChaCha8Rng) -> f64 {
    1.0 - rng.random::<f64>()
}

/// Exponential with the given mean.
pub fn exponential(rng: &mut ChaCha8Rng, mean: f64) -> f64 {
    -mean * libm::log(uniform(rng))
}

/// Standard normal, by Box and Muller.
pub fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let radius = (-2.0 * libm::log(uniform(rng))).sqrt();
    radius * libm::cos(2.0 * std::f64::consts::PI * uniform(rng))
}

/// A list of draws.
pub fn draws(n: usize, mut draw: impl FnMut() -> f64) -> Vec<f64> {
    (0..n).map(|_| draw()).collect()
}
