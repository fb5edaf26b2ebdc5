//! The maker's hand, from which marbles are poured in.

use crate::circuit::plan::{Circuit, Plan, Role, Way};

/// The maker's hand as an element: holds everything, leads to the start.
pub fn hand(circuit: &Circuit) -> Plan {
    Plan {
        name: "the maker's hand".to_owned(),
        kind: "hand",
        room: u32::MAX,
        spills: false,
        travel: Vec::new(),
        overtaking: false,
        stalls: false,
        advance: 0,
        entrance_delay: 0,
        snag: None,
        ways: vec![Way { to: circuit.start, entry: 0 }],
        role: Role::Through,
    }
}
