//! The gamma law with unit scale, at a cost that does not grow with its shape.
//!
//! A law that hardly spreads has a large shape: 1e12 for a spread of one in a million. Series and continued fraction need
//! about as many terms as the root of the shape; beyond [`LARGE`] an expansion takes their place.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

use libm::{erfc, exp, lgamma, log, log1p, sqrt};

use super::quantile::normal;

/// Shape from which the expansion serves: there its quantiles are within 1e-8 standard deviations, and its shares are
/// within 3e-8 of themselves out to eight standard deviations; both errors fall with the shape.
pub const LARGE: f64 = 1000.0;
/// Steps of the search for a quantile at most; six are usual.
const STEPS: usize = 200;

/// The value below which a draw of the law falls with probability `p` (0 < p < 1).
///
/// Newton's method from Wilson and Hilferty's approximation, kept between the bounds found so far; for a large shape the
/// inverted expansion of Temme, "Asymptotic inversion of incomplete gamma functions", Mathematics of Computation 58 (1992).
pub fn quantile(shape: f64, p: f64) -> f64 {
    if shape >= LARGE {
        return large_quantile(shape, normal(p));
    }
    let (mut low, mut high, mut x) = (0.0, f64::INFINITY, start(shape, p));
    for _ in 0..STEPS {
        if x <= f64::MIN_POSITIVE {
            return 0.0;
        }
        let over = below(shape, x) - p;
        if over < 0.0 {
            low = x
        } else {
            high = x
        }
        let newton = x - over / exp((shape - 1.0) * log(x) - x - lgamma(shape));
        let next = match () {
            _ if newton > low && newton < high => newton,
            _ if high < f64::INFINITY => 0.5 * (low + high),
            _ => 2.0 * low,
        };
        if (next - x).abs() <= 1e-15 * x {
            return next;
        }
        x = next;
    }
    x
}

/// Where the search begins: the expansion, which needs a single step from a shape of a hundred on; below ten Wilson & Hilferty, PNAS 17 (1931), as Abramowitz & Stegun 26.4.17; in the lower tail of a
/// small shape the first term of the series.
fn start(shape: f64, p: f64) -> f64 {
    if shape >= 10.0 {
        return large_quantile(shape, normal(p)).max(f64::MIN_POSITIVE);
    }
    let ninth = 1.0 / (9.0 * shape);
    let root = 1.0 - ninth + normal(p) * sqrt(ninth);
    let low = exp((log(p) + lgamma(shape + 1.0)) / shape);
    if root > 0.3 && shape > 0.5 {
        shape * root * root * root
    } else {
        low
    }
}

/// Share of draws up to `x`: the regularised lower incomplete gamma function P(shape, x).
///
/// Series below shape + 1, continued fraction (modified Lentz) above: Abramowitz & Stegun, "Handbook of Mathematical
/// Functions", 1964, 6.5.29 and 6.5.31; for a large shape `correction`.
pub fn below(shape: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if shape >= LARGE {
        let eta = eta(x / shape - 1.0);
        return 0.5 * erfc(-eta * sqrt(shape) * FRAC_1_SQRT_2) - correction(shape, eta);
    }
    let scale = exp(shape * log(x) - x - lgamma(shape));
    if x < shape + 1.0 {
        let (mut term, mut sum, mut n) = (1.0 / shape, 1.0 / shape, shape);
        while term > sum * 1e-17 {
            n += 1.0;
            term *= x / n;
            sum += term;
        }
        return sum * scale;
    }
    1.0 - scale * fraction(shape, x)
}

/// Share of draws over `x` for a shape of at least [`LARGE`], exact to its last digits where it is small.
pub fn large_above(shape: f64, x: f64) -> f64 {
    let eta = eta(x / shape - 1.0);
    0.5 * erfc(eta * sqrt(shape) * FRAC_1_SQRT_2) + correction(shape, eta)
}

/// Logarithm of `x` times the density at `x`, for a shape of at least [`LARGE`]: Stirling's series in place of a difference of
/// numbers as large as the shape.
pub fn large_log_density(shape: f64, x: f64) -> f64 {
    let stirling = (1.0 - 1.0 / (30.0 * shape * shape)) / (12.0 * shape);
    0.5 * log(shape / (2.0 * PI)) - shape * excess(x / shape - 1.0) - stirling
}

fn fraction(shape: f64, x: f64) -> f64 {
    let mut b = x + 1.0 - shape;
    let (mut c, mut d) = (1e300, 1.0 / b);
    let mut fraction = d;
    for i in 1..10_000 {
        let step = -f64::from(i) * (f64::from(i) - shape);
        b += 2.0;
        d = 1.0 / (step * d + b);
        c = b + step / c;
        fraction *= c * d;
        if (c * d - 1.0).abs() < 1e-16 {
            break;
        }
    }
    fraction
}

/// m - ln(1 + m), by its series where the two nearly cancel.
fn excess(m: f64) -> f64 {
    if m.abs() > 0.1 {
        return m - log1p(m);
    }
    let terms = (2..20)
        .rev()
        .fold(0.0, |sum, k| 1.0 / f64::from(k) - m * sum);
    m * m * terms
}

fn eta(m: f64) -> f64 {
    sqrt(2.0 * excess(m)).copysign(m)
}

/// How far the share below falls short of the normal one: Temme's uniform expansion, with the coefficients of the NIST Digital
/// Library of Mathematical Functions, 8.12.7 to 8.12.14, expanded about zero.
fn correction(shape: f64, eta: f64) -> f64 {
    let mut terms = 0.0;
    for c in C.iter().rev() {
        terms = terms / shape + polynomial(c, eta);
    }
    exp(-0.5 * shape * eta * eta) / sqrt(2.0 * PI * shape) * terms
}

