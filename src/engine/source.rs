//! The source: the maker's hand, which holds all marbles at the start, and has its turn after all who are on the way.

use super::node::{GateId, WayId};
use super::run::Run;
use super::watch::{TraceEvent, Watcher};
use crate::circuit::plan::{Circuit, Plan, Role, Way};

impl<W: Watcher, const LEVELS: usize> Run<'_, W, LEVELS> {
    /// The maker's hand holds all marbles and puts in as many as there is room for, then the rest as places come free.
    pub fn pour(&mut self) {
        let source = self.circuit.nodes.len();
        let count = self.circuit.marbles;
        let node = &mut self.nodes[source];
        node.held = count;
        node.gates[0].queue = (0..count).collect();
        self.wait(source, count as i32);
        self.retry(GateId::first(source));
    }

    /// The maker's hand finds no place for `marble` and waits until nobody on the way wants one.
    ///
    /// It does not line up with the others: it has its turn as the last of the instant at which a place is free. And it is
    /// not held back by the machine while it pours, so it is not among those refused.
    pub fn wait_in_hand(&mut self, marble: u32) {
        let (source, start) = (self.circuit.nodes.len(), self.circuit.start);
        self.nodes[start].source_waits = true;
        self.see(TraceEvent::Refused {
            marble,
            from: source,
            by: start,
        });
        self.await_hand();
        self.check_stuck(WayId::first(source));
    }

    /// Lets the hand try again as soon as the start is open, if it waits and nobody else does.
    pub fn await_hand(&mut self) {
        let (source, start) = (self.circuit.nodes.len(), self.circuit.start);
        let node = &mut self.nodes[start];
        if node.source_waits && node.requests.is_empty() && node.has_room() {
            node.source_waits = false;
            let opens = node.opens_at(self.now);
            self.await_gate(GateId::first(source), opens);
        }
    }
}

/// Whether the start cannot take all marbles, so that the hand may have to wait.
pub fn source_may_wait(circuit: &Circuit) -> bool {
    circuit.nodes[circuit.start].room < circuit.marbles
}

/// The maker's hand as an element: holds everything, leads to the start.
pub fn source(circuit: &Circuit) -> Plan {
    Plan {
        name: "the maker's hand".to_owned(),
        kind: "hand",
        room: u32::MAX,
        spills: false,
        travel: Vec::new(),
        by_crowd: false,
        thrown_out: Vec::new(),
        overtaking: false,
        collects: false,
        rings: false,
        trips: Vec::new(),
        stalls: false,
        halts: crate::circuit::plan::Cause::Stall,
        advance: 0,
        entrance_delay: 0,
        blockage: None,
        followed: None,
        ways: vec![Way {
            to: circuit.start,
            entry: 0,
        }],
        role: Role::Through,
    }
}
