//! A marble comes into an element, travels through it and arrives at a gate.

use super::event::{Event, Turn};
use super::node::{GateId, GateState};
use super::run::Run;
use super::streams::{DrawId, Purpose};
use super::watch::{TraceEvent, TraceRecord, Watcher};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::{Role, Way};
use crate::contact::crowd_counts::crowd;

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// A marble comes into the element that `way` leads to.
    #[inline]
    pub fn enter(&mut self, way: Way, marble: u32) {
        self.take_in(way.to, marble);
        if self.nodes[way.to].fixed.open_road {
            self.set_off(way, marble, 0)
        } else {
            self.enter_particular(way, marble)
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
        let trips = node.fixed.trips;
        node.take_in(self.now);
        if trips {
            self.trip(n);
        }
    }

    /// As [`Run::enter`], where the element has a way of its own with marbles that come in.
    #[inline(never)]
    pub fn enter_particular(&mut self, way: Way, marble: u32) {
        let n = way.to;
        let circuit = self.circuit;
        let plan = &circuit.nodes[n];
        match &plan.role {
            Role::Server(_) => self.join(n, marble),
            Role::Batch(batch) => self.gather(n, marble, batch),
            Role::Trip(_) => {
                let gate = GateId::first(n);
                self.queue(gate, marble);
                // A marble on its way out may lead another in at once: whoever lets it out then goes on with that one.
                if self.gate(gate).queue.len() <= self.nodes[n].held as usize {
                    self.retry(gate);
                }
            }
            _ if plan.by_crowd => self.enter_crowd(way, marble),
            _ => {
                let held_up = if plan.stalls { self.stall(n) } else { 0 };
                self.set_off(way, marble, held_up);
            }
        }
    }

    /// A marble comes among others: how long it takes, and whether it stays in, goes by how many they are.
    fn enter_crowd(&mut self, way: Way, marble: u32) {
        let Way { to: n, entry } = way;
        let circuit = self.circuit;
        let plan = &circuit.nodes[n];
        let class = crowd(self.nodes[n].held);
        let thrown_out = plan.thrown_out.get(class);
        if thrown_out.is_some_and(|chance| {
            !chance.never() && chance.happens(self.random(n, Purpose::Spill, marble))
        }) {
            return self.throw_out(n, marble);
        }
        let held_up = if plan.stalls { self.stall(n) } else { 0 };
        let entry = entry + class;
        self.set_off(Way { to: n, entry }, marble, held_up);
    }

    /// A marble that has just come into `n` goes over its side.
    fn throw_out(&mut self, n: usize, marble: u32) {
        if self.nodes[n].put_out(self.now) {
            self.await_entrance(n);
        }
        self.lose(n, marble, Way { to: n, entry: 0 });
    }

    /// A marble begins its way through the element that `way` led it to, after a delay.
    #[inline]
    pub fn set_off(&mut self, way: Way, marble: u32, held_up: Nanos) {
        let Way { to: n, entry } = way;
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
        if straight && self.goes_straight_on(GateId::first(n), marble, node.fixed.first_way) {
            return;
        }
        self.arrive_in_doubt(n, marble);
    }

    /// Sends a marble that has come to `gate` straight on by `way`, if the gate is free, there is room beyond and
    /// nobody has to be asked: so it is with nearly all, and those few lines spare them every other question.
    #[inline(always)]
    pub fn goes_straight_on(&mut self, gate: GateId, marble: u32, way: Way) -> bool {
        let GateId { node: n, gate: g } = gate;
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
        self.set_off(way, marble, 0);
        true
    }

    /// As [`Run::arrive`], where the marble may have to wait, choose, or wedge.
    #[inline(never)]
    pub fn arrive_in_doubt(&mut self, n: usize, marble: u32) {
        let plain = self.nodes[n].fixed.plain;
        if plain && self.nodes[n].gates[0].state != GateState::Free {
            return self.queue(GateId::first(n), marble);
        }
        let id = if plain {
            GateId::first(n)
        } else {
            self.gate_reached(n, marble)
        };
        if !plain && self.blocks(id, marble) {
            return self.queue(id, marble);
        }
        let fixed = &self.nodes[n].fixed;
        let way = if fixed.one_way {
            Some(fixed.first_way)
        } else if fixed.gate_a_way {
            Some(self.circuit.nodes[n].ways[id.gate])
        } else {
            None
        };
        if !plain
            && !self.nodes[n].source_waits
            && way.is_some_and(|way| self.goes_straight_on(id, marble, way))
        {
            return;
        }
        let gate = self.gate(id);
        let (free, opens) = (gate.state == GateState::Free, gate.opens);
        if gate.is_open(self.now) && self.offer(id, marble) {
            return;
        }
        self.queue(id, marble);
        match self.gate(id).state {
            GateState::Free => self.await_gate(id, opens),
            // Until now it might have taken another gate.
            GateState::Requesting(w) if !free && !plain && self.nodes[n].gates.len() > 1 => {
                self.check_stuck(id.way(w))
            }
            _ => {}
        }
    }

    /// A marble waits at `gate`, behind those that do already.
    pub fn queue(&mut self, gate: GateId, marble: u32) {
        self.gate_mut(gate).queue.push_back(marble);
        let node = gate.node;
        self.see(TraceEvent::Queued { marble, node });
        self.wait(node, 1);
    }
}
