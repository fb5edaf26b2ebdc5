//! Gates that do more than open: wedged marbles, servers, batches, stalls.

use super::event::{Event, Turn};
use super::node::{GateId, GateState, Node};
use super::outcome::{Jam, Outcome};
use super::run::Run;
use super::streams::Purpose;
use super::watch::{TraceEvent, Watcher};
use crate::circuit::batch::BatchState;
use crate::circuit::draw::Nanos;
use crate::circuit::plan::{Cause, Role};
use crate::contact::crowd_counts::crowd;

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// Whether a marble arriving at a gate wedges there with those it meets.
    pub fn blocks(&mut self, id: GateId, marble: u32) -> bool {
        let n = id.node;
        let circuit = self.circuit;
        let Some(plan) = circuit.nodes.get(n) else {
            return false;
        };
        let Some(blockage) = plan.blockage.as_ref() else {
            return false;
        };
        let gate = self.gate(id);
        // Nothing wedges once more what is wedged, and what leads nowhere has no mouth.
        if gate.state == GateState::Blocked || plan.ways.is_empty() {
            return false;
        }
        let met = if blockage.by_crowd {
            crowd(self.nodes[n].held)
        } else {
            gate.queue.len() + usize::from(gate.opens > self.now)
        };
        let chance = blockage.chance[met.min(blockage.chance.len() - 1)];
        let wedges = !chance.never() && chance.happens(self.random(n, Purpose::Wedge, marble));
        if !wedges || blockage.counterfactual == Some(self.now) {
            return false;
        }
        self.nodes[n].statistics.blockages += 1;
        let lasts = match &blockage.clears {
            Some(law) => {
                let lasts = law.draw(|| self.random(n, Purpose::Clear, marble));
                self.see(TraceEvent::Blocked {
                    node: n,
                    cause: blockage.cause,
                });
                Some(lasts)
            }
            None => self.jam(n, blockage.cause),
        };
        let event = lasts.map_or(Event::NEVER, |lasts| {
            self.schedule(self.now + lasts, n, Turn::Gate, 0)
        });
        self.withdraw(id);
        let gate = self.gate_mut(id);
        gate.state = GateState::Blocked;
        gate.event = event;
        self.refresh(n);
        true
    }

    /// A marble joins the queue before a server, or is served at once if nobody is.
    pub fn join(&mut self, n: usize, marble: u32) {
        let gate = &mut self.nodes[n].gates[0];
        gate.queue.push_back(marble);
        let alone = gate.state == GateState::Free && gate.queue.len() == 1;
        self.see(TraceEvent::Queued { marble, node: n });
        if alone {
            self.hold(GateId::first(n), marble);
        } else {
            self.wait(n, 1);
        }
    }

    /// A server takes hold of its head for a time.
    pub fn hold(&mut self, id: GateId, marble: u32) {
        let n = id.node;
        let circuit = self.circuit;
        let Role::Server(time) = &circuit.nodes[n].role else {
            return;
        };
        let held = time.draw(|| self.random(n, Purpose::Hold, marble));
        let event = self.schedule(self.now + held, n, Turn::Gate, 0);
        let gate = self.gate_mut(id);
        gate.state = GateState::Due;
        gate.event = event;
        self.refresh(n);
    }

    /// A server lets go of its head.
    pub fn released(&mut self, id: GateId) {
        let Some(&marble) = self.gate(id).queue.front() else {
            return;
        };
        if self.offer(id, marble) {
            self.gate_mut(id).queue.pop_front();
            self.retry(id);
        } else {
            self.wait(id.node, 1);
        }
    }

    /// A marble has come into `n` and trips the gates that wait for that; whoever waits there is offered at this instant.
    #[inline(never)]
    pub fn trip(&mut self, n: usize) {
        let circuit = self.circuit;
        for &gate in &circuit.nodes[n].trips {
            if let Role::Trip(trip) = &mut self.nodes[gate].role {
                trip.trip();
            }
            let id = GateId::first(gate);
            let waits = self.gate(id);
            if waits.state == GateState::Free && !waits.queue.is_empty() {
                self.await_gate(id, self.now);
            }
        }
    }

    /// A marble joins a batch; the last one completes it.
    pub fn gather(&mut self, n: usize, marble: u32, batch: &BatchState) {
        self.queue(GateId::first(n), marble);
        if self.nodes[n].held == batch.gathers {
            self.nodes[n].opens = Nanos::MAX;
            let event = self.schedule(self.now + batch.tip, n, Turn::Gate, 0);
            let gate = &mut self.nodes[n].gates[0];
            gate.state = GateState::Due;
            gate.event = event;
            self.refresh(n);
        }
    }

    /// When the last marble of a batch has left, the element takes marbles again after a while.
    #[inline]
    pub fn after_batch(&mut self, id: GateId) {
        let Node {
            role: Role::Batch(batch),
            gates,
            opens,
            ..
        } = &mut self.nodes[id.node]
        else {
            return;
        };
        if gates[id.gate].queue.is_empty() {
            batch.turn();
            *opens = self.now + batch.reset;
            if self.nodes[id.node].is_awaited() {
                self.await_entrance(id.node);
            }
        }
    }

    /// Notes a jam at `n`; the time until somebody clears it, or `None` when it ends the run.
    pub fn jam(&mut self, n: usize, cause: Cause) -> Option<Nanos> {
        let (seen, now) = (TraceEvent::Blocked { node: n, cause }, self.now);
        self.see(seen);
        match self
            .jams
            .iter_mut()
            .find(|jam| jam.node == n && jam.cause == cause)
        {
            Some(jam) => jam.count += 1,
            None => self.jams.push(Jam {
                node: n,
                cause,
                first: now,
                count: 1,
            }),
        }
        if self.circuit.tending.is_none() {
            self.ended = Some(Outcome::Jammed);
        }
        self.circuit.tending
    }

    /// A marble comes to rest on a slope too shallow for it; the time until somebody has pushed it on.
    ///
    /// Even a push at once takes some time, so that a loop in which marbles only ever stall does not turn in no time.
    pub fn stall(&mut self, n: usize) -> Nanos {
        self.nodes[n].statistics.blockages += 1;
        let cause = self.circuit.nodes[n].halts;
        self.jam(n, cause).unwrap_or(0).max(PUSH)
    }
}

/// The least time a push takes: a millisecond, as the shortest loop a machine file may hold.
const PUSH: Nanos = 1_000_000;
