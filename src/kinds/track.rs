//! A module's track: the way down that is there to be looked at.

use super::line::LineKind;
use crate::charts::signs::{Pen, Sign};
use crate::machine::model::{Line, Track};

impl LineKind for Track {
    const ABOUT: &'static str = "A module's track.";
    const ALSO_CALLED: &'static [&'static str] = &["rail", "rails", "stairs", "steps", "bend"];

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
