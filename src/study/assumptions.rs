//! How sure is the answer? What moves when each constant that the file leaves open goes over its range, one at a time.
//!
//! Every variant runs on the same random numbers as the machine itself (the same seed and runs), so that few runs tell.

use rayon::prelude::*;

use super::repeat::{Study, repeat};
use crate::circuit::draw::nanos;
use crate::circuit::{self, Circuit};
use crate::findings::RunFigures;
use crate::findings::over_runs::OverRuns;
use crate::findings::summary::LEVEL;
use crate::findings::workable::{Criterion, CriterionResult, Verdict, judge};
use crate::machine::Machine;
use crate::machine::assumed::{Assumption, End};

/// Runs of each variant.
pub const RUNS: u32 = 4;
/// Hours of machine time in each, at most.
const HOURS: f64 = 0.5;
/// A move of less than this share is none that a maker would notice.
const NOTICED: f64 = 0.005;
/// The same where wheels are looked at: brief looks at one place differ by 3 % (standard deviation), so that of some thirty
/// the one that differs most does so by 10 %.
const NOTICED_LOOKED: f64 = 0.10;

/// How the answer hangs on what the file leaves open.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Sensitivity {
    /// Runs of each variant.
    pub runs: u32,
    /// The machine as it stands, in these runs.
    pub as_assumed: VariantResult,
    /// Each constant that the file leaves open.
    pub constants: Vec<Moved>,
    /// The one that matters most; null where none moves the answer noticeably.
    pub matters_most: Option<&'static str>,
}

/// A constant and what its range does.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Moved {
    /// What a maker calls it.
    pub name: &'static str,
    /// The key of the file that settles it.
    pub key: &'static str,
    /// What is assumed.
    pub assumed: String,
    /// The low end of its range.
    pub low: Variant,
    /// The high end of its range.
    pub high: Variant,
}

/// The machine with one constant at an end of its range.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Variant {
    /// The constant there, with its unit.
    pub value: String,
    /// What comes of it.
    pub outcome: VariantResult,
    /// Whether the flow moves the same way in every run, so that it is not chance alone.
    pub same_way: bool,
}

/// The answer in short.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct VariantResult {
    /// Marbles a minute.
    pub throughput_per_min: Option<f64>,
    /// Fill of the emptiest wheel.
    pub least_fill: Option<f64>,
    /// Jams in eight hours.
    pub jams_per_8h: Option<f64>,
    /// Whether it is what the maker calls good enough.
    pub works: bool,
}

impl VariantResult {
    fn of(machine: &Machine, circuit: &Circuit, runs: &[RunFigures]) -> Self {
        let over_runs = OverRuns::new(circuit, runs);
        let fills = circuit.wheels().map(|n| over_runs.share(|run| run.fill(n)));
        let judgement = judge(circuit, &machine.workable, runs, LEVEL);
        VariantResult {
            throughput_per_min: over_runs.throughput_per_min().value,
            least_fill: fills.filter_map(|fill| fill.value).reduce(f64::min),
            jams_per_8h: over_runs.jams(8.0).value,
            works: judgement.results.iter().all(kept),
        }
    }
}

/// Whether a criterion seems met; a jam rate counts as too high only where these few runs prove it.
fn kept(result: &CriterionResult) -> bool {
    match result.criterion {
        Criterion::Jams if !result.of_runs => result.verdict != Verdict::Broken,
        _ => result.likely,
    }
}

impl Moved {
    /// Both ends of its range.
    pub fn ends(&self) -> [&Variant; 2] {
        [&self.low, &self.high]
    }

    /// By what share the flow moves at most, as far as it moves the same way in every run.
    fn share(&self, from: &VariantResult) -> f64 {
        let flow = from.throughput_per_min.unwrap_or(0.0);
        let mut most: f64 = 0.0;
        for end in self.ends() {
            if end.same_way && flow > 0.0 {
                let there = end.outcome.throughput_per_min;
                most = most.max(there.map(|there| (there / flow - 1.0).abs()).unwrap_or(1.0));
            }
        }
        most
    }

    fn turns(&self, from: &VariantResult) -> bool {
        self.ends()
            .iter()
            .any(|end| end.outcome.works != from.works)
    }
}

/// A machine and its few runs.
struct TrialRuns {
    outcome: VariantResult,
    flows: Vec<Option<f64>>,
}

impl TrialRuns {
    fn new(machine: &Machine, circuit: &Circuit, effort: &SensitivityEffort) -> Self {
        let runs = repeat(circuit, &effort.study, effort.runs, || ());
        let flows = runs.iter().map(|run| run.throughput_per_min).collect();
        TrialRuns {
            outcome: VariantResult::of(machine, circuit, &runs),
            flows,
        }
    }