const C: [&[f64]; 3] = [
    &[
        -1.0 / 3.0,
        1.0 / 12.0,
        -2.0 / 135.0,
        1.0 / 864.0,
        1.0 / 2835.0,
        -139.0 / 777_600.0,
    ],
    &[
        -1.0 / 540.0,
        -1.0 / 288.0,
        25.0 / 12_096.0,
        -223.0 / 1_088_640.0,
    ],
    &[25.0 / 6048.0, -139.0 / 51_840.0],
];

/// The quantile at `z` standard deviations of the normal law; NIST DLMF 8.12.20 to 8.12.22.
fn large_quantile(shape: f64, z: f64) -> f64 {
    let e = z / sqrt(shape);
    let first = -1.0 / 3.0 + e * (1.0 / 36.0 + e * (1.0 / 1620.0 - 7.0 * e / 6480.0));
    let second = -7.0 / 405.0 - 7.0 * e / 2592.0 + 533.0 * e * e / 204_120.0;
    let eta = e + (first + (second + 449.0 / 102_060.0 / shape) / shape) / shape;
    let powers = [
        1.0,
        1.0 / 3.0,
        1.0 / 36.0,
        -1.0 / 270.0,
        1.0 / 4320.0,
        1.0 / 17_010.0,
    ];
    shape * (1.0 + eta * polynomial(&powers, eta))
}

/// By Horner's rule, the constant coefficient first.
fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    let mut sum = 0.0;
    for c in coefficients.iter().rev() {
        sum = sum * x + c;
    }
    sum
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;

    const SHARES: [(f64, f64, f64, f64); 10] = [
        (1000.0, -8.0, 7.808_989_042_797_505e-19, 1.0),
        (
            1000.0,
            -3.0,
            0.001_001_238_995_064_283_6,
            0.998_998_761_004_935_7,
        ),
        (
            1000.0,
            0.0,
            0.504_205_244_180_215_5,
            0.495_794_755_819_784_5,
        ),
        (
            1000.0,
            3.0,
            0.998_252_754_498_534_9,
            0.001_747_245_501_465_135_5,
        ),
        (
            1000.0,
            8.0,
            0.999_999_999_999_941_7,
            5.831_229_554_663_752e-14,
        ),
        (
            10000.0,
            -8.0,
            1.013_092_884_401_971_6e-16,
            0.999_999_999_999_999_9,
        ),
        (
            10000.0,
            -3.0,
            0.001_234_175_584_468_492,
            0.998_765_824_415_531_5,
        ),
        (
            10000.0,
            0.0,
            0.501_329_808_339_955_2,
            0.498_670_191_660_044_8,
        ),
        (
            10000.0,
            3.0,
            0.998_529_505_103_614_3,
            0.001_470_494_896_385_681_3,
        ),
        (
            10000.0,
            8.0,
            0.999_999_999_999_996_9,
            3.109_819_962_168_845e-15,
        ),
    ];

    /// Shares of the gamma law 3 and 8 standard deviations either side of its mean, by the hypergeometric series with 40 digits
    /// (mpmath 1.3.0, `gammainc`).
    #[test]
    fn the_expansion_has_the_shares_of_a_series_with_forty_digits() {
        for (shape, z, lower, upper) in SHARES {
            let x = shape + z * sqrt(shape);
            let (ours, rest) = (below(shape, x), large_above(shape, x));
            assert!(
                (ours / lower - 1.0).abs() < 3e-8 && (rest / upper - 1.0).abs() < 3e-8,
                "{shape} {z}: {ours} {rest}"
            );
        }
    }

    #[test]
    fn quantiles_go_on_smoothly_where_the_expansion_begins() {
        for p in [1e-9, 0.001, 0.3, 0.5, 0.9, 0.999_999] {
            let (searched, expanded) = (quantile(LARGE - 1e-9, p), quantile(LARGE, p));
            assert!(
                (searched - expanded).abs() < 1e-6,
                "{p}: {searched} {expanded}"
            );
            let back = below(LARGE, expanded);
            assert!((back - p).abs() < 1e-9, "{p}: {back}");
        }
    }

    #[test]
    fn quantiles_are_where_the_share_is_reached() {
        for shape in [0.01, 0.05, 0.4, 1.0, 3.7, 60.0, 900.0, 2e4, 1e12] {
            for p in [1e-6, 0.02, 0.5, 0.95, 0.999_999] {
                let x = quantile(shape, p);
                assert!(
                    x == 0.0 && p < 1e-2 || (below(shape, x) - p).abs() < 1e-9,
                    "{shape} {p}: {x}"
                );
            }
        }
    }

    /// As many as the tables of a whole circuit need.
    #[test]
    fn quantiles_of_any_shape_come_within_a_second() {
        let begun = Instant::now();
        let mut shapes = vec![1e-28, 0.01, 0.3, 2.5, 11.0, 400.0, 999.0, 1e5, 1e12, 1e30];
        shapes.extend([1e300, f64::INFINITY]);
        for shape in shapes {
            assert!(
                (1..20_000).all(|n| !quantile(shape, f64::from(n) / 20_000.0).is_sign_negative())
            );
        }
        assert!(
            begun.elapsed() < Duration::from_secs(4),
            "{:?}",
            begun.elapsed()
        );
    }
}
