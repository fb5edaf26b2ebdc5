//! The workable window: the least and the most marbles with which a machine works at its speed.
//!
//! The loads share their random numbers (the same seed, runs and streams). A coarse scan comes first; wherever neighbours differ, the
//! load half-way is tried, down to neighbouring loads; and loads of which the runs are not yet sure get more runs, up to the
//! budget. Nothing takes workability to be monotone: a load that fails between loads that work is a hole, and is named.
//!
//! **The error rate.** The chance that any load at all of those searched is called workable although it is not, or broken
//! although it works (see [`crate::findings::workable`]), is at most [`Search::error`]: each of the loads `from` to `to` has an
//! equal share of it (Bonferroni), whether it is tried or not, so that what is tried may depend on what was seen; and each
//! look at a load takes a part of its share.

use std::ops::Range;

use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, seconds};
use crate::findings::workable::{Criterion, Judgement, Verdict, judge_all, runs_needed};
use crate::findings::{RunFigures, Runs};
use crate::machine::model::Workable;

use super::found_window::{TriedLoad, Window, WindowEdge};
use super::looks::{Look, few, half_way};
use super::repeat::{Study, repeat_each};

/// So many loads are all tried at once; of more, a coarse scan.
const ALL_TRIED: u32 = 32;
/// From load to load in a coarse scan, at least a marble.
const COARSE: f64 = 1.12;
/// The most loads searched where the circuit sets no bound.
const MOST_SEARCHED: u32 = 1000;

/// Judges runs at a confidence.
type Judge<'a> = dyn Fn(&Runs, f64) -> Judgement + 'a;
/// Makes runs, by number, of loads.
type Make<'a> = dyn Fn(&[(u32, Range<u32>)]) -> Vec<Vec<RunFigures>> + 'a;

/// What to search, and how surely.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Search {
    /// The least load searched.
    pub from: u32,
    /// The most.
    pub to: u32,
    /// The budget: most runs of each load.
    pub runs: u32,
    /// The seed.
    pub seed: u64,
    /// Machine time of each run.
    pub horizon: Nanos,
    /// The chance that any load is misjudged.
    pub error: f64,
}

/// Runs of a load that are made in one go, and how many such parts are at once: more would only fill the memory.
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

impl Search {
    /// Searches the loads of `circuit`; `done` is called once a run, `planned` with the number of runs about to be made.
    pub fn window(
        &self,
        circuit: &Circuit,
        workable: &Workable,
        planned: impl Fn(u64),
        done: impl Fn() + Sync,
    ) -> Window {
        let made = |jobs: &[(u32, Range<u32>)]| {
            planned(jobs.iter().map(|(_, runs)| runs.len() as u64).sum());
            let of = |(marbles, runs): &(u32, Range<u32>)| {
                (
                    Circuit {
                        marbles: *marbles,
                        ..circuit.clone()
                    },
                    runs.clone(),
                )
            };
            let study = Study {
                seed: self.seed,
                horizon: self.horizon,
            };
            repeat_each(&jobs.iter().map(of).collect::<Vec<_>>(), &study, &done)
        };
        self.search(
            (
                &|runs, level| judge_all(circuit, workable, runs, level),
                circuit.start,
            ),
            &made,
        )
    }

    /// The search, whoever makes the runs of each load and whatever judges them.
    fn search(&self, (judged, start): (&Judge, usize), made: &Make) -> Window {
        let mut tried: Vec<TriedLoad> = Vec::new();
        let mut wanted = self.coarse();
        loop {
            for marbles in wanted {
                let at = tried.partition_point(|load| load.marbles < marbles);
                let runs = Runs::new(start);
                tried.insert(
                    at,
                    TriedLoad {
                        marbles,
                        judgement: judged(&runs, 1.0),
                        runs,
                        looks: 0,
                    },
                );
            }
            let due = tried.iter().filter(|load| self.next_look(load).is_some());
            let Some(fewest) = due.map(|load| load.looks).min() else {
                break;
            };
            self.look(&mut tried, fewest, judged, made);
            wanted = self.between_unlike(&tried);
        }
        let runs = tried.iter().map(|load| load.runs.count() as u64).sum();
        let least = WindowEdge::least(self.from, &tried);
        let most = WindowEdge::most(self.to, &tried);
        Window {
            tried,
            least,
            most,
            runs,
        }
    }

    /// The fewest runs of a load that can show it to work.
    pub fn runs_needed(&self, workable: &Workable) -> u32 {
        let [.., last] = few(self.runs);
        let error = self.load_error() * last.error_share;
        runs_needed(workable, seconds(self.horizon) / 3600.0, error)
    }

    fn load_error(&self) -> f64 {
        self.error / f64::from(self.to - self.from + 1)
    }

    /// The next look at a load whose runs are not yet sure.
    fn next_look(&self, load: &TriedLoad) -> Option<Look> {
        let unsure = load.judgement.verdict() == Verdict::Unsure;
        few(self.runs).get(load.looks).copied().filter(|_| unsure)
    }