    /// At the end of an assumption's range, against the machine as it stands.
    fn variant(&self, assumption: &Assumption, end: End, from: &TrialRuns) -> Variant {
        Variant {
            value: assumption.what.show(assumption.what.value(end)),
            outcome: self.outcome,
            same_way: all_higher(&self.flows, &from.flows) || all_higher(&from.flows, &self.flows),
        }
    }
}

/// Whether there are more marbles a minute in every run of the one than in the same run of the other.
fn all_higher(one: &[Option<f64>], other: &[Option<f64>]) -> bool {
    (one.iter().zip(other)).all(|pair| matches!(pair, (Some(one), Some(other)) if one > other))
}

/// How much is run of each variant.
#[derive(Clone, Copy, Debug)]
pub struct SensitivityEffort {
    /// The seed, and the machine time of each run.
    pub study: Study,
    /// Number of runs.
    pub runs: u32,
}

impl SensitivityEffort {
    /// A few short runs of a study, no longer than its own: the same random numbers for every variant make them enough.
    pub fn short(study: &Study) -> Self {
        SensitivityEffort {
            study: Study {
                seed: study.seed,
                horizon: study.horizon.min(nanos(HOURS * 3600.0)),
            },
            runs: RUNS,
        }
    }
}

/// Runs the machine with each assumed constant at both ends of its range.
pub fn sensitivity(machine: &Machine, effort: &SensitivityEffort) -> Sensitivity {
    let sketched = circuit::sketch(machine);
    // The machine as it stands first, then the two ends of each constant.
    let mut tried: Vec<TrialRuns> = (0..1 + 2 * machine.assumed.len())
        .into_par_iter()
        .map(|k| match k {
            0 => TrialRuns::new(machine, &sketched, effort),
            _ => {
                let end = if k % 2 == 1 { End::Low } else { End::High };
                at_end(machine, &machine.assumed[(k - 1) / 2], end, effort)
            }
        })
        .collect();
    let ends = tried.split_off(1);
    let base = &tried[0];
    let constants: Vec<Moved> = (machine.assumed.iter().zip(ends.chunks_exact(2)))
        .map(|(assumption, pair)| Moved {
            name: assumption.what.name(),
            key: assumption.what.key(),
            assumed: assumption.assumed(machine),
            low: pair[0].variant(assumption, End::Low, base),
            high: pair[1].variant(assumption, End::High, base),
        })
        .collect();
    let noticed = if sketched.nodes.iter().any(|plan| plan.looked().is_some()) {
        NOTICED_LOOKED
    } else {
        NOTICED
    };
    Sensitivity {
        runs: effort.runs,
        as_assumed: base.outcome,
        matters_most: matters_most(&constants, &base.outcome, noticed),
        constants,
    }
}

/// Runs the machine with one assumed constant at an end of its range.
fn at_end(
    machine: &Machine,
    assumption: &Assumption,
    end: End,
    effort: &SensitivityEffort,
) -> TrialRuns {
    let other = assumption.at(machine, end);
    TrialRuns::new(&other, &circuit::sketch(&other), effort)
}

/// The constant that turns the verdict, or else moves the flow by the largest share, where that share is `noticed`.
fn matters_most(
    constants: &[Moved],
    as_assumed: &VariantResult,
    noticed: f64,
) -> Option<&'static str> {
    let mut most = None;
    let mut rank = (false, 0.0);
    for moved in constants {
        let (turns, share) = (moved.turns(as_assumed), moved.share(as_assumed));
        if (turns, share) >= rank && (turns || share >= noticed) {
            most = Some(moved.name);
            rank = (turns, share);
        }
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A flow of 10 a minute that falls to 8 at one end moves by a fifth; an end at which it moves now up, now down, does not
    /// count, and where nothing flows nothing moves.
    #[test]
    fn the_flow_moves_by_the_farther_end_that_is_no_chance() {
        let outcome = |throughput_per_min| VariantResult {
            throughput_per_min,
            least_fill: None,
            jams_per_8h: None,
            works: true,
        };
        let end = |flow, same_way| Variant {
            value: String::new(),
            outcome: outcome(flow),
            same_way,
        };
        let share = |low, high, from| {
            let moved = Moved {
                name: "",
                key: "",
                assumed: String::new(),
                low,
                high,
            };
            (moved.share(&outcome(from)) * 1e9).round() / 1e9
        };
        let (fewer, more) = (|| end(Some(8.0), true), || end(Some(10.5), true));
        assert_eq!(share(fewer(), more(), Some(10.0)), 0.2);
        assert_eq!(share(more(), fewer(), Some(10.0)), 0.2);
        assert_eq!(share(end(Some(30.0), false), more(), Some(10.0)), 0.05);
        assert_eq!(share(end(None, true), more(), Some(10.0)), 1.0);
        assert_eq!(share(fewer(), more(), Some(0.0)), 0.0);
        assert_eq!(share(fewer(), more(), None), 0.0);
    }
}
