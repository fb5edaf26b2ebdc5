//! What must hold of the letters of any picture.
#![allow(dead_code, reason = "each test file uses its own part")]

use marblewright::charts::canvas::{Area, HEIGHT, WIDTH};

/// Whether two parts of a picture have any inner point in common.
pub fn overlaps(one: &Area, other: &Area) -> bool {
    one.left < other.right
        && other.left < one.right
        && one.top < other.bottom
        && other.top < one.bottom
}

/// Asserts that no text of a picture covers another or comes too near an edge.
pub fn assert_legible(texts: &[Area]) {
    assert!(!texts.is_empty());
    for (n, text) in texts.iter().enumerate() {
        assert!(
            text.left >= 0.0 && text.right <= f64::from(WIDTH),
            "{text:?} leaves the picture"
        );
        assert!(
            text.top >= 0.0 && text.bottom <= f64::from(HEIGHT),
            "{text:?} leaves the picture"
        );
        for other in &texts[n + 1..] {
            assert!(!overlaps(text, other), "{text:?} and {other:?} overlap");
        }
    }
}
