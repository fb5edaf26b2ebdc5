//! One cell of a map: what happens first at one pair of values, from as many runs as it takes to be sure of it.

use std::collections::BTreeMap;
use std::ops::Range;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::Question;
use crate::circuit::Circuit;
use crate::circuit::draw::nanos;
use crate::engine::{Outcome, simulate};
use crate::findings::RunFigures;
use crate::findings::RunTotals;
use crate::findings::over_runs::OverRuns;
use crate::findings::summary::LEVEL;
use crate::findings::workable::{Criterion, Judgement, Verdict as Shown, judge, runs_needed};
use crate::machine::model::Workable;
use crate::stats::Estimate;
use crate::study::looks::{Look, one_cell};

/// What happens at a cell: that it works, or the gravest thing wrong there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CellOutcome {
    /// Good enough by the `workable` section.
    Works,
    /// A wheel's pockets pass too empty.
    Starved,
    /// A deeper backlog than allowed.
    Backlog,
    /// Marbles over the side, or no room to pour all in.
    Overflow,
    /// More jams than allowed.
    Jams,
    /// Full elements wait for each other for ever.
    Gridlock,
    /// Every marble comes to rest.
    RunsDry,
    /// These values make no machine.
    Impossible,
}

impl CellOutcome {
    /// All of them, in the order of a legend.
    pub const ALL: [CellOutcome; 8] = [
        CellOutcome::Works,
        CellOutcome::Starved,
        CellOutcome::Backlog,
        CellOutcome::Overflow,
        CellOutcome::Jams,
        CellOutcome::Gridlock,
        CellOutcome::RunsDry,
        CellOutcome::Impossible,
    ];

    /// As a maker would say it.
    pub fn name(self) -> &'static str {
        match self {
            CellOutcome::Works => "works",
            CellOutcome::Starved => "starved",
            CellOutcome::Backlog => "backlog",
            CellOutcome::Overflow => "overflow",
            CellOutcome::Jams => "jams",
            CellOutcome::Gridlock => "gridlock",
            CellOutcome::RunsDry => "runs dry",
            CellOutcome::Impossible => "can't be built",
        }
    }

    /// The letter that stands for it.
    pub fn letter(self) -> char {
        match self {
            CellOutcome::Works => 'W',
            CellOutcome::Starved => 'S',
            CellOutcome::Backlog => 'B',
            CellOutcome::Overflow => 'O',
            CellOutcome::Jams => 'J',
            CellOutcome::Gridlock => 'G',
            CellOutcome::RunsDry => 'D',
            CellOutcome::Impossible => 'X',
        }
    }

    /// The name, and where: `starved (upper-wheel)`.
    pub fn named(self, at: Option<&str>) -> String {
        at.map_or(self.name().to_owned(), |at| {
            format!("{} ({at})", self.name())
        })
    }
}

/// Where a cell stands in a map.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CellPlace {
    /// Its column: which value of the second key.
    pub column: usize,
    /// Its row: which value of the first key.
    pub row: usize,
}

impl CellPlace {
    /// The cell of the first values of both keys.
    pub const FIRST: CellPlace = CellPlace { column: 0, row: 0 };
}

/// A cell that was simulated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cell {
    /// Its column: which value of the second key.
    pub column: usize,
    /// Its row: which value of the first key.
    pub row: usize,
    /// What happens.
    pub verdict: CellOutcome,
    /// The element it happens at; null where it is the whole machine.
    pub at: Option<String>,
    /// Whether the runs show that it works, or that it does not, at the level of the map.
    pub sure: bool,
    /// Runs it took.
    pub runs: u32,
    /// What they show.
    pub figures: Figures,
}

impl Cell {
    /// Where it stands.
    pub fn place(&self) -> CellPlace {
        CellPlace {
            column: self.column,
            row: self.row,
        }
    }
}

