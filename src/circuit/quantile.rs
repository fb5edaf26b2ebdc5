//! Quantile functions of the time laws, in pure Rust so that they give the same bits on every computer.
//!
//! Drawing by inversion, one uniform number a draw, keeps designs that share a law on common random numbers.

use libm::{erfc, exp, log, log1p, pow, sqrt};

use super::gamma;
use crate::machine::law::TimeLaw;

/// The time below which a draw of `law` falls with probability `p` (0 < p < 1), in seconds, at least 0.
pub fn quantile(law: &TimeLaw, p: f64) -> f64 {
    let time = match law {
        TimeLaw::Fixed { time_s } => *time_s,
        TimeLaw::Normal { mean_s, sd_s } => cut_normal(*mean_s, *sd_s, p),
        TimeLaw::Lognormal { mean_s, sd_s } => {
            let cv = sd_s / mean_s;
            let variance = log1p(cv * cv);
            exp(log(*mean_s) - variance / 2.0 + sqrt(variance) * normal(p))
        }
        TimeLaw::Gamma { shape, scale_s } => scale_s * gamma::quantile(*shape, p),
        TimeLaw::Weibull { shape, scale_s } => scale_s * pow(-log1p(-p), 1.0 / shape),
        TimeLaw::Triangular {
            low_s,
            mode_s,
            high_s,
        } => triangular(*low_s, *mode_s, *high_s, p),
        TimeLaw::Uniform { low_s, high_s } => low_s + (high_s - low_s) * p,
        TimeLaw::Exponential { mean_s } => -mean_s * log1p(-p),
        TimeLaw::Samples { times_s } => {
            let n = times_s.len();
            times_s[((p * n as f64) as usize).min(n - 1)]
        }
    };
    time.max(0.0)
}

/// Normal conditioned on being positive.
fn cut_normal(mean: f64, sd: f64, p: f64) -> f64 {
    if sd == 0.0 {
        return mean;
    }
    let below_zero = 0.5 * erfc(mean / sd * std::f64::consts::FRAC_1_SQRT_2);
    mean + sd * normal(below_zero + p * (1.0 - below_zero))
}

fn triangular(low: f64, mode: f64, high: f64, p: f64) -> f64 {
    let (width, left) = (high - low, mode - low);
    if p * width < left {
        low + sqrt(p * width * left)
    } else {
        high - sqrt((1.0 - p) * width * (high - mode))
    }
}

/// Standard normal quantile: Wichura, "Algorithm AS 241: The percentage points of the normal distribution",
/// Applied Statistics 37 (1988), PPND16.
pub fn normal(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180625 - q * q;
        return q * ratio(&CENTRE, r);
    }
    let r = sqrt(-log(if q < 0.0 { p } else { 1.0 - p }));
    let z = if r <= 5.0 {
        ratio(&MIDDLE, r - 1.6)
    } else {
        ratio(&FAR, r - 5.0)
    };
    if q < 0.0 { -z } else { z }
}

fn ratio((top, bottom): &([f64; 8], [f64; 8]), x: f64) -> f64 {
    let horner = |c: &[f64; 8]| c.iter().rev().fold(0.0, |sum, c| sum * x + c);
    horner(top) / horner(bottom)
}

