//! What limits the flow and what starves a wheel: paired runs with the random numbers of the study, with one thing relieved each.
//!
//! Only what the study's own figures suggest is tried: more marbles, wheels that are nearly full or before which marbles
//! wait, elements at whose exit marbles wait half of the time, misses where pockets go by empty, and then slower speeds.

use rayon::prelude::*;

use super::assumptions::SensitivityEffort;
use super::repeat;
use crate::circuit::draw::{Draw, seconds};
use crate::circuit::drive::{drive_rpm, wheel_rpm};
use crate::circuit::plan::Role;
use crate::circuit::{Circuit, sketch_like};
use crate::findings::change::Change;
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
    study: &'a SensitivityEffort,
}

/// Tries what may limit the flow of `machine` or starve its wheels; `circuit` and `summary` are those of its study.
/// `None` where the study has no flow.
pub fn causes(
    machine: &Machine,
    circuit: &Circuit,
    summary: &Summary,
    study: &SensitivityEffort,
) -> Option<Causes> {
    summary
        .throughput_per_min
        .value
        .filter(|&flow| flow > 0.0)?;
    let question = CauseStudy {
        machine,
        circuit,
        summary,
        study,
    };
    let base = question.runs(circuit);
    let mut tried = question.all(&base, &question.candidates());
    let mut causes = Causes {
        runs: study.runs,
        hours: seconds(study.horizon) / 3600.0,
        throughput_per_min: mean_of(&base, &|run| run.throughput_per_min).value,
        tried: Vec::new(),
    };
    causes.tried.append(&mut tried);
    let slower = question.slower(&causes);
    causes.tried.extend(question.all(&base, &slower));
    Some(causes)
}

