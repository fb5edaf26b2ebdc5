//! What is wrong with a machine that counts otherwise than its model: simulation-based inference.
//!
//! Machines are made up by the thousand, each with one thing wrong, and all is counted at each that a maker could count. Those that
//! counted what the maker did tell what is wrong ([`infer`]), and what else they would have counted tells what to measure next
//! ([`next`]).

pub mod counting;
pub mod dimensions;
pub mod faults;
pub mod file_change;
pub mod hypotheses;
pub mod infer;
pub mod measure;
pub mod next;
pub mod seen;
pub mod table;

use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::stats::weighted::entropy_bits;
use hypotheses::Hypotheses;
use infer::{Inference, Posterior, middle_and_ends};
use measure::{Exposure, Measurable, Measure, OF_ELEMENTS, OF_THE_WHOLE, SeenCount};
use next::{ValuedStep, steps};
use table::{ReferenceTable, TableMaker, in_turn};

/// How much is made up.
#[derive(Clone, Copy, Debug)]
pub struct DiagnoseEffort {
    /// Made-up machines that are asked for.
    pub draws: usize,
    /// The seed.
    pub seed: u64,
    /// How long counts would go on that have not been made, nanoseconds.
    pub watched: Nanos,
}

/// A possible cause with its chance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CauseShare {
    /// The hypothesis, by its place in the list.
    pub hypothesis: usize,
    /// Its chance after what was seen.
    pub share: f64,
    /// If it is this: the value, between 2.5 and 97.5 % of the chance and in the middle; `None` of nothing wrong.
    pub size: Option<SizeRange>,
}

/// How large what is wrong is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizeRange {
    /// 2.5 % of the chance lies below.
    pub low: f64,
    /// The median.
    pub middle: f64,
    /// 2.5 % of the chance lies above.
    pub high: f64,
}

