//! The workable window: from which value to which of one key of the file a machine works; the load is such a key, as any.
//!
//! All values share their random numbers (the same seed, runs and streams). A coarse scan comes first, a few runs of each
//! value; wherever neighbours differ, the value half-way is tried, down to neighbouring values. Values that are not like both
//! their neighbours get more runs until these are sure, up to the budget: the edges of what works, and of its holes. What
//! looks right among values that look right gets enough to see a hole by, and no proof of its own; what looks wrong among
//! values that look wrong gets no more than a glance. Nothing takes workability to be monotone: a value that fails between values that work is a hole,
//! and is named. A value that makes no machine is broken.
//!
//! **The error rate.** The chance that any value at all of those searched is called workable although it is not, or broken
//! although it works (see [`crate::findings::workable`]), is at most [`Search::error`]: each value of the axis has an equal
//! share of it (Bonferroni), whether it is tried or not, so that what is tried may depend on what was seen; and each look at
//! a value takes a part of its share.

use std::ops::Range;

use rayon::prelude::*;

use super::axis::Axis;
use super::found_window::{TriedValue, Window, WindowEdge};
use super::looks::{FEW_LOOKS, Look, few, half_way};
use super::repeat::{Study, repeat_each};
use super::varied::{Candidate, Runnable};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, seconds};
use crate::findings::workable::{Criterion, Judgement, Verdict, judge_all, runs_needed};
use crate::findings::{RunFigures, Runs};
use crate::machine::limits;
use crate::machine::model::Workable;

/// So many values are all tried at once; of more, a coarse scan.
const ALL_TRIED: usize = 32;
/// From load to load in a coarse scan, at least a marble.
const COARSE: f64 = 1.12;
/// The most loads searched where the circuit sets no bound.
const MOST_SEARCHED: u32 = 1000;

/// Makes runs, by number, of machines.
type Make<'a> = dyn Fn(&[(Circuit, Range<u32>)]) -> Vec<Vec<RunFigures>> + 'a;
/// Builds the machines at positions of the axis.
type Build<'a> = dyn Fn(&[usize]) -> Vec<Candidate> + 'a;

/// What to search, and how surely.
#[derive(Clone, Debug, PartialEq)]
pub struct Search {
    /// The key and the values searched.
    pub axis: Axis,
    /// The budget: most runs of each value.
    pub runs: u32,
    /// The seed.
    pub seed: u64,
    /// Machine time of each run.
    pub horizon: Nanos,
    /// The chance that any value is misjudged.
    pub error: f64,
}

/// Runs of a value that are made in one go, and how many such parts are at once: more would only fill the memory.
const PART: u32 = 500;
const TOGETHER: usize = 8;

/// The most marbles worth searching: as many as the circuit has room for, or four times its load (at least 100) where an
/// element has room for any number; never more than a thousand.
pub fn most_searched(circuit: &Circuit) -> u32 {
    let room: Option<u32> = circuit
        .nodes
        .iter()
        .map(|plan| plan.places())
        .try_fold(0u32, |sum, places| Some(sum.saturating_add(places?)));
    room.unwrap_or((4 * circuit.marbles).max(100))
        .clamp(1, MOST_SEARCHED)
}

/// A value that was tried, with its machine.
struct ValueTrial {
    tried: TriedValue,
    machine: Option<Runnable>,
}

impl Search {
    /// Searches the loads of `circuit`; `done` is called once a run, `planned` with the number of runs about to be made.
    pub fn window(
        &self,
        circuit: &Circuit,
        workable: &Workable,
        planned: impl Fn(u64),
        done: impl Fn() + Sync,
    ) -> Window {
        let with_load = |position: usize| {
            let marbles = self.axis.value(position);
            if marbles.fract() != 0.0 || !(1.0..=f64::from(limits::MARBLES)).contains(&marbles) {
                return Err(format!("{marbles} is no number of marbles"));
            }
            Ok(Runnable {
                circuit: Circuit {
                    marbles: marbles as u32,
                    ..circuit.clone()
                },
                workable: workable.clone(),
            })
        };
        self.over(with_load, planned, done)
    }

    /// Searches the machines that `candidate` builds at positions of the axis; `done` is called once a run, `planned` with
    /// the number of runs about to be made.
    pub fn over(
        &self,
        candidate: impl Fn(usize) -> Candidate + Sync,
        planned: impl Fn(u64),
        done: impl Fn() + Sync,
    ) -> Window {
        let built = |positions: &[usize]| {
            let all = positions.par_iter().map(|&position| candidate(position));
            all.collect()
        };
        let made = |jobs: &[(Circuit, Range<u32>)]| {
            planned(jobs.iter().map(|(_, runs)| runs.len() as u64).sum());
            let study = Study {
                seed: self.seed,
                horizon: self.horizon,
            };
            repeat_each(jobs, &study, &done)
        };
        self.search(&built, &made)
    }

