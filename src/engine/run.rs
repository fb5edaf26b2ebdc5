//! One run: the loop over events and the protocol between elements.
//!
//! A marble enters an element, travels, and arrives at a gate. The head of a gate is offered to the next element: it
//! goes on, falls over an open side, or asks for a place and waits. When a marble leaves, the next head follows one
//! advance later, and the freed place goes to whoever asked first, the maker's hand last. `handbook/rules.md` has it all.

use rand_chacha::ChaCha8Rng;

use super::drive::DriveState;
use super::event::{EVENTS, Event, Turn};
use super::hand::{hand, hand_may_wait};
use super::laps::Laps;
use super::node::{GateState, Node};
use super::outcome::{Jam, Lock, Outcome, Poured, RunResult};
use super::streams::{Drawn, Purpose, stream};
use super::tournament::Tournament;
use super::watch::{Seen, Watcher, What};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::{Circuit, Plan, Role, Way};

/// Simulates run number `run` of the study seeded with `seed`, for `horizon` of machine time.
///
/// The result depends on the circuit, the seed, the run number and the horizon, and on nothing else.
pub fn simulate<W: Watcher>(circuit: &Circuit, seed: u64, run: u64, horizon: Nanos, watcher: &mut W) -> RunResult {
    // The hand has events of its own only where the start cannot take all marbles at once.
    match circuit.nodes.len() + usize::from(hand_may_wait(circuit)) {
        0..=8 => whole::<W, 3>(circuit, seed, run, horizon, watcher),
        9..=16 => whole::<W, 4>(circuit, seed, run, horizon, watcher),
        17..=32 => whole::<W, 5>(circuit, seed, run, horizon, watcher),
        33..=128 => whole::<W, 7>(circuit, seed, run, horizon, watcher),
        _ => whole::<W, 9>(circuit, seed, run, horizon, watcher),
    }
}

/// A whole run of a circuit whose elements fit in a tournament of so many levels.
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
    pub due: Tournament<LEVELS>,
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
    laps: Laps,
    /// Makes the numbers of all random streams.
    pub generator: ChaCha8Rng,
    /// By marble: its number at the element it is in, if that draws for it later.
    pub numbers: Vec<u64>,
    /// By marble: how often the wheel it is in has carried it over.
    pub carried_over: Vec<u32>,
    hand: Plan,
    pub watcher: &'c mut W,
}

impl<'c, W: Watcher, const LEVELS: usize> Run<'c, W, LEVELS> {
    pub fn new(circuit: &'c Circuit, seed: u64, run: u64, watcher: &'c mut W) -> Self {
        let hand = hand(circuit);
        let plans = circuit.nodes.iter().chain([&hand]).enumerate();
        let waits = hand_may_wait(circuit);
        let node = |(n, plan): (usize, &Plan)| Node::new(plan, n == circuit.lap_line, waits && n == circuit.start);
        let nodes: Vec<Node> = plans.map(node).collect();
        Run {
            circuit,
            due: Tournament::default(),
            nodes,
            now: 0,
            current: 0,
            at: usize::MAX,
            scheduled: 0,
            drives: vec![DriveState::default(); circuit.drives],
            ended: None,
            jams: Vec::new(),
            locks: Vec::new(),
            laps: Laps::new(circuit.marbles, circuit.nodes[circuit.lap_line].wheel().is_some()),
            generator: stream(seed, run, ""),
            numbers: vec![0; circuit.marbles as usize],
            carried_over: vec![0; circuit.marbles as usize],
            hand,
            watcher,
        }
    }

