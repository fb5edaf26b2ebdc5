//! Requesting for a place and getting it: marbles on the way before those in the maker's hand, and who asked first before others.

use super::event::{Event, Turn};
use super::node::{GateState, Request};
use super::run::Run;
use super::watch::{TraceEvent, Watcher};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Role;

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

    /// The head of gate `g` waits for a place; a weir's for a place on any of its ways.
    pub fn request(&mut self, n: usize, g: usize, w: usize, marble: u32) {
        for way in self.ways_asked(n, w) {
            let ways = &self.plan(n).ways;
            let to = ways[way].to;
            // Two ways of a weir into one element are one wait.
            if ways[..way].iter().any(|other| other.to == to)
                && matches!(self.plan(n).role, Role::Weir)
            {
                continue;
            }
            if self.nodes[to].fixed.is_wheel {
                self.request_pocket(to, n, g, way);
                continue;
            }
            let request = self.requested_now(n, g, way);
            self.nodes[to].line_up(request);
            self.nodes[to].statistics.refuse(self.now);
            self.see(TraceEvent::Refused {
                marble,
                from: n,
                by: to,
            });
            self.await_entrance(to);
        }
        self.check_stuck(n, w);
    }

    /// The request that gate `g` of `n` makes now for a place on its way `w`; the hand's comes after all others.
    pub fn requested_now(&self, n: usize, g: usize, w: usize) -> Request {
        let since = if n < self.circuit.nodes.len() {
            self.now
        } else {
            Nanos::MAX
        };
        Request {
            since,
            node: n,
            gate: g,
            way: w,
        }
    }

    /// Takes back what the head of gate `g` of `n` asked for.
    pub fn withdraw(&mut self, n: usize, g: usize) {
        let GateState::Requesting(w) = self.nodes[n].gates[g].state else {
            return;
        };
        for way in self.ways_asked(n, w) {
            let to = self.plan(n).ways[way].to;
            self.nodes[to]
                .requests
                .retain(|request| (request.node, request.gate) != (n, g));
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
            let way = self.plan(request.node).ways[request.way];
            self.pass(request.node, request.gate, marble, way);
            self.after_tipping(request.node, request.gate);
            self.retry(request.node, request.gate);
        }
        self.check_shut_out(n);
        if self.nodes[n].source_waits {
            self.await_hand();
        }
    }

    /// Takes the marble whose `request` is granted by `n` off its queue and withdraws its other requests.
    #[inline]
    pub fn grant(&mut self, request: Request, n: usize) -> Option<u32> {
        let gate = &mut self.nodes[request.node].gates[request.gate];
        let marble = gate.queue.pop_front()?;
        gate.state = GateState::Free;
        self.wait(request.node, -1);
        if matches!(self.nodes[request.node].role, Role::Weir) {
            for w in 0..self.plan(request.node).ways.len() {
                let other = self.plan(request.node).ways[w].to;
                if other != n {
                    self.nodes[other]
                        .requests
                        .retain(|a| a.node != request.node);
                }
            }
        }
        Some(marble)
    }

    /// A marble goes over the side of `at`, where it finds no place.
    pub fn spill(&mut self, n: usize, g: usize, marble: u32, at: usize) {
        self.let_out(n, g);
        self.lose(n, marble, at);
    }

    /// Books the loss of a marble that has left `n` and found no place in `at`.
    pub fn lose(&mut self, n: usize, marble: u32, at: usize) {
        self.nodes[at].statistics.spill(self.now);
        self.see(TraceEvent::Spilled {
            marble,
            from: n,
            at,
        });
    }
}
