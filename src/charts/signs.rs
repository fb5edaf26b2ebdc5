//! A small drawn sign for each kind of element.

use plotters::style::RGBColor;

use super::canvas::Canvas;
use crate::machine::kind::kind_named;

/// Width of the strokes, pixels.
const STROKE: f64 = 1.6;
/// Corners of what stands for an arc of half a turn.
const CORNERS: usize = 12;

/// What stands for a kind of element in the drawn circuit.
pub trait Sign {
    /// Draws it, 20 pixels wide and 16 high about the middle.
    fn draw(pen: &mut Pen);
}

/// Draws the sign of the element kind called `kind` about a point; nothing for a kind that is not known.
pub fn sign(canvas: &mut Canvas<'_>, kind: &str, (x, y): (f64, f64), colour: RGBColor) {
    let mut pen = Pen {
        canvas,
        x,
        y,
        colour,
    };
    kind_named!(kind, Of => Of::draw(&mut pen));
}

/// The point so many turns clockwise from the top of a circle.
pub fn around(radius: f64, turns: f64) -> (f64, f64) {
    let angle = turns * std::f64::consts::TAU;
    (radius * libm::sin(angle), -radius * libm::cos(angle))
}

/// What draws about a point, in one colour.
pub struct Pen<'p, 'c> {
    canvas: &'p mut Canvas<'c>,
    x: f64,
    y: f64,
    colour: RGBColor,
}

impl Pen<'_, '_> {
    /// A line from point to point.
    pub fn line(&mut self, points: &[(f64, f64)]) {
        let points: Vec<(f64, f64)> = points
            .iter()
            .map(|(x, y)| (self.x + x, self.y + y))
            .collect();
        self.canvas.line(&points, STROKE, self.colour);
    }

    /// A disc.
    pub fn dot(&mut self, x: f64, y: f64, radius: f64) {
        self.canvas
            .disc((self.x + x, self.y + y), radius, self.colour);
    }

    /// An arc clockwise, in turns from the top.
    pub fn arc(&mut self, (x, y): (f64, f64), radius: f64, from: f64, to: f64) {
        let corners = ((to - from).abs() * 2.0 * CORNERS as f64) as usize;
        let points: Vec<(f64, f64)> = (0..=corners)
            .map(|k| around(radius, from + (to - from) * k as f64 / corners as f64))
            .map(|(dx, dy)| (x + dx, y + dy))
            .collect();
        self.line(&points);
    }
}
