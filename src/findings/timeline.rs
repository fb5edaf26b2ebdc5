//! A watcher that keeps the course of a run: marbles inside and waiting by element, and pocket by pocket fill, over time.

use crate::circuit::Circuit;
use crate::circuit::carousel::PocketClock;
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::Cause;
use crate::engine::watch::{TraceEvent, TraceRecord, Watcher};

/// So many pockets make a share: where fewer pass in a step, the steps on either side are counted with it, ...
const FEW: u64 = 8;
/// ... so many of them at most.
const BESIDE: usize = 8;

/// The course of a run in equal steps of time.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// Length of a step, seconds.
    pub step_s: f64,
    /// The elements, in the order of the file; after them the marbles still in the maker's hand.
    pub elements: Vec<ElementTimeline>,
    /// Marbles lost so far at the end of each step.
    pub spilled: Vec<u32>,
    /// How many marbles went from where to where.
    pub flows: Vec<Flow>,
    /// When the run ended, seconds; later steps are empty.
    pub end_s: f64,
}

/// Marbles that went from one element into another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Flow {
    /// From this element; the index after the last is the maker's hand.
    pub from: usize,
    /// Into this one.
    pub to: usize,
    /// How many.
    pub marbles: u64,
}

/// One element's course.
#[derive(Clone, Debug, PartialEq)]
pub struct ElementTimeline {
    /// Mean number inside in each step; `None` after the end of the run.
    pub held: Vec<Option<f64>>,
    /// Mean number waiting in each step; `None` after the end of the run.
    pub waiting: Vec<Option<f64>>,
    /// For a wheel, share of pockets that took a marble about each step; `None` elsewhere, while it stands and after the end.
    pub fill: Vec<Option<f64>>,
}

/// Collects a [`Timeline`] while a run goes on.
#[derive(Debug)]
pub struct Timekeeper {
    step: Nanos,
    steps: usize,
    levels: Vec<StepIntegral>,
    waits: Vec<StepIntegral>,
    taken: Vec<Vec<u64>>,
    spilled: Vec<u32>,
    /// By element: how many went into which others.
    flows: Vec<Vec<Flow>>,
    /// When pockets pass, for wheels.
    clocks: Vec<Option<PocketClock>>,
    /// The drive of each wheel.
    drives: Vec<Option<usize>>,
    /// How long each wheel stands: no pocket passes meanwhile.
    standing: Vec<StepIntegral>,
    /// When wheels that stand go on.
    goes_on: Vec<Option<Nanos>>,
    tending: Option<Nanos>,
}

/// A number that changes over time, and its integral in each step.
#[derive(Clone, Debug)]
struct StepIntegral {
    step: Nanos,
    now: u32,
    since: Nanos,
    sums: Vec<u64>,
}

impl StepIntegral {
    fn change(&mut self, time: Nanos, to: u32) {
        let step = self.step;
        while self.since < time {
            let n = (self.since / step) as usize;
            let end = time.min((n as u64 + 1) * step);
            if let Some(sum) = self.sums.get_mut(n) {
                *sum += u64::from(self.now) * (end - self.since);
            }
            self.since = end;
        }
        self.now = to;
    }
}

impl Timekeeper {
    /// For runs of `circuit` up to `horizon`, in so many steps.
    pub fn new(circuit: &Circuit, horizon: Nanos, steps: usize) -> Self {
        let step = horizon.div_ceil(steps as u64).max(1);
        let level = |now| StepIntegral {
            step,
            now,
            since: 0,
            sums: vec![0; steps],
        };
        let elements = circuit.nodes.len();
        let mut levels = vec![level(0); elements];
        levels.push(level(circuit.marbles));
        Timekeeper {
            step,
            steps,
            levels,
            waits: vec![level(0); elements + 1],
            taken: vec![vec![0; steps]; elements],
            spilled: vec![0; steps],
            flows: vec![Vec::new(); elements + 1],
            clocks: circuit
                .nodes
                .iter()
                .map(|plan| plan.wheel().map(|wheel| wheel.clock.clone()))
                .collect(),
            drives: circuit
                .nodes
                .iter()
                .map(|plan| plan.wheel().map(|wheel| wheel.drive))
                .collect(),
            standing: vec![level(0); elements],
            goes_on: vec![None; elements],
            tending: circuit.tending,
        }
    }

