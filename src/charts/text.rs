//! Text: an embedded typeface, measured and set to fractions of a pixel.
//!
//! plotters' own text puts every glyph on a whole pixel and leaves out its side bearings, which makes small labels uneven;
//! here the same typeface is set first and handed to plotters as pixels.

use std::sync::OnceLock;

use ab_glyph::{Font, FontRef, GlyphId, PxScale, ScaleFont, point};

/// Height of capitals above the line they stand on, in type sizes (DejaVu Sans, table OS/2).
pub const CAPITALS: f64 = 0.73;
/// How far letters reach above the line they stand on, in type sizes.
pub const ABOVE: f64 = 0.78;
/// How far letters reach below the line they stand on, in type sizes.
pub const BELOW: f64 = 0.24;

/// How heavy the strokes are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// For reading.
    Regular,
    /// For names and titles.
    Bold,
}

fn face(weight: Weight) -> Option<&'static FontRef<'static>> {
    static FACES: OnceLock<[Option<FontRef<'static>>; 2]> = OnceLock::new();
    let faces = FACES.get_or_init(|| {
        [dejavu::sans::regular(), dejavu::sans::bold()]
            .map(|bytes| FontRef::try_from_slice(bytes).ok())
    });
    faces[weight as usize].as_ref()
}

/// The glyphs of `text` at `size` pixels an em, each with its place on the line, and the width of all.
fn set(text: &str, size: f64, weight: Weight) -> (Vec<(GlyphId, f32)>, f32) {
    let Some(face) = face(weight) else {
        return (Vec::new(), 0.0);
    };
    let scaled = face.as_scaled(scale(face, size));
    let mut glyphs: Vec<(GlyphId, f32)> = Vec::new();
    let mut caret = 0.0;
    for letter in text.chars() {
        let glyph = scaled.glyph_id(letter);
        if let Some(&(last, _)) = glyphs.last() {
            caret += scaled.kern(last, glyph);
        }
        glyphs.push((glyph, caret));
        caret += scaled.h_advance(glyph);
    }
    (glyphs, caret)
}

/// The scale at which an em is `size` pixels: the font crate counts from the lowest to the highest point instead.
fn scale(face: &FontRef<'_>, size: f64) -> PxScale {
    let em = face.units_per_em().unwrap_or(1.0);
    PxScale::from(size as f32 * face.height_unscaled() / em)
}

/// Width of `text`, pixels, at `size` pixels an em.
pub fn width(text: &str, size: f64, weight: Weight) -> f64 {
    f64::from(set(text, size, weight).1)
}

/// `text`, or as much of both its ends as fits into `room` pixels around an ellipsis: names often differ in their last
/// letters only. Empty where not even the ellipsis fits.
pub fn shorten(text: &str, size: f64, weight: Weight, room: f64) -> String {
    shortened(text, size, weight, room, |kept| kept.div_ceil(2))
}

/// `text`, or as much of its beginning as fits into `room` pixels before an ellipsis.
pub fn cut(text: &str, size: f64, weight: Weight, room: f64) -> String {
    shortened(text, size, weight, room, |kept| kept)
}

fn shortened(
    text: &str,
    size: f64,
    weight: Weight,
    room: f64,
    head: impl Fn(usize) -> usize,
) -> String {
    if fits(text, size, weight, room) {
        return text.to_owned();
    }
    let letters: Vec<char> = text.chars().collect();
    for kept in (0..letters.len()).rev() {
        let (front, back) = (head(kept), kept - head(kept));
        let front: String = letters[..front].iter().collect();
        let back: String = letters[letters.len() - back..].iter().collect();
        let short = format!("{}…{}", front.trim_end(), back.trim_start());
        if fits(&short, size, weight, room) {
            return short;
        }
    }
    String::new()
}

/// `text` in at most so many lines of `room` pixels, broken between words; the last ends in an ellipsis if not all fits.
pub fn wrap(text: &str, size: f64, weight: Weight, room: f64, lines: usize) -> Vec<String> {
    let mut done: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let longer = done.last().map(|line| format!("{line} {word}"));
        match (longer, done.last_mut()) {
            (Some(longer), Some(line)) if fits(&longer, size, weight, room) => *line = longer,
            _ => done.push(word.to_owned()),
        }
    }
    if done.len() > lines {
        let rest = done.split_off(lines.saturating_sub(1)).join(" ");
        done.push(rest);
    }
    done.iter()
        .map(|line| cut(line, size, weight, room))
        .collect()
}

fn fits(line: &str, size: f64, weight: Weight, room: f64) -> bool {
    width(line, size, weight) <= room
}

/// The pixels of `text` standing on the line `baseline`, beginning at `left`, at `size` pixels an em: place and cover (0 to 1).
pub fn pixels(
    text: &str,
    (left, baseline): (f64, f64),
    size: f64,
    weight: Weight,
) -> Vec<((i32, i32), f64)> {
    let mut pixels = Vec::new();
    let Some(face) = face(weight) else {
        return pixels;
    };
    let scale = scale(face, size);
    for (glyph, at) in set(text, size, weight).0 {
        let placed = glyph.with_scale_and_position(scale, point(left as f32 + at, baseline as f32));
        let Some(outline) = face.outline_glyph(placed) else {
            continue;
        };
        let corner = outline.px_bounds().min;
        let (x0, y0) = (corner.x as i32, corner.y as i32);
        outline.draw(|x, y, cover| {
            pixels.push((
                (x0 + x as i32, y0 + y as i32),
                f64::from(cover.clamp(0.0, 1.0)),
            ))
        });
    }
    pixels
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: f64 = 14.0;

    #[test]
    fn text_is_shortened_to_its_room_and_keeps_both_ends() {
        let name = "the-very-long-name-of-a-track-that-goes-around-twice-number-7";
        let short = shorten(name, SIZE, Weight::Regular, 120.0);
        assert!(width(&short, SIZE, Weight::Regular) <= 120.0);
        assert!(
            short.starts_with("the") && short.contains('…') && short.ends_with('7'),
            "{short}"
        );
        assert_eq!(shorten("floor", SIZE, Weight::Regular, 120.0), "floor");
        assert_eq!(shorten("floor", SIZE, Weight::Regular, 1.0), "");
    }

    #[test]
    fn lines_break_between_words_and_say_when_something_is_left_out() {
        let lines = wrap(
            "one two three four five six seven eight",
            SIZE,
            Weight::Regular,
            80.0,
            2,
        );
        assert_eq!(lines.len(), 2);
        assert!(
            lines[0].starts_with("one two") && lines[1].ends_with('…'),
            "{lines:?}"
        );
        assert!(
            lines
                .iter()
                .all(|line| width(line, SIZE, Weight::Regular) <= 80.0)
        );
    }
}
