//! The picture of many makers: whole and legible at both widths, however many bars and however long their names.

use crate::support::legible::assert_picture;
use marblewright::charts::canvas::Format;
use marblewright::charts::tolerance::{ToleranceBars, picture};
use marblewright::stats::Estimate;

fn bars(outcomes: usize, errors: usize) -> ToleranceBars {
    let bar = |n: usize| {
        let share = 0.9 / (n + 1) as f64;
        let name = format!(
            "{}. the depth of the pockets of `the-wheel-by-the-window`",
            n + 1
        );
        (name, Estimate::interval(share, share * 0.8, share * 1.1))
    };
    ToleranceBars {
        title: "70 of 100 makers have a machine that works with 34 marbles at 4.5 rpm".to_owned(),
        outcomes: (0..outcomes).map(bar).collect(),
        errors: (0..errors).map(bar).collect(),
        by_chance: Some(0.02),
    }
}

/// What other runs alone turn may be more than any error does: its dashes stay within the picture.
#[test]
fn dashes_beyond_every_bar_are_on_the_scale() {
    for format in [Format::Wide, Format::Narrow] {
        let mut few = bars(2, 2);
        let drawn = |few: &ToleranceBars| picture(few, ("A machine", "seed 1"), format).texts;
        let before = drawn(&few);
        few.by_chance = Some(1.0);
        assert_ne!(before, drawn(&few), "the scale reaches farther");
    }
}

#[test]
fn bars_of_any_number_are_legible_at_both_widths() {
    for (outcomes, errors) in [(1, 0), (2, 1), (5, 9), (12, 30)] {
        for format in [Format::Wide, Format::Narrow] {
            let drawn = picture(&bars(outcomes, errors), ("A machine", "seed 1"), format);
            assert_picture(&drawn);
        }
    }
}
