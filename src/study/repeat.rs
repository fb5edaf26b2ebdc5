//! Independent runs of one circuit, spread over all cores.

use std::ops::Range;

use rayon::prelude::*;

use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::engine::simulate;
use crate::engine::watch::{TraceRecord, Watcher};
use crate::findings::RunFigures;
use crate::findings::timeline::{Timekeeper, Timeline};

/// Runs that are made before they are handed on: enough to keep all cores busy.
const TOGETHER: usize = 256;

/// What runs are made of, beside their circuit and numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Study {
    /// The seed.
    pub seed: u64,
    /// Machine time of each run.
    pub horizon: Nanos,
}

/// Parts of a run, as its progress is shown.
pub const PARTS: u64 = 1000;
/// Machine time between two looks at the progress of a run, at least, nanoseconds: so seldom that it costs nothing.
const SELDOM: Nanos = 60_000_000_000;

/// Tells how far a run is, and changes nothing.
struct Pace<F> {
    done: F,
    part: Nanos,
    text: u64,
    next: Nanos,
}

impl<F: Fn(u64)> Pace<F> {
    fn new(horizon: Nanos, done: F) -> Self {
        Pace {
            done,
            part: (horizon / PARTS).max(1),
            text: 0,
            next: 0,
        }
    }

    #[cold]
    fn tell(&mut self, time: Nanos) {
        let parts = (time / self.part).min(PARTS);
        (self.done)(parts.saturating_sub(self.text));
        self.text = parts.max(self.text);
        self.next = time + self.part.max(SELDOM);
    }

    fn finish(self) {
        (self.done)(PARTS - self.text);
    }
}

impl<F: Fn(u64)> Watcher for Pace<F> {
    #[inline(always)]
    fn see(&mut self, seen: TraceRecord) {
        if seen.time >= self.next {
            self.tell(seen.time);
        }
    }

    #[inline(always)]
    fn scheduled(&mut self, _: u64, _: u64) {}

    #[inline(always)]
    fn waiting(&mut self, _: Nanos, _: usize, _: u32) {}
}

/// Makes the runs numbered `runs` and hands the figures of each to `take`, in that order whatever the number of threads; `done`
/// is called with so many of the [`PARTS`] of a run, now and then while it is made and at its end.
pub fn each(
    circuit: &Circuit,
    study: &Study,
    runs: Range<u32>,
    done: impl Fn(u64) + Sync,
    mut take: impl FnMut(RunFigures),
) {
    for first in runs.clone().step_by(TOGETHER) {
        let last = first.saturating_add(TOGETHER as u32).min(runs.end);
        let one = |run: u32| {
            let mut pace = Pace::new(study.horizon, &done);
            let figures = run_watched(circuit, study, run, &mut pace);
            pace.finish();
            figures
        };
        let figures: Vec<RunFigures> = (first..last).into_par_iter().map(one).collect();
        figures.into_iter().for_each(&mut take);
    }
}

/// Figures of runs 0 to `runs - 1`, in that order whatever the number of threads. `done` is called once a run.
pub fn repeat(
    circuit: &Circuit,
    study: &Study,
    runs: u32,
    done: impl Fn() + Sync,
) -> Vec<RunFigures> {
    let one = |run: u32| {
        let figures = run_watched(circuit, study, run, &mut ());
        done();
        figures
    };
    (0..runs).into_par_iter().map(one).collect()
}

/// Figures of some runs of several circuits: for each job, a circuit and the numbers of its runs, in the order given
/// whatever the number of threads. `done` is called once a run.
pub fn repeat_each(
    jobs: &[(Circuit, Range<u32>)],
    study: &Study,
    done: impl Fn() + Sync,
) -> Vec<Vec<RunFigures>> {
    let singles: Vec<(&Circuit, u32)> = jobs
        .iter()
        .flat_map(|(circuit, runs)| runs.clone().map(move |run| (circuit, run)))
        .collect();
    let one = |&(circuit, run): &(&Circuit, u32)| {
        let figures = run_watched(circuit, study, run, &mut ());
        done();
        figures
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
pub fn run_watched(
    circuit: &Circuit,
    study: &Study,
    run: u32,
    watcher: &mut impl Watcher,
) -> RunFigures {
    let result = simulate(circuit, study.seed, u64::from(run), study.horizon, watcher);
    RunFigures::new(u64::from(run), &result)
}

/// The course of runs 0 to `runs - 1` in so many steps of time; the runs are the same as without watching.
pub fn courses(circuit: &Circuit, study: &Study, runs: u32, steps: usize) -> Vec<Timeline> {
    let one = |run: u32| {
        let mut keeper = Timekeeper::new(circuit, study.horizon, steps);
        let result = simulate(
            circuit,
            study.seed,
            u64::from(run),
            study.horizon,
            &mut keeper,
        );
        keeper.finish(result.end)
    };
    (0..runs).into_par_iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use std::sync::Mutex;

    use super::*;
    use crate::{circuit, machine};

    #[test]
    fn a_long_run_tells_how_far_it_is_and_stays_as_it_was() {
        let file = include_str!("../../scenarios/starter-loop.yaml");
        let circuit = circuit::circuit(&machine::read(file, &[]).expect("a sound file"));
        let study = Study {
            seed: 1,
            horizon: 8 * 3_600_000_000_000,
        };
        let (text, mut runs) = (Mutex::new(Vec::new()), Vec::new());
        let tell = |parts| text.lock().expect("nobody panicked").push(parts);
        each(&circuit, &study, 0..1, tell, |run| runs.push(run));
        let text = text.into_inner().expect("nobody panicked");
        assert!(
            text.len() > 400 && text.iter().all(|parts| *parts < 10),
            "{text:?}"
        );
        assert_eq!(text.iter().sum::<u64>(), PARTS);
        assert_eq!(runs, repeat(&circuit, &study, 1, || ()));
    }

    #[test]
    fn runs_come_in_order_and_each_once() {
        let file = include_str!("../../scenarios/starter-loop.yaml");
        let circuit = circuit::circuit(&machine::read(file, &[]).expect("a sound file"));
        let mut numbers = Vec::new();
        each(
            &circuit,
            &Study {
                seed: 1,
                horizon: 1_000_000_000,
            },
            3..700,
            |_| {},
            |run| numbers.push(run.run),
        );
        assert_eq!(numbers, (3..700).collect::<Vec<u64>>());
    }
}
