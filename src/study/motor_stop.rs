//! How many marbles lie where they are poured in when the motor stops, and once all that can have come home.

use rayon::prelude::*;

use super::assumptions::SensitivityEffort;
use crate::circuit::Circuit;
use crate::circuit::plan::Role;
use crate::engine::rest::{Rest, simulate_to_rest};
use crate::findings::summary::{LEVEL, MotorStop};
use crate::stats::{Estimate, estimate::mean_interval};

/// Runs in which the motor is stopped.
pub const RUNS: u32 = 8;

/// Stops the motor at the end of a few short runs and lets all marbles come to rest. `None` where no wheel turns, or where
/// in no run all of them came to rest.
pub fn motor_stop(circuit: &Circuit, effort: &SensitivityEffort) -> Option<MotorStop> {
    circuit.wheels().next()?;
    let rests: Vec<Rest> = (0..effort.runs)
        .into_par_iter()
        .filter_map(|run| {
            simulate_to_rest(
                circuit,
                effort.study.seed,
                u64::from(run),
                effort.study.horizon,
            )
        })
        .collect();
    let start = circuit.start;
    let above = homeward(circuit);
    Some(MotorStop {
        runs: rests.len(),
        on_start: mean(&rests, |rest| f64::from(rest.at_stop[start])),
        at_rest: mean(&rests, |rest| f64::from(rest.at_rest[start])),
        at_rest_max: rests.iter().map(|rest| rest.at_rest[start]).max()?,
        waiting_above: mean(&rests, |rest| {
            above.iter().map(|&n| f64::from(rest.at_rest[n])).sum()
        }),
        lost: mean(&rests, |rest| rest.lost[start] as f64),
    })
}

fn mean(rests: &[Rest], figure: impl Fn(&Rest) -> f64) -> Estimate {
    let all: Vec<f64> = rests.iter().map(figure).collect();
    mean_interval(&all, LEVEL).within(0.0, f64::INFINITY)
}

/// The elements from which marbles come to the start without being lifted, those left out in which they lie for good.
fn homeward(circuit: &Circuit) -> Vec<usize> {
    let mut reaches = vec![false; circuit.nodes.len()];
    let mut todo = vec![circuit.start];
    while let Some(to) = todo.pop() {
        for (n, plan) in circuit.nodes.iter().enumerate() {
            let leads = plan.wheel().is_none() && plan.ways.iter().any(|way| way.to == to);
            if leads && n != circuit.start && !std::mem::replace(&mut reaches[n], true) {
                todo.push(n);
            }
        }
    }
    (0..circuit.nodes.len())
        .filter(|&n| reaches[n] && !matches!(circuit.nodes[n].role, Role::Batch(_) | Role::Trip(_)))
        .collect()
}
