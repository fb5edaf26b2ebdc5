//! What limits the flow and what starves a wheel: paired runs with the random numbers of the study, with one thing relieved each.
//!
//! Only what the study's own figures suggest is tried: more marbles, wheels that are nearly full or before which marbles
//! wait, elements at whose exit marbles wait half of the time, misses where pockets go by empty, and then slower speeds.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::assumptions::SensitivityEffort;
use super::repeat;
use crate::circuit::draw::seconds;
use crate::circuit::drive::{drive_rpm, turned_rpm};
use crate::circuit::plan::{Plan, Role};
use crate::circuit::{Circuit, sketch_wheels};
use crate::findings::counterfactual::Change;
use crate::findings::limit::{Causes, Fill, Relief, Trial};
use crate::findings::summary::{ByName, LEVEL};
use crate::findings::{RunFigures, Summary};
use crate::machine::Machine;
use crate::machine::model::{Kind, TurnedBy};
use crate::stats::compare::paired_t;
use crate::stats::{Estimate, estimate::mean_interval};

/// Pairs of runs of each. Eight that all differ alike are proof by the sign test, four are none.
pub const RUNS: u32 = 8;
/// A tenth of relief.
const TENTH: f64 = 0.1;
/// Elements at whose exit marbles wait this share of the time or more are tried.
const BUSY: f64 = 0.5;
/// A wheel that is this full, or fuller, is tried faster.
const NEARLY_FULL: f64 = 0.9;
/// Elements that are tried, the busiest first.
const MOST: usize = 3;
/// Speeds that are tried where a wheel turns too fast, as shares of its own.
const SLOWER: [f64; 7] = [0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3];
/// Loads that are tried where a wheel is starved, as shares of the machine's more.
const MORE: [f64; 3] = [TENTH, 0.5, 1.0];

/// One thing to relieve: what, where, and to what.
#[derive(Clone, Copy)]
struct Try {
    relief: Relief,
    node: Option<usize>,
    from: f64,
    to: f64,
}

/// The machine, what its runs mean, and how much to run.
struct CauseStudy<'a> {
    machine: &'a Machine,
    circuit: &'a Circuit,
    summary: &'a Summary,
    effort: &'a SensitivityEffort,
}

/// Tries what may limit the flow of `machine` or starve its wheels; `circuit` and `summary` are those of its study.
/// `None` where the study has no flow.
pub fn causes(
    machine: &Machine,
    circuit: &Circuit,
    summary: &Summary,
    effort: &SensitivityEffort,
) -> Option<Causes> {
    if summary.throughput_per_min.value? <= 0.0 {
        return None;
    }
    let question = CauseStudy {
        machine,
        circuit,
        summary,
        effort,
    };
    let base = question.runs(circuit);
    let mut causes = Causes {
        runs: effort.runs,
        hours: seconds(effort.study.horizon) / 3600.0,
        throughput_per_min: mean_of(&base, &|run| run.throughput_per_min).value,
        tried: question.all(&base, &question.candidates()),
    };
    let slower = question.slower(&causes);
    causes.tried.extend(question.all(&base, &slower));
    Some(causes)
}

