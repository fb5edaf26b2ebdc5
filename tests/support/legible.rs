//! What must hold of the letters of any picture.

use marblewright::charts::canvas::{Area, HEIGHT, WIDTH};

/// Asserts that no text of a picture covers another or comes too near an edge.
pub fn assert_legible(texts: &[Area]) {
    assert!(!texts.is_empty());
    for (n, text) in texts.iter().enumerate() {
        assert!(text.left >= 0.0 && text.right <= f64::from(WIDTH), "{text:?} leaves the picture");
        assert!(text.top >= 0.0 && text.bottom <= f64::from(HEIGHT), "{text:?} leaves the picture");
        for other in &texts[n + 1..] {
            assert!(!text.overlaps(other), "{text:?} and {other:?} overlap");
        }
    }
}
