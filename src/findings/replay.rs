//! One run replayed with everything kept: what happened and why, how many were where and when, and who waited.

use super::trace::Trace;
use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Cause;
use crate::engine::watch::{TraceEvent, TraceRecord, Watcher};
use crate::engine::{RunResult, simulate};

/// Which run of which study.
#[derive(Clone, Copy, Debug)]
pub struct RunId {
    /// The seed.
    pub seed: u64,
    /// The run's number.
    pub run: u64,
    /// Machine time it was given.
    pub horizon: Nanos,
}

/// One run with everything kept.
#[derive(Clone, Debug)]
pub struct Replay {
    /// Which run it is.
    pub id: RunId,
    /// What it counted.
    pub result: RunResult,
    /// What happened, and what caused it.
    pub trace: Trace,
    /// Marbles inside each element over time; the last is the maker's hand.
    pub held: Vec<Level>,
    /// Marbles waiting in each element over time; the last is the maker's hand.
    pub waiting: Vec<Level>,
    /// Every stay of a marble in an element, in order of entry.
    pub stays: Vec<Stay>,
    /// By marble: which stays are its own.
    by_marble: Vec<Vec<usize>>,
    /// How many waited at the element when marbles wedged there, by the place of that in the trace.
    met: Vec<(usize, u32)>,
}

/// A number over time: each change and what it was from then on.
#[derive(Clone, Debug, Default)]
pub struct Level(Vec<(Nanos, u32)>);

/// A marble's stay in an element.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stay {
    /// The marble.
    pub marble: u32,
    /// The element.
    pub node: usize,
    /// Where it came from.
    pub from: usize,
    /// When it came in.
    pub enter: Nanos,
    /// In the course of which event.
    pub event: u64,
    /// When it came to stand at the exit; `None` where it went straight on or never came so far.
    pub queued: Option<Nanos>,
    /// When it left; `None` where it was inside at the end.
    pub leave: Option<Nanos>,
    /// Where it went; `None` where it was lost or inside at the end.
    pub to: Option<usize>,
}

impl Stay {
    /// When it came to the exit; `None` where it never did.
    pub fn reach(&self) -> Option<Nanos> {
        self.queued.or(self.leave)
    }
}

/// Where a marble is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarblePlace<'r> {
    /// Not yet poured in.
    Hand,
    /// In an element.
    In(&'r Stay),
    /// Over the side.
    Lost,
}

impl Level {
    fn set(&mut self, time: Nanos, value: u32) {
        match self.0.last_mut() {
            Some(last) if last.0 == time => last.1 = value,
            _ => self.0.push((time, value)),
        }
    }

    fn change(&mut self, time: Nanos, by: i32) {
        self.set(time, self.last().saturating_add_signed(by));
    }

    fn last(&self) -> u32 {
        self.0.last().map_or(0, |last| last.1)
    }

    /// The number once all of `time` has happened.
    pub fn at(&self, time: Nanos) -> u32 {
        let passed = self.0.partition_point(|change| change.0 <= time);
        passed.checked_sub(1).map_or(0, |n| self.0[n].1)
    }

    /// Since when it has been at least `value` at `time`; `None` where it is not.
    pub fn since(&self, time: Nanos, value: u32) -> Option<Nanos> {
        let passed = self.0.partition_point(|change| change.0 <= time);
        let reached = self.0[..passed]
            .iter()
            .rev()
            .take_while(|change| change.1 >= value)
            .last()?;
        Some(reached.0)
    }

    /// The last change to `value` or less at or before `time`; 0 where it was never so low.
    pub fn last_low(&self, time: Nanos, value: u32) -> Nanos {
        let passed = self.0.partition_point(|change| change.0 <= time);
        let low = self.0[..passed]
            .iter()
            .rposition(|change| change.1 <= value);
        // It was so low until the change after.
        low.map_or(0, |n| {
            self.0.get(n + 1).map_or(time, |next| next.0.min(time))
        })
    }

    /// When it first was at least `value`, for any length of time.
    pub fn first_high(&self, value: u32) -> Option<Nanos> {
        self.0
            .iter()
            .find(|change| change.1 >= value)
            .map(|change| change.0)
    }

    /// The highest it was for any length of time.
    pub fn highest(&self) -> u32 {
        self.0.iter().map(|change| change.1).max().unwrap_or(0)
    }

    /// The stretches from `from` to `to` in which it was at least `value`.
    pub fn stretches(&self, value: u32, from: Nanos, to: Nanos) -> Vec<(Nanos, Nanos)> {
        let ends = self
            .0
            .iter()
            .skip(1)
            .map(|change| change.0)
            .chain([Nanos::MAX]);
        let high = self
            .0
            .iter()
            .zip(ends)
            .filter(|(change, _)| change.1 >= value);
        let cut = high
            .map(|(change, end)| (change.0.max(from), end.min(to)))
            .filter(|(begin, end)| begin < end);
        let mut joined: Vec<(Nanos, Nanos)> = Vec::new();
        for (begin, end) in cut {
            match joined.last_mut() {
                Some(last) if last.1 == begin => last.1 = end,
                _ => joined.push((begin, end)),
            }
        }
        joined
    }
}

