//! Gridlock: full elements that wait for each other, or for a dead end, and can never move again.

use std::ops::Range;

use super::node::{GateState, Node};
use super::outcome::Outcome;
use super::run::Run;
use super::watch::{Watcher, What};
use crate::circuit::plan::Role;

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// The ways that the head of a gate of `n` asks for when it wants to take way `w`: a weir's head asks for any.
    pub fn ways_asked(&self, n: usize, w: usize) -> Range<usize> {
        if matches!(self.plan(n).role, Role::Weir) { 0..self.plan(n).ways.len() } else { w..w + 1 }
    }

    /// Ends the run if the head of `n` that waits for its way `w` can never move again.
    pub fn end_if_stuck(&mut self, n: usize, w: usize) {
        let mut ways = self.ways_asked(n, w);
        if self.ended.is_none() && ways.all(|way| self.is_gridlocked(self.plan(n).ways[way].to)) {
            self.gridlock(n);
        }
    }

    /// Ends the run if the marble that has just taken the last place in `n` shuts out for ever those who still wait.
    pub fn end_if_shut(&mut self, n: usize) {
        if !self.nodes[n].asks.is_empty() && self.is_gridlocked(n) {
            let asks = self.nodes[n].asks.clone();
            asks.iter().for_each(|ask| self.end_if_stuck(ask.node, ask.way));
        }
    }

    /// Ends the run: a marble in `n` can never move again.
    pub fn gridlock(&mut self, n: usize) {
        self.see(What::Gridlocked { node: n });
        self.ended = Some(Outcome::Gridlocked);
    }

    /// Whether the element `n`, which has just refused a marble, can never take one again.
    ///
    /// Most refusals are told harmless by following who waits for whom: the chain soon meets an element that will move.
    pub fn is_gridlocked(&self, n: usize) -> bool {
        let mut at = n;
        for _ in 0..self.circuit.nodes.len() {
            match self.waits_for(at) {
                Chain::Moves => return false,
                Chain::WaitsFor(next) => at = next,
                Chain::Unclear => break,
            }
        }
        !self.open_elements()[n]
    }

    fn waits_for(&self, n: usize) -> Chain {
        let node = &self.nodes[n];
        if node.has_room() {
            return Chain::Moves;
        }
        match (&node.role, &*node.gates) {
            (Role::PocketWheel(_) | Role::Weir, _) => Chain::Unclear,
            _ if self.circuit.nodes[n].ways.is_empty() => Chain::Unclear,
            (_, [gate]) => match gate.state {
                GateState::Asking(way) => {
                    self.circuit.nodes[n].ways.get(way).map_or(Chain::Unclear, |way| Chain::WaitsFor(way.to))
                }
                _ => Chain::Moves,
            },
            _ => Chain::Unclear,
        }
    }

    /// Which elements have room for a marble now or may have it some time: the least set that holds all elements with
    /// room and every element from which a marble can go on into one of the set.
    fn open_elements(&self) -> Vec<bool> {
        let mut open: Vec<bool> = self.nodes[..self.circuit.nodes.len()].iter().map(Node::has_room).collect();
        loop {
            let found = (0..open.len()).find(|&n| !open[n] && self.can_move(n, &open));
            match found {
                Some(n) => open[n] = true,
                None => return open,
            }
        }
    }

    fn can_move(&self, n: usize, open: &[bool]) -> bool {
        let ways = &self.circuit.nodes[n].ways;
        let node = &self.nodes[n];
        let any = || ways.iter().any(|way| open[way.to]);
        let leaves = |g: usize| match node.gates[g].state {
            GateState::Asking(way) if !matches!(node.role, Role::Weir) => ways.get(way).is_some_and(|w| open[w.to]),
            _ => any(),
        };
        // Who still travels to a gate with several ways finds nobody waiting at it: it has room for one marble.
        let travelling = !node.lane.is_empty() || !node.carried.is_empty();
        (0..node.gates.len()).any(|g| !node.gates[g].queue.is_empty() && leaves(g)) || (travelling && any())
    }
}

enum Chain {
    /// It will move, or has room.
    Moves,
    /// Its only head waits for that element.
    WaitsFor(usize),
    /// Several gates or ways, a wheel, or a dead end.
    Unclear,
}
