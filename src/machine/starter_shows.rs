//! What there is to look at or listen to in a first machine, at the end of its first module.

use super::starter::Choices;

/// A part to look at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Show {
    /// Nothing but the modules.
    None,
    /// A bell.
    Bell,
    /// A funnel.
    Funnel,
    /// A loop, with the run-up that it needs.
    Loop,
    /// A jump.
    Jump,
}

/// The parts by the names that may be typed.
pub const SHOWS: [(&str, Show); 5] = [
    ("none", Show::None),
    ("bell", Show::Bell),
    ("funnel", Show::Funnel),
    ("loop", Show::Loop),
    ("jump", Show::Jump),
];

/// Slope and length of the run-up to a loop, degrees and marble diameters: a fifth more height than 2.7 radii of the marble's way.
const RUN_UP: (f64, f64) = (24.0, 27.0);
/// Width and hole of a funnel, marble diameters, and its slope, degrees.
const FUNNEL: (f64, f64, f64) = (11.0, 4.0, 25.0);
/// How far marbles fall onto a bell, and over a jump, marble diameters.
const FALLS: (f64, f64) = (3.0, 2.0);

/// The name of the part that the first module leads to, if there is one.
pub fn first(show: Show) -> Option<&'static str> {
    match show {
        Show::None => None,
        Show::Bell => Some("bell"),
        Show::Funnel => Some("funnel"),
        Show::Loop => Some("run-up"),
        Show::Jump => Some("jump"),
    }
}

/// The part, which leads to `to`.
pub fn part(of: &Choices, to: &str) -> String {
    let t = |diameters: f64| of.times(diameters);
    match of.show {
        Show::None => String::new(),
        Show::Bell => format!(
            "  bell:   # aslant, so that marbles go on\n    \
             bell: {{ drop: {}, angle: 40 deg, restitution: 0.6 }}\n    to: {to}\n",
            t(FALLS.0)
        ),
        Show::Funnel => format!(
            "  funnel:   # marbles circle in it for long: time them, and write what you measure as its swirl\n    \
             funnel: {{ width: {}, hole: {}, slope: {} deg }}\n    to: {to}\n",
            t(FUNNEL.0),
            t(FUNNEL.1),
            FUNNEL.2
        ),
        Show::Loop => format!(
            "  run-up:   # a loop needs 2.7 times the radius of the marble's way, and a fifth to spare\n    \
             track: {{ length: {}, slope: {} deg }}\n    to: loop\n  \
             loop:\n    loop: {{ radius: {} }}\n    to: {to}\n",
            t(RUN_UP.1),
            RUN_UP.0,
            t(3.75)
        ),
        Show::Jump => format!(
            "  jump:   # a gap of two marbles, and a long landing\n    \
             jump: {{ gap: {}, landing: {}, fall: {} }}\n    to: {to}\n",
            t(2.0),
            t(8.0),
            t(FALLS.1)
        ),
    }
}

/// How far marbles fall in it, marble diameters.
pub fn fall(show: Show) -> f64 {
    match show {
        Show::None => 0.0,
        Show::Bell => FALLS.0,
        Show::Funnel => (FUNNEL.0 - FUNNEL.1) / 2.0 * libm::tan(FUNNEL.2.to_radians()),
        Show::Loop => RUN_UP.1 * libm::sin(RUN_UP.0.to_radians()),
        Show::Jump => FALLS.1,
    }
}
