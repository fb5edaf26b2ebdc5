//! What is counted of many runs, run by run: how often each thing happened, and a run to look at for it.

use std::collections::BTreeMap;

use super::figures::{ElementFigures, RunFigures};
use super::summary::LEVEL;
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::Cause;
use crate::engine::Outcome;
use crate::engine::outcome::Lock;
use crate::stats::Estimate;
use crate::stats::proportion::clopper_pearson;
use crate::stats::survival::Observation;

/// In how many runs something happened, and the number of the first of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Times {
    /// Runs in which it happened.
    pub runs: u64,
    /// The first of them.
    pub first: Option<u64>,
}

impl Times {
    fn note(&mut self, happened: bool, run: u64) {
        if happened {
            self.runs += 1;
            self.first.get_or_insert(run);
        }
    }
}

/// What stopped marbles in a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stop {
    /// A jam at an element that needed somebody.
    Jam(usize, Cause),
    /// No marble could ever move again.
    Gridlocked,
    /// No marble was on its way any more.
    RanDry,
}

/// Of so many first runs it is kept how they ended: those that are watched again for the charts.
pub const FIRST: usize = 40;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ended {
    /// The run's number.
    pub run: u64,
    /// How.
    pub outcome: Outcome,
    /// When, seconds.
    pub end_s: f64,
}

/// Counts over runs. It takes as much memory for a million runs as for a hundred, but for the times to the first jam: 24
/// bytes for each run that jams.
#[derive(Clone, Debug, PartialEq)]
pub struct RunTotals {
    start: usize,
    /// Runs counted.
    pub runs: u64,
    /// How the first of them ended.
    pub first: Vec<Ended>,
    outcomes: BTreeMap<Outcome, u64>,
    /// Runs that lock up for good, as a whole or in a part.
    pub locked_up: Times,
    /// Runs in which a part locks up while the rest goes on.
    pub locked_in_part: Times,
    /// The earliest lock of a part, seconds, with its run.
    pub earliest_lock: Option<(u64, Lock)>,
    /// Runs in which every marble comes to rest.
    pub ran_dry: Times,
    /// Runs with a jam.
    pub jammed: Times,
    /// The earliest jam of all, seconds, with its run.
    pub earliest_jam: Option<(f64, u64)>,
    /// The longest time to a first jam, seconds; 0 without jams.
    pub latest_first_jam_s: f64,
    /// Whether every jam is a stall.
    pub only_stalls: bool,
    /// Runs that lose marbles.
    pub spilled: Times,
    /// Runs in which some marbles find no room to be poured in.
    pub without_room: Times,
    /// Runs in which something went wrong that a maker has to fix.
    pub went_wrong: Times,
    /// Runs in which no marble came round.
    pub without_a_lap: u64,
    /// Runs in which some marbles never left the hand.
    pub never_poured_in: u64,
    /// Most marbles that had to wait in the hand.
    pub waited_in_hand: u32,
    /// When the last marble of the slowest run was poured in, seconds, of runs where all were.
    pub last_poured_s: Option<f64>,
    /// Runs by all that stopped marbles in them.
    stops: BTreeMap<Vec<Stop>, u64>,
    /// Jams of each cause.
    jams: BTreeMap<(usize, Cause), JamTally>,
    /// The elements, in the order of the file.
    pub elements: Vec<ElementTally>,
    /// Time to the first jam, and how many runs one after another have the same.
    first_jams: Vec<(Observation, u64)>,
}

/// Counts of one element.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ElementTally {
    /// Runs in which marbles went over its side.
    pub spilled: Times,
    /// Marbles lost over its side.
    pub spills: u64,
    /// When that first happened, seconds, with its run.
    pub first_spill: Option<(f64, u64)>,
    /// Runs in which marbles found no place in it.
    pub held: Times,
    /// The deepest backlog, with its run: the last of equal ones.
    pub peak: Option<(f64, u64)>,
    /// The largest backlog not exceeded 95 % of the time, with its run.
    pub backlog_p95: Option<(f64, u64)>,
    /// The least fill of a wheel, with its run.
    pub fill: Option<(f64, u64)>,
}

/// Jams of one cause at one element.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct JamTally {
    /// Jams in all.
    pub count: u64,
    /// The earliest.
    pub earliest: Nanos,
    /// Its run.
    pub run: u64,
}

