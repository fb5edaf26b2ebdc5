//! Independent runs of one circuit, spread over all cores.

use rayon::prelude::*;

use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::engine::simulate;
use crate::findings::RunFigures;
use crate::findings::timeline::{Timekeeper, Timeline};

/// Figures of runs 0 to `runs - 1`, in that order whatever the number of threads. `done` is called once a run.
pub fn repeat(circuit: &Circuit, seed: u64, runs: u32, horizon: Nanos, done: impl Fn() + Sync) -> Vec<RunFigures> {
    let one = |run: u32| {
        let result = simulate(circuit, seed, u64::from(run), horizon, &mut ());
        done();
        RunFigures::new(u64::from(run), &result)
    };
    (0..runs).into_par_iter().map(one).collect()
}

/// The course of runs 0 to `runs - 1` in so many steps of time; the runs are the same as without watching.
pub fn courses(circuit: &Circuit, seed: u64, runs: u32, horizon: Nanos, steps: usize) -> Vec<Timeline> {
    let one = |run: u32| {
        let mut keeper = Timekeeper::new(circuit, horizon, steps);
        let result = simulate(circuit, seed, u64::from(run), horizon, &mut keeper);
        keeper.finish(result.end)
    };
    (0..runs).into_par_iter().map(one).collect()
}
