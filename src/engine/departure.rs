//! The head of a gate is offered to the next element: it goes on, falls over an open side, or requests a place and waits.

use super::event::{Event, Turn};
use super::node::GateState;
use super::run::Run;
use super::streams::Purpose;
use super::watch::{TraceEvent, Watcher};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::{Role, Way};

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// The head of gate `g` is offered at `time`.
    pub fn await_gate(&mut self, n: usize, g: usize, time: Nanos) {
        let event = self.schedule(time, n, Turn::Gate, 0);
        let gate = &mut self.nodes[n].gates[g];
        gate.state = GateState::Due;
        gate.event = event;
        self.refresh(n);
    }

    pub fn gate_due(&mut self, n: usize, g: usize) {
        let gate = &mut self.nodes[n].gates[g];
        gate.event = Event::NEVER;
        gate.state = GateState::Free;
        match self.nodes[n].role {
            Role::Escapement(_) => self.released(n, g),
            _ => self.retry(n, g),
        }
    }

    /// The head of gate `g`, if there is one, goes on as soon as it may; so do those behind it.
    pub fn retry(&mut self, n: usize, g: usize) {
        loop {
            let gate = &self.nodes[n].gates[g];
            let Some(&marble) = gate.queue.front() else {
                return;
            };
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
    /// Otherwise it has asked for a place, and the gate is `Requesting`.
    #[inline]
    pub fn offer(&mut self, n: usize, g: usize, marble: u32) -> bool {
        let fixed = &self.nodes[n].fixed;
        let (w, way) = if fixed.one_way {
            (0, fixed.first_way)
        } else {
            let Some(w) = self.choose(n, g, marble) else {
                self.nodes[n].gates[g].state = GateState::Requesting(0);
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
        self.nodes[n].gates[g].state = GateState::Requesting(w);
        if to_wheel && (!matches!(self.nodes[n].role, Role::Weir) || self.admits(way.to)) {
            self.request_pocket(way.to, n, g, w);
        } else if n == self.circuit.nodes.len() {
            self.wait_in_hand(marble);
        } else {
            self.request(n, g, w, marble);
        }
        false
    }

    /// The way that `marble`, the head of gate `g`, takes; `None` at a dead end.
    #[inline]
    pub fn choose(&mut self, n: usize, g: usize, marble: u32) -> Option<usize> {
        let now = self.now;
        match &mut self.nodes[n].role {
            Role::FlipGate(gate) => Some(gate.way(now)),
            Role::Holes(_) => Some(g),
            Role::Peg(_) => {
                let random = self.random(n, Purpose::Way, marble);
                let Role::Peg(shares) = &self.nodes[n].role else {
                    return None;
                };
                Some(shares.way(random))
            }
            Role::Weir => {
                let ways = &self.plan(n).ways;
                Some(
                    ways.iter()
                        .position(|way| self.admits(way.to))
                        .unwrap_or(ways.len() - 1),
                )
            }
            _ => (!self.plan(n).ways.is_empty()).then_some(0),
        }
    }

    /// Whether a marble could enter `n` now without passing over somebody who waits. Wheels take marbles by themselves.
    #[inline]
    pub fn admits(&self, n: usize) -> bool {
        let node = &self.nodes[n];
        node.takes(self.now) || (node.fixed.is_wheel && node.requests.is_empty())
    }

    /// The marble goes on into the element that `way` leads to.
    #[inline]
    pub fn pass(&mut self, n: usize, g: usize, marble: u32, way: Way) {
        self.let_out(n, g);
        self.see(TraceEvent::Moved {
            marble,
            from: n,
            to: way.to,
        });
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