    #[inline]
    pub fn plan(&self, node: usize) -> &Plan {
        self.circuit.nodes.get(node).unwrap_or(&self.hand)
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
        let end = if self.ended.is_some() { self.now } else { horizon };
        let moves = self.nodes.iter().map(|node| node.tally.entries).sum();
        let hand = self.nodes.pop();
        let left_in_hand = hand.as_ref().map_or(0, |hand| hand.held);
        let poured = hand.map(|hand| hand.tally.waits(end)).map(|(waited, until)| Poured { waited, until });
        let drives = &self.drives;
        let elements = self.nodes.into_iter().map(|mut node| {
            let pockets = match &mut node.role {
                Role::PocketWheel(wheel) => {
                    wheel.close(drives[wheel.drive].clock(end));
                    Some(wheel.count)
                }
                _ => None,
            };
            node.tally.close(end, pockets)
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
                if let Some(g) = node.gates.iter().position(|gate| gate.event.time() == event.time()) {
                    self.current = node.gates[g].event.order();
                    self.gate_due(n, g);
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
    pub fn see(&mut self, what: What) {
        self.watcher.see(Seen { time: self.now, event: self.current, what });
    }

    /// The number of marbles waiting in `n` changes by `change`.
    #[inline]
    pub fn wait(&mut self, n: usize, change: i32) {
        let tally = &mut self.nodes[n].tally;
        debug_assert!(tally.waiting.checked_add_signed(change).is_some(), "no fewer than none wait");
        let waiting = tally.waiting.wrapping_add_signed(change);
        tally.wait(self.now, waiting);
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
        let head = if node.fixed.is_wheel { self.wheel_head(node) } else { node.head() };
        self.due.set(n, head);
    }

    /// A marble comes into `n` by its `entry`.
    #[inline]
    pub fn enter(&mut self, n: usize, marble: u32, entry: usize) {
        self.take_in(n, marble);
        if self.nodes[n].fixed.open_road {
            self.set_off(n, marble, entry, 0)
        } else {
            self.enter_particular(n, marble, entry)
        }
    }

    /// Books a marble into `n`.
    #[inline]
    pub fn take_in(&mut self, n: usize, marble: u32) {
        if n == self.circuit.lap_line {
            self.laps.cross(marble, self.now);
        }
        let node = &mut self.nodes[n];
        if node.fixed.numbers {
            self.numbers[marble as usize] = node.tally.entries;
        }
        node.take_in(self.now);
    }

    /// As [`Run::enter`], where the element has a way of its own with marbles that come in.
    #[inline(never)]
    fn enter_particular(&mut self, n: usize, marble: u32, entry: usize) {
        let plan = &self.circuit.nodes[n];
        match &plan.role {
            Role::Escapement(_) => self.join(n, marble),
            Role::TippingCup(cup) => self.gather(n, marble, cup.gathers, cup.tip),
            _ => {
                let held_up = if plan.stalls { self.stall(n) } else { 0 };
                self.set_off(n, marble, entry, held_up);
            }
        }
    }

    /// A marble begins its way through `n`, after a delay.
    #[inline]
    fn set_off(&mut self, n: usize, marble: u32, entry: usize, held_up: Nanos) {
        let node = &mut self.nodes[n];
        let travel = &node.travel[entry];
        if travel.is_zero() && held_up == 0 && node.lane.is_empty() {
            return self.arrive_at_once(n, marble);
        }
        // It is the last that entered.
        let drawn = Drawn::first(Purpose::Travel, node.tally.entries - 1);
        let travels = travel.draw(|| {
            let number = node.streams.at(&mut self.generator, drawn);
            self.watcher.drew(n, drawn, number);
            number
        });
        let time = self.now + held_up + travels;
        let at = node.arrival(time);
        self.scheduled += 1;
        self.watcher.scheduled(self.scheduled, self.current);
        if node.lane.push(Event::new(at, n, Turn::Arrival, self.scheduled, marble)) && n != self.at {
            let head = node.head();
            self.due.set(n, head);
        }
    }

    /// A marble has come through `n` in no time.
    #[inline(never)]
    fn arrive_at_once(&mut self, n: usize, marble: u32) {
        self.arrive(n, marble)
    }

    /// A marble has travelled through `n` and reaches a gate.
    #[inline(always)]
    fn arrive(&mut self, n: usize, marble: u32) {
        let node = &self.nodes[n];
        let straight = node.fixed.straight && node.gates[0].queue.is_empty();
        if straight && self.goes_straight_on(n, 0, marble, node.fixed.first_way) {
            return;
        }
        self.arrive_in_doubt(n, marble);
    }

    /// Sends a marble that has come to gate `g` straight on by `way`, if the gate is free, there is room beyond and
    /// nobody has to be asked: so it is with nearly all, and those few lines spare them every other question.
    #[inline(always)]
    fn goes_straight_on(&mut self, n: usize, g: usize, marble: u32, way: Way) -> bool {
        let now = self.now;
        let Ok([node, next]) = self.nodes.get_disjoint_mut([n, way.to]) else { return false };
        let free = node.gates[g].is_open(now) && node.asks.is_empty() && next.fixed.open_road;
        if !free || !next.takes(now) {
            return false;
        }
        node.let_out(g, now);
        if next.fixed.numbers {
            self.numbers[marble as usize] = next.tally.entries;
        }
        next.take_in(now);
        self.watcher.see(Seen { time: now, event: self.current, what: What::Moved { marble, from: n, to: way.to } });
        self.set_off(way.to, marble, way.entry, 0);
        true
    }

    /// As [`Run::arrive`], where the marble may have to wait, choose, or wedge.
    #[inline(never)]
    fn arrive_in_doubt(&mut self, n: usize, marble: u32) {
        let plain = self.nodes[n].fixed.plain;
        if plain && self.nodes[n].gates[0].state != GateState::Free {
            return self.queue(n, 0, marble);
        }
        let g = if plain { 0 } else { self.gate_reached(n, marble) };
        if !plain && self.snags(n, g, marble) {
            return self.queue(n, g, marble);
        }
        let fixed = &self.nodes[n].fixed;
        let way = if fixed.one_way {
            Some(fixed.first_way)
        } else if fixed.holes {
            Some(self.circuit.nodes[n].ways[g])
        } else {
            None
        };
        if !plain && !self.nodes[n].hand_waits && way.is_some_and(|way| self.goes_straight_on(n, g, marble, way)) {
            return;
        }
        let gate = &self.nodes[n].gates[g];
        let (free, opens) = (gate.state == GateState::Free, gate.opens);
        if gate.is_open(self.now) && self.offer(n, g, marble) {
            return;
        }
        self.queue(n, g, marble);
        match self.nodes[n].gates[g].state {
            GateState::Free => self.await_gate(n, g, opens),
            // Until now it might have taken another hole.
            GateState::Asking(w) if !free && !plain && self.nodes[n].gates.len() > 1 => self.check_stuck(n, w),
            _ => {}
        }
    }

    /// A marble waits at gate `g`, behind those that do already.
    pub fn queue(&mut self, n: usize, g: usize, marble: u32) {
        self.nodes[n].gates[g].queue.push_back(marble);
        self.see(What::Queued { marble, node: n });
        self.wait(n, 1);
    }

    /// The gate a marble comes to: one of several holes, else the only one.
    fn gate_reached(&mut self, n: usize, marble: u32) -> usize {
        let circuit = self.circuit;
        match &circuit.nodes[n].role {
            Role::Holes(shares) => shares.way(self.random(n, Purpose::Way, marble)),
            Role::FlipGate(_) => {
                self.choose(n, 0, marble);
                0
            }
            _ => 0,
        }
    }

    /// The head of gate `g` is offered at `time`.
    pub fn await_gate(&mut self, n: usize, g: usize, time: Nanos) {
        let event = self.schedule(time, n, Turn::Gate, 0);
        let gate = &mut self.nodes[n].gates[g];
        gate.state = GateState::Due;
        gate.event = event;
        self.refresh(n);
    }

    fn gate_due(&mut self, n: usize, g: usize) {
        let gate = &mut self.nodes[n].gates[g];
        gate.event = Event::NEVER;
        gate.state = GateState::Free;
        match self.nodes[n].role {
            Role::Escapement(_) => self.released(n, g),
            _ => self.rouse(n, g),
        }
    }

    /// The head of gate `g`, if there is one, goes on as soon as it may; so do those behind it.
    pub fn rouse(&mut self, n: usize, g: usize) {
        loop {
            let gate = &self.nodes[n].gates[g];
            let Some(&marble) = gate.queue.front() else { return };
            // The marble that has just gone may have come round at once and been taken hold of again.
            if gate.state != GateState::Free {
                return;
            }
            if gate.opens > self.now {
                let opens = gate.opens;
                return self.await_gate(n, g, opens);
            }
            if let Role::Escapement(_) = self.nodes[n].role {
                self.wait(n, -1);
                return self.hold(n, g, marble);
            }
            if !self.offer(n, g, marble) {
                return;
            }
            self.nodes[n].gates[g].queue.pop_front();
            self.wait(n, -1);
            self.after_tipping(n, g);
        }
    }

    /// Offers `marble`, at the head of gate `g` of `n`, to the next element; `true` when it has gone.
    ///
    /// Otherwise it has asked for a place, and the gate is `Asking`.
    #[inline]
    pub fn offer(&mut self, n: usize, g: usize, marble: u32) -> bool {
        let fixed = &self.nodes[n].fixed;
        let (w, way) = if fixed.one_way {
            (0, fixed.first_way)
        } else {
            let Some(w) = self.choose(n, g, marble) else {
                self.nodes[n].gates[g].state = GateState::Asking(0);
                return false;
            };
            (w, self.circuit.nodes[n].ways[w])
        };
        let target = &self.nodes[way.to];
        if target.takes(self.now) {
            self.pass(n, g, marble, way);
            return true;
        }
        let (to_wheel, spills) = (target.fixed.is_wheel, target.fixed.spills);
        if !to_wheel && spills && n != self.circuit.nodes.len() {
            self.spill(n, g, marble, way.to);
            return true;
        }
        self.nodes[n].gates[g].state = GateState::Asking(w);
        if to_wheel && (!matches!(self.nodes[n].role, Role::Weir) || self.admits(way.to)) {
            self.ask_wheel(way.to, n, g, w);
        } else if n == self.circuit.nodes.len() {
            self.wait_in_hand(marble);
        } else {
            self.ask(n, g, w, marble);
        }
        false
    }

    /// The way that `marble`, the head of gate `g`, takes; `None` at a dead end.
    #[inline]
    fn choose(&mut self, n: usize, g: usize, marble: u32) -> Option<usize> {
        let now = self.now;
        match &mut self.nodes[n].role {
            Role::FlipGate(gate) => Some(gate.way(now)),
            Role::Holes(_) => Some(g),
            Role::Peg(_) => {
                let random = self.random(n, Purpose::Way, marble);
                let Role::Peg(shares) = &self.nodes[n].role else { return None };
                Some(shares.way(random))
            }
            Role::Weir => {
                let ways = &self.plan(n).ways;
                Some(ways.iter().position(|way| self.admits(way.to)).unwrap_or(ways.len() - 1))
            }
            _ => (!self.plan(n).ways.is_empty()).then_some(0),
        }
    }

    /// Whether a marble could enter `n` now without passing over somebody who waits. Wheels take marbles by themselves.
    #[inline]
    pub fn admits(&self, n: usize) -> bool {
        let node = &self.nodes[n];
        node.takes(self.now) || (node.fixed.is_wheel && node.asks.is_empty())
    }

    /// The marble goes on into the element that `way` leads to.
    #[inline]
    pub fn pass(&mut self, n: usize, g: usize, marble: u32, way: Way) {
        self.let_out(n, g);
        self.see(What::Moved { marble, from: n, to: way.to });
        self.enter(way.to, marble, way.entry);
    }

    /// Books a marble out of gate `g` of `n` and lets whoever waits for its place know.
    #[inline]
    pub fn let_out(&mut self, n: usize, g: usize) {
        if let Role::FlipGate(gate) = &mut self.nodes[n].role {
            gate.turn(self.now);
        }
        if self.nodes[n].let_out(g, self.now) {
            self.await_entrance(n);
        }
    }
}
