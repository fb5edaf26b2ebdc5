//! Stopwatch readings of one element against every time law of the machine file.

use rayon::prelude::*;

use crate::engine::streams::stream;
use crate::stats::fit::{FITTED, Fit, WITH_ENDS, fit};
use crate::stats::fit_test::{distance, drawn_again, limits};
use crate::stats::readings::Readings;

/// Under this p-value a law is refused: 1 in 20, the usual figure.
pub const REFUSED_BELOW: f64 = 0.05;
/// Fewer timed readings than this tell laws apart too badly to rely on: our choice, no source.
pub const FEW: usize = 10;

/// One law tried on the readings.
#[derive(Clone, Debug, PartialEq)]
pub struct TriedLaw {
    /// The law as fitted.
    pub fit: Fit,
    /// Chance that readings of this very law lie as far from a law fitted to them; `None` where it cannot be known.
    pub p: Option<f64>,
}

impl TriedLaw {
    /// Whether the readings speak against the law.
    pub fn refused(&self) -> bool {
        matches!(self.p, Some(p) if p < REFUSED_BELOW)
    }

    /// The smaller, the more plausible; laws without AICc come last, by their likelihood.
    fn rank(&self) -> (bool, f64) {
        match self.fit.aicc {
            Some(aicc) => (false, aicc),
            None => (true, -2.0 * self.fit.log_likelihood),
        }
    }

    /// Whether the law may be chosen unasked.
    pub fn open_ended(&self) -> bool {
        !WITH_ENDS.contains(&self.fit.name)
    }
}

/// Every law that could be fitted to the readings of `element`, the most plausible (by AICc) first.
pub fn compare(element: &str, readings: &Readings, seed: u64) -> Vec<TriedLaw> {
    let fits = FITTED.into_iter().filter_map(|name| fit(name, readings));
    let mut tried: Vec<TriedLaw> = fits
        .map(|fit| TriedLaw {
            p: fit_p(&fit, readings, element, seed),
            fit,
        })
        .collect();
    tried.sort_by(|a, b| {
        let ((a_last, a), (b_last, b)) = (a.rank(), b.rank());
        a_last.cmp(&b_last).then(a.total_cmp(&b))
    });
    tried
}

/// The law to write into the machine file: the most plausible of those that are not refused and have no ends.
pub fn chosen(tried: &[TriedLaw]) -> Option<&TriedLaw> {
    tried
        .iter()
        .find(|tried| tried.open_ended() && !tried.refused())
}

/// How often readings are drawn again for one p-value.
pub fn rounds(readings: usize) -> u64 {
    if readings <= 300 { 999 } else { 199 }
}

/// p-value of the distance between readings and the law fitted to them, by parametric bootstrap: draw as many readings
/// from the fitted law, fit the law to those, measure again. That makes it honest although the law was fitted to the
/// very readings it is held against. `None` where fewer than half of the rounds could be fitted, and for a uniform law
/// without a reading error, whose ends are the extreme readings themselves. A triangular law is refused too seldom: its
/// likeliest mode is often the lowest reading, and a law fitted to what is drawn from that lies further off.
///
/// Source: Stute, Gonzalez Manteiga & Presedo Quindimil, "Bootstrap based goodness-of-fit tests", Metrika 40 (1993);
/// Davison & Hinkley, "Bootstrap Methods and their Application" (1997), chapter 4, for the ones added; from memory.
pub fn fit_p(of: &Fit, readings: &Readings, element: &str, seed: u64) -> Option<f64> {
    let seen = distance(readings, |t| readings.share_below(&of.law, t))?;
    let (limits, rounds) = (limits(readings), rounds(readings.count()));
    let name = format!("fit {element} {}", of.name);
    let distances: Vec<f64> = (0..rounds)
        .into_par_iter()
        .filter_map(|k| {
            let again = drawn_again(of, readings, &limits, &mut stream(seed, k, &name));
            let law = fit(of.name, &again)?.law;
            distance(&again, |t| again.share_below(&law, t))
        })
        .collect();
    if 2 * (distances.len() as u64) < rounds {
        return None;
    }
    Some(bootstrap_p(seen, &distances))
}