impl Replay {
    /// Replays a run; it is the same as without watching.
    pub fn of(circuit: &Circuit, id: RunId) -> Self {
        let mut recorder = Recorder::new(circuit);
        let result = simulate(circuit, id.seed, id.run, id.horizon, &mut recorder);
        recorder.replay(id, result)
    }

    /// The replay of a minute in which this is seen, in the course of one event at each instant, and so many wait.
    #[cfg(test)]
    pub fn made_up(
        circuit: &Circuit,
        seen: &[(Nanos, TraceEvent)],
        waiting: &[(Nanos, usize, u32)],
    ) -> Self {
        let id = RunId {
            seed: 1,
            run: 0,
            horizon: 60_000_000_000,
        };
        let mut recorder = Recorder::new(circuit);
        for &(time, node, waiting) in waiting {
            recorder.waiting(time, node, waiting);
        }
        for &(time, what) in seen {
            let event = time;
            recorder.see(TraceRecord { time, event, what });
        }
        let result = simulate(circuit, id.seed, id.run, id.horizon, &mut ());
        recorder.replay(id, result)
    }

    /// How many waited when marbles wedged, at the place `at` of the trace.
    pub fn met(&self, at: usize) -> u32 {
        self.met
            .iter()
            .find(|(place, _)| *place == at)
            .map_or(0, |met| met.1)
    }

    /// The stays of `marble`, one after the other.
    pub fn stays_of(&self, marble: usize) -> impl DoubleEndedIterator<Item = &Stay> {
        self.by_marble[marble].iter().map(|&n| &self.stays[n])
    }

    /// Where `marble` is at `time`; of several places at the same instant, the last.
    pub fn place(&self, marble: usize, time: Nanos) -> MarblePlace<'_> {
        match self.stays_of(marble).rfind(|stay| stay.enter <= time) {
            None => MarblePlace::Hand,
            Some(stay) if stay.to.is_none() && stay.leave.is_some_and(|left| left <= time) => {
                MarblePlace::Lost
            }
            Some(stay) => MarblePlace::In(stay),
        }
    }

    /// Marbles that wedged, in order of time: when, where and how.
    pub fn blockages(&self) -> impl DoubleEndedIterator<Item = (Nanos, usize, Cause)> {
        self.trace.seen.iter().filter_map(|seen| match seen.what {
            TraceEvent::Blocked { node, cause } => Some((seen.time, node, cause)),
            _ => None,
        })
    }

    /// What was seen from `from` to `to`.
    pub fn between(&self, from: Nanos, to: Nanos) -> &[TraceRecord] {
        let seen = &self.trace.seen;
        let begin = seen.partition_point(|s| s.time < from);
        let end = seen.partition_point(|s| s.time <= to);
        &seen[begin..end.max(begin)]
    }

    /// Who refuses the head of `node` at `time`, and since when.
    pub fn refused_by(&self, node: usize, time: Nanos) -> Option<(usize, Nanos)> {
        let last = self
            .between(0, time)
            .iter()
            .rev()
            .find_map(|seen| match seen.what {
                TraceEvent::Refused { from, by, .. } if from == node => Some(Some((by, seen.time))),
                TraceEvent::Moved { from, .. } | TraceEvent::Spilled { from, .. }
                    if from == node =>
                {
                    Some(None)
                }
                _ => None,
            });
        last.flatten()
    }
}

/// Collects a [`Replay`] while a run goes on.
#[derive(Debug)]
struct Recorder {
    trace: Trace,
    held: Vec<Level>,
    waiting: Vec<Level>,
    stays: Vec<Stay>,
    by_marble: Vec<Vec<usize>>,
    met: Vec<(usize, u32)>,
}

impl Recorder {
    fn new(circuit: &Circuit) -> Self {
        let places = circuit.nodes.len() + 1;
        let mut held = vec![Level::default(); places];
        held[places - 1].set(0, circuit.marbles);
        Recorder {
            trace: Trace::default(),
            held,
            waiting: vec![Level::default(); places],
            stays: Vec::new(),
            by_marble: vec![Vec::new(); circuit.marbles as usize],
            met: Vec::new(),
        }
    }

    /// The stay that `marble` is in; `None` while it is in the hand.
    fn open(&mut self, marble: u32) -> Option<&mut Stay> {
        let last = *self.by_marble[marble as usize].last()?;
        self.stays.get_mut(last)
    }

    fn leave(&mut self, marble: u32, from: usize, to: Option<usize>, time: Nanos) {
        self.held[from].change(time, -1);
        if let Some(stay) = self.open(marble) {
            stay.leave = Some(time);
            stay.to = to;
        }
    }