impl CauseStudy<'_> {
    fn runs(&self, circuit: &Circuit) -> Vec<RunFigures> {
        repeat(circuit, &self.effort.study, self.effort.runs, || ())
    }

    fn all(&self, base: &[RunFigures], tries: &[Try]) -> Vec<Trial> {
        tries.par_iter().map(|one| self.trial(base, one)).collect()
    }

    fn fill(&self, n: usize) -> Option<f64> {
        let wheel = self.summary.wheels.get(&self.circuit.nodes[n].name)?;
        wheel.fill.value
    }

    /// Wheels whose fill is not good enough.
    fn starved(&self) -> Vec<usize> {
        let least = self.machine.workable.least_fill;
        self.circuit
            .wheels()
            .filter(|&n| self.fill(n).is_some_and(|fill| fill < least))
            .collect()
    }

    /// What the study's own figures suggest.
    fn candidates(&self) -> Vec<Try> {
        let starved = self.starved();
        let loads = if starved.is_empty() {
            &MORE[..1]
        } else {
            &MORE
        };
        let mut all: Vec<Try> = loads
            .iter()
            .map(|share| self.more_marbles(*share))
            .collect();
        for n in self.circuit.wheels().filter(|&n| self.is_busy(n)) {
            all.push(self.speed(n, 1.0 + TENTH));
            all.push(self.speed(n, 1.0 - TENTH));
        }
        all.extend(self.busiest().into_iter().map(quicker));
        if !starved.is_empty() {
            all.extend(self.without_misses());
        }
        all
    }

    fn more_marbles(&self, share: f64) -> Try {
        let load = f64::from(self.circuit.marbles);
        Try {
            relief: Relief::Marbles,
            node: None,
            from: load,
            to: load + (share * load).ceil(),
        }
    }

    /// Each wheel that misses without its misses, and all of them together where they are several.
    fn without_misses(&self) -> Vec<Try> {
        let mut all: Vec<Try> = Vec::new();
        for n in self.circuit.wheels() {
            if self.misses(n) {
                all.extend(self.no_misses(n));
            }
        }
        if all.len() > 1 {
            all.push(Try {
                relief: Relief::NoMisses,
                node: None,
                from: all.iter().map(|one| one.from).fold(0.0, f64::max),
                to: 0.0,
            });
        }
        all
    }

    fn misses(&self, n: usize) -> bool {
        let wheel = self.summary.wheels.get(&self.circuit.nodes[n].name);
        wheel.is_some_and(|wheel| wheel.missed.value > Some(0.0))
    }

    /// Share of the time with marbles waiting at the exit of `n`.
    fn waiting(&self, n: usize) -> f64 {
        let (_, element) = &self.summary.elements.0[n];
        element.waiting_share.value.unwrap_or(0.0)
    }

    /// Whether an element from which marbles wait to leave most of the time leads to `wheel`.
    fn is_waited_for(&self, wheel: usize) -> bool {
        let mut plans = self.circuit.nodes.iter().enumerate();
        plans
            .any(|(n, plan)| plan.ways.iter().any(|way| way.to == wheel) && self.waiting(n) >= BUSY)
    }

    /// Whether this wheel is nearly full, or marbles wait before it.
    fn is_busy(&self, wheel: usize) -> bool {
        let fill = self.fill(wheel);
        self.is_waited_for(wheel) || fill.is_some_and(|fill| fill >= NEARLY_FULL)
    }

    /// Whether relief of this element can be tried, which none is that waits for a wheel, by design or for ever.
    fn may_be_quicker(&self, plan: &Plan) -> bool {
        let other = matches!(
            plan.role,
            Role::Batch(_) | Role::Carousel(_) | Role::Trip(_)
        );
        let mut next = plan.ways.iter().map(|way| &self.circuit.nodes[way.to]);
        !other && !plan.ways.is_empty() && next.all(|plan| plan.wheel().is_none())
    }

    /// The elements at whose exit marbles wait most of the time. Those before a wheel wait for the wheel, a cup's by
    /// design, and a dead end's for ever.
    fn busiest(&self) -> Vec<usize> {
        let mut all: Vec<usize> = (0..self.circuit.nodes.len())
            .filter(|&n| self.may_be_quicker(&self.circuit.nodes[n]) && self.waiting(n) >= BUSY)
            .collect();
        all.sort_by(|&a, &b| self.waiting(b).total_cmp(&self.waiting(a)));
        all.truncate(MOST);
        all
    }

    /// The wheel alone at a share of its speed.
    fn speed(&self, n: usize, share: f64) -> Try {
        let from = match self.machine.elements[n].kind.turned_by() {
            Some(turned_by) => turned_rpm(turned_by, self.machine),
            None => 0.0,
        };
        Try {
            relief: Relief::WheelSpeed,
            node: Some(n),
            from,
            to: from * share,
        }
    }

    fn no_misses(&self, n: usize) -> Option<Try> {
        let (_, missed) = self.circuit.nodes[n].wheel()?.pick_up.pinched_and_missed();
        Some(Try {
            relief: Relief::NoMisses,
            node: Some(n),
            from: missed,
            to: 0.0,
        })
    }

    /// The wheel whose misses explain that wheel `starved` is; itself where they are those of all wheels together.
    fn culprit(&self, causes: &Causes, starved: usize) -> Option<usize> {
        let least = self.machine.workable.least_fill;
        let fill = self.fill(starved).unwrap_or(0.0);
        let trial = causes.misses(&self.circuit.nodes[starved].name, fill, least)?;
        let Some(name) = &trial.element else {
            return Some(starved);
        };
        let mut wheels = self.circuit.wheels();
        wheels.find(|&n| self.circuit.nodes[n].name == *name)
    }

    /// Slower speeds, where misses explain a starved wheel: of the drive, or of the wheel where it has a motor of its own.
    fn slower(&self, causes: &Causes) -> Vec<Try> {
        let starved = self.starved().into_iter();
        let fast: BTreeSet<usize> = starved.filter_map(|n| self.culprit(causes, n)).collect();
        let (own, driven): (Vec<usize>, Vec<usize>) = fast.into_iter().partition(
            |&n| matches!(self.circuit.nodes[n].wheel(), Some(wheel) if wheel.drive != 0),
        );
        let mut all = Vec::new();
        if !driven.is_empty() {
            all.extend(SLOWER.map(|share| self.drive_speed(share)));
        }
        for n in own {
            all.extend(SLOWER.map(|share| Try {
                relief: Relief::DriveSpeed,
                ..self.speed(n, share)
            }));
        }
        all
    }

    /// The drive at a share of its speed.
    fn drive_speed(&self, share: f64) -> Try {
        let rpm = drive_rpm(self.machine);
        Try {
            relief: Relief::DriveSpeed,
            node: None,
            from: rpm,
            to: rpm * share,
        }
    }

    /// The circuit with one thing relieved.
    fn relieved(&self, one: &Try) -> Circuit {
        match (one.relief, one.node) {
            (Relief::Marbles, _) => Change::Load(one.to as u32).on(self.circuit),
            (Relief::NoMisses, Some(wheel)) => Change::NoMiss(wheel).on(self.circuit),
            (Relief::NoMisses, None) => {
                let mut circuit = self.circuit.clone();
                for wheel in self.circuit.wheels() {
                    circuit = Change::NoMiss(wheel).on(&circuit);
                }
                circuit
            }
            (Relief::Quicker, n) => {
                in_share_of_its_time(self.circuit, n.unwrap_or(0), one.to / one.from)
            }
            (Relief::WheelSpeed | Relief::DriveSpeed, n) => {
                let mut machine = self.machine.clone();
                match n {
                    Some(n) => turn_at(&mut machine.elements[n].kind, one),
                    None => machine.drive.rpm = one.to,
                }
                sketch_wheels(&machine)
            }
        }
    }

    fn trial(&self, base: &[RunFigures], one: &Try) -> Trial {
        let there = self.runs(&self.relieved(one));
        let mut fills = Vec::new();
        for n in self.circuit.wheels() {
            let fill = Fill {
                there: mean_of(&there, &|run| run.fill(n)).within(0.0, 1.0),
                more: difference(&there, base, &|run| run.fill(n)),
            };
            fills.push((self.circuit.nodes[n].name.clone(), fill));
        }
        Trial {
            relief: one.relief,
            element: one.node.map(|n| self.circuit.nodes[n].name.clone()),
            from: one.from,
            to: one.to,
            throughput_per_min: difference(&there, base, &|run| run.throughput_per_min),
            fill: ByName(fills),
        }
    }
}