const CENTRE: ([f64; 8], [f64; 8]) = (
    [
        3.387_132_872_796_366_5,
        133.141_667_891_784_38,
        1_971.590_950_306_551_3,
        13_731.693_765_509_46,
        45_921.953_931_549_87,
        67_265.770_927_008_7,
        33_430.575_583_588_13,
        2_509.080_928_730_122_7,
    ],
    [
        1.0,
        42.313_330_701_600_91,
        687.187_007_492_057_9,
        5_394.196_021_424_751,
        21_213.794_301_586_597,
        39_307.895_800_092_71,
        28_729.085_735_721_943,
        5_226.495_278_852_854,
    ],
);
const MIDDLE: ([f64; 8], [f64; 8]) = (
    [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        0.241_780_725_177_450_6,
        0.022_723_844_989_269_184,
        7.745_450_142_783_414e-4,
    ],
    [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        0.689_767_334_985_1,
        0.148_103_976_427_480_08,
        0.015_198_666_563_616_457,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ],
);
const FAR: ([f64; 8], [f64; 8]) = (
    [
        6.657_904_643_501_103,
        5.463_784_911_164_114,
        1.784_826_539_917_291_3,
        0.296_560_571_828_504_87,
        0.026_532_189_526_576_124,
        0.001_242_660_947_388_078_4,
        2.711_555_568_743_487_6e-5,
        2.010_334_399_292_288_1e-7,
    ],
    [
        1.0,
        0.599_832_206_555_888,
        0.136_929_880_922_735_8,
        0.014_875_361_290_850_615,
        7.868_691_311_456_133e-4,
        1.846_318_317_510_054_7e-5,
        1.421_511_758_316_446e-7,
        2.044_263_103_389_939_8e-15,
    ],
);

#[cfg(test)]
mod tests {
    use statrs::distribution::{ContinuousCDF, Gamma, LogNormal, Normal};

    use super::*;

    const PS: [f64; 9] = [1e-6, 0.001, 0.02, 0.2, 0.5, 0.7, 0.95, 0.999, 0.999_999];

    /// Against statrs 0.19, a general statistics library, which uses other algorithms.
    #[test]
    fn quantiles_agree_with_a_general_library() {
        for p in PS {
            let z = Normal::new(0.0, 1.0).expect("law").inverse_cdf(p);
            assert!(
                (normal(p) - z).abs() < 1e-8,
                "normal {p}: {} {z}",
                normal(p)
            );
            let law = TimeLaw::Lognormal {
                mean_s: 2.0,
                sd_s: 0.8,
            };
            let s2 = f64::ln_1p(0.16);
            let theirs = LogNormal::new(2f64.log(std::f64::consts::E) - s2 / 2.0, s2.sqrt())
                .expect("law")
                .inverse_cdf(p);
            assert!(
                (quantile(&law, p) / theirs - 1.0).abs() < 1e-7,
                "lognormal {p}"
            );
            for shape in [0.4, 1.0, 3.7, 60.0] {
                let back = Gamma::new(shape, 1.0)
                    .expect("law")
                    .cdf(gamma::quantile(shape, p));
                assert!((back - p).abs() < 1e-9, "gamma {shape} {p}: {back}");
            }
        }
    }

    /// The check values of Wichura's paper (from memory), one for each of its three pairs of polynomials.
    #[test]
    fn the_normal_quantile_has_its_published_values() {
        let published = [
            (0.25, -0.674_489_750_196_081_7),
            (0.001, -3.090_232_306_167_814),
            (1e-20, -9.262_340_089_798_408),
        ];
        for (p, z) in published {
            assert!((normal(p) / z - 1.0).abs() < 1e-15, "{p}: {}", normal(p));
        }
        assert!(
            (normal(0.999) + normal(0.001)).abs() < 1e-13,
            "the upper half mirrors the lower"
        );
    }

    #[test]
    fn readings_are_drawn_evenly() {
        let law = TimeLaw::Samples {
            times_s: vec![3.0, 1.0, 2.0, 4.0],
        };
        assert_eq!(
            [0.0, 0.24, 0.26, 0.74, 0.76, 1.0].map(|p| quantile(&law, p)),
            [3.0, 3.0, 1.0, 2.0, 4.0, 4.0]
        );
    }

    #[test]
    fn no_law_gives_a_negative_time() {
        let law = TimeLaw::Normal {
            mean_s: 1.0,
            sd_s: 2.0,
        };
        assert!(PS.iter().all(|&p| quantile(&law, p) >= 0.0));
        assert!(
            (quantile(&law, 0.5) - (1.0 + 2.0 * normal(0.308_537_5 + 0.5 * 0.691_462_5))).abs()
                < 1e-6
        );
    }
}