impl RunTotals {
    /// Nothing is counted yet; marbles are poured in at element `start`.
    pub fn new(start: usize) -> Self {
        RunTotals {
            start,
            runs: 0,
            first: Vec::new(),
            outcomes: BTreeMap::new(),
            locked_up: Times::default(),
            locked_in_part: Times::default(),
            earliest_lock: None,
            ran_dry: Times::default(),
            jammed: Times::default(),
            earliest_jam: None,
            latest_first_jam_s: 0.0,
            only_stalls: true,
            spilled: Times::default(),
            without_room: Times::default(),
            went_wrong: Times::default(),
            without_a_lap: 0,
            never_poured_in: 0,
            waited_in_hand: 0,
            last_poured_s: None,
            stops: BTreeMap::new(),
            jams: BTreeMap::new(),
            elements: Vec::new(),
            first_jams: Vec::new(),
        }
    }

    /// The counts of `runs`.
    pub fn of(start: usize, runs: &[RunFigures]) -> Self {
        let mut totals = RunTotals::new(start);
        for run in runs {
            totals.add(run);
        }
        totals
    }

    /// Counts one run more; runs come in the order of their numbers.
    pub fn add(&mut self, run: &RunFigures) {
        let number = run.run;
        self.runs += 1;
        if self.first.len() < FIRST {
            self.first.push(Ended {
                run: number,
                outcome: run.outcome,
                end_s: run.end_s,
            });
        }
        *self.outcomes.entry(run.outcome).or_default() += 1;
        self.locked_up.note(run.locks_up(), number);
        self.locked_in_part.note(!run.locks.is_empty(), number);
        self.ran_dry.note(run.outcome == Outcome::RanDry, number);
        self.jammed.note(!run.jams.is_empty(), number);
        self.spilled.note(run.spills() > 0, number);
        self.without_room.note(run.left_in_hand > 0, number);
        self.went_wrong.note(run.went_wrong(self.start), number);
        self.without_a_lap += u64::from(run.lap_s.is_none());
        self.never_poured_in += u64::from(run.poured_in_s.is_none());
        self.waited_in_hand = self.waited_in_hand.max(run.waited_in_hand);
        if run.poured_in_s > self.last_poured_s {
            self.last_poured_s = run.poured_in_s;
        }
        if let Some(lock) = run.locks.first() {
            match self.earliest_lock {
                Some((_, earliest)) if earliest.time <= lock.time => {}
                _ => self.earliest_lock = Some((number, *lock)),
            }
        }
        self.add_jams(run);
        self.elements
            .resize_with(run.elements.len(), ElementTally::default);
        for (totals, element) in self.elements.iter_mut().zip(&run.elements) {
            totals.add(element, number);
        }
    }

    fn add_jams(&mut self, run: &RunFigures) {
        let first_jam_s = run.first_jam_s();
        least(&mut self.earliest_jam, first_jam_s, run.run);
        self.latest_first_jam_s = self.latest_first_jam_s.max(first_jam_s.unwrap_or(0.0));
        let observed = run.time_to_jam_h();
        match self.first_jams.last_mut() {
            Some((last, runs)) if *last == observed => *runs += 1,
            _ => self.first_jams.push((observed, 1)),
        }
        let mut stops: Vec<Stop> = run
            .jams
            .iter()
            .map(|jam| Stop::Jam(jam.node, jam.cause))
            .collect();
        match run.outcome {
            Outcome::Gridlocked => stops.push(Stop::Gridlocked),
            Outcome::RanDry => stops.push(Stop::RanDry),
            Outcome::Ran | Outcome::Jammed => {}
        }
        if !stops.is_empty() {
            stops.sort_unstable();
            stops.dedup();
            *self.stops.entry(stops).or_default() += 1;
        }
        for jam in &run.jams {
            self.only_stalls &= jam.cause == Cause::Stall;
            let new = JamTally {
                count: 0,
                earliest: jam.first,
                run: run.run,
            };
            let totals = self.jams.entry((jam.node, jam.cause)).or_insert(new);
            totals.count += jam.count;
            if jam.first < totals.earliest {
                (totals.earliest, totals.run) = (jam.first, run.run);
            }
        }
    }

    /// Runs that ended so.
    pub fn ended(&self, outcome: Outcome) -> u64 {
        self.outcomes.get(&outcome).copied().unwrap_or(0)
    }

    /// The share of all runs that so many are, with its exact interval.
    pub fn share(&self, runs: u64) -> Estimate {
        clopper_pearson(runs, self.runs, LEVEL)
    }

