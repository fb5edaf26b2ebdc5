//! What limits the flow: the element that works all the time, or else the load.

use super::figures::RunFigures;
use crate::circuit::Circuit;
use crate::circuit::plan::Role;

/// What more marbles a minute would have to come from.
#[derive(Clone, Debug, PartialEq)]
pub enum Limit {
    /// Nearly every pocket of this wheel carries a marble: turn it faster, or drill more pockets.
    WheelFull {
        /// The wheel.
        wheel: usize,
        /// Its fill.
        fill: f64,
    },
    /// Marbles wait at this wheel nearly always, but its pockets miss or come round full.
    WheelMisses {
        /// The wheel.
        wheel: usize,
        /// Its fill.
        fill: f64,
    },
    /// Marbles wait nearly always at this element's exit.
    Element {
        /// The element.
        node: usize,
        /// Share of the time with marbles waiting.
        waiting: f64,
    },
    /// Nothing works all the time: there are too few marbles on the way.
    Load,
}

/// Share of the time from which on something counts as busy all the time.
const BUSY: f64 = 0.9;

/// What limits the flow over `runs`; `None` where no run lasted any time.
pub fn limit(circuit: &Circuit, runs: &[RunFigures]) -> Option<Limit> {
    let fills = |n: usize| mean(runs.iter().filter_map(|run| run.elements[n].wheel?.fill));
    let waits = |n: usize| mean(runs.iter().filter_map(|run| run.elements[n].waiting_share));
    let wheels = (0..circuit.nodes.len()).filter(|&n| circuit.nodes[n].wheel().is_some());
    let fullest = wheels.filter_map(|n| Some((n, fills(n)?))).max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((wheel, fill)) = fullest.filter(|&(_, fill)| fill >= 0.97) {
        return Some(Limit::WheelFull { wheel, fill });
    }
    // A cup's marbles wait by design, and a dead end's for ever: neither slows the flow.
    let gates = (0..circuit.nodes.len()).filter(|&n| {
        let plan = &circuit.nodes[n];
        !plan.ways.is_empty() && !matches!(plan.role, Role::TippingCup(_) | Role::PocketWheel(_))
    });
    let (node, waiting) = gates.filter_map(|n| Some((n, waits(n)?))).max_by(|a, b| a.1.total_cmp(&b.1))?;
    if waiting < BUSY {
        return Some(Limit::Load);
    }
    let wheel = circuit.nodes[node].ways.iter().map(|way| way.to).find(|&to| circuit.nodes[to].wheel().is_some());
    Some(match wheel {
        Some(wheel) => Limit::WheelMisses { wheel, fill: fills(wheel)? },
        None => Limit::Element { node, waiting },
    })
}

fn mean(figures: impl Iterator<Item = f64>) -> Option<f64> {
    let all: Vec<f64> = figures.collect();
    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
}
