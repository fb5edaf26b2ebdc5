//! What to measure next: what is expected to leave the least unknown about the cause.
//!
//! The expected information gain of a measurement (D. V. Lindley, Ann. Math. Stat. 27 (1956) 986; from memory) is how much the
//! entropy of the causes falls on average once its outcome is known. It is found from the draws that fit what was seen: the
//! outcome of each in turn is taken for the truth, and the others tell how likely that draw's own cause then is.

use super::hypotheses::{About, Hypotheses, Parameter};
use super::infer::{Posterior, scale, stabilised};
use super::measure::Measure;
use super::table::ReferenceTable;
use crate::machine::units::{LENGTH, SPEED};
use crate::stats::weighted::epanechnikov;

/// A step that can be taken next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NextStep {
    /// Count or time something.
    Count(Measure),
    /// Measure a dimension, by its place in the list of dimensions.
    Dimension(usize),
}

/// A step with what it is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValuedStep {
    /// The step.
    pub step: NextStep,
    /// By how much less is unknown after it, expected, bits.
    pub bits: f64,
}

/// Outcomes within so many standard deviations of chance count as alike.
const ALIKE: f64 = 1.5;
/// So much of each answer is left to what was known before, since the draws are few.
const KEPT_BACK: f64 = 0.1;
/// Draws of less weight than this share of the mean tell nothing.
const MOST_DRAWS: usize = 800;

/// One draw: its weight, its cause and the outcome of a step there.
struct DrawOutcome {
    weight: f64,
    cause: usize,
    outcome: f64,
}

/// Every step not yet taken, the most telling first.
pub fn steps(
    hypotheses: &Hypotheses,
    table: &ReferenceTable,
    posterior: &Posterior,
    taken: &[usize],
) -> Vec<ValuedStep> {
    let kept = heaviest(posterior);
    let mut all = Vec::new();
    for (column, measure) in table.measures.iter().enumerate() {
        if !taken.contains(&column) {
            let scale = scale(table, column);
            let outcome = |n: usize| stabilised(measure, table.draws[n].counted[column]) / scale;
            let bits = gain(
                &outcomes(table, posterior, &kept, outcome),
                &posterior.shares,
            );
            all.push(ValuedStep {
                step: NextStep::Count(*measure),
                bits,
            });
        }
    }
    for (n, _) in hypotheses.dimensions().iter().enumerate() {
        let outcome = |draw: usize| measured_off(hypotheses, table.draws[draw].wrong, n);
        let bits = gain(
            &outcomes(table, posterior, &kept, outcome),
            &posterior.shares,
        );
        all.push(ValuedStep {
            step: NextStep::Dimension(n),
            bits,
        });
    }
    all.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    all
}

/// The draws that weigh most, in the order of their numbers.
fn heaviest(posterior: &Posterior) -> Vec<usize> {
    let mut all: Vec<usize> = (0..posterior.weights.len()).collect();
    all.retain(|&n| posterior.weights[n] > 0.0);
    all.sort_by(|&a, &b| posterior.weights[b].total_cmp(&posterior.weights[a]));
    all.truncate(MOST_DRAWS);
    all.sort_unstable();
    all
}

fn outcomes(
    table: &ReferenceTable,
    posterior: &Posterior,
    kept: &[usize],
    outcome: impl Fn(usize) -> f64,
) -> Vec<DrawOutcome> {
    let one = |&n: &usize| DrawOutcome {
        weight: posterior.weights[n],
        cause: table.draws[n].wrong.hypothesis,
        outcome: outcome(n),
    };
    kept.iter().map(one).collect()
}

/// By how much a dimension of a draw is off, in standard deviations of the tool that it is measured with: a protractor, a tape,
/// callipers, counting by hand, a watch. Common practice, no source.
fn measured_off(hypotheses: &Hypotheses, wrong: Parameter, dimension: usize) -> f64 {
    let hypothesis = hypotheses.all[wrong.hypothesis];
    if hypothesis.about != About::Dimension(dimension) {
        return 0.0;
    }
    let of = &hypotheses.dimensions()[dimension];
    let tool = match of.kind {
        None => 0.5,
        Some(kind) if kind.name == SPEED.name => 0.01 * of.written,
        Some(kind) if kind.name == LENGTH.name && of.written > 0.05 => 0.001,
        Some(kind) if kind.name == LENGTH.name => 0.0001,
        Some(_) => 0.2 * std::f64::consts::PI / 180.0,
    };
    (hypothesis.value(wrong.along) - of.written) / tool
}

