//! One run: the loop over events and the protocol between elements.
//!
//! A marble enters an element, travels, and arrives at a gate. The head of a gate is offered to the next element: it
//! goes on, falls over an open side, or requests a place and waits. When a marble leaves, the next head follows one
//! advance later, and the freed place goes to whoever asked first, the maker's hand last. `handbook/rules.md` has it all.

use rand_chacha::ChaCha8Rng;

use super::drive::DriveState;
use super::event::{EVENTS, Event, Turn};
use super::event_list::EventList;
use super::laps::Laps;
use super::node::{Gate, GateId, Node};
use super::outcome::{Jam, Lock, Outcome, Poured, RunResult};
use super::source::{source, source_may_wait};
use super::streams::stream;
use super::watch::{TraceEvent, TraceRecord, Watcher};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::{Circuit, Plan, Role};

/// Simulates run number `run` of the study seeded with `seed`, for `horizon` of machine time.
///
/// The result depends on the circuit, the seed, the run number and the horizon, and on nothing else.
pub fn simulate<W: Watcher>(
    circuit: &Circuit,
    seed: u64,
    run: u64,
    horizon: Nanos,
    watcher: &mut W,
) -> RunResult {
    // The hand has events of its own only where the start cannot take all marbles at once.
    match circuit.nodes.len() + usize::from(source_may_wait(circuit)) {
        0..=8 => whole::<W, 3>(circuit, seed, run, horizon, watcher),
        9..=16 => whole::<W, 4>(circuit, seed, run, horizon, watcher),
        17..=32 => whole::<W, 5>(circuit, seed, run, horizon, watcher),
        33..=128 => whole::<W, 7>(circuit, seed, run, horizon, watcher),
        _ => whole::<W, 9>(circuit, seed, run, horizon, watcher),
    }
}

/// A whole run of a circuit whose elements fit in an event list of so many levels.
fn whole<W: Watcher, const LEVELS: usize>(
    circuit: &Circuit,
    seed: u64,
    run: u64,
    horizon: Nanos,
    watcher: &mut W,
) -> RunResult {
    let mut run = Run::<W, LEVELS>::new(circuit, seed, run, watcher);
    run.pour();
    run.until(horizon);
    run.close(horizon)
}

pub(super) struct Run<'c, W, const LEVELS: usize> {
    pub circuit: &'c Circuit,
    /// The elements, and after the last of them the maker's hand that pours the marbles in.
    pub nodes: Vec<Node>,
    pub due: EventList<LEVELS>,
    pub now: Nanos,
    /// Number of the event being handled.
    pub current: u64,
    /// The element it happens at, which is put in order once it has been handled.
    pub at: usize,
    pub scheduled: u64,
    pub drives: Vec<DriveState>,
    pub ended: Option<Outcome>,
    pub jams: Vec<Jam>,
    pub locks: Vec<Lock>,
    pub laps: Laps,
    /// Makes the numbers of all random streams.
    pub generator: ChaCha8Rng,
    /// By marble: its number at the element it is in, if that draws for it later.
    pub numbers: Vec<u64>,
    /// By marble: how often the wheel it is in has carried it over.
    pub carried_over: Vec<u32>,
    source: Plan,
    pub watcher: &'c mut W,
}

impl<'c, W: Watcher, const LEVELS: usize> Run<'c, W, LEVELS> {
    pub fn new(circuit: &'c Circuit, seed: u64, run: u64, watcher: &'c mut W) -> Self {
        let source = source(circuit);
        let plans = circuit.nodes.iter().chain([&source]).enumerate();
        let waits = source_may_wait(circuit);
        let node = |(n, plan): (usize, &Plan)| {
            Node::new(plan, n == circuit.lap_line, waits && n == circuit.start)
        };
        let nodes: Vec<Node> = plans.map(node).collect();
        Run {
            circuit,
            due: EventList::default(),
            nodes,
            now: 0,
            current: 0,
            at: usize::MAX,
            scheduled: 0,
            drives: vec![DriveState::default(); circuit.drives],
            ended: None,
            jams: Vec::new(),
            locks: Vec::new(),
            laps: Laps::new(
                circuit.marbles,
                circuit.nodes[circuit.lap_line].wheel().is_some(),
            ),
            generator: stream(seed, run, ""),
            numbers: vec![0; circuit.marbles as usize],
            carried_over: vec![0; circuit.marbles as usize],
            source,
            watcher,
        }
    }

    #[inline]
    pub fn plan(&self, node: usize) -> &Plan {
        self.circuit.nodes.get(node).unwrap_or(&self.source)
    }

    #[inline(always)]
    pub fn gate(&self, id: GateId) -> &Gate {
        &self.nodes[id.node].gates[id.gate]
    }