    /// The search, whoever builds the machine of each value and makes its runs.
    fn search(&self, built: &Build, made: &Make) -> Window {
        let mut trials: Vec<ValueTrial> = Vec::new();
        let mut wanted = self.coarse();
        loop {
            for (&position, candidate) in wanted.iter().zip(built(&wanted)) {
                let at = trials.partition_point(|trial| trial.tried.position < position);
                trials.insert(at, ValueTrial::new(position, candidate));
            }
            let mut due = self.due(&trials);
            let Some(fewest) = due.iter().map(|&n| trials[n].tried.looks).min() else {
                break;
            };
            due.retain(|&n| trials[n].tried.looks == fewest);
            self.look(&mut trials, (&due, fewest), made);
            wanted = Self::between_unlike(&trials);
        }
        let tried: Vec<TriedValue> = trials.into_iter().map(|trial| trial.tried).collect();
        Window {
            runs: tried.iter().map(|value| value.runs.count() as u64).sum(),
            least: WindowEdge::least(&tried),
            most: WindowEdge::most(self.axis.count, &tried),
            tried,
        }
    }

    /// The fewest runs of a value that can show it to work.
    pub fn runs_needed(&self, workable: &Workable) -> u32 {
        let [.., last] = few(self.runs);
        let error = self.value_error() * last.error_share;
        runs_needed(workable, seconds(self.horizon) / 3600.0, error)
    }

    fn value_error(&self) -> f64 {
        self.error / self.axis.count as f64
    }

    /// The next look at a value whose runs are not yet sure.
    fn next_look(&self, value: &TriedValue) -> Option<Look> {
        let unsure = value.verdict() == Verdict::Unsure;
        few(self.runs).get(value.looks).copied().filter(|_| unsure)
    }

    /// The values that are due for more runs, by number.
    fn due(&self, trials: &[ValueTrial]) -> Vec<usize> {
        let taken: Vec<Verdict> = trials.iter().map(|trial| trial.tried.taken_as()).collect();
        let none_right = taken.iter().all(|taken| *taken == Verdict::Broken);
        let is_due = |n: &usize| {
            let value = &trials[*n].tried;
            let mut beside = [n.checked_sub(1), Some(n + 1)]
                .map(|other| other.and_then(|other| taken.get(other)))
                .into_iter();
            let looks_right = taken[*n] == Verdict::Met;
            self.next_look(value).is_some()
                && match value.looks {
                    0 => true,
                    looks if looks + 1 < FEW_LOOKS && looks_right => true,
                    _ if none_right => true,
                    // Where the search ends nothing is known beyond, so that what works there is to be shown.
                    _ => beside.any(|other| match other {
                        Some(other) => *other != taken[*n],
                        None => looks_right,
                    }),
                }
        };
        (0..trials.len()).filter(is_due).collect()
    }

    /// The positions of the first scan.
    fn coarse(&self) -> Vec<usize> {
        let last = self.axis.count - 1;
        let (mut all, mut next) = (Vec::new(), 0);
        while next < last {
            all.push(next);
            next = (next + 1).max(self.coarse_step(next));
        }
        all.push(last);
        all
    }

    /// Where a coarse scan goes on after a position: loads are scanned by their ratio, all else evenly.
    fn coarse_step(&self, position: usize) -> usize {
        let axis = &self.axis;
        if axis.count <= ALL_TRIED {
            position + 1
        } else if axis.is_load() {
            let load = (axis.value(position) * COARSE).round();
            ((load - axis.from) / axis.step) as usize
        } else {
            position + axis.count.div_ceil(ALL_TRIED)
        }
    }

    /// Gives the values of these numbers their next look, all of which have had as many.
    fn look(&self, trials: &mut [ValueTrial], (numbers, looks): (&[usize], usize), made: &Make) {
        let Look { runs, error_share } = few(self.runs)[looks];
        let level = 1.0 - error_share * self.value_error();
        let mut due: Vec<(&Runnable, &mut TriedValue)> = Vec::new();
        for (n, trial) in trials.iter_mut().enumerate() {
            if let Some(machine) = &trial.machine
                && numbers.contains(&n)
            {
                due.push((machine, &mut trial.tried));
            }
        }
        let mut parts: Vec<(usize, Range<u32>)> = Vec::new();
        for (n, (_, value)) in due.iter().enumerate() {
            for from in (value.runs.count() as u32..runs).step_by(PART as usize) {
                parts.push((n, from..from.saturating_add(PART).min(runs)));
            }
        }
        for together in parts.chunks(TOGETHER) {
            let jobs: Vec<(Circuit, Range<u32>)> = together
                .iter()
                .map(|(n, runs)| (due[*n].0.circuit.clone(), runs.clone()))
                .collect();
            for ((n, _), more) in together.iter().zip(made(&jobs)) {
                due[*n].1.runs.extend(more);
            }
        }
        for (machine, value) in due {
            value.looks += 1;
            value.judgement = judge_all(&machine.circuit, &machine.workable, &value.runs, level);
        }
    }