    fn shift(&mut self, node: usize, time: Nanos, by: i32) {
        let level = &mut self.levels[node];
        let to = level.now.wrapping_add_signed(by);
        level.change(time, to);
    }

    /// A marble is pinched at the wheel `n`: all wheels of its drive stand until somebody clears it.
    fn stand(&mut self, n: usize, time: Nanos) {
        for wheel in 0..self.drives.len() {
            if self.drives[wheel] == self.drives[n] {
                self.go_on(wheel, time);
                self.standing[wheel].change(time, 1);
                self.goes_on[wheel] = self.tending.map(|lasts| time + lasts);
            }
        }
    }

    /// Lets a wheel whose jam was cleared by `now` turn from then on.
    fn go_on(&mut self, wheel: usize, now: Nanos) {
        if let Some(time) = self.goes_on[wheel].take() {
            self.standing[wheel].change(time.min(now), 0);
        }
    }

    fn flow(&mut self, more: Flow) {
        let flows = &mut self.flows[more.from];
        match flows.iter_mut().find(|flow| flow.to == more.to) {
            Some(flow) => flow.marbles += more.marbles,
            None => flows.push(more),
        }
    }

    /// The course up to `end`.
    pub fn finish(mut self, end: Nanos) -> Timeline {
        let step = self.step;
        for level in self.levels.iter_mut().chain(&mut self.waits) {
            level.change(end, 0);
        }
        for wheel in 0..self.standing.len() {
            self.go_on(wheel, end);
            self.standing[wheel].change(end, 0);
        }
        let mut lost = 0;
        let spilled = self.spilled.iter().map(|n| {
            lost += n;
            lost
        });
        Timeline {
            step_s: seconds(step),
            spilled: spilled.collect(),
            elements: (0..self.levels.len())
                .map(|n| self.course(n, end))
                .collect(),
            flows: self.flows.concat(),
            end_s: seconds(end),
        }
    }

    /// How many pockets of the wheel `n` passed in each step, one by one: a mean number of them would show a gap in each
    /// step that has one fewer. Nothing for what is no wheel.
    fn passed(&self, n: usize, end: Nanos) -> Vec<u64> {
        let Some(Some(clock)) = self.clocks.get(n) else {
            return Vec::new();
        };
        let (mut turned, mut before, mut passed) = (0, 0, Vec::new());
        for (k, stood) in self.standing[n].sums.iter().enumerate() {
            let from = (k as u64 * self.step).min(end);
            turned += ((k as u64 + 1) * self.step).min(end) - from;
            turned = turned.saturating_sub(*stood);
            // A pocket that passes at the end of a step belongs to the next one, as what it takes does.
            let until_now = clock.tick_at_or_after(turned);
            passed.push(until_now - before);
            before = until_now;
        }
        passed
    }

    fn course(&self, n: usize, end: Nanos) -> ElementTimeline {
        let lasted = |k: usize| {
            end.min((k as u64 + 1) * self.step)
                .saturating_sub(k as u64 * self.step)
        };
        let mean =
            |sums: &[u64], k: usize| (lasted(k) > 0).then(|| sums[k] as f64 / lasted(k) as f64);
        let passed = self.passed(n, end);
        let fill = |k: usize| {
            if passed.is_empty() || self.standing[n].sums[k] >= lasted(k) {
                return None;
            }
            let beside = |d: usize| k.saturating_sub(d)..(k + d + 1).min(self.steps);
            let count = |d: usize| passed[beside(d)].iter().sum::<u64>();
            let enough = (0..BESIDE).find(|&d| count(d) >= FEW).unwrap_or(BESIDE);
            let taken: u64 = self.taken[n][beside(enough)].iter().sum();
            let passed = Some(count(enough)).filter(|&passed| passed > 0)?;
            Some((taken as f64 / passed as f64).min(1.0))
        };
        ElementTimeline {
            held: (0..self.steps)
                .map(|k| mean(&self.levels[n].sums, k))
                .collect(),
            waiting: (0..self.steps)
                .map(|k| mean(&self.waits[n].sums, k))
                .collect(),
            fill: (0..self.steps).map(fill).collect(),
        }
    }
}

