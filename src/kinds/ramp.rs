//! The start ramp: its foot stands at a pocket wheel, and marbles wait on it.

use super::line::LineKind;
use crate::charts::signs::{Pen, Sign};
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

impl Sign for Ramp {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-10.0, -5.0), (8.0, 5.0), (8.0, -3.0)]);
        pen.dot(-3.5, -4.6, 2.6);
        pen.dot(3.8, -0.6, 2.6);
    }
}