impl CauseStudy<'_> {
    fn runs(&self, circuit: &Circuit) -> Vec<RunFigures> {
        repeat(
            circuit,
            self.study.seed,
            self.study.runs,
            self.study.horizon,
            || (),
        )
    }

    fn all(&self, base: &[RunFigures], tries: &[Try]) -> Vec<Trial> {
        tries.par_iter().map(|one| self.trial(base, one)).collect()
    }

    fn fill(&self, n: usize) -> Option<f64> {
        self.summary
            .wheels
            .get(&self.circuit.nodes[n].name)?
            .fill
            .value
    }

    fn wheels(&self) -> impl Iterator<Item = usize> {
        (0..self.circuit.nodes.len()).filter(|&n| self.circuit.nodes[n].wheel().is_some())
    }

    /// Wheels whose fill is not good enough.
    fn starved(&self) -> Vec<usize> {
        let least = self.machine.workable.least_fill;
        self.wheels()
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
        let load = f64::from(self.circuit.marbles);
        let more = |share: &f64| Try {
            relief: Relief::Marbles,
            node: None,
            from: load,
            to: load + (share * load).ceil(),
        };
        let mut all: Vec<Try> = loads.iter().map(more).collect();
        all.extend(
            self.wheels()
                .filter(|&n| self.is_busy(n))
                .flat_map(|n| [self.speed(n, 1.0 + TENTH), self.speed(n, 1.0 - TENTH)]),
        );
        all.extend(self.busiest().into_iter().map(quicker));
        if !starved.is_empty() {
            all.extend(self.without_misses());
        }
        all
    }

    /// Each wheel that misses without its misses, and all of them together where they are several.
    fn without_misses(&self) -> Vec<Try> {
        let missed = |n: &usize| {
            self.summary
                .wheels
                .get(&self.circuit.nodes[*n].name)
                .and_then(|w| w.missed.value)
        };
        let missing = self
            .wheels()
            .filter(|n| missed(n).is_some_and(|missed| missed > 0.0));
        let mut all: Vec<Try> = missing.filter_map(|n| self.no_misses(n)).collect();
        if all.len() > 1 {
            let from = all.iter().map(|one| one.from).fold(0.0, f64::max);
            all.push(Try {
                relief: Relief::NoMisses,
                node: None,
                from,
                to: 0.0,
            });
        }
        all
    }

    /// Share of the time with marbles waiting at the exit of `n`.
    fn waiting(&self, n: usize) -> f64 {
        self.summary.elements.0[n]
            .1
            .waiting_share
            .value
            .unwrap_or(0.0)
    }

    fn feeds_wheel(&self, n: usize) -> bool {
        self.circuit.nodes[n]
            .ways
            .iter()
            .any(|way| self.circuit.nodes[way.to].wheel().is_some())
    }

    /// Whether this wheel is nearly full, or marbles wait before it.
    fn is_busy(&self, wheel: usize) -> bool {
        let feeds = |n: &usize| {
            self.circuit.nodes[*n]
                .ways
                .iter()
                .any(|way| way.to == wheel)
        };
        let kept = (0..self.circuit.nodes.len())
            .filter(feeds)
            .any(|n| self.waiting(n) >= BUSY);
        kept || self.fill(wheel).is_some_and(|fill| fill >= NEARLY_FULL)
    }

    /// The elements at whose exit marbles wait most of the time. Those before a wheel wait for the wheel, a cup's by
    /// design, and a dead end's for ever.
    fn busiest(&self) -> Vec<usize> {
        let may = |&n: &usize| {
            let plan = &self.circuit.nodes[n];
            let other = matches!(plan.role, Role::TippingCup(_) | Role::PocketWheel(_));
            !other && !plan.ways.is_empty() && !self.feeds_wheel(n) && self.waiting(n) >= BUSY
        };
        let mut all: Vec<usize> = (0..self.circuit.nodes.len()).filter(may).collect();
        all.sort_by(|&a, &b| self.waiting(b).total_cmp(&self.waiting(a)));
        all.truncate(MOST);
        all
    }

    /// The wheel alone at a share of its speed.
    fn speed(&self, n: usize, share: f64) -> Try {
        let from = match &self.machine.elements[n].kind {
            Kind::PocketWheel(wheel) => wheel_rpm(wheel, self.machine),
            _ => 0.0,
        };
        Try {
            relief: Relief::WheelSpeed,
            node: Some(n),
            from,
            to: from * share,
        }
    }

    fn no_misses(&self, n: usize) -> Option<Try> {
        let missing = self.circuit.nodes[n]
            .wheel()?
            .pick_up
            .pinched_and_missed()
            .1;
        Some(Try {
            relief: Relief::NoMisses,
            node: Some(n),
            from: missing,
            to: 0.0,
        })
    }

    /// Slower speeds, where misses explain a starved wheel: of the drive, or of the wheel where it has a motor of its own.
    fn slower(&self, causes: &Causes) -> Vec<Try> {
        let least = self.machine.workable.least_fill;
        let culprit = |n: usize| {
            let trial = causes.misses(
                &self.circuit.nodes[n].name,
                self.fill(n).unwrap_or(0.0),
                least,
            )?;
            let named = trial.element.as_ref();
            Some(
                named
                    .and_then(|name| self.wheels().find(|&n| self.circuit.nodes[n].name == *name))
                    .unwrap_or(n),
            )
        };
        let mut fast: Vec<usize> = self.starved().into_iter().filter_map(culprit).collect();
        fast.sort_unstable();
        fast.dedup();
        let own = |n: &usize| {
            self.circuit.nodes[*n]
                .wheel()
                .is_some_and(|wheel| wheel.drive != 0)
        };
        let rpm = drive_rpm(self.machine);
        let drive = |share: f64| Try {
            relief: Relief::DriveSpeed,
            node: None,
            from: rpm,
            to: rpm * share,
        };
        let driven = fast.iter().any(|n| !own(n)).then_some(SLOWER.map(drive));
        let own = fast.iter().copied().filter(own).flat_map(|n| {
            SLOWER.map(|share| Try {
                relief: Relief::DriveSpeed,
                ..self.speed(n, share)
            })
        });
        driven.into_iter().flatten().chain(own).collect()
    }

    /// The circuit with one thing relieved.
    fn relieved(&self, one: &Try) -> Circuit {
        let (n, share) = (one.node.unwrap_or(0), one.to / one.from);
        match one.relief {
            Relief::Marbles => Change::Load(one.to as u32).on(self.circuit),
            Relief::NoMisses => {
                let all = self
                    .wheels()
                    .filter(|&wheel| one.node.is_none_or(|n| n == wheel));
                all.fold(self.circuit.clone(), |circuit, wheel| {
                    Change::NoMiss(wheel).on(&circuit)
                })
            }
            Relief::Quicker => in_share_of_its_time(self.circuit, n, share),
            Relief::DriveSpeed if one.node.is_none() => {
                let mut machine = self.machine.clone();
                machine.drive.rpm = one.to;
                sketch_like(&machine, self.circuit)
            }
            Relief::WheelSpeed | Relief::DriveSpeed => {
                let mut machine = self.machine.clone();
                if let Kind::PocketWheel(wheel) = &mut machine.elements[n].kind {
                    wheel.turned_by = match wheel.turned_by {
                        TurnedBy::Drive { ratio } => TurnedBy::Drive {
                            ratio: ratio * share,
                        },
                        TurnedBy::OwnMotor { .. } => TurnedBy::OwnMotor { rpm: one.to },
                    };
                }
                sketch_like(&machine, self.circuit)
            }
        }
    }

    fn trial(&self, base: &[RunFigures], one: &Try) -> Trial {
        let there = self.runs(&self.relieved(one));
        let fill = |n: usize| {
            let of = |run: &RunFigures| run.elements[n].wheel.and_then(|wheel| wheel.fill);
            let fill = Fill {
                there: mean_of(&there, &of).within(0.0, 1.0),
                more: difference(&there, base, &of),
            };
            (self.circuit.nodes[n].name.clone(), fill)
        };
        Trial {
            relief: one.relief,
            element: one.node.map(|n| self.circuit.nodes[n].name.clone()),
            from: one.from,
            to: one.to,
            throughput_per_min: difference(&there, base, &|run| run.throughput_per_min),
            fill: ByName(self.wheels().map(fill).collect()),
        }
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
    let less = |time: u64| (time as f64 * share) as u64;
    plan.travel = plan
        .travel
        .iter()
        .map(|draw| draw.scaled(share))
        .collect::<Vec<Draw>>();
    plan.advance = less(plan.advance);
    plan.entrance_delay = less(plan.entrance_delay);
    if let Role::Escapement(time) = &plan.role {
        plan.role = Role::Escapement(time.scaled(share));
    }
    circuit
}

/// All values of a figure; `None` where it does not exist in one of the runs.
fn values(runs: &[RunFigures], figure: &dyn Fn(&RunFigures) -> Option<f64>) -> Option<Vec<f64>> {
    runs.iter().map(figure).collect()
}

fn mean_of(runs: &[RunFigures], figure: &dyn Fn(&RunFigures) -> Option<f64>) -> Estimate {
    values(runs, figure).map_or(Estimate::unknown(), |all| mean_interval(&all, LEVEL))
}

/// The paired difference; without ends where runs that all differ alike are too few for proof.
fn difference(
    there: &[RunFigures],
    base: &[RunFigures],
    figure: &dyn Fn(&RunFigures) -> Option<f64>,
) -> Estimate {
    let pairs = values(there, figure).zip(values(base, figure));
    let Some(test) = pairs.and_then(|(there, base)| paired_t(&there, &base, LEVEL)) else {
        return Estimate::unknown();
    };
    let alike =
        test.statistic.is_none() && test.p > 1.0 - LEVEL && test.difference.value != Some(0.0);
    if alike {
        test.difference
            .value
            .map_or(Estimate::unknown(), Estimate::point)
    } else {
        test.difference
    }
}
