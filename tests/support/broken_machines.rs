//! Machines that work, each broken in one way, of which the remedy is known: what was changed, changed back.
//!
//! Written down before anything that searches for remedies was, so that nothing could be made to suit them. The effect of
//! each is large enough to show in 40 runs of two hours (`cargo test --test scenarios broken:: -- --ignored --nocapture`
//! prints it): a fill changed by 20 % or more, jams from none to several in eight hours, or marbles without room.

/// A sound machine with one thing wrong.
pub struct BrokenMachine {
    /// What a maker would call it.
    pub fault: &'static str,
    /// The scenario that works.
    pub scenario: &'static str,
    /// The key that was changed.
    pub key: &'static str,
    /// To what.
    pub value: &'static str,
}

const fn broken(fault: &'static str, [scenario, key, value]: [&'static str; 3]) -> BrokenMachine {
    BrokenMachine {
        fault,
        scenario,
        key,
        value,
    }
}

/// All of them.
pub const BROKEN: [BrokenMachine; 20] = [
    broken("too fast", ["starter-loop", "rpm", "7"]),
    broken("too few marbles", ["starter-loop", "marbles", "4"]),
    broken("far too many marbles", ["starter-loop", "marbles", "45"]),
    broken(
        "ramp too short",
        ["starter-loop", "circuit.ramp.length", "60 mm"],
    ),
    broken("too few marbles", ["harbour-weir", "marbles", "8"]),
    broken("too many marbles", ["harbour-weir", "marbles", "90"]),
    broken("too fast for its marbles", ["harbour-weir", "rpm", "12"]),
    broken(
        "too few pockets",
        ["harbour-weir", "circuit.crane.pockets", "7"],
    ),
    broken(
        "slide too short",
        ["harbour-weir", "circuit.jetty.places", "1"],
    ),
    broken(
        "track too short",
        ["harbour-weir", "circuit.breakwater.places", "2"],
    ),
    broken(
        "slide too slow",
        ["harbour-weir", "circuit.jetty.time", "6 s"],
    ),
    broken(
        "cup too large",
        ["lantern-walk", "circuit.lantern-cup.gathers", "24"],
    ),
    broken("too few marbles", ["lantern-walk", "marbles", "10"]),
    broken("too fast", ["lantern-walk", "rpm", "9"]),
    broken(
        "mouth too narrow",
        ["lantern-walk", "circuit.floor.mouth", "20 mm"],
    ),
    broken(
        "slide too flat",
        ["lantern-walk", "circuit.hand-over.slope", "0.5 deg"],
    ),
    broken(
        "wheel tilted too little",
        ["lantern-walk", "circuit.lower-wheel.tilt", "2 deg"],
    ),
    broken(
        "geared too low",
        ["lantern-walk", "circuit.upper-wheel.gear", "0.4"],
    ),
    broken(
        "pockets too shallow",
        ["tide-clock", "circuit.wheel.depth", "14 mm"],
    ),
    broken(
        "escapement too slow",
        ["tide-clock", "circuit.tick.time", "7 s"],
    ),
];