/// Lets a wheel turn at the speed tried, by its gears or its own motor.
fn turn_at(kind: &mut Kind, one: &Try) {
    match kind.turned_by_mut() {
        Some(TurnedBy::Drive { ratio }) => *ratio *= one.to / one.from,
        Some(TurnedBy::OwnMotor { rpm }) => *rpm = one.to,
        None => {}
    }
}

fn quicker(n: usize) -> Try {
    Try {
        relief: Relief::Quicker,
        node: Some(n),
        from: 1.0,
        to: 1.0 - TENTH,
    }
}

/// The circuit in which all that element `n` does takes this share of its time.
fn in_share_of_its_time(circuit: &Circuit, n: usize, share: f64) -> Circuit {
    let mut circuit = circuit.clone();
    let plan = &mut circuit.nodes[n];
    plan.travel = plan.travel.iter().map(|draw| draw.scaled(share)).collect();
    plan.advance = (plan.advance as f64 * share) as u64;
    plan.entrance_delay = (plan.entrance_delay as f64 * share) as u64;
    if let Role::Server(time) = &plan.role {
        plan.role = Role::Server(time.scaled(share));
    }
    circuit
}

/// All values of a figure; `None` where it does not exist in one of the runs.
fn values(runs: &[RunFigures], figure: &dyn Fn(&RunFigures) -> Option<f64>) -> Option<Vec<f64>> {
    runs.iter().map(figure).collect()
}

fn mean_of(runs: &[RunFigures], figure: &dyn Fn(&RunFigures) -> Option<f64>) -> Estimate {
    match values(runs, figure) {
        Some(all) => mean_interval(&all, LEVEL),
        None => Estimate::unknown(),
    }
}

/// The paired difference; without ends where runs that all differ alike are too few for proof.
fn difference(
    there: &[RunFigures],
    base: &[RunFigures],
    figure: &dyn Fn(&RunFigures) -> Option<f64>,
) -> Estimate {
    let (Some(there), Some(base)) = (values(there, figure), values(base, figure)) else {
        return Estimate::unknown();
    };
    let Some(test) = paired_t(&there, &base, LEVEL) else {
        return Estimate::unknown();
    };
    match test.difference.value {
        Some(same) if same != 0.0 && test.statistic.is_none() && test.p > 1.0 - LEVEL => {
            Estimate::point(same)
        }
        _ => test.difference,
    }
}
