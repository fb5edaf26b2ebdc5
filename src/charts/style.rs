//! The look that all charts share: colours and type.
//!
//! The band colours were found by search for the largest least difference between any two, in plain sight and under the
//! three simulated colour blindnesses of tests/pictures/charts_colours.rs, which holds them to it; then put in an order in which neighbours
//! differ most.

use plotters::style::{RGBAColor, RGBColor};

use super::canvas::Type;

/// For what is read.
pub const INK: RGBColor = RGBColor(0x22, 0x27, 0x2e);
/// For bars that carry a mark in [`INK`].
pub const BAR: RGBColor = RGBColor(0x6f, 0x9d, 0xc0);
/// The same for what is not one element's fault.
pub const BAR_OF_ALL: RGBColor = RGBColor(0xd0, 0x83, 0x66);
/// For the ways of marbles in a drawn circuit.
pub const FLOW: RGBColor = RGBColor(0x7f, 0xa6, 0xc2);
/// For what is read second.
pub const MUTED: RGBColor = RGBColor(0x5b, 0x63, 0x6d);
/// For grid lines.
pub const GRID: RGBColor = RGBColor(0xe4, 0xe7, 0xeb);
/// For the lines that axes stand on.
pub const AXIS: RGBColor = RGBColor(0xa9, 0xb0, 0xb8);
/// For the line of a course.
pub const COURSE: RGBColor = RGBColor(0x1f, 0x5f, 0x8b);
/// For the spread around it.
pub const SPREAD: RGBAColor = RGBAColor(0x1f, 0x5f, 0x8b, 0.22);
/// The same where it must hide what is behind it.
pub const PALE: RGBColor = RGBColor(0xce, 0xdb, 0xe5);
/// The same for what is not sure.
pub const PALER: RGBColor = RGBColor(0xeb, 0xf1, 0xf5);
/// For what catches marbles, behind what is drawn over it.
pub const CATCH: RGBColor = RGBColor(0xf2, 0xd5, 0xc8);
/// For wood in a section.
pub const WOOD: RGBColor = RGBColor(0xea, 0xe1, 0xd2);
/// For limits, and for what goes wrong.
pub const LIMIT: RGBColor = RGBColor(0xb1, 0x40, 0x1c);
/// Behind the lines of marbles where an element is full.
pub const FULL: RGBColor = RGBColor(0xf6, 0xdf, 0xcf);
/// Behind them where a wheel stands.
pub const STANDS: RGBColor = RGBColor(0xe1, 0xe3, 0xe7);
/// For the line of any marble among many.
pub const STRING: RGBColor = RGBColor(0xb3, 0xbd, 0xc8);
/// The paper.
pub const PAPER: RGBColor = RGBColor(0xff, 0xff, 0xff);

/// For bands, one an element.
pub const BANDS: [RGBColor; 10] = [
    RGBColor(0xd6, 0x68, 0x6f),
    RGBColor(0x66, 0x55, 0xa2),
    RGBColor(0xa7, 0xde, 0xa6),
    RGBColor(0x35, 0x6a, 0x35),
    RGBColor(0x7b, 0xdb, 0xf6),
    RGBColor(0x96, 0x84, 0x34),
    RGBColor(0x05, 0x90, 0xa2),
    RGBColor(0xe5, 0xc3, 0x70),
    RGBColor(0x98, 0x40, 0x67),
    RGBColor(0x90, 0x9d, 0xf2),
];
/// For the marbles of a film.
pub const MARBLES: [RGBColor; 6] = [BANDS[0], BANDS[4], BANDS[7], BANDS[6], BANDS[2], BANDS[9]];
/// For the band of all other elements.
pub const OTHERS: RGBColor = RGBColor(0xb4, 0xb4, 0xb4);
/// For the hatching of marbles that are in no element: still in the maker's hand, or lost.
pub const HATCHING: RGBColor = RGBColor(0x6b, 0x72, 0x7b);

/// The sentence above a chart.
pub const TITLE: Type = Type::new(23.0, INK).bold();
/// What the chart shows, under its title.
pub const SUBTITLE: Type = Type::new(14.5, MUTED);
/// Labels and names.
pub const LABEL: Type = Type::new(14.0, INK);
/// Numbers along axes, and notes.
pub const SMALL: Type = Type::new(12.5, MUTED);
