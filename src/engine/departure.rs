//! The head of a gate is offered to the next element: it goes on, falls over an open side, or requests a place and waits.

use super::event::{Event, Turn};
use super::node::{GateId, GateState};
use super::run::Run;
use super::watch::{TraceEvent, Watcher};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::{Role, Way};

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// The head of a gate is offered at `time`.
    pub fn await_gate(&mut self, id: GateId, time: Nanos) {
        let event = self.schedule(time, id.node, Turn::Gate, 0);
        let gate = self.gate_mut(id);
        gate.state = GateState::Due;
        gate.event = event;
        self.refresh(id.node);
    }

    pub fn gate_due(&mut self, id: GateId) {
        let gate = self.gate_mut(id);
        gate.event = Event::NEVER;
        gate.state = GateState::Free;
        match self.nodes[id.node].role {
            Role::Server(_) => self.released(id),
            _ => self.retry(id),
        }
    }

    /// The head of a gate, if there is one, goes on as soon as it may; so do those behind it.
    pub fn retry(&mut self, id: GateId) {
        let n = id.node;
        loop {
            let gate = self.gate(id);
            let Some(&marble) = gate.queue.front() else {
                return;
            };
            // The marble that has just gone may have come round at once and been taken hold of again.
            if gate.state != GateState::Free {
                return;
            }
            if gate.opens > self.now {
                let opens = gate.opens;
                return self.await_gate(id, opens);
            }
            match self.nodes[n].role {
                Role::Server(_) => {
                    self.wait(n, -1);
                    return self.hold(id, marble);
                }
                Role::Trip(trip) if trip.open_for == 0 => return,
                _ => {}
            }
            if !self.offer(id, marble) {
                return;
            }
            self.gate_mut(id).queue.pop_front();
            self.wait(n, -1);
            self.after_batch(id);
        }
    }

    /// Offers `marble`, at the head of `gate`, to the next element; `true` when it has gone.
    ///
    /// Otherwise it has asked for a place, and the gate is `Requesting`.
    #[inline]
    pub fn offer(&mut self, gate: GateId, marble: u32) -> bool {
        let n = gate.node;
        let fixed = &self.nodes[n].fixed;
        let (w, way) = if fixed.one_way {
            (0, fixed.first_way)
        } else {
            let Some(w) = self.choose(gate, marble) else {
                self.gate_mut(gate).state = GateState::Requesting(0);
                return false;
            };
            (w, self.circuit.nodes[n].ways[w])
        };
        let target = &self.nodes[way.to];
        if target.takes(self.now) {
            self.pass(gate, marble, way);
            return true;
        }
        let (to_wheel, spills) = (target.fixed.is_wheel, target.fixed.spills);
        if !to_wheel && spills && n != self.circuit.nodes.len() {
            self.spill(gate, marble, way);
            return true;
        }
        self.gate_mut(gate).state = GateState::Requesting(w);
        if to_wheel && (!matches!(self.nodes[n].role, Role::FirstWithRoom) || self.admits(way.to)) {
            self.request_pocket(way.to, self.requested_now(gate, w));
        } else if n == self.circuit.nodes.len() {
            self.wait_in_hand(marble);
        } else {
            self.request(gate, w, marble);
        }
        false
    }

    /// The marble goes on into the element that `way` leads to.
    #[inline]
    pub fn pass(&mut self, gate: GateId, marble: u32, way: Way) {
        self.let_out(gate);
        self.see(TraceEvent::Moved {
            marble,
            from: gate.node,
            to: way.to,
        });
        self.enter(way, marble);
    }

    /// Books a marble out of a gate and lets whoever waits for its place know.
    #[inline]
    pub fn let_out(&mut self, gate: GateId) {
        let node = &mut self.nodes[gate.node];
        match &mut node.role {
            Role::RoundRobin(switch) => switch.turn(self.now),
            Role::Trip(trip) => trip.open_for = trip.open_for.saturating_sub(1),
            _ => {}
        }
        if node.let_out(gate.gate, self.now) {
            self.await_entrance(gate.node);
        }
    }
}