    /// The positions half-way between tried neighbours that are not alike: something else goes wrong first, or one is taken to
    /// work and of the other the runs, all made, are not sure.
    fn between_unlike(trials: &[ValueTrial]) -> Vec<usize> {
        let known = trials.iter().map(|trial| &trial.tried);
        let known: Vec<(u32, &TriedValue)> =
            known.map(|value| (value.position as u32, value)).collect();
        let between = half_way(&known, |a, b| {
            first_wrong(a) != first_wrong(b) || a.taken_as() != b.taken_as()
        });
        between.into_iter().map(|one| one as usize).collect()
    }
}

impl ValueTrial {
    fn new(position: usize, candidate: Candidate) -> Self {
        let (machine, impossible) = match candidate {
            Ok(machine) => (Some(machine), None),
            Err(why) => (None, Some(why)),
        };
        let start = machine.as_ref().map_or(0, |machine| machine.circuit.start);
        let runs = Runs::new(start);
        let judgement = match &machine {
            Some(machine) => judge_all(&machine.circuit, &machine.workable, &runs, 1.0),
            None => Judgement {
                results: Vec::new(),
            },
        };
        let tried = TriedValue {
            position,
            impossible,
            judgement,
            runs,
            looks: 0,
        };
        ValueTrial { tried, machine }
    }
}