    fn replay(self, id: RunId, result: RunResult) -> Replay {
        let Recorder {
            trace,
            held,
            waiting,
            stays,
            by_marble,
            met,
        } = self;
        Replay {
            id,
            result,
            trace,
            held,
            waiting,
            stays,
            by_marble,
            met,
        }
    }

    fn enter(&mut self, stay: Stay) {
        self.held[stay.node].change(stay.enter, 1);
        self.by_marble[stay.marble as usize].push(self.stays.len());
        self.stays.push(stay);
    }
}

impl Watcher for Recorder {
    fn see(&mut self, seen: TraceRecord) {
        match seen.what {
            TraceEvent::Moved { marble, from, to } => {
                self.leave(marble, from, Some(to), seen.time);
                self.enter(Stay {
                    marble,
                    node: to,
                    from,
                    enter: seen.time,
                    event: seen.event,
                    queued: None,
                    leave: None,
                    to: None,
                });
            }
            TraceEvent::Spilled { marble, from, .. } => self.leave(marble, from, None, seen.time),
            TraceEvent::Queued { marble, .. } => {
                if let Some(stay) = self.open(marble) {
                    stay.queued = Some(seen.time);
                }
            }
            TraceEvent::Blocked { node, .. } => {
                let waiting = self.waiting[node].last();
                self.met.push((self.trace.seen.len(), waiting));
            }
            _ => {}
        }
        self.trace.see(seen);
    }

    fn scheduled(&mut self, event: u64, cause: u64) {
        self.trace.scheduled(event, cause);
    }

    fn waiting(&mut self, time: Nanos, node: usize, waiting: u32) {
        self.waiting[node].set(time, waiting);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::made_up::MadeUp;

    #[test]
    fn a_level_tells_since_when_and_for_how_long() {
        let mut level = Level::default();
        for (time, value) in [(0, 1), (10, 3), (20, 2), (20, 4), (30, 0)] {
            level.set(time, value);
        }
        assert_eq!(
            [level.at(9), level.at(10), level.at(20), level.at(99)],
            [1, 3, 4, 0]
        );
        assert_eq!(
            (level.since(25, 3), level.since(25, 5), level.since(30, 1)),
            (Some(10), None, None)
        );
        assert_eq!((level.last_low(25, 1), level.last_low(25, 0)), (10, 0));
        assert_eq!(
            (level.first_high(4), level.first_high(5), level.highest()),
            (Some(20), None, 4)
        );
        assert_eq!(level.stretches(3, 0, 25), [(10, 25)]);
    }

    /// What lasts no time is no stretch, neither where it is asked from nor where it is asked to.
    #[test]
    fn stretches_last() {
        let mut level = Level::default();
        for (time, value) in [(0, 5), (10, 0), (20, 5), (30, 6), (40, 0)] {
            level.set(time, value);
        }
        assert_eq!(level.stretches(3, 10, 20), []);
        assert_eq!(level.stretches(3, 5, 35), [(5, 10), (20, 35)]);
    }

    /// Marble 0 leaves element 0 at 10 s for element 1, where it is refused at 20 s; marble 1 comes into element 0 at 5 s and
    /// is refused by element 2 at 12 s.
    fn made_up() -> Replay {
        let made_up = MadeUp::new(1, "least-fill: 0.5");
        let (hand, s) = (made_up.circuit.nodes.len(), 1_000_000_000);
        let moved = |marble, from, to| TraceEvent::Moved { marble, from, to };
        let refused = |marble, from, by| TraceEvent::Refused { marble, from, by };
        Replay::made_up(
            &made_up.circuit,
            &[
                (0, moved(0, hand, 0)),
                (5 * s, moved(1, hand, 0)),
                (10 * s, moved(0, 0, 1)),
                (12 * s, refused(1, 0, 2)),
                (20 * s, refused(0, 1, 2)),
                (22 * s, moved(2, hand, 0)),
            ],
            &[],
        )
    }

    #[test]
    fn a_marble_that_moves_on_is_one_fewer() {
        let replay = made_up();
        let s = 1_000_000_000;
        let held = |n: usize| [0, 5, 10].map(|time| replay.held[n].at(time * s));
        assert_eq!(
            (held(0), held(1), held(3)),
            ([1, 2, 1], [0, 0, 1], [4, 3, 3])
        );
    }

    #[test]
    fn who_refuses_an_element_is_who_refused_its_own_head_last() {
        let replay = made_up();
        let s = 1_000_000_000;
        assert_eq!(replay.refused_by(0, 11 * s), None);
        assert_eq!(replay.refused_by(0, 30 * s), Some((2, 12 * s)));
        assert_eq!(replay.refused_by(1, 19 * s), None);
        assert_eq!(replay.refused_by(1, 30 * s), Some((2, 20 * s)));
        assert_eq!(replay.refused_by(2, 30 * s), None);
    }
}
