//! The picture of a map: whole, legible and the same bytes every time, whatever there is to draw.

use crate::support::legible::overlaps;
use marblewright::charts::canvas::{Format, Picture};
use marblewright::charts::map::picture;
use marblewright::stats::Estimate;
use marblewright::study::map::cell::Figures;
use marblewright::study::map::{Axis, Cell, CellOutcome, Grid, Map, Question};

const BOTH: [Format; 2] = [Format::Wide, Format::Narrow];

/// Asserts that every text is inside the picture and covers no other.
fn legible(picture: &Picture, what: &str) {
    assert!(picture.png.starts_with(b"\x89PNG"), "{what}");
    for (n, text) in picture.texts.iter().enumerate() {
        let inside = text.left >= 0.0 && text.top >= 0.0;
        let (width, height) = picture.size;
        let inside = inside && text.right <= f64::from(width) && text.bottom <= f64::from(height);
        assert!(inside, "{what}: {text:?} leaves the picture");
        for other in &picture.texts[..n] {
            assert!(!overlaps(text, other), "{what}: {text:?} covers {other:?}");
        }
    }
}

/// A map with a fabricated cell wherever `letter` names one; a dot is left to be inferred, capitals are sure.
fn made_map(columns: usize, rows: usize, letter: impl Fn(usize, usize) -> char) -> Map {
    let question = Question {
        version: String::new(),
        machine: include_str!("../../scenarios/circuit-a.yaml").to_owned(),
        settings: Vec::new(),
        along: Axis::plain("marbles", 5.0, 5.0, rows),
        across: Axis::plain("rpm", 2.0, 0.5, columns),
        seed: 1,
        runs: 200,
        hours: 2.0,
        every_cell: false,
    };
    let unknown = Estimate::unknown();
    let figures = Figures {
        ran: unknown,
        gridlocked: unknown,
        ran_dry: unknown,
        jams_per_8h: unknown,
        spills: unknown,
        left_in_hand: unknown,
        throughput_per_min: unknown,
        fill: Default::default(),
        backlog_p95: Default::default(),
    };
    let cell = |(column, row): (usize, usize)| {
        let letter = letter(column, row);
        let verdict = *CellOutcome::ALL
            .iter()
            .find(|v| v.letter() == letter.to_ascii_uppercase())?;
        let at = Some("an-element-with-a-very-long-name-of-40-let".to_owned());
        Some(Cell {
            column,
            row,
            verdict,
            at,
            sure: letter.is_uppercase(),
            runs: 25,
            figures: figures.clone(),
        })
    };
    let cells: Vec<Cell> = (0..columns)
        .flat_map(|c| (0..rows).map(move |r| (c, r)))
        .filter_map(cell)
        .collect();
    Grid::new(question).expect("a sound machine").map(&cells)
}

#[test]
fn maps_of_any_size_are_legible_and_nothing_covers_anything() {
    let letters = ['D', 'S', 's', 'w', 'W', '.', 'W', 'B', 'O', 'J', 'G'];
    for (columns, rows) in [(1, 1), (6, 11), (40, 11), (3, 120), (100, 100)] {
        let map = made_map(columns, rows, |column, row| {
            letters[(row * 11 / rows + column % 2).min(10)]
        });
        for format in BOTH {
            let drawn = picture(&map, format);
            legible(&drawn, &format!("{columns} by {rows}, {format:?}"));
        }
    }
    let nowhere = made_map(9, 9, |_, _| 'S');
    for format in BOTH {
        legible(&picture(&nowhere, format), "nowhere");
        assert!(picture(&nowhere, format).png == picture(&nowhere, format).png);
    }
}

/// The title leads with the cells that surely work; what only may work comes after.
#[test]
fn what_is_sure_leads() {
    let answer = |rows: &'static str| {
        let column: Vec<char> = rows.chars().collect();
        made_map(1, column.len(), |_, row| column[row]).answer()
    };
    assert_eq!(answer("SWWB"), "Works from 10 to 15 marbles at 2 rpm");
    assert_eq!(
        answer("SwWWwB"),
        "Works from 15 to 20 marbles at 2 rpm, perhaps from 10 to 25"
    );
    assert_eq!(
        answer("SwWwB"),
        "Works with 15 marbles at 2 rpm, perhaps from 10 to 20"
    );
    assert_eq!(
        answer("SwwB"),
        "Perhaps works from 10 to 15 marbles at 2 rpm: none is sure"
    );
    assert_eq!(
        answer("SwB"),
        "Perhaps works with 10 marbles at 2 rpm: none is sure"
    );
}
