//! Asking for a place and getting it: marbles on the way before those in the maker's hand, and who asked first before others.

use super::event::{Event, Turn};
use super::node::{Ask, GateState};
use super::run::Run;
use super::watch::{Watcher, What};
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Role;

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// Serves those who wait for a place in `n` as soon as its entrance is open.
    pub fn await_entrance(&mut self, n: usize) {
        let node = &self.nodes[n];
        if node.asks.is_empty() {
            return self.await_hand();
        }
        if node.entrance == Event::NEVER && node.held < self.circuit.nodes[n].room && node.opens != Nanos::MAX {
            let opens = node.opens_at(self.now);
            let event = self.schedule(opens, n, Turn::Entrance, 0);
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
            if self.nodes[to].fixed.is_wheel {
                self.ask_wheel(to, n, g, way);
                continue;
            }
            let ask = self.asked_now(n, g, way);
            self.nodes[to].line_up(ask);
            self.nodes[to].tally.refuse(self.now);
            self.see(What::Refused { marble, from: n, by: to });
            self.await_entrance(to);
        }
        self.check_stuck(n, w);
    }

    /// The request that gate `g` of `n` makes now for a place on its way `w`; the hand's comes after all others.
    pub fn asked_now(&self, n: usize, g: usize, w: usize) -> Ask {
        let since = if n < self.circuit.nodes.len() { self.now } else { Nanos::MAX };
        Ask { since, node: n, gate: g, way: w }
    }

    /// Takes back what the head of gate `g` of `n` asked for.
    pub fn withdraw(&mut self, n: usize, g: usize) {
        let GateState::Asking(w) = self.nodes[n].gates[g].state else { return };
        for way in self.ways_asked(n, w) {
            let to = self.plan(n).ways[way].to;
            self.nodes[to].asks.retain(|ask| (ask.node, ask.gate) != (n, g));
        }
    }

    /// Lets in those who wait for a place in `n`, in the order they asked.
    pub fn serve(&mut self, n: usize) {
        while self.nodes[n].is_open(self.now) {
            let Some(ask) = self.nodes[n].asks.pop_front() else { break };
            let Some(marble) = self.grant(ask, n) else { continue };
            let way = self.plan(ask.node).ways[ask.way];
            self.pass(ask.node, ask.gate, marble, way);
            self.after_tipping(ask.node, ask.gate);
            self.rouse(ask.node, ask.gate);
        }
        self.check_shut_out(n);
        if self.nodes[n].hand_waits {
            self.await_hand();
        }
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

    /// A marble goes over the side of `at`, where it finds no place.
    pub fn spill(&mut self, n: usize, g: usize, marble: u32, at: usize) {
        self.let_out(n, g);
        self.lose(n, marble, at);
    }

    /// Books the loss of a marble that has left `n` and found no place in `at`.
    pub fn lose(&mut self, n: usize, marble: u32, at: usize) {
        self.nodes[at].tally.spill(self.now);
        self.see(What::Spilled { marble, from: n, at });
    }
}