    /// Whether every run ended of a jam, the last within `limit_s` seconds.
    pub fn all_jam_within(&self, limit_s: f64) -> bool {
        let all = self.runs > 0
            && self.ended(Outcome::Jammed) == self.runs
            && self.jammed.runs == self.runs;
        all && self.latest_first_jam_s < limit_s
    }

    /// Everything that ever stopped marbles.
    pub fn all_stops(&self) -> Vec<Stop> {
        let mut all: Vec<Stop> = self.stops.keys().flatten().copied().collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// Runs in which any of what `is` holds of stopped marbles.
    pub fn stopped_by(&self, is: impl Fn(&Stop) -> bool) -> u64 {
        self.stops
            .iter()
            .filter(|(stops, _)| stops.iter().any(&is))
            .map(|(_, runs)| runs)
            .sum()
    }

    /// Jams of one cause at element `node`; `None` without any.
    pub fn jams(&self, node: usize, cause: Cause) -> Option<JamTally> {
        self.jams.get(&(node, cause)).copied()
    }

    /// Time to the first jam of each run in hours, censored at its end where there was none.
    pub fn first_jams(&self) -> Vec<Observation> {
        let mut all = Vec::with_capacity(self.runs as usize);
        for &(observed, runs) in &self.first_jams {
            all.resize(all.len() + runs as usize, observed);
        }
        all
    }
}

impl ElementTally {
    fn add(&mut self, element: &ElementFigures, run: u64) {
        self.spilled.note(element.spills > 0, run);
        self.spills += element.spills;
        least(&mut self.first_spill, element.first_spill_s, run);
        self.held.note(element.refused > 0, run);
        match self.peak {
            Some((peak, _)) if peak > element.backlog_peak => {}
            _ => self.peak = Some((element.backlog_peak, run)),
        }
        match (self.backlog_p95, element.backlog_p95) {
            (_, None) => {}
            (Some((most, _)), Some(p95)) if p95 <= most => {}
            (_, Some(p95)) => self.backlog_p95 = Some((p95, run)),
        }
        least(&mut self.fill, element.fill(), run);
    }
}

/// Keeps the least of a figure that exists, and the first run that shows it.
fn least(known: &mut Option<(f64, u64)>, figure: Option<f64>, run: u64) {
    match (*known, figure) {
        (_, None) => {}
        (Some((least, _)), Some(figure)) if least <= figure => {}
        (_, Some(figure)) => *known = Some((figure, run)),
    }
}

impl JamTally {
    /// When the earliest happened, seconds.
    pub fn earliest_s(&self) -> f64 {
        seconds(self.earliest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::outcome::Jam;
    use crate::findings::made_up::MadeUp;

    /// Three runs with two, three and one pinches at a wheel, the earliest twice at the same time.
    #[test]
    fn jams_are_added_up_and_the_first_of_the_earliest_is_named() {
        let made_up = MadeUp::new(1, "least-fill: 0.5");
        let run = |n: u32, count, first_s: u64, p95, fill| {
            let mut run = made_up.run(n, |_| fill);
            let pinch = Jam {
                node: 1,
                cause: Cause::Pinch,
                first: first_s * 1_000_000_000,
                count,
            };
            run.jams = vec![
                pinch,
                Jam {
                    node: 0,
                    count: 1,
                    ..pinch
                },
            ];
            run.elements[0].backlog_p95 = Some(p95);
            run
        };
        let runs = [
            run(10, 2, 5, 2.0, 0.6),
            run(11, 3, 3, 5.0, 0.4),
            run(12, 1, 3, 5.0, 0.4),
            run(13, 1, 4, 4.0, 0.5),
        ];
        let totals = RunTotals::of(0, &runs);
        let jams = totals.jams(1, Cause::Pinch).expect("jams");
        assert_eq!((jams.count, jams.run, jams.earliest_s()), (7, 11, 3.0));
        assert_eq!(totals.jams(0, Cause::Pinch).map(|jams| jams.count), Some(4));
        assert_eq!(totals.jams(1, Cause::Arch), None);
        assert_eq!(totals.earliest_jam, Some((3.0, 11)));
        assert_eq!(totals.elements[0].backlog_p95, Some((5.0, 11)));
        assert_eq!(totals.elements[1].fill, Some((0.4, 11)));
        assert_eq!(totals.stopped_by(|stop| *stop == Stop::RanDry), 0);
        assert_eq!(totals.latest_first_jam_s, 5.0);
    }
}
