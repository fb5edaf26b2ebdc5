//! What the runs show of each thing a maker calls good enough: met, broken, or not yet sure, at a stated chance of error.
//!
//! **A load works** when, over all runs of these hours that chance could bring (not only those that were made),
//! - what must not happen at all happens in at most [`TOLERATED`] of runs: gridlock; running dry; marbles that find no room
//!   to be poured in; any spill or any jam where none is allowed;
//! - the expected figures keep to the `workable` section: jams in eight hours of running, marbles lost in a run where some
//!   may be, fill of each wheel (0 where no pocket passed), and each limited backlog's 95 % level.
//!
//! Runs never prove the first kind absent, so that a share must be tolerated. Whoever says that a machine works says it from
//! here; `super::verdict_text` has the words.

use super::criteria::Evaluator;
use super::figures::RunFigures;
use super::runs::Runs;
use super::totals::RunTotals;
use crate::circuit::Circuit;
use crate::machine::model::Workable;
use crate::stats::Estimate;

/// The share of runs in which what must not happen may happen all the same.
pub const TOLERATED: f64 = 0.05;

/// What the runs show.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// It is good enough.
    Met,
    /// It is not.
    Broken,
    /// Not yet known: more runs are due, or the truth lies on the limit.
    Unsure,
}

/// One thing that is judged, the gravest first; elements are given by index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Criterion {
    /// Full elements wait for each other.
    Gridlock,
    /// Every marble comes to rest.
    RanDry,
    /// Jams that need somebody.
    Jams,
    /// Marbles lost over a side.
    Spills,
    /// The whole load finds room.
    PouredIn,
    /// This wheel's fill.
    Fill(usize),
    /// This element's backlog.
    Backlog(usize),
}

/// What the runs show of one criterion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CriterionResult {
    /// What is judged.
    pub criterion: Criterion,
    /// What the runs show of it.
    pub verdict: Verdict,
    /// The figure that is judged, between the bounds that decide: a share of runs, or an expected figure.
    pub figure: Estimate,
    /// Whether the figure is a share of runs.
    pub of_runs: bool,
    /// What the figure may be: at least, for a fill; at most, for all else.
    pub limit: f64,
    /// Whether the file is silent about it, so that the limit is the default.
    pub by_default: bool,
    /// Whether the figure as it stands, without its bounds, keeps to the limit.
    pub likely: bool,
}

/// What the runs show of a load.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// Every criterion, the gravest first.
    pub results: Vec<CriterionResult>,
}

impl Judgement {
    /// Whether the load works: every criterion met, or any broken.
    pub fn verdict(&self) -> Verdict {
        let verdicts: Vec<Verdict> = self.results.iter().map(|result| result.verdict).collect();
        if verdicts.contains(&Verdict::Broken) {
            Verdict::Broken
        } else if verdicts.contains(&Verdict::Unsure) {
            Verdict::Unsure
        } else {
            Verdict::Met
        }
    }

    /// Whether the figures as they stand, without their bounds, make a load that works.
    pub fn likely(&self) -> bool {
        self.results.iter().all(|result| result.likely)
    }

    /// Whether the runs show that the load works.
    pub fn works(&self) -> bool {
        self.verdict() == Verdict::Met
    }

    /// What is wrong first: the gravest criterion that is shown broken; where none is, the gravest that looks so.
    pub fn first_wrong(&self) -> Option<&CriterionResult> {
        let unlikely = self.results.iter().find(|result| !result.likely);
        self.broken().next().or(unlikely)
    }

    /// The criteria that are shown broken, the gravest first.
    pub fn broken(&self) -> impl Iterator<Item = &CriterionResult> {
        self.results
            .iter()
            .filter(|result| result.verdict == Verdict::Broken)
    }
}

/// Judges `runs` at confidence `level`: a load that does not work is called workable, or a load that works is called broken,
/// with a chance of at most 1 - level.
///
/// A load is called workable only if every criterion is shown met, so each may use the whole chance of error; it is called
/// broken as soon as any is, so there they share it (Bonferroni). Shares of runs are judged exactly (Clopper & Pearson);
/// means by Student's t, which for figures that are rarely far out is only nearly right. Judging again after more runs
/// takes a chance of error of its own.
pub fn judge(circuit: &Circuit, workable: &Workable, runs: &[RunFigures], level: f64) -> Judgement {
    evaluate(
        circuit,
        workable,
        (runs, &RunTotals::of(circuit.start, runs)),
        level,
    )
}

