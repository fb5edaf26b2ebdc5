//! What a maker can change in a line.

use crate::machine::knobs::{CostClass, Knob};

/// Each key, what it costs, and in what amounts it is changed.
pub const KNOBS: &[Knob] = &[
    Knob::amount(
        ("slope", CostClass::Reset),
        (0.5, "deg"),
        ["set @ steeper", "set @ flatter"],
    ),
    // Whoever timed it sets it steeper or flatter.
    Knob::time(
        ("time", CostClass::Reset),
        [
            "let marbles take longer through @",
            "let marbles take less long through @",
        ],
    ),
    Knob::amount(
        ("length", CostClass::Recut),
        (5.0, "mm"),
        ["lengthen @", "shorten @"],
    ),
    Knob::amount(
        ("places", CostClass::Recut),
        (1.0, ""),
        [
            "give @ room for # marbles more",
            "give @ room for # marbles less",
        ],
    ),
    Knob::amount(
        ("drop", CostClass::Recut),
        (5.0, "mm"),
        [
            "let marbles drop farther in @",
            "let marbles drop less in @",
        ],
    ),
    Knob::amount(
        ("corner.fall", CostClass::Recut),
        (5.0, "mm"),
        [
            "let marbles fall farther at the corner of @",
            "let marbles fall less at the corner of @",
        ],
    ),
    Knob::amount(
        ("corner.gap", CostClass::Recut),
        (1.0, "mm"),
        [
            "widen the gap at the corner of @",
            "narrow the gap at the corner of @",
        ],
    ),
    Knob::word(
        ("when-full", CostClass::Rebuild),
        "hold",
        "close the open side of @",
    ),
];
