//! One run once more, with every marble watched.

use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::engine::{RunResult, simulate};
use crate::findings::visits::Visits;

/// Run number `run` up to `until`: the beginning of the run as it is in any longer study, and where each marble was.
pub fn recall(circuit: &Circuit, seed: u64, run: u64, until: Nanos) -> (RunResult, Visits) {
    let mut visits = Visits::new(circuit);
    let result = simulate(circuit, seed, run, until, &mut visits);
    (result, visits)
}
