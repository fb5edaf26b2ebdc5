//! A small drawn sign for each kind of element.

use plotters::style::RGBColor;

use super::canvas::Canvas;

/// Width of the strokes, pixels.
const STROKE: f64 = 1.6;
/// Corners of what stands for an arc of half a turn.
const CORNERS: usize = 12;

/// Draws the sign of the element kind called `kind` about (`x`, `y`), 20 pixels wide and 16 high; nothing for a kind that is
/// not known.
pub fn sign(canvas: &mut Canvas<'_>, kind: &str, (x, y): (f64, f64), colour: RGBColor) {
    let mut pen = Pen {
        canvas,
        x,
        y,
        colour,
    };
    match kind {
        "ramp" => {
            pen.line(&[(-10.0, -5.0), (8.0, 5.0), (8.0, -3.0)]);
            pen.dot(-3.5, -4.6, 2.6);
            pen.dot(3.8, -0.6, 2.6);
        }
        "slide" => {
            pen.line(&[(-10.0, -4.0), (10.0, 6.0)]);
            pen.dot(-1.5, -3.4, 2.8);
        }
        "track" => pen.line(&[(-9.0, -7.0), (8.0, -4.0), (-8.0, 1.5), (9.0, 6.5)]),
        "pocket-wheel" => {
            pen.arc((0.0, 0.0), 5.0, 0.0, 1.0);
            for pocket in 0..8 {
                let (dx, dy) = around(8.0, f64::from(pocket) / 8.0);
                pen.dot(dx, dy, 1.7);
            }
        }
        "bowl" => {
            pen.arc((0.0, -5.0), 9.5, 0.25, 0.75);
            pen.dot(0.0, 0.6, 2.4);
        }
        "flip-gate" => {
            pen.line(&[(0.0, 7.0), (0.0, 0.0)]);
            pen.line(&[(-6.5, -6.5), (0.0, 0.0), (8.0, -1.0)]);
            pen.dot(0.0, 0.0, 2.0);
        }
        "peg" => {
            pen.dot(0.0, -3.0, 3.0);
            pen.line(&[(-2.5, 2.0), (-8.0, 7.5)]);
            pen.line(&[(2.5, 2.0), (8.0, 7.5)]);
        }
        "weir" => {
            pen.line(&[(-10.0, 7.0), (1.0, 7.0), (1.0, -2.0)]);
            pen.line(&[(-10.0, -4.5), (2.0, -4.5), (6.0, -1.0), (8.0, 7.0)]);
        }
        "escapement" => {
            pen.line(&[(-9.0, -5.0), (0.0, -8.0), (9.0, -5.0), (9.0, 0.0)]);
            pen.line(&[(-9.0, -5.0), (-9.0, 0.0)]);
            pen.dot(0.0, 3.0, 4.0);
        }
        "tipping-cup" => {
            pen.line(&[(-9.0, -3.0), (-3.0, 6.5), (6.0, 1.5), (3.0, -7.5)]);
            pen.dot(-1.0, 0.5, 2.4);
        }
        "return-floor" => {
            pen.line(&[(-10.0, -3.0), (-2.5, 6.0)]);
            pen.line(&[(10.0, -3.0), (2.5, 6.0)]);
            pen.dot(-3.0, -3.5, 2.3);
            pen.dot(3.4, -1.5, 2.3);
        }
        _ => {}
    }
}

/// The point so many turns clockwise from the top of a circle.
fn around(radius: f64, turns: f64) -> (f64, f64) {
    let angle = turns * std::f64::consts::TAU;
    (radius * libm::sin(angle), -radius * libm::cos(angle))
}

struct Pen<'p, 'c> {
    canvas: &'p mut Canvas<'c>,
    x: f64,
    y: f64,
    colour: RGBColor,
}

impl Pen<'_, '_> {
    fn line(&mut self, points: &[(f64, f64)]) {
        let points: Vec<(f64, f64)> = points
            .iter()
            .map(|(x, y)| (self.x + x, self.y + y))
            .collect();
        self.canvas.line(&points, STROKE, self.colour);
    }

    fn dot(&mut self, x: f64, y: f64, radius: f64) {
        self.canvas
            .disc((self.x + x, self.y + y), radius, self.colour);
    }

    /// An arc clockwise, in turns from the top.
    fn arc(&mut self, (x, y): (f64, f64), radius: f64, from: f64, to: f64) {
        let corners = ((to - from).abs() * 2.0 * CORNERS as f64) as usize;
        let points: Vec<(f64, f64)> = (0..=corners)
            .map(|k| around(radius, from + (to - from) * k as f64 / corners as f64))
            .map(|(dx, dy)| (x + dx, y + dy))
            .collect();
        self.line(&points);
    }
}
