//! A module's track: the way down that is there to be looked at.

use super::line::LineKind;
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
