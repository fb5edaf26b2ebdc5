//! The compact tables below an answer.

use comfy_table::{CellAlignment, ContentArrangement, Table};

use crate::findings::Summary;
use crate::findings::words::{estimate, percent};

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

fn table(header: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(comfy_table::presets::NOTHING);
    table.set_content_arrangement(ContentArrangement::Disabled);
    table.set_header(header.iter().copied());
    for column in table.column_iter_mut().skip(1) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    table
}

fn finish(table: Table) -> String {
    table.lines().map(|line| line.trim_end().to_owned()).collect::<Vec<_>>().join("\n")
}
