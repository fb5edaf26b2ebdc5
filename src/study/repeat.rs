//! Independent runs of one circuit, spread over all cores.

use std::ops::Range;

use rayon::prelude::*;

use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::engine::simulate;
use crate::engine::watch::Watcher;
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

/// Figures of some runs of several circuits: for each job, a circuit and the numbers of its runs, in the order given
/// whatever the number of threads. `done` is called once a run.
pub fn repeat_each(
    jobs: &[(Circuit, Range<u32>)],
    seed: u64,
    horizon: Nanos,
    done: impl Fn() + Sync,
) -> Vec<Vec<RunFigures>> {
    let singles: Vec<(&Circuit, u32)> =
        jobs.iter().flat_map(|(circuit, runs)| runs.clone().map(move |run| (circuit, run))).collect();
    let one = |&(circuit, run): &(&Circuit, u32)| {
        let result = simulate(circuit, seed, u64::from(run), horizon, &mut ());
        done();
        RunFigures::new(u64::from(run), &result)
    };
    let mut all: Vec<RunFigures> = singles.par_iter().map(one).collect();
    let mut shares = Vec::with_capacity(jobs.len());
    for (_, runs) in jobs {
        let rest = all.split_off(runs.len());
        shares.push(std::mem::replace(&mut all, rest));
    }
    shares
}

/// Figures of run number `run` while `watcher` sees it.
pub fn run_watched(circuit: &Circuit, seed: u64, run: u32, horizon: Nanos, watcher: &mut impl Watcher) -> RunFigures {
    let result = simulate(circuit, seed, u64::from(run), horizon, watcher);
    RunFigures::new(u64::from(run), &result)
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