/// What goes wrong first, as far as is known: that there is no such machine, or a criterion; `None` where all seems well.
fn first_wrong(value: &TriedValue) -> Option<Option<Criterion>> {
    if value.impossible.is_some() {
        return Some(None);
    }
    let first = value.judgement.first_wrong();
    first.map(|result| Some(result.criterion))
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use super::*;
    use crate::findings::made_up::{MadeUp, at_most, normal, random};
    use crate::machine::model::Unset;

    fn search(axis: Axis) -> Search {
        Search {
            axis,
            runs: 200,
            seed: 1,
            horizon: 1,
            error: 0.05,
        }
    }

    /// 0.05 * 0.8 / 20 = 0.002, and ln 0.002 / ln 0.95 = 121.2; without a jam in 0.1 h, -ln 0.002 * 80 = 497.2.
    #[test]
    fn the_fewest_runs_that_show_anything() {
        let allowing = |jams_per_8h| Workable {
            least_fill: 0.0,
            jams_per_8h,
            spills: 0,
            backlog: Vec::new(),
            unset: Unset::default(),
        };
        let search = Search {
            horizon: 360_000_000_000,
            ..search(Axis::loads(1..=20))
        };
        assert_eq!(
            (
                search.runs_needed(&allowing(0.0)),
                search.runs_needed(&allowing(1.0))
            ),
            (122, 498)
        );
    }

    /// So that the usual 200 runs of a load show something, however many loads are searched.
    #[test]
    fn the_usual_runs_are_enough_for_the_most_loads_searched() {
        let calm = Workable {
            least_fill: 0.0,
            jams_per_8h: 0.0,
            spills: 0,
            backlog: Vec::new(),
            unset: Unset::default(),
        };
        assert!(search(Axis::loads(1..=MOST_SEARCHED)).runs_needed(&calm) <= 200);
    }

    /// How many of so many searches of an axis say `untrue` of any value, where each wheel's fill in each run is normal
    /// about a hair beside the limit, and every fourth value from the second on makes no machine, if that is `gappy`.
    fn misjudged(
        searches: u64,
        (axis, gappy): (&Axis, bool),
        (made_up, beside): (&MadeUp, f64),
        untrue: Verdict,
    ) -> u64 {
        let built = |positions: &[usize]| -> Vec<Candidate> {
            let one = |position: &usize| match gappy && position % 4 == 1 {
                true => Err("it cannot be made".to_owned()),
                false => Ok(Runnable {
                    circuit: made_up.circuit.clone(),
                    workable: made_up.workable.clone(),
                }),
            };
            positions.iter().map(one).collect()
        };
        let wrong = |seed: &u64| {
            let random = RefCell::new(random(*seed));
            let made = |jobs: &[(Circuit, Range<u32>)]| {
                let fill = |_| 0.5 + beside + 0.05 * normal(&mut random.borrow_mut());
                let runs = |(_, runs): &(Circuit, Range<u32>)| {
                    runs.clone().map(|n| made_up.run(n, fill)).collect()
                };
                jobs.iter().map(runs).collect()
            };
            let window = search(axis.clone()).search(&built, &made);
            let possible = window.tried.iter().filter(|one| one.impossible.is_none());
            possible
                .map(TriedValue::verdict)
                .any(|verdict| verdict == untrue)
        };
        let wrong = (0..searches).filter(wrong).count() as u64;
        println!("{wrong} of {searches} searches misjudge a value");
        wrong
    }

    /// Every value has its share of the error, so that 5 % of searches at most call any workable that is not; nearly as many
    /// do, since nothing but the fill is near its limit. With the whole error for each load one in eight would.
    #[test]
    fn loads_share_the_error_of_a_search() {
        let made_up = MadeUp::new(1, "least-fill: 0.5, jams-per-8h: 1000");
        let axis = (&Axis::loads(1..=3), false);
        let wrong = misjudged(700, axis, (&made_up, -1e-6), Verdict::Met);
        assert!(at_most(wrong, 700, 0.05), "{wrong} of 700");
    }

    /// So do the values of any other key, few or so many that the first scan is coarse, with values between that make no
    /// machine.
    #[test]
    fn values_of_any_key_share_the_error_of_a_search() {
        let made_up = MadeUp::new(1, "least-fill: 0.5, jams-per-8h: 1000");
        for axis in ["rpm=3..15/0.5", "circuit.lift.bore=16mm..24mm/0.1mm"] {
            let axis = Axis::parse(axis).expect("a range");
            let wrong = misjudged(300, (&axis, true), (&made_up, -1e-6), Verdict::Met);
            assert!(at_most(wrong, 300, 0.05), "{axis:?}: {wrong} of 300");
        }
    }

    /// Every look at a load has its share of the error, so that 5 % of searches at most call one broken that works. It takes
    /// many wheels for nearly as many to do so, since all criteria share what is left.
    #[test]
    fn looks_share_the_error_of_a_search() {
        let made_up = MadeUp::new(12, "least-fill: 0.5, jams-per-8h: 1000");
        let axis = (&Axis::loads(1..=1), false);
        let wrong = misjudged(1500, axis, (&made_up, 1e-6), Verdict::Broken);
        assert!(at_most(wrong, 1500, 0.05), "{wrong} of 1500");
    }

    /// All loads up to 32 are tried; of more, each is an eighth more than the one before: 20 * 1.12 = 22.4, 100 * 1.12 = 112.
    /// What is no load goes on by so much that 32 are tried.
    #[test]
    fn a_coarse_scan_goes_on_by_the_ratio_of_loads() {
        let few = search(Axis::loads(10..=41));
        assert_eq!((few.coarse_step(0), few.coarse_step(10)), (1, 11));
        let loads = search(Axis::loads(10..=209));
        assert_eq!((loads.coarse_step(10), loads.coarse_step(90)), (12, 102));
        let speeds = search(Axis::parse("rpm=4..13.9/0.1").expect("a range"));
        assert_eq!(speeds.axis.count, 100);
        assert_eq!((speeds.coarse_step(0), speeds.coarse_step(8)), (4, 12));
    }

    #[test]
    fn no_more_marbles_are_searched_than_there_is_room_for() {
        let mut circuit = MadeUp::new(1, "least-fill: 0.5").circuit;
        circuit.nodes[2].room = u32::MAX;
        let mut most = |marbles| {
            circuit.marbles = marbles;
            most_searched(&circuit)
        };
        assert_eq!([5, 50, 400].map(&mut most), [100, 200, 1000]);
        circuit.nodes.iter_mut().for_each(|plan| plan.room = 7);
        assert_eq!(most_searched(&circuit), 21);
        circuit.nodes.iter_mut().for_each(|plan| plan.room = 700);
        assert_eq!(most_searched(&circuit), 1000);
    }

    #[test]
    fn what_goes_wrong_first_is_that_there_is_no_machine() {
        let made_up = MadeUp::new(1, "least-fill: 0.5");
        let run = |fill| vec![made_up.run(0, |_| fill)];
        let mut value = TriedValue {
            position: 0,
            impossible: None,
            judgement: made_up.judge(&run(0.9), 0.95),
            runs: Runs::new(0),
            looks: 0,
        };
        assert_eq!(first_wrong(&value), None);
        value.judgement = made_up.judge(&run(0.4), 0.95);
        assert_eq!(first_wrong(&value), Some(Some(Criterion::Fill(1))));
        value.impossible = Some("no such machine".to_owned());
        assert_eq!(first_wrong(&value), Some(None));
    }
}