    /// The loads of the first scan.
    fn coarse(&self) -> Vec<u32> {
        let (mut all, mut next) = (Vec::new(), self.from);
        let fine = self.to - self.from < ALL_TRIED;
        while next < self.to {
            all.push(next);
            next = if fine {
                next + 1
            } else {
                (next + 1).max((f64::from(next) * COARSE).round() as u32)
            };
        }
        all.push(self.to);
        all
    }

    /// Gives every load that is due its next look, if it has had the fewest so far.
    fn look(&self, tried: &mut [TriedLoad], fewest: usize, judged: &Judge, made: &Make) {
        let Look { runs, error_share } = few(self.runs)[fewest];
        let level = 1.0 - error_share * self.load_error();
        let mut due: Vec<&mut TriedLoad> = tried
            .iter_mut()
            .filter(|load| load.looks == fewest && self.next_look(load).is_some())
            .collect();
        let part = |n: usize, from: u32| (n, from..from.saturating_add(PART).min(runs));
        let of = |(n, load): (usize, &&mut TriedLoad)| {
            (load.runs.count() as u32..runs)
                .step_by(PART as usize)
                .map(move |from| part(n, from))
        };
        let parts: Vec<(usize, Range<u32>)> = due.iter().enumerate().flat_map(of).collect();
        for together in parts.chunks(TOGETHER) {
            let jobs: Vec<_> = together
                .iter()
                .map(|(n, runs)| (due[*n].marbles, runs.clone()))
                .collect();
            for ((n, _), more) in together.iter().zip(made(&jobs)) {
                due[*n].runs.extend(more);
            }
        }
        for load in due {
            load.looks += 1;
            load.judgement = judged(&load.runs, level);
        }
    }

    /// The loads half-way between tried neighbours that are not alike: something else goes wrong first, or the runs, all
    /// made, are sure of one and not of the other.
    fn between_unlike(&self, tried: &[TriedLoad]) -> Vec<u32> {
        let known: Vec<(u32, &TriedLoad)> = tried.iter().map(|load| (load.marbles, load)).collect();
        half_way(&known, |a, b| {
            let done = self.next_look(a).is_none() && self.next_look(b).is_none();
            first_wrong(&a.judgement) != first_wrong(&b.judgement)
                || (done && a.judgement.verdict() != b.judgement.verdict())
        })
    }
}

/// What goes wrong first, as far as is known; `None` where all seems well.
fn first_wrong(judgement: &Judgement) -> Option<Criterion> {
    judgement.first_wrong().map(|result| result.criterion)
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use super::*;
    use crate::findings::made_up::{MadeUp, at_most, normal, random};
    use crate::machine::model::Unset;

    const SEARCH: Search = Search {
        from: 1,
        to: 20,
        runs: 200,
        seed: 1,
        horizon: 1,
        error: 0.05,
    };

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
            ..SEARCH
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
        assert!(
            Search {
                to: MOST_SEARCHED,
                ..SEARCH
            }
            .runs_needed(&calm)
                <= 200
        );
    }

    /// How many of so many searches of loads 1 to `to` say `untrue` of any, where each wheel's fill in each run is normal
    /// about a hair beside the limit.
    fn misjudged(
        searches: u64,
        to: u32,
        (made_up, beside): (&MadeUp, f64),
        untrue: Verdict,
    ) -> u64 {
        let wrong = |search: &u64| {
            let random = RefCell::new(random(*search));
            let made = |jobs: &[(u32, Range<u32>)]| {
                let fill = |_| 0.5 + beside + 0.05 * normal(&mut random.borrow_mut());
                let runs = |(_, runs): &(u32, Range<u32>)| {
                    runs.clone().map(|n| made_up.run(n, fill)).collect()
                };
                jobs.iter().map(runs).collect()
            };
            let judged =
                |runs: &Runs, level| judge_all(&made_up.circuit, &made_up.workable, runs, level);
            let window = Search { to, ..SEARCH }.search((&judged, made_up.circuit.start), &made);
            window
                .tried
                .iter()
                .any(|load| load.judgement.verdict() == untrue)
        };
        let wrong = (0..searches).filter(wrong).count() as u64;
        println!("{wrong} of {searches} searches misjudge a load");
        wrong
    }

    /// Every load has its share of the error, so that 5 % of searches at most call any workable that is not; nearly as many
    /// do, since nothing but the fill is near its limit. With the whole error for each load one in eight would.
    #[test]
    fn loads_share_the_error_of_a_search() {
        let made_up = MadeUp::new(1, "least-fill: 0.5, jams-per-8h: 1000");
        let wrong = misjudged(700, 3, (&made_up, -1e-6), Verdict::Met);
        assert!(at_most(wrong, 700, SEARCH.error), "{wrong} of 700");
    }

    /// Every look at a load has its share of the error, so that 5 % of searches at most call one broken that works. It takes
    /// many wheels for nearly as many to do so, since all criteria share what is left.
    #[test]
    fn looks_share_the_error_of_a_search() {
        let made_up = MadeUp::new(12, "least-fill: 0.5, jams-per-8h: 1000");
        let wrong = misjudged(1500, 1, (&made_up, 1e-6), Verdict::Broken);
        assert!(at_most(wrong, 1500, SEARCH.error), "{wrong} of 1500");
    }
}
