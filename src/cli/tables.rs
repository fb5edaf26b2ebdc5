//! The compact tables below an answer.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table};

use super::terminal;
use crate::report::rows::{Alignment, TextTable};

/// These rows under their header.
pub fn of(rows: &TextTable) -> String {
    let header: Vec<&str> = rows.header.iter().map(String::as_str).collect();
    let mut table = table(&header);
    for row in &rows.rows {
        table.add_row(row);
    }
    for (column, side) in table.column_iter_mut().zip(&rows.sides) {
        column.set_cell_alignment(if *side == Alignment::Left {
            CellAlignment::Left
        } else {
            CellAlignment::Right
        });
    }
    finish(table)
}

/// A plain table with this header, figures to the right.
pub fn table(header: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(comfy_table::presets::NOTHING);
    match terminal::width() {
        Some(width) => table
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width(width as u16),
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
    table
        .lines()
        .map(|line| line.trim_end().to_owned())
        .collect::<Vec<_>>()
        .join("\n")
}
