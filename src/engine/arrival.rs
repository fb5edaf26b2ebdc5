//! A marble comes into an element, travels through it and arrives at a gate.

use super::event::{Event, Turn};
use super::node::GateState;
use super::run::Run;
use super::streams::{DrawId, Purpose};
use super::watch::{TraceEvent, TraceRecord, Watcher};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::{Role, Way};

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
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
            self.numbers[marble as usize] = node.statistics.entries;
        }
        node.take_in(self.now);
    }

    /// As [`Run::enter`], where the element has a way of its own with marbles that come in.
    #[inline(never)]
    pub fn enter_particular(&mut self, n: usize, marble: u32, entry: usize) {
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
    pub fn set_off(&mut self, n: usize, marble: u32, entry: usize, held_up: Nanos) {
        let node = &mut self.nodes[n];
        let travel = &node.travel[entry];
        if travel.is_zero() && held_up == 0 && node.lane.is_empty() {
            return self.arrive_at_once(n, marble);
        }
        // It is the last that entered.
        let drawn = DrawId::first(Purpose::Travel, node.statistics.entries - 1);
        let travels = travel.draw(|| {
            let number = node.streams.at(&mut self.generator, drawn);
            self.watcher.drew(n, drawn, number);
            number
        });
        let time = self.now + held_up + travels;
        let at = node.arrival(time);
        self.scheduled += 1;
        self.watcher.scheduled(self.scheduled, self.current);
        if node
            .lane
            .push(Event::new(at, n, Turn::Arrival, self.scheduled, marble))
            && n != self.at
        {
            let head = node.head();
            self.due.set(n, head);
        }
    }

    /// A marble has come through `n` in no time.
    #[inline(never)]
    pub fn arrive_at_once(&mut self, n: usize, marble: u32) {
        self.arrive(n, marble)
    }

    /// A marble has travelled through `n` and reaches a gate.
    #[inline(always)]
    pub fn arrive(&mut self, n: usize, marble: u32) {
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
    pub fn goes_straight_on(&mut self, n: usize, g: usize, marble: u32, way: Way) -> bool {
        let now = self.now;
        let Ok([node, next]) = self.nodes.get_disjoint_mut([n, way.to]) else {
            return false;
        };
        let free = node.gates[g].is_open(now) && node.requests.is_empty() && next.fixed.open_road;
        if !free || !next.takes(now) {
            return false;
        }
        node.let_out(g, now);
        if next.fixed.numbers {
            self.numbers[marble as usize] = next.statistics.entries;
        }
        next.take_in(now);
        self.watcher.see(TraceRecord {
            time: now,
            event: self.current,
            what: TraceEvent::Moved {
                marble,
                from: n,
                to: way.to,
            },
        });
        self.set_off(way.to, marble, way.entry, 0);
        true
    }

    /// As [`Run::arrive`], where the marble may have to wait, choose, or wedge.
    #[inline(never)]
    pub fn arrive_in_doubt(&mut self, n: usize, marble: u32) {
        let plain = self.nodes[n].fixed.plain;
        if plain && self.nodes[n].gates[0].state != GateState::Free {
            return self.queue(n, 0, marble);
        }
        let g = if plain {
            0
        } else {
            self.gate_reached(n, marble)
        };
        if !plain && self.blocks(n, g, marble) {
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
        if !plain
            && !self.nodes[n].source_waits
            && way.is_some_and(|way| self.goes_straight_on(n, g, marble, way))
        {
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
            GateState::Requesting(w) if !free && !plain && self.nodes[n].gates.len() > 1 => {
                self.check_stuck(n, w)
            }
            _ => {}
        }
    }

    /// A marble waits at gate `g`, behind those that do already.
    pub fn queue(&mut self, n: usize, g: usize, marble: u32) {
        self.nodes[n].gates[g].queue.push_back(marble);
        self.see(TraceEvent::Queued { marble, node: n });
        self.wait(n, 1);
    }

    /// The gate a marble comes to: one of several holes, else the only one.
    pub fn gate_reached(&mut self, n: usize, marble: u32) -> usize {
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
}
