//! What a maker can change in a pocket wheel.

use crate::machine::knobs::{CostClass, Knob};

/// Each key, what it costs, and in what amounts it is changed.
pub const KNOBS: &[Knob] = &[
    Knob::amount(
        ("speed", CostClass::Turn),
        (0.25, "rpm"),
        ["turn @ faster", "turn @ slower"],
    ),
    Knob::amount(
        ("phase", CostClass::Reset),
        (5.0, "deg"),
        ["turn @ on its axle", "turn @ back on its axle"],
    ),
    Knob::amount(
        ("guide", CostClass::Reset),
        (5.0, "deg"),
        [
            "let the guide of @ end later",
            "let the guide of @ end earlier",
        ],
    ),
    Knob::amount(
        ("guide-from", CostClass::Reset),
        (1.0, "mm"),
        [
            "set the guide of @ farther from the middle of the channel",
            "set the guide of @ nearer to the middle of the channel",
        ],
    ),
    Knob::amount(
        ("cut-back", CostClass::Recut),
        (1.0, "mm"),
        [
            "cut the wall at @ back",
            "bring the wall at @ nearer to the wheel",
        ],
    ),
    Knob::amount(
        ("channel", CostClass::Recut),
        (1.0, "mm"),
        ["widen the channel to @", "narrow the channel to @"],
    ),
    Knob::amount(
        ("mouth-ends", CostClass::Recut),
        (5.0, "deg"),
        [
            "let the mouth of the slide at @ end later",
            "let the mouth of the slide at @ end earlier",
        ],
    ),
    Knob::word(
        ("wall", CostClass::Recut),
        "relieved",
        "cut the wall at @ back and fence it",
    ),
    Knob::word(
        ("wall-ends", CostClass::Recut),
        "square",
        "cut the ends of the walls at @ square to the ramp",
    ),
    Knob::word(
        ("guide-edge", CostClass::Recut),
        "lead-in",
        "chamfer the edge of the guide of @ so that it leads marbles in",
    ),
    Knob::amount(
        ("bore", CostClass::Redrill),
        (0.5, "mm"),
        [
            "drill the pockets of @ wider",
            "drill the pockets of @ narrower",
        ],
    ),
    Knob::amount(
        ("depth", CostClass::Redrill),
        (1.0, "mm"),
        [
            "drill the pockets of @ deeper",
            "drill the pockets of @ less deep",
        ],
    ),
    Knob::amount(
        ("tilt", CostClass::Redrill),
        (0.5, "deg"),
        [
            "drill the pockets of @ more out of square",
            "drill the pockets of @ less out of square",
        ],
    ),
    Knob::amount(
        ("pockets", CostClass::Redrill),
        (1.0, ""),
        ["drill # pockets more into @", "drill # pockets less into @"],
    ),
    Knob::amount(
        ("pitch-radius", CostClass::Redrill),
        (5.0, "mm"),
        ["drill @ on a larger circle", "drill @ on a smaller circle"],
    ),
    Knob::amount(
        ("gear", CostClass::Rebuild),
        (0.05, ""),
        ["gear @ faster", "gear @ slower"],
    ),
    Knob::word(
        ("fence", CostClass::Rebuild),
        "yes",
        "set a fence on the open side at @",
    ),
];