/// How much less is unknown on average once the outcome is known, bits; never negative.
fn gain(draws: &[DrawOutcome], shares: &[f64]) -> f64 {
    let (mut bits, mut total) = (0.0, 0.0);
    for (k, truth) in draws.iter().enumerate() {
        let (mut such, mut all) = (0.0, 0.0);
        for (j, other) in draws.iter().enumerate() {
            let far = truth.outcome - other.outcome;
            let alike = match (truth.outcome.is_nan(), other.outcome.is_nan()) {
                (true, true) => 1.0,
                (false, false) => epanechnikov((far / ALIKE).abs().min(1.0)),
                _ => 0.0,
            };
            if j != k && alike > 0.0 {
                all += other.weight * alike;
                if other.cause == truth.cause {
                    such += other.weight * alike;
                }
            }
        }
        // What the other draws say of this one's cause without its outcome.
        let before = ((shares[truth.cause] - truth.weight) / (1.0 - truth.weight)).max(1e-6);
        let after = if all > 0.0 { such / all } else { before };
        let after = (1.0 - KEPT_BACK) * after + KEPT_BACK * before;
        bits += truth.weight * libm::log2(after / before);
        total += truth.weight;
    }
    (bits / total.max(1e-300)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the outcomes of equally heavy draws of two causes tell, bits.
    fn told(outcomes: [&[f64]; 2]) -> f64 {
        let weight = 1.0 / (outcomes[0].len() + outcomes[1].len()) as f64;
        let mut draws = Vec::new();
        for (cause, of_it) in outcomes.into_iter().enumerate() {
            draws.extend(of_it.iter().map(|&outcome| DrawOutcome {
                weight,
                cause,
                outcome,
            }));
        }
        let shares = outcomes.map(|of_it| of_it.len() as f64 * weight);
        gain(&draws, &shares)
    }

    fn assert_near(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-12, "{found}, not {expected}");
    }

    /// Of the four other draws of five and five, 4 in 9 are of the same cause; a tenth of the answer stays with that.
    #[test]
    fn outcomes_that_differ_by_cause_tell_it() {
        let before: f64 = 4.0 / 9.0;
        let all = libm::log2((0.9 + 0.1 * before) / before);
        assert_near(told([&[0.0; 5], &[9.0; 5]]), all);
        assert_near(told([&[9.0; 5], &[0.0; 5]]), all);
        // What is not there in machines of one cause tells it as well.
        assert_near(told([&[0.0; 5], &[f64::NAN; 5]]), all);
    }

    #[test]
    fn outcomes_that_are_alike_tell_nothing() {
        assert_near(told([&[3.0; 5], &[3.0; 5]]), 0.0);
        assert_near(told([&[f64::NAN; 5], &[f64::NAN; 5]]), 0.0);
        // A draw with nobody near says no more than was known before.
        assert_near(told([&[0.0], &[9.0]]), 0.0);
    }

    /// Half of 1.5 away, draws count for three quarters: of one cause one is alike, of the other two are three quarters alike.
    #[test]
    fn outcomes_half_alike_tell_less() {
        let before: f64 = 1.0 / 3.0;
        let after = 0.9 / (1.0 + 2.0 * 0.75) + 0.1 * before;
        assert_near(told([&[0.0; 2], &[0.75; 2]]), libm::log2(after / before));
    }

    #[test]
    fn the_heaviest_draws_are_kept_in_their_order() {
        let mut weights = vec![1.0; 900];
        weights[3] = 0.0;
        weights[800..].fill(2.0);
        let kept = heaviest(&Posterior {
            shares: Vec::new(),
            weights,
        });
        assert_eq!(kept.len(), 800);
        assert!(kept.is_sorted() && !kept.contains(&3));
        assert_eq!(kept[700..], (800..900).collect::<Vec<usize>>());
    }
}
