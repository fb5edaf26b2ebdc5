//! The load of a first machine, found by trial runs.

use super::repeat::repeat;
use crate::circuit;
use crate::circuit::draw::nanos;
use crate::findings::judge::judge;
use crate::findings::summary::LEVEL;
use crate::machine::starter::Choices;
use crate::machine::{self, Machine};

/// Loads tried, one after the other.
const LOADS: [u32; 18] = [8, 10, 12, 14, 16, 18, 20, 23, 26, 30, 34, 38, 43, 48, 54, 62, 70, 80];
const RUNS: u32 = 6;
const RUN_S: f64 = 1_200.0;

/// The least of a few loads that works, and the one after it if that works too, so that a few marbles may go astray.
/// `None` where none works.
pub fn load(choices: &Choices) -> Option<u32> {
    let works = |load: u32| machine::read(&choices.text(load), &[]).is_ok_and(|machine| workable(&machine));
    let least = LOADS.iter().position(|load| works(*load))?;
    let more = LOADS.get(least + 1).copied().filter(|load| works(*load));
    Some(more.unwrap_or(LOADS[least]))
}

/// Whether the machine did what its file calls good enough in a few short runs, which are too few to be sure of it.
fn workable(machine: &Machine) -> bool {
    let circuit = circuit::circuit(machine);
    let runs = repeat(&circuit, 1, RUNS, nanos(RUN_S), || ());
    judge(&circuit, &machine.workable, &runs, LEVEL).likely()
}
