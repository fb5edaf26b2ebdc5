//! The slide: it hands marbles on.

use super::line::LineKind;
use crate::charts::signs::{Pen, Sign};
use crate::machine::description::OtherWords;
use crate::machine::model::{Line, Slide};

impl LineKind for Slide {
    const ABOUT: &'static str = "A slide that hands marbles on.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["chute", "gutter", "channel"],
        "{ length: 200 mm, slope: 4 deg }",
    )];

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

impl Sign for Slide {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-10.0, -4.0), (10.0, 6.0)]);
        pen.dot(-1.5, -3.4, 2.8);
    }
}