    #[inline(always)]
    pub fn gate_mut(&mut self, id: GateId) -> &mut Gate {
        &mut self.nodes[id.node].gates[id.gate]
    }

    pub fn until(&mut self, horizon: Nanos) {
        let beyond = Event::new(horizon + 1, 0, Turn::Entrance, 0, 0);
        while self.ended.is_none() && self.scheduled < EVENTS - 1024 {
            let event = self.due.first();
            if event >= beyond {
                return if event == Event::NEVER {
                    self.come_to_rest()
                };
            }
            debug_assert!(event.time() >= self.now, "time never goes back");
            self.now = event.time();
            self.current = event.order();
            self.handle(event);
            #[cfg(debug_assertions)]
            if self.current.is_multiple_of(1024) {
                self.audit();
            }
        }
    }

    fn close(mut self, horizon: Nanos) -> RunResult {
        self.audit();
        let end = if self.ended.is_some() {
            self.now
        } else {
            horizon
        };
        let moves = self.nodes.iter().map(|node| node.statistics.entries).sum();
        let source = self.nodes.pop();
        let left_in_hand = source.as_ref().map_or(0, |source| source.held);
        let poured = source
            .map(|source| source.statistics.waits(end))
            .map(|(waited, until)| Poured { waited, until });
        let drives = &self.drives;
        let elements = self.nodes.into_iter().map(|mut node| {
            let pockets = match &mut node.role {
                Role::Carousel(wheel) => {
                    wheel.close(drives[wheel.drive].clock(end));
                    Some(wheel.count)
                }
                _ => None,
            };
            node.statistics.close(end, pockets)
        });
        RunResult {
            outcome: self.ended.unwrap_or(Outcome::Ran),
            end,
            elements: elements.collect(),
            laps: self.laps.finish(),
            jams: self.jams,
            locks: self.locks,
            poured: poured.unwrap_or_default(),
            left_in_hand,
            moves,
        }
    }

    #[inline]
    fn handle(&mut self, event: Event) {
        let n = event.node();
        self.at = n;
        let node = &mut self.nodes[n];
        if node.side == event {
            self.side_due(n, event);
        } else if node.fixed.is_wheel {
            self.top(n);
        } else {
            node.lane.pop();
            self.arrive(n, event.marble());
        }
        self.settle(n);
    }

    /// An event of a gate or of the entrance of `n` is due.
    fn side_due(&mut self, n: usize, event: Event) {
        let node = &mut self.nodes[n];
        let at_entrance = node.entrance == event;
        if at_entrance {
            node.entrance = Event::NEVER;
        }
        match (node.fixed.is_wheel, at_entrance) {
            (true, true) => self.start_drive(n),
            (true, false) => self.pick_up(n),
            (false, true) => self.serve(n),
            (false, false) => {
                // Of several that are due now the first in the order of ways, whichever was scheduled first.
                if let Some(g) = node
                    .gates
                    .iter()
                    .position(|gate| gate.event.time() == event.time())
                {
                    self.current = node.gates[g].event.order();
                    self.gate_due(GateId { node: n, gate: g });
                }
            }
        }
        self.nodes[n].note_side();
    }

    /// Schedules an event at `node`.
    #[inline]
    pub fn schedule(&mut self, time: Nanos, node: usize, turn: Turn, marble: u32) -> Event {
        self.scheduled += 1;
        self.watcher.scheduled(self.scheduled, self.current);
        Event::new(time, node, turn, self.scheduled, marble)
    }

    #[inline]
    pub fn see(&mut self, what: TraceEvent) {
        self.watcher.see(TraceRecord {
            time: self.now,
            event: self.current,
            what,
        });
    }

    /// The number of marbles waiting in `n` changes by `change`.
    #[inline]
    pub fn wait(&mut self, n: usize, change: i32) {
        let statistics = &mut self.nodes[n].statistics;
        debug_assert!(
            statistics.waiting.checked_add_signed(change).is_some(),
            "no fewer than none wait"
        );
        let waiting = statistics.waiting.wrapping_add_signed(change);
        statistics.wait(self.now, waiting);
        self.watcher.waiting(self.now, n, waiting);
    }

    /// An event of a gate or of the entrance of `n` has changed.
    #[inline]
    pub fn refresh(&mut self, n: usize) {
        self.nodes[n].note_side();
        if n != self.at {
            self.settle(n);
        }
    }

    /// Puts what is due first at `n` in the event list.
    #[inline(always)]
    pub fn settle(&mut self, n: usize) {
        let node = &self.nodes[n];
        let head = if node.fixed.is_wheel {
            self.wheel_head(node)
        } else {
            node.head()
        };
        self.due.set(n, head);
    }
}