/// Something counted that lies beyond nearly all made-up machines.
#[derive(Clone, Debug, PartialEq)]
pub struct OddCount {
    /// What was seen.
    pub seen: SeenCount,
    /// The least and the most of 99 % of the made-up machines.
    pub usual: (f64, f64),
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Diagnosis {
    /// Made-up machines.
    pub draws: usize,
    /// All causes, the likeliest first.
    pub causes: Vec<CauseShare>,
    /// What is not known of the cause, bits.
    pub unknown_bits: f64,
    /// The chance that a made-up machine counts anything as odd as this.
    pub fits: f64,
    /// What was counted that hardly any of them count.
    pub odd: Vec<OddCount>,
    /// What to measure next, the most telling first.
    pub next: Vec<ValuedStep>,
}

/// Draws of each cause, at least.
const A_CAUSE: usize = 40;

impl DiagnoseEffort {
    /// How many machines are made up: as many as were asked for, and more where the causes are many.
    pub fn draws(&self, hypotheses: &Hypotheses) -> usize {
        self.draws.max(A_CAUSE * hypotheses.all.len())
    }
}

/// Under this chance nothing that was made up explains what was seen.
pub const EXPLAINED: f64 = 0.01;
/// Readings that are proposed.
const READINGS: u32 = 5;
/// Pockets that are proposed.
const POCKETS: u32 = 100;
/// A cause of a smaller chance than this is not looked at more closely.
const WORTH_IT: f64 = 0.002;
/// Causes whose size is worked out.
const SIZED: usize = 6;

/// Everything that can be counted at a machine: first what was, then the rest over usual exposures.
pub fn measures(circuit: &Circuit, seen: &[SeenCount], watched: Nanos) -> Vec<Measure> {
    let mut all: Vec<Measure> = seen.iter().map(|one| one.measure).collect();
    let mut possible: Vec<Measurable> = OF_THE_WHOLE
        .iter()
        .filter_map(|word| Measurable::of_the_whole(word))
        .collect();
    for n in 0..circuit.nodes.len() {
        possible.extend(
            OF_ELEMENTS
                .iter()
                .filter_map(|word| Measurable::of_element(word, n)),
        );
    }
    for what in possible {
        if what.exists(circuit) && all.iter().all(|measure| measure.what != what) {
            let exposure = match what {
                Measurable::Misses(_) | Measurable::Empty(_) => Exposure::Of(POCKETS),
                Measurable::Lap | Measurable::Time(_) | Measurable::PerMinute => {
                    Exposure::Readings(READINGS)
                }
                _ => Exposure::During(watched),
            };
            all.push(Measure { what, exposure });
        }
    }
    all
}

/// What is wrong with a machine at which this was counted. `done` is called once a made-up machine.
pub fn diagnose(
    hypotheses: &Hypotheses,
    seen: &[SeenCount],
    effort: &DiagnoseEffort,
    done: impl Fn() + Sync,
) -> Diagnosis {
    let measures = measures(&hypotheses.circuit, seen, effort.watched);
    let maker = TableMaker {
        hypotheses,
        measures: &measures,
        seed: effort.seed,
    };
    let columns: Vec<usize> = (0..seen.len()).collect();
    let counted: Vec<f64> = seen.iter().map(|one| one.value).collect();
    let draws_in_all = effort.draws(hypotheses);
    let half = draws_in_all / 2;
    let mut draws = maker.draws(&in_turn(hypotheses, half), 0, &done);
    let first = maker.table(draws.clone());
    let inference = Inference::new(&first, &columns);
    let posterior = inference.posterior(&counted, None);
    let (fits, odd) = (
        inference.fits(&counted, &inference.usual_loneliness()),
        odd_counts(&first, seen),
    );
    // The other half goes to what may be the cause, the likelier the more.
    let order = likely_in_turn(&posterior.shares, draws_in_all - half);
    draws.extend(maker.draws(&order, half as u64, &done));
    let all = maker.table(draws);
    let inference = Inference::new(&all, &columns);
    let posterior = inference.posterior(&counted, None);
    Diagnosis {
        draws: draws_in_all,
        causes: causes(hypotheses, &inference, &posterior, &counted),
        unknown_bits: entropy_bits(posterior.shares.iter().copied()),
        fits,
        odd,
        next: steps(hypotheses, &all, &posterior, &columns),
    }
}

/// So many draws shared out among the causes that may be, by the square root of their chance, evenly over their length.
pub fn likely_in_turn(shares: &[f64], draws: usize) -> Vec<usize> {
    let worth = |share: f64| if share >= WORTH_IT { share.sqrt() } else { 0.0 };
    let total: f64 = shares.iter().map(|&share| worth(share)).sum();
    let (mut due, mut order) = (vec![0.0; shares.len()], Vec::with_capacity(draws));
    for _ in 0..draws {
        let mut most = 0;
        for (n, &share) in shares.iter().enumerate() {
            due[n] += worth(share) / total.max(1e-300);
            if due[n] > due[most] {
                most = n;
            }
        }
        due[most] -= 1.0;
        order.push(most);
    }
    order
}

fn causes(
    hypotheses: &Hypotheses,
    inference: &Inference,
    posterior: &Posterior,
    counted: &[f64],
) -> Vec<CauseShare> {
    let mut all = Vec::new();
    for (hypothesis, &share) in posterior.shares.iter().enumerate() {
        all.push(CauseShare {
            hypothesis,
            share,
            size: None,
        });
    }
    all.sort_by(|a, b| b.share.total_cmp(&a.share));
    for cause in all
        .iter_mut()
        .take(SIZED)
        .filter(|cause| cause.hypothesis > 0)
    {
        let along = inference.along(cause.hypothesis, counted, None);
        let of = &hypotheses.all[cause.hypothesis];
        cause.size = middle_and_ends(&along).map(|[low, middle, high]| SizeRange {
            low: of.value(low),
            middle: of.value(middle),
            high: of.value(high),
        });
    }
    all
}

/// Counts beyond 99 % of the made-up machines on one side.
fn odd_counts(table: &ReferenceTable, seen: &[SeenCount]) -> Vec<OddCount> {
    let mut odd = Vec::new();
    for (column, one) in seen.iter().enumerate() {
        let mut counted: Vec<f64> = table
            .draws
            .iter()
            .map(|draw| draw.counted[column])
            .collect();
        counted.retain(|value| value.is_finite());
        counted.sort_by(f64::total_cmp);
        let (Some(last), n) = (counted.len().checked_sub(1), counted.len() as f64) else {
            continue;
        };
        let usual = (
            counted[(0.005 * n) as usize],
            counted[((0.995 * n) as usize).min(last)],
        );
        if one.value < usual.0 || one.value > usual.1 {
            odd.push(OddCount {
                seen: one.clone(),
                usual,
            });
        }
    }
    odd
}

#[cfg(test)]
mod tests {
    use super::table::ReferenceDraw;
    use super::*;

    /// Of chances of 64 and 16 % the roots are two to one; a chance under 0.2 % gets nothing.
    #[test]
    fn draws_go_to_causes_by_the_root_of_their_chance() {
        let order = likely_in_turn(&[0.64, 0.16, 0.0019], 9);
        assert_eq!(order, [0, 1, 0, 0, 1, 0, 0, 1, 0]);
        assert_eq!(likely_in_turn(&[0.0, 0.998, 0.002], 40).len(), 40);
        assert!(likely_in_turn(&[0.0, 0.998, 0.002], 40).contains(&2));
    }

    /// A thousand machines count 0 to 999, and one measure that there is in none.
    #[test]
    fn what_hardly_any_machine_counts_is_odd() {
        let measure = Measure {
            what: Measurable::Jams(None),
            exposure: Exposure::During(1),
        };
        let draw = |n: u32| ReferenceDraw {
            wrong: hypotheses::Parameter {
                hypothesis: 0,
                along: 0.0,
            },
            counted: vec![f64::from(n * 7 % 1000), f64::NAN],
        };
        let table = ReferenceTable {
            measures: vec![measure; 2],
            draws: (0..1000).map(draw).collect(),
            hypotheses: 1,
        };
        let odd = |value: f64| {
            let seen = SeenCount { measure, value };
            let odd = odd_counts(&table, &[seen.clone(), seen]);
            assert!(odd.iter().all(|one| one.usual == (5.0, 995.0)), "{odd:?}");
            odd.len()
        };
        assert_eq!([4.0, 5.0, 500.0, 995.0, 996.0].map(odd), [1, 0, 0, 0, 1]);
    }
}