impl Watcher for Timekeeper {
    fn see(&mut self, seen: TraceRecord) {
        let step = ((seen.time / self.step) as usize).min(self.steps - 1);
        match seen.what {
            TraceEvent::Moved { from, to, .. } => {
                self.shift(from, seen.time, -1);
                self.shift(to, seen.time, 1);
                self.flow(Flow {
                    from,
                    to,
                    marbles: 1,
                });
                if self.clocks.get(to).is_some_and(Option::is_some) {
                    self.taken[to][step] += 1;
                }
            }
            TraceEvent::Blocked {
                node,
                cause: Cause::Pinch,
            } => self.stand(node, seen.time),
            TraceEvent::Spilled { from, .. } => {
                self.shift(from, seen.time, -1);
                self.spilled[step] += 1;
            }
            _ => {}
        }
    }

    fn scheduled(&mut self, _: u64, _: u64) {}

    fn waiting(&mut self, time: Nanos, node: usize, waiting: u32) {
        self.waits[node].change(time, waiting);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::made_up::MadeUp;

    /// Ten steps of a second; the run ends after three and a half.
    #[test]
    fn marbles_are_counted_where_they_are_until_the_end() {
        let circuit = MadeUp::new(1, "least-fill: 0.5").circuit;
        let (hand, s) = (circuit.nodes.len(), 1_000_000_000);
        let mut timekeeper = Timekeeper::new(&circuit, 10 * s, 10);
        let mut see = |time, what| {
            timekeeper.see(TraceRecord {
                time,
                event: 0,
                what,
            })
        };
        let moved = |marble, from, to| TraceEvent::Moved { marble, from, to };
        see(0, moved(0, hand, 0));
        see(s / 2, moved(1, hand, 0));
        see(3 * s, moved(0, 0, 1));
        let spilled = TraceEvent::Spilled {
            marble: 1,
            from: 0,
            at: 1,
        };
        see(3 * s + s / 2, spilled);
        let course = timekeeper.finish(3 * s + s / 2);
        let first = |all: &[Option<f64>]| all[..4].to_vec();
        let ramp = &course.elements[0];
        assert_eq!(
            first(&ramp.held),
            [Some(1.5), Some(2.0), Some(2.0), Some(1.0)]
        );
        assert_eq!(ramp.held[4..], [None; 6]);
        assert_eq!(ramp.waiting[3..5], [Some(0.0), None]);
        assert_eq!(course.elements[1].held[2..5], [Some(0.0), Some(1.0), None]);
        assert_eq!(
            first(&course.elements[hand].held)[..2],
            [Some(3.5), Some(3.0)]
        );
        assert_eq!(course.spilled, [0, 0, 0, 1, 1, 1, 1, 1, 1, 1]);
        let flow = |from, to, marbles| Flow { from, to, marbles };
        assert_eq!(course.flows, [flow(0, 1, 1), flow(hand, 0, 2)]);
    }

    /// What happens as a run ends belongs to its last step.
    #[test]
    fn the_last_instant_belongs_to_the_last_step() {
        let circuit = MadeUp::new(1, "least-fill: 0.5").circuit;
        let mut timekeeper = Timekeeper::new(&circuit, 10, 5);
        let what = TraceEvent::Spilled {
            marble: 0,
            from: 0,
            at: 1,
        };
        timekeeper.see(TraceRecord {
            time: 10,
            event: 0,
            what,
        });
        assert_eq!(timekeeper.finish(10).spilled, [0, 0, 0, 0, 1]);
    }
}
