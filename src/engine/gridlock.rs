//! Locks: full elements that wait for each other, or for a dead end, and can never move again. A lock of a part is noted
//! and the rest goes on; a lock of everything ends the run.

use std::ops::Range;

use super::node::{self, GateState, Node, WayId};
use super::outcome::{Lock, Outcome};
use super::run::Run;
use super::watch::{TraceEvent, Watcher};
use crate::circuit::plan::Role;

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// The ways out of the element that the head of one of its gates requests when it wants to take `way`: any, where
    /// the first with room is taken.
    pub fn ways_asked(&self, way: WayId) -> Range<usize> {
        let WayId { node: n, way: w } = way;
        let ways = self.plan(n).ways.len();
        if matches!(self.plan(n).role, Role::FirstWithRoom) {
            0..ways
        } else {
            w..(w + 1).min(ways)
        }
    }

    /// Notes a lock, or ends the run, if a marble that waits for `way` can never move again.
    pub fn check_stuck(&mut self, way: WayId) {
        let ways = &self.plan(way.node).ways;
        if self.ended.is_none() && self.ways_asked(way).all(|w| self.is_gridlocked(ways[w].to)) {
            self.lock(way);
        }
    }

    /// As [`Run::check_stuck`], for all whom the marble that has just taken the last place in `n` may have shut out.
    pub fn check_shut_out(&mut self, n: usize) {
        if self.nodes[n].is_awaited() && self.is_gridlocked(n) {
            let requests = self.nodes[n].requests.clone();
            requests
                .iter()
                .for_each(|request| self.check_stuck(request.gate.way(request.way)));
        }
    }

    /// Nothing is due any more: the machine has run dry, unless some of its marbles wait for places that never come free.
    pub fn come_to_rest(&mut self) {
        let waits = |n: &usize| {
            let requests = |gate: &node::Gate| matches!(gate.state, GateState::Requesting(_));
            !self.circuit.nodes[*n].ways.is_empty() && self.nodes[*n].gates.iter().any(requests)
        };
        let found = self.locks.first().map(|lock| lock.node);
        let start = self.circuit.start;
        // A gate that is never tripped makes no lock, and the hand may wait before it.
        let in_hand = self.nodes[start].source_waits.then_some(start);
        let waiting = (0..self.circuit.nodes.len()).find(waits).or(in_hand);
        match found.or(waiting) {
            Some(n) => self.gridlock(n),
            None => self.ended = Some(Outcome::RanDry),
        }
    }

    fn gridlock(&mut self, node: usize) {
        self.see(TraceEvent::Gridlocked { node });
        self.ended = Some(Outcome::Gridlocked);
    }

    /// A marble that waits for `way` can never move again.
    fn lock(&mut self, way: WayId) {
        let n = way.node;
        let open = self.open_elements();
        let known = self
            .ways_asked(way)
            .any(|w| self.nodes[self.plan(n).ways[w].to].lock != node::LockState::None);
        let known = known || self.nodes[n].lock != node::LockState::None;
        let marbles = self.shut_in(n, &open);
        // The hand is no place in the machine.
        let node = if n < open.len() {
            n
        } else {
            self.circuit.start
        };
        if !self.anything_moves(&open) {
            self.gridlock(node);
        } else if !known {
            self.locks.push(Lock {
                node,
                time: self.now,
                marbles,
            });
            self.see(TraceEvent::Locked { node, marbles });
        }
    }

    /// Marks `n` and all that is closed as locked; how many marbles are shut in that were not before.
    fn shut_in(&mut self, n: usize, open: &[bool]) -> u32 {
        let mut marbles = 0;
        for (at, &open) in open.iter().enumerate() {
            let node = &mut self.nodes[at];
            // What lies in a full dead end rests where it should.
            if open || self.circuit.nodes[at].ways.is_empty() {
                continue;
            }
            if node.lock == node::LockState::None {
                marbles += node.held;
            }
            node.lock = node::LockState::Closed;
        }
        let node = &mut self.nodes[n];
        if n < open.len() && node.lock == node::LockState::None {
            node.lock = node::LockState::Part;
            let waits = |gate: &&node::Gate| matches!(gate.state, GateState::Requesting(_));
            let waiting: usize = node
                .gates
                .iter()
                .filter(waits)
                .map(|gate| gate.queue.len())
                .sum();
            marbles += if node.gates.len() == 1 {
                node.held
            } else {
                waiting as u32
            };
        }
        marbles
    }

    fn anything_moves(&self, open: &[bool]) -> bool {
        let source = &self.nodes[open.len()];
        let pours = !source.gates[0].queue.is_empty() && open[self.circuit.start];
        pours || (0..open.len()).any(|n| self.can_move(n, open))
    }

    /// Whether the element `n`, which has just refused a marble, can never take one again.
    ///
    /// Most refusals are found harmless by following who waits for whom: the chain soon meets an element that will move.
    fn is_gridlocked(&self, n: usize) -> bool {
        let mut at = n;
        for _ in 0..self.circuit.nodes.len() {
            match self.waits_for(at) {
                Chain::Moves => return false,
                Chain::Never => return true,
                Chain::WaitsFor(next) => at = next,
                Chain::Unclear => break,
            }
        }
        !self.open_elements()[n]
    }

    fn waits_for(&self, n: usize) -> Chain {
        let node = &self.nodes[n];
        if node.lock == node::LockState::Closed {
            return Chain::Never;
        }
        if node.has_room() {
            return Chain::Moves;
        }
        match (&node.role, &*node.gates) {
            (Role::Carousel(_) | Role::FirstWithRoom, _) => Chain::Unclear,
            _ if self.circuit.nodes[n].ways.is_empty() => Chain::Unclear,
            (_, [gate]) => match gate.state {
                GateState::Requesting(way) => self.circuit.nodes[n]
                    .ways
                    .get(way)
                    .map_or(Chain::Unclear, |way| Chain::WaitsFor(way.to)),
                _ => Chain::Moves,
            },
            _ => Chain::Unclear,
        }
    }

    /// Which elements have room for a marble now or may have it some time: the least set that holds all elements with
    /// room and every element from which a marble can go on into one of the set.
    fn open_elements(&self) -> Vec<bool> {
        let mut open: Vec<bool> = self.nodes[..self.circuit.nodes.len()]
            .iter()
            .map(Node::has_room)
            .collect();
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
        // A batch stays where it gathers until it is complete, and only another marble that moves can complete it.
        if matches!(node.role, Role::Batch(_)) && node.has_room() {
            return false;
        }
        // Over an open side a marble goes in any case; where the first way with room is taken, over that of the last.
        let overflows = matches!(node.role, Role::FirstWithRoom);
        let over =
            |w: usize| self.circuit.nodes[ways[w].to].spills && (!overflows || w + 1 == ways.len());
        let any = || (0..ways.len()).any(|w| open[ways[w].to] || over(w));
        let leaves = |g: usize| match node.gates[g].state {
            GateState::Requesting(way) if !overflows => ways.get(way).is_some_and(|w| open[w.to]),
            _ => any(),
        };
        // Who still travels to a gate with several ways finds nobody waiting at it: it has room for one marble.
        let travelling = !node.lane.is_empty() || !node.carried.is_empty();
        (0..node.gates.len()).any(|g| !node.gates[g].queue.is_empty() && leaves(g))
            || (travelling && any())
    }
}

enum Chain {
    /// It will move, or has room.
    Moves,
    /// It is locked.
    Never,
    /// Its only head waits for that element.
    WaitsFor(usize),
    /// Several gates or ways, a wheel, or a dead end.
    Unclear,
}
