//! Requesting a place and getting it: marbles on the way before those in the maker's hand, and who asked first before others.

use super::event::{Event, Turn};
use super::node::{GateId, GateState, Request};
use super::run::Run;
use super::watch::{TraceEvent, Watcher};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::{Role, Way};

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// Serves those who wait for a place in `n` as soon as its entrance is open.
    pub fn await_entrance(&mut self, n: usize) {
        let node = &self.nodes[n];
        if node.requests.is_empty() {
            return self.await_hand();
        }
        if node.entrance == Event::NEVER
            && node.held < self.circuit.nodes[n].room
            && node.opens != Nanos::MAX
        {
            let opens = node.opens_at(self.now);
            let event = self.schedule(opens, n, Turn::Entrance, 0);
            self.nodes[n].entrance = event;
            self.refresh(n);
        }
    }

    /// The head of a gate waits for a place on its way `w`; for a place on any way
    /// where the first with room is taken.
    pub fn request(&mut self, gate: GateId, w: usize, marble: u32) {
        let n = gate.node;
        for way in self.ways_asked(gate.way(w)) {
            let ways = &self.plan(n).ways;
            let to = ways[way].to;
            // Two of several asked ways into one element are one wait.
            if ways[..way].iter().any(|other| other.to == to)
                && matches!(self.plan(n).role, Role::FirstWithRoom)
            {
                continue;
            }
            let request = self.requested_now(gate, way);
            if self.nodes[to].fixed.is_wheel {
                self.request_pocket(to, request);
                continue;
            }
            self.nodes[to].line_up(request);
            self.nodes[to].statistics.refuse(self.now);
            self.see(TraceEvent::Refused {
                marble,
                from: n,
                by: to,
            });
            self.await_entrance(to);
        }
        self.check_stuck(gate.way(w));
    }

    /// The request that the head of `gate` makes now for a place on its `way`; the hand's comes after all others.
    #[inline]
    pub fn requested_now(&self, gate: GateId, way: usize) -> Request {
        let since = if gate.node < self.circuit.nodes.len() {
            self.now
        } else {
            Nanos::MAX
        };
        Request { since, gate, way }
    }

    /// Takes back what the head of `gate` asked for.
    pub fn withdraw(&mut self, gate: GateId) {
        let GateState::Requesting(w) = self.gate(gate).state else {
            return;
        };
        for way in self.ways_asked(gate.way(w)) {
            let to = self.plan(gate.node).ways[way].to;
            self.nodes[to]
                .requests
                .retain(|request| request.gate != gate);
        }
    }

    /// Lets in those who wait for a place in `n`, in the order they asked.
    pub fn serve(&mut self, n: usize) {
        while self.nodes[n].is_open(self.now) {
            let Some(request) = self.nodes[n].requests.pop_front() else {
                break;
            };
            let Some(marble) = self.grant(request, n) else {
                continue;
            };
            let way = self.plan(request.gate.node).ways[request.way];
            self.pass(request.gate, marble, way);
            self.after_batch(request.gate);
            self.retry(request.gate);
        }
        self.check_shut_out(n);
        if self.nodes[n].source_waits {
            self.await_hand();
        }
    }

    /// Takes the marble whose `request` is granted by `n` off its queue and withdraws its other requests.
    #[inline]
    pub fn grant(&mut self, request: Request, n: usize) -> Option<u32> {
        let gate = self.gate_mut(request.gate);
        let marble = gate.queue.pop_front()?;
        gate.state = GateState::Free;
        let from = request.gate.node;
        self.wait(from, -1);
        if matches!(self.nodes[from].role, Role::FirstWithRoom) {
            for w in 0..self.plan(from).ways.len() {
                let other = self.plan(from).ways[w].to;
                if other != n {
                    self.nodes[other].requests.retain(|a| a.gate.node != from);
                }
            }
        }
        Some(marble)
    }

    /// A marble leaves by `way` and goes over the side of the element it leads to, where it finds no place.
    pub fn spill(&mut self, gate: GateId, marble: u32, way: Way) {
        self.let_out(gate);
        self.lose(gate.node, marble, way);
    }

    /// Books the loss of a marble that has left `from` by `way` and found no place there.
    pub fn lose(&mut self, from: usize, marble: u32, way: Way) {
        let at = way.to;
        self.nodes[at].statistics.spill(self.now);
        self.see(TraceEvent::Spilled { marble, from, at });
    }
}
