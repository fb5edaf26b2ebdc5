//! The rows of tables, for a terminal or a page.

use crate::findings::Summary;
use crate::findings::words::{duration, estimate, percent};
use crate::study::map::{Axis, CellOutcome, ColumnEdge, Map};

/// A table: what stands above its columns, and its rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextTable {
    /// What stands above each column.
    pub header: Vec<String>,
    /// To which side each column is set.
    pub sides: Vec<Alignment>,
    /// The rows, each as long as the header.
    pub rows: Vec<Vec<String>>,
}

/// To which side a column is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Alignment {
    /// Words.
    Left,
    /// Figures.
    Right,
}

impl TextTable {
    /// Figures behind a name.
    pub fn named(header: &[&str], rows: Vec<Vec<String>>) -> Self {
        let header: Vec<String> = header.iter().map(|&name| name.to_owned()).collect();
        let sides = (0..header.len())
            .map(|n| {
                if n == 0 {
                    Alignment::Left
                } else {
                    Alignment::Right
                }
            })
            .collect();
        TextTable {
            header,
            sides,
            rows,
        }
    }
}

/// One row an element.
pub fn elements(summary: &Summary) -> TextTable {
    let row = |(name, e): &(String, crate::findings::summary::ElementSummary)| {
        vec![
            name.clone(),
            e.places
                .map_or("any".to_owned(), |places| places.to_string()),
            estimate(&e.backlog_mean),
            estimate(&e.backlog_p95),
            estimate(&e.backlog_peak),
            e.full_share.value.map_or("unknown".to_owned(), percent),
            estimate(&e.entries),
            estimate(&e.spills),
            estimate(&e.arches),
        ]
    };
    let entries = format!("entries in {}", duration(summary.hours * 3600.0));
    let header = [
        "element",
        "places",
        "backlog",
        "95 % below",
        "peak",
        "full",
        &entries,
        "spills",
        "arches",
    ];
    TextTable::named(&header, summary.elements.0.iter().map(row).collect())
}

/// One row a wheel.
pub fn wheels(summary: &Summary) -> TextTable {
    let row = |(name, w): &(String, crate::findings::summary::WheelSummary)| {
        vec![
            name.clone(),
            estimate(&w.fill),
            estimate(&w.empty_streak_max),
            estimate(&w.missed),
            estimate(&w.pinched),
            estimate(&w.carried_over),
        ]
    };
    let header = [
        "wheel",
        "fill",
        "longest empty run",
        "missed",
        "pinched",
        "carried over",
    ];
    TextTable::named(&header, summary.wheels.0.iter().map(row).collect())
}

/// One row a column of a map: from where to where it works, and what breaks next to that.
pub fn columns(map: &Map) -> TextTable {
    let (along, across) = (&map.grid.question.along, &map.grid.question.across);
    let row = |(n, window): (usize, &Option<crate::study::map::ColumnWindow>)| {
        let value = across.value(n).to_string();
        let Some(window) = window else {
            let commonest = format!("mostly {}", map.commonest_of(&map.columns[n]).name());
            return vec![
                value,
                "nowhere".to_owned(),
                String::new(),
                commonest,
                String::new(),
            ];
        };
        let broken = |side: &Option<(CellOutcome, Option<String>)>| {
            side.as_ref()
                .map_or("the map ends".to_owned(), |(verdict, at)| {
                    verdict.named(at.as_deref())
                })
        };
        let (least, most) = (least(along, &window.least), most(along, &window.most));
        vec![
            value,
            least,
            most,
            broken(&window.below),
            broken(&window.above),
        ]
    };
    TextTable {
        header: [
            &across.heading(),
            "least",
            "most",
            "just below",
            "just above",
        ]
        .map(str::to_owned)
        .to_vec(),
        sides: vec![
            Alignment::Right,
            Alignment::Right,
            Alignment::Right,
            Alignment::Left,
            Alignment::Left,
        ],
        rows: map.windows.iter().enumerate().map(row).collect(),
    }
}

/// The least that works, and in brackets what it may be where the runs do not settle it.
fn least(along: &Axis, edge: &ColumnEdge) -> String {
    let value = along.value(edge.row);
    let first = along.value(edge.fails.map_or(0, |row| row + 1));
    match edge.works.map(|row| along.value(row)) {
        _ if edge.row == 0 => format!("{value} or less"),
        Some(last) if first == last => value.to_string(),
        Some(last) => format!("{value} ({first} to {last})"),
        None => format!("{value}?"),
    }
}

/// The most, likewise.
fn most(along: &Axis, edge: &ColumnEdge) -> String {
    let value = along.value(edge.row);
    let last = along.value(edge.fails.map_or(along.count - 1, |row| row - 1));
    match edge.works.map(|row| along.value(row)) {
        _ if edge.row + 1 == along.count => format!("{value} or more"),
        Some(first) if first == last => value.to_string(),
        Some(first) => format!("{value} ({first} to {last})"),
        None => format!("{value}?"),
    }
}