/// The figures of a cell, each with its 95 % interval.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// Share of runs that ran to the end.
    pub ran: Estimate,
    /// Share of runs that ended in gridlock.
    pub gridlocked: Estimate,
    /// Share of runs in which every marble came to rest.
    pub ran_dry: Estimate,
    /// Jams in eight hours of running.
    pub jams_per_8h: Estimate,
    /// Marbles lost in the hours of a run.
    pub spills: Estimate,
    /// Marbles that never found room to be poured in.
    pub left_in_hand: Estimate,
    /// Marbles a minute.
    pub throughput_per_min: Estimate,
    /// Fill of each wheel.
    pub fill: BTreeMap<String, Estimate>,
    /// Backlog not exceeded 95 % of the time, of each element that the file sets a limit to.
    pub backlog_p95: BTreeMap<String, Estimate>,
}

/// Whoever follows the work: asked before every run whether to go on, informed of every run and of every finished cell.
pub trait Follower: Sync {
    /// Whether to go on.
    fn go_on(&self) -> bool;
    /// A run is done.
    fn ran(&self);
    /// A cell is done.
    fn finished(&self, cell: &Cell);
}

/// Simulates a cell with runs 0, 1, 2, ... until it is sure or the budget is spent; `None` if stopped.
pub fn cell(
    question: &Question,
    place: CellPlace,
    (circuit, workable): (&Circuit, &Workable),
    follower: &impl Follower,
) -> Option<Cell> {
    let judged = |runs: &[RunFigures], level| judge(circuit, workable, runs, level);
    let looks = one_cell(question.runs, |share| {
        runs_needed(workable, question.hours, share * (1.0 - LEVEL))
    });
    let (runs, judgement) = decide(&looks, judged, |range| {
        more(question, circuit, range, follower)
    })?;
    let wrong = judgement.first_wrong().map(|result| result.criterion);
    let (verdict, at) = wrong.map_or((CellOutcome::Works, None), |criterion| {
        class(criterion, circuit, &runs)
    });
    let sure = judgement.verdict() != Shown::Unsure;
    let figures = figures(circuit, workable, &runs, question.hours);
    let cell = Cell {
        column: place.column,
        row: place.row,
        verdict,
        at,
        sure,
        runs: runs.len() as u32,
        figures,
    };
    follower.finished(&cell);
    Some(cell)
}

/// The runs it takes to be sure, up to the last look, and what they show; `None` if stopped.
fn decide(
    looks: &[Look],
    judged: impl Fn(&[RunFigures], f64) -> Judgement,
    mut more: impl FnMut(Range<u32>) -> Option<Vec<RunFigures>>,
) -> Option<(Vec<RunFigures>, Judgement)> {
    let mut runs: Vec<RunFigures> = Vec::new();
    let mut found = None;
    for look in looks {
        runs.extend(more(runs.len() as u32..look.runs)?);
        let judgement = judged(&runs, 1.0 - look.error_share * (1.0 - LEVEL));
        let sure = judgement.verdict() != Shown::Unsure;
        found = Some(judgement);
        if sure {
            break;
        }
    }
    Some((runs, found?))
}

fn more(
    question: &Question,
    circuit: &Circuit,
    range: Range<u32>,
    follower: &impl Follower,
) -> Option<Vec<RunFigures>> {
    let horizon = nanos(question.hours * 3600.0);
    let one = |run: u32| {
        let result = follower
            .go_on()
            .then(|| simulate(circuit, question.seed, u64::from(run), horizon, &mut ()))?;
        follower.ran();
        Some(RunFigures::new(u64::from(run), &result))
    };
    range.into_par_iter().map(one).collect()
}

