//! The rows of tables, for a terminal or a page.

use crate::circuit::Circuit;
use crate::findings::Summary;
use crate::findings::verdict_text::{heading, is_share, limit_in_table};
use crate::findings::words::{duration, estimate, known, percent, two_figures};
use crate::findings::workable::{Judgement, TOLERATED, Verdict};
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
        let mut sides = vec![Alignment::Right; header.len()];
        sides[0] = Alignment::Left;
        TextTable {
            header: header.iter().map(|&name| name.to_owned()).collect(),
            sides,
            rows,
        }
    }
}

/// What is judged, what the runs show of it, and what is good enough; what happens in no run is one row.
pub fn criteria(circuit: &Circuit, summary: &Summary, judgement: &Judgement) -> TextTable {
    let row = |mark: &str, what: &str, shown: String, limit: String| {
        vec![mark.to_owned(), what.to_owned(), shown, limit]
    };
    let flow = known(&summary.throughput_per_min);
    let mut rows = vec![row("", "marbles a minute", flow, String::new())];
    let mut never = true;
    for result in &judgement.results {
        if result.of_runs && result.figure.value == Some(0.0) {
            continue;
        }
        never &= !result.of_runs;
        let shown = match result.figure.value {
            Some(0.0) => "none".to_owned(),
            Some(value) if is_share(result) => percent(value),
            Some(value) => two_figures(value),
            None => "unknown".to_owned(),
        };
        let mark = match result.verdict {
            Verdict::Met => "",
            Verdict::Broken => "!",
            Verdict::Unsure => "?",
        };
        let what = heading(circuit, result);
        rows.push(row(mark, &what, shown, limit_in_table(result)));
    }
    if never {
        let none = format!("none of {}", summary.runs);
        let allowed = format!("up to {}", percent(TOLERATED));
        rows.insert(
            1,
            row("", "runs that stop, spill or lack room", none, allowed),
        );
    }
    TextTable {
        header: ["", "", "the runs show", "good enough"]
            .map(str::to_owned)
            .to_vec(),
        sides: vec![
            Alignment::Left,
            Alignment::Left,
            Alignment::Right,
            Alignment::Left,
        ],
        rows,
    }
}

/// One row an element.
pub fn elements(summary: &Summary) -> TextTable {
    let mut rows = Vec::new();
    for (name, e) in &summary.elements.0 {
        let places = match e.places {
            Some(places) => places.to_string(),
            None => "any".to_owned(),
        };
        let full = match e.full_share.value {
            Some(share) => percent(share),
            None => "unknown".to_owned(),
        };
        rows.push(vec![
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
    TextTable::named(&header, rows)
}

/// One row a lift, under what all of them are: wheels, or lifts.
pub fn wheels(summary: &Summary, circuit: &Circuit) -> TextTable {
    let mut rows = Vec::new();
    for (name, w) in &summary.wheels.0 {
        rows.push(vec![
            name.clone(),
            estimate(&w.fill),
            estimate(&w.empty_streak_max),
            estimate(&w.missed),
            estimate(&w.pinched),
            estimate(&w.carried_over),
        ]);
    }
    let header = [
        circuit.carriers().1,
        "fill",
        "longest empty run",
        "missed",
        "pinched",
        "carried over",
    ];
    TextTable::named(&header, rows)
}

/// One row a column of a map: from where to where it works, and what breaks next to that.
pub fn columns(map: &Map) -> TextTable {
    let across = &map.grid.question.across;
    let header = [
        &across.heading(),
        "least",
        "most",
        "just below",
        "just above",
    ];
    let columns = 0..map.windows.len();
    TextTable {
        header: header.map(str::to_owned).to_vec(),
        sides: vec![
            Alignment::Right,
            Alignment::Right,
            Alignment::Right,
            Alignment::Left,
            Alignment::Left,
        ],
        rows: columns.map(|n| column(map, n).to_vec()).collect(),
    }
}

fn column(map: &Map, n: usize) -> [String; 5] {
    let (along, across) = (&map.grid.question.along, &map.grid.question.across);
    let value = across.value(n).to_string();
    let Some(window) = &map.windows[n] else {
        let commonest = format!("mostly {}", map.commonest_of(&map.columns[n]).name());
        return [
            value,
            "nowhere".to_owned(),
            String::new(),
            commonest,
            String::new(),
        ];
    };
    [
        value,
        least(along, &window.least),
        most(along, &window.most),
        broken(window.below.as_ref()),
        broken(window.above.as_ref()),
    ]
}

fn broken(side: Option<&(CellOutcome, Option<String>)>) -> String {
    match side {
        Some((verdict, at)) => verdict.named(at.as_deref()),
        None => "the map ends".to_owned(),
    }
}

/// The least that works, and in brackets what it may be where the runs do not settle it.
fn least(along: &Axis, edge: &ColumnEdge) -> String {
    let value = along.value(edge.row);
    let first = match edge.fails {
        Some(row) => along.value(row + 1),
        None => along.value(0),
    };
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
    let last = match edge.fails {
        Some(row) => along.value(row - 1),
        None => along.value(along.count - 1),
    };
    match edge.works.map(|row| along.value(row)) {
        _ if edge.row + 1 == along.count => format!("{value} or more"),
        Some(first) if first == last => value.to_string(),
        Some(first) => format!("{value} ({first} to {last})"),
        None => format!("{value}?"),
    }
}
