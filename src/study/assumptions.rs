//! How sure is the answer? What moves when each constant that the file leaves open goes over its range, one at a time.
//!
//! Every variant runs with common random numbers as the machine itself (the same seed and runs), so that few runs tell.

use rayon::prelude::*;

use super::repeat;
use crate::circuit::draw::{Nanos, nanos};
use crate::circuit::{self, Circuit};
use crate::findings::RunFigures;
use crate::findings::over_runs::OverRuns;
use crate::findings::sentences::Finding;
use crate::findings::summary::LEVEL;
use crate::findings::words::{count, figure, percent};
use crate::findings::workable::{Criterion, CriterionResult, Verdict, judge};
use crate::machine::Machine;
use crate::machine::assumed::{Assumption, End};

/// Runs of each variant.
pub const RUNS: u32 = 4;
/// Hours of machine time in each, at most.
const HOURS: f64 = 0.5;
/// A move of less than this share is none that a maker would notice.
const NOTICED: f64 = 0.005;
/// The same where wheels are looked at: brief looks at one place differ by as much.
const NOTICED_LOOKED: f64 = 0.04;

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
        let fill = |n: usize| {
            over_runs
                .share(|run| run.elements[n].wheel.and_then(|wheel| wheel.fill))
                .value
        };
        let wheels = (0..circuit.nodes.len()).filter(|&n| circuit.nodes[n].wheel().is_some());
        let jams = over_runs.jams(8.0);
        let judgement = judge(circuit, &machine.workable, runs, LEVEL);
        // A jam rate counts as too high only where these few runs prove it.
        let kept = |result: &CriterionResult| match result.criterion {
            Criterion::Jams if !result.of_runs => result.verdict != Verdict::Broken,
            _ => result.likely,
        };
        VariantResult {
            throughput_per_min: over_runs.throughput_per_min().value,
            least_fill: wheels.filter_map(fill).reduce(f64::min),
            jams_per_8h: jams.value,
            works: judgement.results.iter().all(kept),
        }
    }
}

impl Moved {
    fn ends(&self) -> [&Variant; 2] {
        [&self.low, &self.high]
    }

