//! How long designs run before their first jam, compared by survival curves.

use crate::findings::RunFigures;
use crate::stats::Estimate;
use crate::stats::simultaneous::{Correction, adjusted_p};
use crate::stats::survival::{kaplan_meier, log_rank};

/// One design's runs up to their first jam.
#[derive(Clone, Debug, PartialEq)]
pub struct FirstJams {
    /// Runs that jammed.
    pub jammed: usize,
    /// Hours by which half of the runs have jammed; unknown where fewer do.
    pub median_h: Estimate,
}

/// Two designs whose runs may jam sooner or later.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Apart {
    /// Index of the first design.
    pub first: usize,
    /// Index of the second design.
    pub second: usize,
    /// Log-rank statistic, chi-square with one degree of freedom.
    pub statistic: f64,
    /// p-value, corrected for the number of pairs by Holm's rule.
    pub adjusted_p: f64,
    /// Whether the two differ at the stated level.
    pub distinct: bool,
}

/// The first jams of each design, and every pair in which a run jammed.
///
/// A run that ends without a jam, be it at its horizon or in gridlock, is counted as one that might yet have jammed
/// (censored). The test takes the runs of two designs as independent; with common random numbers they are alike rather than
/// independent, which makes it slower to see a difference, not quicker.
pub fn compare(designs: &[&[RunFigures]], level: f64) -> (Vec<FirstJams>, Vec<Apart>) {
    let (mut first_jams, mut times) = (Vec::new(), Vec::new());
    for runs in designs {
        let of_runs: Vec<_> = runs.iter().map(RunFigures::time_to_jam_h).collect();
        first_jams.push(FirstJams {
            jammed: of_runs.iter().filter(|time| time.event).count(),
            median_h: match kaplan_meier(&of_runs) {
                Some(curve) => curve.median(level),
                None => Estimate::unknown(),
            },
        });
        times.push(of_runs);
    }
    let (mut pairs, mut p) = (Vec::new(), Vec::new());
    for first in 0..times.len() {
        for second in first + 1..times.len() {
            if let Some(test) = log_rank(&times[first], &times[second]) {
                pairs.push((first, second, test.statistic));
                p.push(test.p);
            }
        }
    }
    let apart = (pairs.into_iter().zip(adjusted_p(&p, Correction::Holm)))
        .map(|((first, second, statistic), adjusted_p)| Apart {
            first,
            second,
            statistic,
            adjusted_p,
            distinct: adjusted_p < 1.0 - level,
        })
        .collect();
    (first_jams, apart)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::draw::{nanos, share};
    use crate::circuit::plan::Cause;
    use crate::engine::Outcome;
    use crate::engine::outcome::Jam;
    use crate::findings::made_up::{MadeUp, about, at_most, random};
    use rand_chacha::rand_core::Rng;

    /// For each study of designs that jam after so many hours on average, in runs of three hours: which pairs it tells apart.
    fn studies(means_h: &[f64], runs: u32, count: u64) -> Vec<Vec<bool>> {
        let made_up = MadeUp::new(1, "least-fill: 0");
        let base = made_up.run(0, |_| 0.5);
        let study = |seed: u64| {
            let mut random = random(seed);
            let mut run = |mean_h: f64| {
                let time_s = -3600.0 * mean_h * libm::log(1.0 - share(random.next_u64()));
                let jam = Jam {
                    node: 1,
                    cause: Cause::Pinch,
                    first: nanos(time_s),
                    count: 1,
                };
                let (jams, outcome) = match time_s < 10_800.0 {
                    true => (vec![jam], Outcome::Jammed),
                    false => (Vec::new(), Outcome::Ran),
                };
                RunFigures {
                    jams,
                    outcome,
                    end_s: time_s.min(10_800.0),
                    ..base.clone()
                }
            };
            let all: Vec<Vec<RunFigures>> = means_h
                .iter()
                .map(|mean_h| (0..runs).map(|_| run(*mean_h)).collect())
                .collect();
            let all: Vec<&[RunFigures]> = all.iter().map(Vec::as_slice).collect();
            compare(&all, 0.95)
                .1
                .iter()
                .map(|pair| pair.distinct)
                .collect()
        };
        (0..count).map(study).collect()
    }

    /// Of five designs that are one and the same, ten pairs: uncorrected, one study in four would tell some apart.
    #[test]
    fn designs_that_are_the_same_are_seldom_distinguished() {
        let text = studies(&[2.0; 5], 40, 600);
        let wrong = text.iter().filter(|pairs| pairs.contains(&true)).count() as u64;
        println!("{wrong} of 600 studies tell the same design apart");
        assert!(at_most(wrong, 600, 0.05), "{wrong} of 600");
    }

    /// Holm's rule spends the whole error on what is still in doubt: once the design that jams at once is distinguished from both
    /// others, those two, which are the same, are distinguished as often as if nothing else were asked.
    #[test]
    fn what_is_plain_costs_the_rest_nothing() {
        let text = studies(&[0.02, 2.0, 2.0], 60, 1500);
        assert!(text.iter().all(|pairs| pairs[0] && pairs[1]), "plain");
        let wrong = text.iter().filter(|pairs| pairs[2]).count() as u64;
        println!("{wrong} of 1500 studies tell the same two apart");
        assert!(about(wrong, 1500, 0.05), "{wrong} of 1500");
    }
}
