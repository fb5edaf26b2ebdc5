//! Which way a marble takes where there are several: at random, by room, or in turn.

use super::node::GateId;
use super::run::Run;
use super::streams::Purpose;
use super::watch::Watcher;
use crate::circuit::plan::Role;

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// The gate a marble comes to: one at random where each way has its own, else the only one.
    pub fn gate_reached(&mut self, n: usize, marble: u32) -> GateId {
        let circuit = self.circuit;
        let first = GateId::first(n);
        match &circuit.nodes[n].role {
            Role::RandomGate(shares) => GateId {
                node: n,
                gate: shares.way(self.random(n, Purpose::Way, marble)),
            },
            Role::RoundRobin(_) => {
                self.choose(first, marble);
                first
            }
            _ => first,
        }
    }

    /// The way that `marble`, the head of `gate`, takes; `None` at a dead end.
    #[inline]
    pub fn choose(&mut self, gate: GateId, marble: u32) -> Option<usize> {
        let GateId { node: n, gate: g } = gate;
        let now = self.now;
        match &mut self.nodes[n].role {
            Role::RoundRobin(switch) => Some(switch.way(now)),
            Role::Batch(batch) => self.circuit.nodes[n]
                .ways
                .get(batch.way())
                .map(|_| batch.way()),
            Role::RandomGate(_) => Some(g),
            Role::RandomWay(_) => {
                let random = self.random(n, Purpose::Way, marble);
                let Role::RandomWay(shares) = &self.nodes[n].role else {
                    return None;
                };
                Some(shares.way(random))
            }
            Role::FirstWithRoom => {
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
}
