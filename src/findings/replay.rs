//! One run replayed with everything kept: what happened and why, how many were where and when, and who waited.

use std::collections::VecDeque;

use super::trace::Trace;
use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Role;
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
    /// What it counted.
    pub result: RunResult,
    /// What happened, and what caused it.
    pub trace: Trace,
    /// Marbles inside each element over time; the last is the maker's hand.
    pub held: Vec<Level>,
    /// Marbles waiting in each element over time; the last is the maker's hand.
    pub waiting: Vec<Level>,
    /// Every stay of a marble in an element, in order of entry.
    pub visits: Vec<Stay>,
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
    /// When it came to the exit and had to wait there; its leaving where it did not wait, `None` where it never did.
    ///
    /// Whoever comes first leaves first, which is exact but for a bowl's several holes.
    pub reach: Option<Nanos>,
    /// When it left; `None` where it was inside at the end.
    pub leave: Option<Nanos>,
    /// Where it went; `None` where it was lost or inside at the end.
    pub to: Option<usize>,
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
    pub fn of(circuit: &Circuit, which: RunId) -> Self {
        let mut recorder = Recorder::new(circuit);
        let result = simulate(circuit, which.seed, which.run, which.horizon, &mut recorder);
        recorder.finish(result)
    }

    /// How many waited when marbles wedged, at the place `at` of the trace.
    pub fn met(&self, at: usize) -> u32 {
        self.met
            .iter()
            .find(|(place, _)| *place == at)
            .map_or(0, |met| met.1)
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
    visits: Vec<Stay>,
    /// The stay of each marble that goes on.
    inside: Vec<Option<usize>>,
    /// When those waiting in each element began to.
    reached: Vec<VecDeque<Nanos>>,
    /// Whether an element takes hold of marbles as they come in.
    at_once: Vec<bool>,
    met: Vec<(usize, u32)>,
}

impl Recorder {
    fn new(circuit: &Circuit) -> Self {
        let places = circuit.nodes.len() + 1;
        let holds = |role: &Role| matches!(role, Role::Escapement(_) | Role::TippingCup(_));
        let mut held = vec![Level::default(); places];
        held[places - 1].set(0, circuit.marbles);
        Recorder {
            trace: Trace::default(),
            held,
            waiting: vec![Level::default(); places],
            visits: Vec::new(),
            inside: vec![None; circuit.marbles as usize],
            reached: vec![VecDeque::new(); places],
            at_once: circuit
                .nodes
                .iter()
                .map(|plan| holds(&plan.role))
                .chain([false])
                .collect(),
            met: Vec::new(),
        }
    }

    fn leave(&mut self, marble: u32, from: usize, to: Option<usize>, time: Nanos) {
        self.held[from].change(time, -1);
        let reached = self.reached[from].pop_front();
        let Some(visit) = self.inside[marble as usize]
            .take()
            .and_then(|n| self.visits.get_mut(n))
        else {
            return;
        };
        visit.reach = Some(if self.at_once[from] {
            visit.enter
        } else {
            reached.unwrap_or(time).max(visit.enter)
        });
        visit.leave = Some(time);
        visit.to = to;
    }

    fn enter(&mut self, marble: u32, from: usize, to: usize, seen: TraceRecord) {
        self.held[to].change(seen.time, 1);
        self.inside[marble as usize] = Some(self.visits.len());
        let (enter, event) = (seen.time, seen.event);
        self.visits.push(Stay {
            marble,
            node: to,
            from,
            enter,
            event,
            reach: None,
            leave: None,
            to: None,
        });
    }

    fn finish(mut self, result: RunResult) -> Replay {
        for visit in self.visits.iter_mut().filter(|visit| visit.leave.is_none()) {
            let waits = self.reached[visit.node]
                .pop_front()
                .map(|time| time.max(visit.enter));
            visit.reach = if self.at_once[visit.node] {
                Some(visit.enter)
            } else {
                waits
            };
        }
        let Recorder {
            trace,
            held,
            waiting,
            visits,
            met,
            ..
        } = self;
        Replay {
            result,
            trace,
            held,
            waiting,
            visits,
            met,
        }
    }
}

impl Watcher for Recorder {
    fn see(&mut self, seen: TraceRecord) {
        match seen.what {
            TraceEvent::Moved { marble, from, to } => {
                self.leave(marble, from, Some(to), seen.time);
                self.enter(marble, from, to, seen);
            }
            TraceEvent::Spilled { marble, from, .. } => self.leave(marble, from, None, seen.time),
            TraceEvent::Blocked { node, .. } => self
                .met
                .push((self.trace.seen.len(), self.waiting[node].last())),
            _ => {}
        }
        self.trace.see(seen);
    }

    fn scheduled(&mut self, event: u64, cause: u64) {
        self.trace.scheduled(event, cause);
    }

    fn waiting(&mut self, time: Nanos, node: usize, waiting: u32) {
        if waiting > self.waiting[node].last() {
            self.reached[node].push_back(time);
        }
        self.waiting[node].set(time, waiting);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