/// As [`judge`], of runs kept as batches.
pub fn judge_all(circuit: &Circuit, workable: &Workable, runs: &Runs, level: f64) -> Judgement {
    evaluate(circuit, workable, (&runs.batches, &runs.totals), level)
}

fn evaluate(
    circuit: &Circuit,
    workable: &Workable,
    (runs, totals): (&[RunFigures], &RunTotals),
    level: f64,
) -> Judgement {
    let criteria = 5 + circuit.wheels().count() + workable.backlog.len();
    let evaluator = Evaluator {
        circuit,
        runs,
        totals,
        met: 2.0 * level - 1.0,
        broken: 1.0 - 2.0 * (1.0 - level) / criteria as f64,
    };
    let mut results = vec![
        evaluator.never(Criterion::Gridlock, totals.locked_up),
        evaluator.never(Criterion::RanDry, totals.ran_dry),
        evaluator.jams(workable.jams_per_8h),
        evaluator.spills(workable.spills),
        evaluator.never(Criterion::PouredIn, totals.without_room),
    ];
    for wheel in circuit.wheels() {
        results.push(evaluator.fill(wheel, workable.least_fill));
    }
    for &(node, allowed) in &workable.backlog {
        results.push(evaluator.backlog(node, allowed));
    }
    for result in &mut results {
        result.by_default = by_default(workable, result.criterion);
    }
    Judgement { results }
}

fn by_default(workable: &Workable, criterion: Criterion) -> bool {
    match criterion {
        Criterion::Jams => workable.unset.jams_per_8h,
        Criterion::Spills => workable.unset.spills,
        Criterion::Fill(_) => workable.unset.least_fill,
        Criterion::Gridlock | Criterion::RanDry | Criterion::PouredIn | Criterion::Backlog(_) => {
            false
        }
    }
}

/// The fewest runs of `hours` each that can show a load to work with a chance of error of `error`: of what must not happen,
/// none in so many; and where some jams are allowed, none in so much time.
pub fn runs_needed(workable: &Workable, hours: f64, error: f64) -> u32 {
    let chances = -libm::log(error);
    let never = chances / -libm::log1p(-TOLERATED);
    let jams = if workable.jams_per_8h > 0.0 {
        chances / (workable.jams_per_8h * hours / 8.0)
    } else {
        0.0
    };
    never.max(jams).ceil() as u32
}

#[cfg(test)]
mod tests {
    use super::super::made_up::{MadeUp, at_most, normal, random};
    use super::*;
    use crate::circuit;
    use crate::circuit::plan::Cause;
    use crate::engine::outcome::Jam;
    use crate::engine::{Outcome, simulate};
    use crate::machine;

    const FILE: &str = "format: 1
marbles: { count: 5 }
drive: { speed: 7.5 rpm }
start: ramp
circuit:
  ramp: { ramp: { time: 1 s, places: 20 }, to: wheel }
  wheel: { pocket-wheel: { pockets: 20, lift: 180 deg }, to: ramp }
workable: { least-fill: 0.1, jams-per-8h: 1, spills: 0, backlog: { ramp: 3 } }";

    fn runs(n: u64, change: impl Fn(&mut RunFigures)) -> (Circuit, Workable, Vec<RunFigures>) {
        let machine = machine::read(FILE, &[]).expect("a sound file");
        let circuit = circuit::circuit(&machine);
        let mut one = RunFigures::new(0, &simulate(&circuit, 1, 0, 3_600_000_000_000, &mut ()));
        change(&mut one);
        (
            circuit,
            machine.workable,
            (0..n)
                .map(|run| RunFigures { run, ..one.clone() })
                .collect(),
        )
    }

    fn verdict_of(runs: &(Circuit, Workable, Vec<RunFigures>), criterion: Criterion) -> Verdict {
        let judgement = judge(&runs.0, &runs.1, &runs.2, 0.95);
        judgement
            .results
            .iter()
            .find(|result| result.criterion == criterion)
            .expect("it is judged")
            .verdict
    }

