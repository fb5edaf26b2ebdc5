//! Asking for a place and getting it: whoever asked first is served first.

use super::event::Event;
use super::node::{Ask, GateState};
use super::run::Run;
use super::watch::{Watcher, What};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Role;

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// Serves those who wait for a place in `n` as soon as its entrance is open.
    pub fn await_entrance(&mut self, n: usize) {
        let node = &self.nodes[n];
        if node.entrance == Event::NEVER && node.held < self.circuit.nodes[n].room && node.opens != Nanos::MAX {
            let opens = node.opens.max(self.now);
            let event = self.schedule(opens, n, 0);
            self.nodes[n].entrance = event;
            self.refresh(n);
        }
    }

    /// The head of gate `g` waits for a place; a weir's for a place on any of its ways.
    pub fn ask(&mut self, n: usize, g: usize, w: usize, marble: u32) {
        for way in self.ways_asked(n, w) {
            let ways = &self.plan(n).ways;
            let to = ways[way].to;
            // Two ways of a weir into one element are one wait.
            if ways[..way].iter().any(|other| other.to == to) && matches!(self.plan(n).role, Role::Weir) {
                continue;
            }
            let ask = Ask { node: n, gate: g, way };
            if self.nodes[to].fixed.is_wheel {
                self.ask_wheel(to, ask);
                continue;
            }
            self.nodes[to].asks.push_back(ask);
            // A hand that waits while it pours is not held back by the machine.
            if n < self.circuit.nodes.len() {
                self.nodes[to].tally.refuse(self.now);
            }
            self.see(What::Refused { marble, from: n, by: to });
            self.await_entrance(to);
        }
        self.end_if_stuck(n, w);
    }

    /// Lets in those who wait for a place in `n`, in the order they asked.
    pub fn serve(&mut self, n: usize) {
        while self.nodes[n].held < self.circuit.nodes[n].room && self.nodes[n].opens <= self.now {
            let Some(ask) = self.nodes[n].asks.pop_front() else { return };
            let Some(marble) = self.grant(ask, n) else { continue };
            let way = self.plan(ask.node).ways[ask.way];
            self.pass(ask.node, ask.gate, marble, way);
            self.after_tipping(ask.node, ask.gate);
            self.rouse(ask.node, ask.gate);
        }
        self.end_if_shut(n);
    }

    /// Lets whoever waits into the file `n`, whose entrance opens at the instant at which its next head may go.
    ///
    /// So it is full when that head leaves, and opens one place an advance. By the order of events alone it would open one
    /// at a time where the one who waits had asked before the head ahead left, and two at once where only after.
    #[inline(never)]
    pub fn fill_first(&mut self, n: usize) {
        self.nodes[n].entrance = Event::NEVER;
        self.serve(n);
        self.nodes[n].note_side();
    }

    /// Takes the marble whose `ask` is granted by `n` off its queue and withdraws its other asks.
    #[inline]
    pub fn grant(&mut self, ask: Ask, n: usize) -> Option<u32> {
        let gate = &mut self.nodes[ask.node].gates[ask.gate];
        let marble = gate.queue.pop_front()?;
        gate.state = GateState::Free;
        self.wait(ask.node, -1);
        if matches!(self.nodes[ask.node].role, Role::Weir) {
            for w in 0..self.plan(ask.node).ways.len() {
                let other = self.plan(ask.node).ways[w].to;
                if other != n {
                    self.nodes[other].asks.retain(|a| a.node != ask.node);
                }
            }
        }
        Some(marble)
    }

    /// Books the loss of a marble that has left `n` and found no place in `at`.
    pub fn lose(&mut self, n: usize, marble: u32, at: usize) {
        self.nodes[at].tally.spill(self.now);
        self.see(What::Spilled { marble, from: n, at });
    }
}
