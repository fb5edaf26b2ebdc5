//! The start ramp: its foot stands at a pocket wheel, and marbles wait on it.

use super::line::LineKind;
use crate::machine::model::{Line, Ramp};

impl LineKind for Ramp {
    const ABOUT: &'static str = "The ramp whose foot stands at a pocket wheel.";
    const ALSO_CALLED: &'static [&'static str] = &["queue"];
    // Marbles stand at its foot.
    const GIVES_SPEED: bool = false;

    fn new(line: Line) -> Self {
        Ramp(line)
    }

    fn get(&self) -> &Line {
        &self.0
    }

    fn get_mut(&mut self) -> &mut Line {
        &mut self.0
    }
}