    /// 1 - 0.05^(1/n) is under 5 % from n = 59 on (Hanley & Lippman-Hand 1983, as in stats/proportion.rs).
    #[test]
    fn no_gridlock_is_shown_by_59_runs_and_not_by_58() {
        assert_eq!(
            verdict_of(&runs(58, |_| {}), Criterion::Gridlock),
            Verdict::Unsure
        );
        assert_eq!(
            verdict_of(&runs(59, |_| {}), Criterion::Gridlock),
            Verdict::Met
        );
        let locked = runs(12, |run| run.outcome = Outcome::Gridlocked);
        assert_eq!(verdict_of(&locked, Criterion::Gridlock), Verdict::Broken);
    }

    #[test]
    fn a_load_works_when_all_is_met_and_one_fault_breaks_it() {
        let (circuit, workable, runs_made) = runs(100, |_| {});
        let judgement = judge(&circuit, &workable, &runs_made, 0.95);
        assert_eq!(
            (judgement.verdict(), judgement.likely()),
            (Verdict::Met, true),
            "{judgement:?}"
        );
        let greedy = Workable {
            least_fill: 0.99,
            ..workable
        };
        let judgement = judge(&circuit, &greedy, &runs_made, 0.95);
        assert_eq!(
            (judgement.verdict(), judgement.likely()),
            (Verdict::Broken, false)
        );
        assert_eq!(
            judgement
                .broken()
                .map(|result| result.criterion)
                .collect::<Vec<_>>(),
            [Criterion::Fill(1)]
        );
    }

    /// With no jam in T eight-hour stretches the upper Poisson bound is -ln(error) / T: under 1 from T = 3.0 on at 95 %.
    #[test]
    fn jams_are_judged_by_the_rate_of_running() {
        assert_eq!(
            verdict_of(&runs(23, |_| {}), Criterion::Jams),
            Verdict::Unsure
        );
        assert_eq!(verdict_of(&runs(24, |_| {}), Criterion::Jams), Verdict::Met);
        let jam = Jam {
            node: 1,
            cause: Cause::Pinch,
            first: 0,
            count: 1,
        };
        assert_eq!(
            verdict_of(&runs(24, |run| run.jams.push(jam)), Criterion::Jams),
            Verdict::Broken
        );
        let at_once = runs(12, |run| {
            run.jams.push(jam);
            run.end_s = 0.0;
        });
        assert_eq!(verdict_of(&at_once, Criterion::Jams), Verdict::Broken);
    }

    #[test]
    fn whole_marbles_that_never_vary_are_not_certain() {
        let at = |p95| runs(12, move |run| run.elements[0].backlog_p95 = Some(p95));
        assert_eq!(verdict_of(&at(3.0), Criterion::Backlog(0)), Verdict::Unsure);
        assert_eq!(verdict_of(&at(2.0), Criterion::Backlog(0)), Verdict::Met);
        assert_eq!(verdict_of(&at(4.0), Criterion::Backlog(0)), Verdict::Broken);
    }

    #[test]
    fn one_run_shows_next_to_nothing() {
        let (circuit, workable, runs_made) = runs(1, |_| {});
        assert_eq!(
            judge(&circuit, &workable, &runs_made, 0.95).verdict(),
            Verdict::Unsure
        );
    }

    /// A load is broken as soon as any criterion is, so that all share the error. Here eight fills are met by as little as
    /// can be, and each is as often thought broken as its share allows: without sharing, one load in three would be.
    #[test]
    fn criteria_share_the_error_of_calling_a_load_broken() {
        let made_up = MadeUp::new(8, "least-fill: 0.5, jams-per-8h: 1000");
        let broken = |load: &u64| {
            let mut random = random(*load);
            let runs: Vec<_> = (0..10)
                .map(|n| made_up.run(n, |_| 0.5 + 1e-6 + 0.05 * normal(&mut random)))
                .collect();
            made_up.judge(&runs, 0.95).verdict() == Verdict::Broken
        };
        let loads = 1500;
        let wrong = (0..loads).filter(broken).count() as u64;
        println!("{wrong} of {loads} loads are called broken, and none is");
        assert!(at_most(wrong, loads, 0.05), "{wrong} of {loads}");
    }
}
