//! What start ramps, slides and tracks have in common: marbles roll through them in a single file.

use crate::machine::fields::{Fields, called};
use crate::machine::kind::{Description, KeyMeaning};
use crate::machine::model::{Line, WhenFull};
use crate::machine::units::VELOCITY;

/// What tells one kind of line from the others.
pub trait LineKind {
    /// See [`Description::ABOUT`].
    const ABOUT: &'static str;
    /// See [`Description::ALSO_CALLED`].
    const ALSO_CALLED: &'static [&'static str];

    /// A line of this kind.
    fn new(line: Line) -> Self;
}

impl<T: LineKind> Description for T {
    const ABOUT: &'static str = <T as LineKind>::ABOUT;
    const ALSO_CALLED: &'static [&'static str] = <T as LineKind>::ALSO_CALLED;
    const KEYS: &'static [KeyMeaning] = &[
        (
            "segments",
            "The parts from top to bottom, instead of one length and slope.",
        ),
        (
            "advance",
            "Measured time in which the file moves up one place.",
        ),
    ];

    fn read(of: &mut Fields) -> Option<Self> {
        read(of).map(T::new)
    }
}

fn read(of: &mut Fields) -> Option<Line> {
    of.ways(&[&["length", "slope"], &["segments"], &["time"]]);
    of.together(&["length", "slope"]);
    let segments = of.segments();
    let line = Line {
        channel: of.channel(),
        entry_m_s: of.quantity("entry-speed", &VELOCITY, 0.0..=10.0),
        time: of.law("time"),
        room: of.room("places"),
        advance_s: of.duration("advance"),
        when_full: of.when_full(WhenFull::Hold),
        segments,
    };
    let dimensions = ["length", "slope", "segments", "time"];
    if dimensions
        .iter()
        .all(|&key| of.get(key).is_none() && !of.misspelt(key))
    {
        let what = format!(
            "{} has neither dimensions nor a measured time",
            called(&of.path)
        );
        let help = "add `length: 300 mm, slope: 4 deg`, or `segments`, or a measured `time: 1.2 s`";
        of.report().add(Some(of.place), &of.path, what, help);
    }
    Some(line)
}
