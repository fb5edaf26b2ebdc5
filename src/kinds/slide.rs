//! The slide: it hands marbles on.

use super::line::LineKind;
use crate::machine::model::{Line, Slide};

impl LineKind for Slide {
    const ABOUT: &'static str = "A slide that hands marbles on.";
    const ALSO_CALLED: &'static [&'static str] = &["chute", "gutter"];

    fn new(line: Line) -> Self {
        Slide(line)
    }

    fn get(&self) -> &Line {
        &self.0
    }

    fn get_mut(&mut self) -> &mut Line {
        &mut self.0
    }
}
