//! The compact tables below an answer.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table};

use super::terminal;
use crate::findings::Summary;
use crate::findings::words::{estimate, percent};
use crate::study::map::{Axis, Edge, Map, Verdict};

/// One row an element.
pub fn elements(summary: &Summary) -> String {
    let mut table =
        table(&["element", "places", "backlog", "95 % below", "peak", "full", "entries a run", "spills", "arches"]);
    for (name, e) in &summary.elements.0 {
        let places = e.places.map_or("any".to_owned(), |places| places.to_string());
        let full = e.full_share.value.map_or("unknown".to_owned(), percent);
        table.add_row([
            name.clone(),
            places,
            estimate(&e.backlog_mean),
            estimate(&e.backlog_p95),
            estimate(&e.backlog_peak),
            full,
            estimate(&e.entries),
            estimate(&e.spills),
            estimate(&e.arches),
        ]);
    }
    finish(table)
}

/// One row a wheel.
pub fn wheels(summary: &Summary) -> String {
    let mut table = table(&["wheel", "fill", "longest empty run", "missed", "pinched", "carried over"]);
    for (name, w) in &summary.wheels.0 {
        table.add_row([
            name.clone(),
            estimate(&w.fill),
            estimate(&w.empty_streak_max),
            estimate(&w.missed),
            estimate(&w.pinched),
            estimate(&w.carried_over),
        ]);
    }
    finish(table)
}

/// Any rows under their header.
pub fn of(header: &[String], rows: &[Vec<String>]) -> String {
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    let mut table = table(&header);
    for row in rows {
        table.add_row(row);
    }
    finish(table)
}

/// One row a column of a map: from where to where it works, and what breaks next to that.
pub fn columns(map: &Map) -> String {
    let (along, across) = (&map.grid.question.along, &map.grid.question.across);
    let mut table = table(&[&across.heading(), "least", "most", "just below", "just above"]);
    for (n, window) in map.windows.iter().enumerate() {
        let value = across.value(n).to_string();
        let Some(window) = window else {
            let commonest = format!("mostly {}", map.commonest_of(&map.columns[n]).name());
            table.add_row([value, "nowhere".to_owned(), String::new(), commonest, String::new()]);
            continue;
        };
        let broken = |side: &Option<(Verdict, Option<String>)>| {
            side.as_ref().map_or("the map ends".to_owned(), |(verdict, at)| verdict.named(at.as_deref()))
        };
        let (least, most) = (least(along, &window.least), most(along, &window.most));
        table.add_row([value, least, most, broken(&window.below), broken(&window.above)]);
    }
    for column in table.column_iter_mut().skip(3) {
        column.set_cell_alignment(CellAlignment::Left);
    }
    if let Some(first) = table.column_mut(0) {
        first.set_cell_alignment(CellAlignment::Right);
    }
    finish(table)
}

/// The least that works, and in brackets what it may be where the runs do not settle it.
fn least(along: &Axis, edge: &Edge) -> String {
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
fn most(along: &Axis, edge: &Edge) -> String {
    let value = along.value(edge.row);
    let last = along.value(edge.fails.map_or(along.count - 1, |row| row - 1));
    match edge.works.map(|row| along.value(row)) {
        _ if edge.row + 1 == along.count => format!("{value} or more"),
        Some(first) if first == last => value.to_string(),
        Some(first) => format!("{value} ({first} to {last})"),
        None => format!("{value}?"),
    }
}

/// A plain table with this header, figures to the right.
pub fn table(header: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(comfy_table::presets::NOTHING);
    match terminal::width() {
        Some(width) => table.set_content_arrangement(ContentArrangement::Dynamic).set_width(width as u16),
        None => table.set_content_arrangement(ContentArrangement::Disabled),
    };
    table.set_header(header.iter().copied());
    // Figures may take two lines on a narrow terminal; a name is read whole.
    if let Some(names) = table.column_mut(0) {
        names.set_constraint(ColumnConstraint::ContentWidth);
    }
    for column in table.column_iter_mut().skip(1) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    table
}

/// The table's lines.
pub fn finish(table: Table) -> String {
    table.lines().map(|line| line.trim_end().to_owned()).collect::<Vec<_>>().join("\n")
}