/// The verdict that a criterion stands for, and the element it is worst at.
fn class(
    criterion: Criterion,
    circuit: &Circuit,
    runs: &[RunFigures],
) -> (CellOutcome, Option<String>) {
    let name = |n: usize| Some(circuit.nodes[n].name.clone());
    let worst = |count: &dyn Fn(&RunFigures, usize) -> u64| {
        let total = |n: usize| runs.iter().map(|run| count(run, n)).sum::<u64>();
        // Of equal ones the first.
        (0..circuit.nodes.len())
            .rev()
            .max_by_key(|&n| total(n))
            .and_then(name)
    };
    let jams = |run: &RunFigures, n: usize| {
        run.jams
            .iter()
            .filter(|jam| jam.node == n)
            .map(|jam| jam.count)
            .sum()
    };
    match criterion {
        Criterion::Gridlock => (CellOutcome::Gridlock, None),
        Criterion::RanDry => (CellOutcome::RunsDry, None),
        Criterion::Jams => (CellOutcome::Jams, worst(&jams)),
        Criterion::Spills => (
            CellOutcome::Overflow,
            worst(&|run, n| run.elements[n].spills),
        ),
        Criterion::PouredIn => (CellOutcome::Overflow, name(circuit.start)),
        Criterion::Fill(wheel) => (CellOutcome::Starved, name(wheel)),
        Criterion::Backlog(node) => (CellOutcome::Backlog, name(node)),
    }
}

fn figures(circuit: &Circuit, workable: &Workable, runs: &[RunFigures], hours: f64) -> Figures {
    let over_runs = OverRuns::new(circuit, runs);
    let wheels = circuit
        .nodes
        .iter()
        .enumerate()
        .filter(|(_, plan)| plan.wheel().is_some());
    let fill = |n: usize| over_runs.share(|run| run.elements[n].wheel.and_then(|wheel| wheel.fill));
    let backlog = |&(n, _): &(usize, u32)| {
        (
            circuit.nodes[n].name.clone(),
            over_runs.level_over_time(|run| run.elements[n].backlog_p95),
        )
    };
    let totals = RunTotals::of(circuit.start, runs);
    let share = |outcome| totals.share(totals.ended(outcome));
    Figures {
        ran: share(Outcome::Ran),
        gridlocked: share(Outcome::Gridlocked),
        ran_dry: share(Outcome::RanDry),
        jams_per_8h: over_runs.jams(8.0),
        spills: over_runs.mishaps(hours, RunFigures::spills),
        left_in_hand: over_runs.extreme(|run| f64::from(run.left_in_hand)),
        throughput_per_min: over_runs.throughput_per_min(),
        fill: wheels
            .map(|(n, plan)| (plan.name.clone(), fill(n)))
            .collect(),
        backlog_p95: workable.backlog.iter().map(backlog).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::made_up::{MadeUp, at_most, normal, random};

    /// Each of a cell's looks has its share of the error. A fill a little too low makes nearly all of it: the whole of it at
    /// every look would misjudge more.
    #[test]
    fn looks_share_the_error_of_a_cell() {
        let made_up = MadeUp::new(1, "least-fill: 0.5, jams-per-8h: 1000");
        let met = |cell: &u64| {
            let mut random = random(*cell);
            let mut fill = || 0.5 - 1e-6 + 0.05 * normal(&mut random);
            let more =
                |range: Range<u32>| Some(range.map(|n| made_up.run(n, |_| fill())).collect());
            let looks = one_cell(200, |_| 72);
            let found = decide(&looks, |runs, level| made_up.judge(runs, level), more);
            found.expect("nobody says stop").1.verdict() == Shown::Met
        };
        let cells = 1500;
        let wrong = (0..cells).filter(met).count() as u64;
        println!("{wrong} of {cells} cells are called workable, and none is");
        assert!(at_most(wrong, cells, 1.0 - LEVEL), "{wrong} of {cells}");
    }

    #[test]
    fn every_verdict_has_a_letter_of_its_own() {
        let mut letters: Vec<char> = CellOutcome::ALL
            .iter()
            .map(|verdict| verdict.letter())
            .collect();
        letters.sort_unstable();
        letters.dedup();
        assert_eq!(letters.len(), CellOutcome::ALL.len());
    }
}