/// p-value of what was `seen` among as many drawn of the very law: what was seen counts as one of them, so that a true law is
/// refused at a level no more often than the level says, however few are drawn.
fn bootstrap_p(seen: f64, drawn: &[f64]) -> f64 {
    let as_far = drawn.iter().filter(|distance| **distance >= seen).count();
    (1.0 + as_far as f64) / (1.0 + drawn.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::quantile::quantile;
    use crate::findings::made_up::{at_most, normal, random};
    use crate::machine::law::TimeLaw;

    fn evenly(law: &TimeLaw, n: usize) -> Readings {
        let timed = (0..n)
            .map(|k| quantile(law, (k as f64 + 0.5) / n as f64))
            .collect();
        Readings {
            timed,
            ..Readings::default()
        }
    }

    #[test]
    fn skewed_readings_are_not_called_normal() {
        let tried = compare(
            "bell",
            &evenly(
                &TimeLaw::Lognormal {
                    mean_s: 5.0,
                    sd_s: 5.0,
                },
                60,
            ),
            1,
        );
        let of = |name: &str| {
            tried
                .iter()
                .find(|tried| tried.fit.name == name)
                .expect("tried")
        };
        assert!(of("normal").refused() && of("exponential").p.is_some());
        assert!(!of("lognormal").refused());
        assert_eq!(
            chosen(&tried).map(|tried| tried.fit.name),
            Some("lognormal")
        );
    }

    /// What is seen and what is drawn are alike, so that its rank among them is even: a true law must be refused in at most
    /// so many cases as the level says, at every level, also under the least p-value there can be.
    #[test]
    fn a_true_law_is_refused_no_more_often_than_the_level_says() {
        let studies = 20_000;
        let mut random = random(1);
        let p_values: Vec<f64> = (0..studies)
            .map(|_| {
                let drawn: Vec<f64> = (0..19).map(|_| normal(&mut random)).collect();
                bootstrap_p(normal(&mut random), &drawn)
            })
            .collect();
        for level in [0.01, 0.049, 0.05, 0.1, 0.25] {
            let refused = p_values.iter().filter(|p| **p <= level).count() as u64;
            println!("at {level}: {refused} of {studies}");
            assert!(
                at_most(refused, studies, level),
                "at {level}: {refused} of {studies}"
            );
        }
    }

    #[test]
    fn the_same_seed_gives_the_same_answer() {
        let readings = evenly(
            &TimeLaw::Gamma {
                shape: 3.0,
                scale_s: 1.0,
            },
            12,
        );
        assert_eq!(compare("bell", &readings, 4), compare("bell", &readings, 4));
    }

    /// Of three drawn two lie as far, and what was seen counts as one more: 3 of 4.
    #[test]
    fn what_was_seen_counts_as_one_of_those_drawn() {
        assert_eq!(bootstrap_p(2.0, &[1.0, 2.0, 3.0]), 0.75);
        assert_eq!(bootstrap_p(4.0, &[1.0, 2.0, 3.0]), 0.25);
        assert_eq!(bootstrap_p(0.5, &[1.0, 2.0, 3.0]), 1.0);
    }

    #[test]
    fn laws_are_ranked_by_their_criterion_and_by_likelihood_without_one() {
        let law = TimeLaw::Normal {
            mean_s: 5.0,
            sd_s: 1.0,
        };
        let fit = fit("normal", &evenly(&law, 20)).expect("a fit");
        let rank = |aicc| {
            let fit = Fit {
                aicc,
                log_likelihood: 1.5,
                ..fit.clone()
            };
            TriedLaw { fit, p: None }.rank()
        };
        assert_eq!(rank(Some(7.0)), (false, 7.0));
        assert_eq!(rank(None), (true, -3.0));
    }
}
