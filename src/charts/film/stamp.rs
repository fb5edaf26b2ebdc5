//! What moves, put onto finished pixels.

use plotters::style::RGBColor;

use super::stage::MARBLE;
use crate::charts::bitmap::Pixels;
use crate::charts::canvas::Type;
use crate::charts::style::{AXIS, INK, MARBLES, PAPER};
use crate::charts::text;

/// Puts a marble, in a colour of its own as long as there are colours.
pub fn marble(pixels: &mut Pixels, at: (f64, f64), marble: usize) {
    disc(pixels, at, MARBLE, INK);
    disc(pixels, at, MARBLE - 1.0, MARBLES[marble % MARBLES.len()]);
}

/// Puts an empty pocket.
pub fn pocket(pixels: &mut Pixels, at: (f64, f64)) {
    disc(pixels, at, MARBLE, AXIS);
    disc(pixels, at, MARBLE - 1.0, PAPER);
}

fn disc(pixels: &mut Pixels, (x, y): (f64, f64), radius: f64, colour: RGBColor) {
    let reach = radius + 1.0;
    for py in (y - reach) as i32..=(y + reach) as i32 {
        for px in (x - reach) as i32..=(x + reach) as i32 {
            let far = libm::hypot(f64::from(px) + 0.5 - x, f64::from(py) + 0.5 - y);
            mix(
                pixels,
                (px, py),
                (radius + 0.5 - far).clamp(0.0, 1.0),
                colour,
            );
        }
    }
}

/// Puts a line of text that ends at (x, baseline).
pub fn text_to(pixels: &mut Pixels, (x, baseline): (f64, f64), says: &str, look: Type) {
    let Type {
        size,
        weight,
        colour,
        ..
    } = look;
    let left = (x - text::width(says, size, weight)).round();
    for (at, cover) in text::pixels(says, (left, baseline), size, weight) {
        mix(pixels, at, cover, colour);
    }
}

fn mix(pixels: &mut Pixels, (x, y): (i32, i32), cover: f64, colour: RGBColor) {
    let inside = (0..pixels.width as i32).contains(&x) && (0..pixels.height as i32).contains(&y);
    if !inside || cover <= 0.0 {
        return;
    }
    let at = (y as usize * pixels.width as usize + x as usize) * 3;
    for (old, new) in pixels.rgb[at..at + 3]
        .iter_mut()
        .zip([colour.0, colour.1, colour.2])
    {
        *old = (f64::from(*old) * (1.0 - cover) + f64::from(new) * cover).round() as u8;
    }
}
