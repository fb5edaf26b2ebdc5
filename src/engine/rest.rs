//! What becomes of the marbles when the motor is switched off.

use super::event::Event;
use super::outcome::Outcome;
use super::run::Run;
use crate::circuit::draw::{Nanos, nanos};
use crate::circuit::plan::Circuit;

/// How long marbles may take to come to rest, seconds.
const PATIENCE_S: f64 = 3600.0;

/// Where the marbles were when the motor was switched off, and once all had come to rest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rest {
    /// Marbles in each element at the switching off.
    pub at_stop: Vec<u32>,
    /// Marbles in each element at rest.
    pub at_rest: Vec<u32>,
    /// Marbles lost over each element's side in between.
    pub lost: Vec<u64>,
}

/// Simulates a run as [`super::simulate`] does, switches all drives off at `stop`, and lets the marbles come to rest.
///
/// `None` where the run ended before, or marbles still move an hour later.
pub fn simulate_to_rest(circuit: &Circuit, seed: u64, run: u64, stop: Nanos) -> Option<Rest> {
    let watcher = &mut ();
    let mut run = Run::<(), 9>::new(circuit, seed, run, watcher);
    run.pour();
    run.until(stop);
    if run.ended.is_some() {
        return None;
    }
    let elements = circuit.nodes.len();
    let held = |run: &Run<'_, (), 9>| {
        run.nodes[..elements]
            .iter()
            .map(|node| node.held)
            .collect::<Vec<u32>>()
    };
    let lost = |run: &Run<'_, (), 9>| {
        run.nodes[..elements]
            .iter()
            .map(|node| node.statistics.spills)
            .collect::<Vec<u64>>()
    };
    let (at_stop, before) = (held(&run), lost(&run));
    run.switch_off(stop);
    run.until(stop + nanos(PATIENCE_S));
    // A jam would keep some from coming home.
    if !matches!(run.ended, Some(Outcome::RanDry | Outcome::Gridlocked)) {
        return None;
    }
    let lost = lost(&run)
        .iter()
        .zip(&before)
        .map(|(after, before)| after - before)
        .collect();
    Some(Rest {
        at_stop,
        at_rest: held(&run),
        lost,
    })
}

impl<const LEVELS: usize> Run<'_, (), LEVELS> {
    /// All drives stand from now on.
    fn switch_off(&mut self, now: Nanos) {
        (self.now, self.at) = (now, usize::MAX);
        for drive in &mut self.drives {
            drive.stopped.get_or_insert(now);
        }
        for n in 0..self.circuit.nodes.len() {
            if self.circuit.nodes[n].wheel().is_some() {
                self.nodes[n].gates[0].event = Event::NEVER;
                self.nodes[n].entrance = Event::NEVER;
                self.refresh(n);
            }
        }
    }
}
