//! What must hold of the letters of any picture.
#![allow(dead_code, reason = "each test file uses its own part")]

use marblewright::charts::canvas::{Area, HEIGHT, Picture, WIDTH};

/// Whether two parts of a picture have any inner point in common.
pub fn overlaps(one: &Area, other: &Area) -> bool {
    one.left < other.right
        && other.left < one.right
        && one.top < other.bottom
        && other.top < one.bottom
}

/// Asserts that no text of a picture of the usual size covers another or comes too near an edge.
pub fn assert_legible(texts: &[Area]) {
    assert_within(texts, (f64::from(WIDTH), f64::from(HEIGHT)));
}

/// The same of a picture of any size.
pub fn assert_picture(picture: &Picture) {
    let (width, height) = picture.size;
    assert_within(&picture.texts, (f64::from(width), f64::from(height)));
}

fn assert_within(texts: &[Area], (width, height): (f64, f64)) {
    assert!(!texts.is_empty());
    for (n, text) in texts.iter().enumerate() {
        assert!(
            text.left >= 0.0 && text.right <= width,
            "{text:?} leaves the picture"
        );
        assert!(
            text.top >= 0.0 && text.bottom <= height,
            "{text:?} leaves the picture"
        );
        for other in &texts[n + 1..] {
            assert!(!overlaps(text, other), "{text:?} and {other:?} overlap");
        }
    }
}
