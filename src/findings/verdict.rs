//! Whether a machine works at a load and speed, by its own `workable` section, and if not, what is wrong first.

use super::figures::RunFigures;
use crate::circuit::Circuit;
use crate::engine::Outcome;
use crate::machine::model::Workable;

/// What goes wrong, the gravest first.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// Runs in which the machine or a part of it locked up for good.
    Gridlock {
        /// Share of runs.
        share: f64,
    },
    /// Runs came to a stop with no marble on its way.
    RanDry {
        /// Share of runs.
        share: f64,
    },
    /// More jams than allowed.
    Jams {
        /// Jams in eight hours.
        per_8h: f64,
    },
    /// More marbles lost than allowed.
    Spills {
        /// Marbles lost in a run, mean.
        each_run: f64,
    },
    /// Marbles that never found room.
    Overfull {
        /// Marbles left in the hand, mean.
        left: f64,
    },
    /// A wheel's fill below the least allowed.
    Starved {
        /// The wheel.
        wheel: usize,
        /// Its fill.
        fill: f64,
    },
    /// A backlog deeper than allowed.
    Backlog {
        /// The element.
        node: usize,
        /// Backlog not exceeded 95 % of the time, mean.
        p95: f64,
        /// What the maker allows.
        allowed: u32,
    },
}

/// Everything that keeps these runs from being what the maker calls good enough; empty when they are.
pub fn faults(circuit: &Circuit, workable: &Workable, runs: &[RunFigures]) -> Vec<Fault> {
    let n = runs.len() as f64;
    let share = |outcome| runs.iter().filter(|run| run.outcome == outcome).count() as f64 / n;
    let mean = |figure: &dyn Fn(&RunFigures) -> f64| runs.iter().map(figure).sum::<f64>() / n;
    let mut faults = Vec::new();
    let mut add = |bad: bool, fault: Fault| faults.extend(bad.then_some(fault));
    let gridlocked = runs.iter().filter(|run| run.locks_up()).count() as f64 / n;
    add(gridlocked > 0.0, Fault::Gridlock { share: gridlocked });
    let dry = share(Outcome::RanDry);
    add(dry > 0.0, Fault::RanDry { share: dry });
    let hours: f64 = runs.iter().map(|run| run.end_s / 3600.0).sum();
    let jams = runs.iter().map(|run| run.jam_count()).sum::<u64>() as f64;
    let per_8h = if hours > 0.0 { 8.0 * jams / hours } else { jams * f64::INFINITY };
    add(jams > 0.0 && per_8h > workable.jams_per_8h, Fault::Jams { per_8h });
    let spills = mean(&|run| run.spills() as f64);
    add(spills > f64::from(workable.spills), Fault::Spills { each_run: spills });
    let left = mean(&|run| f64::from(run.left_in_hand));
    add(left > 0.0, Fault::Overfull { left });
    for (wheel, _) in circuit.nodes.iter().enumerate().filter(|(_, plan)| plan.wheel().is_some()) {
        let fill = mean(&|run| run.elements[wheel].wheel.and_then(|w| w.fill).unwrap_or(0.0));
        add(fill < workable.least_fill, Fault::Starved { wheel, fill });
    }
    for &(node, allowed) in &workable.backlog {
        let p95 = mean(&|run| run.elements[node].backlog_p95.unwrap_or(0.0));
        add(p95 > f64::from(allowed), Fault::Backlog { node, p95, allowed });
    }
    faults
}