    /// By what share the flow moves at most, as far as it moves the same way in every run.
    fn share(&self, from: &VariantResult) -> f64 {
        let Some(flow) = from.throughput_per_min.filter(|&flow| flow > 0.0) else {
            return 0.0;
        };
        let ends = self.ends().into_iter().filter(|end| end.same_way);
        ends.map(|end| {
            end.outcome
                .throughput_per_min
                .map_or(1.0, |there| (there / flow - 1.0).abs())
        })
        .fold(0.0, f64::max)
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
    fn new(machine: &Machine, circuit: &Circuit, study: &SensitivityEffort) -> Self {
        let runs = repeat(circuit, study.seed, study.runs, study.horizon, || ());
        let flows = runs.iter().map(|run| run.throughput_per_min).collect();
        TrialRuns {
            outcome: VariantResult::of(machine, circuit, &runs),
            flows,
        }
    }

    /// At the end of an assumption's range, against the machine as it stands.
    fn variant(&self, assumption: &Assumption, end: End, from: &TrialRuns) -> Variant {
        let moves = || {
            self.flows
                .iter()
                .zip(&from.flows)
                .map(|(there, here)| Some((*there)? - (*here)?))
        };
        let all = |sign: f64| moves().all(|by| by.is_some_and(|by| by * sign > 0.0));
        Variant {
            value: assumption.what.show(assumption.what.value(end)),
            outcome: self.outcome,
            same_way: all(1.0) || all(-1.0),
        }
    }
}

/// How much is run of each variant.
#[derive(Clone, Copy, Debug)]
pub struct SensitivityEffort {
    /// The seed.
    pub seed: u64,
    /// Number of runs.
    pub runs: u32,
    /// Machine time of each.
    pub horizon: Nanos,
}

impl SensitivityEffort {
    /// A few short runs of the seed, no longer than `horizon`: common random numbers for every variant makes them enough.
    pub fn short(seed: u64, horizon: Nanos) -> Self {
        SensitivityEffort {
            seed,
            runs: RUNS,
            horizon: horizon.min(nanos(HOURS * 3600.0)),
        }
    }
}

/// Runs the machine with each assumed constant at both ends of its range.
pub fn sensitivity(machine: &Machine, study: &SensitivityEffort) -> Sensitivity {
    let variants: Vec<Option<(&Assumption, End)>> = std::iter::once(None)
        .chain(
            machine
                .assumed
                .iter()
                .flat_map(|a| [Some((a, End::Low)), Some((a, End::High))]),
        )
        .collect();
    let sketched = circuit::sketch(machine);
    let tried = |variant: &Option<(&Assumption, End)>| match variant {
        None => TrialRuns::new(machine, &sketched, study),
        Some((assumption, end)) => {
            let other = assumption.at(machine, *end);
            let floors = assumption.what.touches_floors();
            let circuit = if floors {
                circuit::sketch(&other)
            } else {
                circuit::sketch_like(&other, &sketched)
            };
            TrialRuns::new(&other, &circuit, study)
        }
    };
    let tried: Vec<TrialRuns> = variants.par_iter().map(tried).collect();
    let (base, ends) = (&tried[0], &tried[1..]);
    let moved = |(assumption, pair): (&Assumption, &[TrialRuns])| Moved {
        name: assumption.what.name(),
        key: assumption.what.key(),
        assumed: assumption.assumed(machine),
        low: pair[0].variant(assumption, End::Low, base),
        high: pair[1].variant(assumption, End::High, base),
    };
    let constants: Vec<Moved> = machine
        .assumed
        .iter()
        .zip(ends.chunks_exact(2))
        .map(moved)
        .collect();
    let as_assumed = base.outcome;
    let rank = |moved: &Moved| (moved.turns(&as_assumed), moved.share(&as_assumed));
    let most = constants.iter().max_by(|a, b| {
        let ((a_turns, a_share), (b_turns, b_share)) = (rank(a), rank(b));
        a_turns.cmp(&b_turns).then(a_share.total_cmp(&b_share))
    });
    let noticed = if sketched.nodes.iter().any(|plan| plan.looked().is_some()) {
        NOTICED_LOOKED
    } else {
        NOTICED
    };
    let matters_most = most
        .filter(|moved| moved.turns(&as_assumed) || moved.share(&as_assumed) >= noticed)
        .map(|moved| moved.name);
    Sensitivity {
        runs: study.runs,
        as_assumed,
        constants,
        matters_most,
    }
}

/// The sentence for a maker; `works` is what the study of the machine itself says, where there is one.
pub fn finding(of: &Sensitivity, works: Option<bool>) -> Finding {
    let say = |good: bool, text: String| Finding {
        about: "machine".to_owned(),
        good,
        text: format!("How sure? {text}"),
    };
    if of.constants.is_empty() {
        return say(
            true,
            "The file leaves no dimension or constant to be assumed.".to_owned(),
        );
    }
    let open = count(of.constants.len() as u64, "constant");
    let agrees = works.is_none_or(|works| works == of.as_assumed.works);
    let turning = if agrees { turning(of) } else { Vec::new() };
    let Some(most) = of
        .constants
        .iter()
        .find(|moved| Some(moved.name) == of.matters_most)
    else {
        return say(
            true,
            format!(
                "The file leaves {open} to be assumed; none moves the answer noticeably over its range."
            ),
        );
    };
    let ends = most
        .ends()
        .map(|end| format!("{} at {}", flow(&end.outcome), end.value))
        .join(", ");
    let verdict = match (turning.is_empty(), of.as_assumed.works) {
        _ if !agrees => "too few runs to tell whether it would work".to_owned(),
        (true, true) => "it works at either end of each".to_owned(),
        (true, false) => "it works at no end of any".to_owned(),
        (false, true) => format!("it does not work with {}", turning.join(", nor with ")),
        (false, false) => format!("it would work with {}", turning.join(", or with ")),
    };
    let text = format!(
        "The file leaves {open} to be assumed; over their ranges, one at a time, {}{verdict}; {} matters most ({ends} marbles a minute; `{}` settles it).",
        spans(of),
        most.name,
        most.key
    );
    say(turning.is_empty(), text)
}

/// The ends of ranges at which the verdict is another.
fn turning(of: &Sensitivity) -> Vec<String> {
    let ends = of
        .constants
        .iter()
        .flat_map(|moved| moved.ends().map(|end| (moved.name, end)));
    let turned = ends.filter(|(_, end)| end.outcome.works != of.as_assumed.works);
    turned
        .map(|(name, end)| format!("{name} {}", end.value))
        .collect()
}

fn flow(outcome: &VariantResult) -> String {
    outcome
        .throughput_per_min
        .map_or("an unknown number".to_owned(), figure)
}

/// Between what flow and least fill lie at all the ends.
fn spans(of: &Sensitivity) -> String {
    let span = |pick: fn(&VariantResult) -> Option<f64>, say: fn(f64) -> String| {
        let ends = of
            .constants
            .iter()
            .flat_map(Moved::ends)
            .map(|end| &end.outcome);
        let all: Vec<f64> = ends.chain([&of.as_assumed]).filter_map(pick).collect();
        let (low, high) = (
            all.iter().copied().reduce(f64::min)?,
            all.iter().copied().reduce(f64::max)?,
        );
        Some(if say(low) == say(high) {
            say(low)
        } else {
            format!("{} to {}", say(low), say(high))
        })
    };
    let flow =
        span(|o| o.throughput_per_min, figure).map(|span| format!("{span} marbles a minute"));
    let fill =
        span(|o| o.least_fill, percent).map(|span| format!("the emptiest wheel {span} full"));
    let all: Vec<String> = [flow, fill].into_iter().flatten().collect();
    if all.is_empty() {
        String::new()
    } else {
        format!("{}; ", all.join(", "))
    }
}
