//! Numbers that scatter.

use std::f64::consts::TAU;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;

/// A number from 0 to under 1.
pub fn uniform(chance: &mut ChaCha8Rng) -> f64 {
    f64::from(chance.next_u32()) / 4_294_967_296.0
}

/// A number from the normal law about 0 (G. E. P. Box, M. E. Muller, Ann. Math. Stat. 29 (1958) 610).
pub fn normal(chance: &mut ChaCha8Rng, sd: f64) -> f64 {
    let (a, b) = (1.0 - uniform(chance), uniform(chance));
    sd * (-2.0 * libm::log(a)).sqrt() * libm::cos(TAU * b)
}

/// The digits of `k`, 1 or more, in a base, mirrored behind the point: Halton's points take one base for each direction
/// (J. H. Halton, Numer. Math. 2 (1960) 84).
pub fn halton(mut k: usize, base: u32) -> f64 {
    let (mut value, mut place) = (0.0, 1.0);
    while k > 0 {
        place /= f64::from(base);
        value += place * (k % base as usize) as f64;
        k /= base as usize;
    }
    value
}
