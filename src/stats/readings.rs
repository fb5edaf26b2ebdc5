//! Stopwatch readings of one element, and how likely a time law makes them.

use super::law::{above, below, between, log_density};
use super::{describe, survival};
use crate::machine::law::TimeLaw;

/// Readings that spread by less than this share of their mean are all the same: no stopwatch tells them apart.
pub const ALIKE: f64 = 1e-6;

/// The readings of one element.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    /// Times read, seconds.
    pub timed: Vec<f64>,
    /// Times after which watching stopped before the marble came, seconds.
    pub over: Vec<f64>,
    /// A time read is good to so much either way, seconds; the error is as likely anywhere between.
    pub error_s: f64,
}

impl Readings {
    /// How many there are, those cut short among them.
    pub fn count(&self) -> usize {
        self.timed.len() + self.over.len()
    }

    /// All times, as if readings cut short had ended there.
    pub(super) fn all(&self) -> Vec<f64> {
        [self.timed.as_slice(), &self.over].concat()
    }

    /// Logarithm of the likelihood of `law`.
    ///
    /// A time read counts by its density, or with a reading error by the law's mean density over the span it leaves
    /// open; a reading cut short by the share of times above it. Sources: Meeker & Escobar, "Statistical Methods for
    /// Reliability Data" (1998), chapters 2 and 7; that an error known only by its bound is taken as even between
    /// them, JCGM 100:2008 (guide to the expression of uncertainty), 4.3.7; both from memory.
    pub fn log_likelihood(&self, law: &TimeLaw) -> f64 {
        let timed: f64 = self
            .timed
            .iter()
            .map(|t| self.log_mean_density(law, *t))
            .sum();
        let over: f64 = self.over.iter().map(|t| libm::log(above(law, *t))).sum();
        timed + over
    }

    fn log_mean_density(&self, law: &TimeLaw, t: f64) -> f64 {
        let e = self.error_s;
        if e > 0.0 {
            libm::log(between(law, t - e, t + e) / (2.0 * e))
        } else {
            log_density(law, t)
        }
    }

    /// Share of readings up to `t` that `law` gives, the reading error included.
    pub fn share_below(&self, law: &TimeLaw, t: f64) -> f64 {
        let e = self.error_s;
        if e <= 0.0 {
            return below(law, t);
        }
        NODES_AND_WEIGHTS
            .iter()
            .map(|(x, w)| w * (below(law, t + x * e) + below(law, t - x * e)))
            .sum::<f64>()
            / 2.0
    }

    /// Mean and standard deviation as if readings cut short had ended there; where a search begins.
    pub(super) fn rough(&self) -> Option<(f64, f64)> {
        let all = self.all();
        let (mean, sd) = (describe::mean(&all)?, describe::sd(&all)?);
        if mean > 0.0 && (sd > ALIKE * mean || self.error_s > 0.0) {
            Some((mean, sd.max(self.error_s / 2.0).max(mean * ALIKE)))
        } else {
            None
        }
    }

    /// A reading error under a thousandth of the spread widens no law by a millionth, and the difference of two shares so near
    /// each other is rounded coarsely, on which a search never settles: then none is assumed.
    pub(super) fn without_what_is_negligible(mut self) -> Self {
        if let Some(sd) = describe::sd(&self.all())
            && self.error_s < 1e-3 * sd
        {
            self.error_s = 0.0;
        }
        self
    }

    /// The readings as survival analysis takes them.
    pub fn observations(&self) -> Vec<survival::Observation> {
        let mut all = Vec::with_capacity(self.count());
        for (times, event) in [(&self.timed, true), (&self.over, false)] {
            all.extend(
                times
                    .iter()
                    .map(|&time| survival::Observation { time, event }),
            );
        }
        all
    }
}

/// Gauss and Legendre's eight points on -1 to 1, by halves, and their weights.
const NODES_AND_WEIGHTS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_27),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// An even reading error of e smears an exponential law of mean m: 1 - exp(-t/m) sinh(e/m)/(e/m).
    #[test]
    fn shares_below_are_smeared_by_the_reading_error() {
        let law = TimeLaw::Exponential { mean_s: 2.0 };
        let misread = Readings {
            error_s: 0.6,
            ..Readings::default()
        };
        for t in [0.9, 2.0, 7.5] {
            let exact = 1.0 - libm::exp(-t / 2.0) * libm::sinh(0.3) / 0.3;
            assert!((misread.share_below(&law, t) - exact).abs() < 1e-12, "{t}");
            assert_eq!(Readings::default().share_below(&law, t), below(&law, t));
        }
    }
}
