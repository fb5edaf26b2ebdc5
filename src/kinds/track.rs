//! A module's track: the way down that is there to be looked at.

use super::line::LineKind;
use crate::charts::signs::{Pen, Sign};
use crate::machine::description::OtherWords;
use crate::machine::model::{Line, Track};

impl LineKind for Track {
    const ABOUT: &'static str = "A module's track.";
    const ALSO_CALLED: &'static [OtherWords] = &[
        (
            &["spiral", "helix", "bend", "curve", "turn"],
            "{ segments: [ { bend: { radius: 60 mm, turn: 720 deg, slope: 4 deg } } ] }",
        ),
        (
            &["switchback", "zig-zag", "zigzag", "serpentine"],
            "{ segments: [ { length: 260 mm, slope: 4 deg }, { corner: { fall: 30 mm, gap: 28 mm } }, { length: 260 mm, slope: 4 deg } ] }",
        ),
        (
            &["stairs", "steps", "staircase", "cascade"],
            "{ segments: [ { steps: { count: 9, rise: 14 mm, run: 43 mm } } ] }",
        ),
        (
            &["drop", "fall", "shaft", "waterfall"],
            "{ segments: [ { drop: 60 mm } ] }",
        ),
        (
            &[
                "rail", "rails", "wire", "tube", "pipe", "run", "path", "straight",
            ],
            "{ length: 600 mm, slope: 4 deg }",
        ),
    ];

    fn new(line: Line) -> Self {
        Track(line)
    }

    fn get(&self) -> &Line {
        &self.0
    }

    fn get_mut(&mut self) -> &mut Line {
        &mut self.0
    }
}

impl Sign for Track {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-9.0, -7.0), (8.0, -4.0), (-8.0, 1.5), (9.0, 6.5)]);
    }
}
