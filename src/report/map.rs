//! Maps as JSON and CSV, parts of maps, and the lines of the journal that a map is resumed from.

use std::fmt::Write;

use serde::{Deserialize, Serialize};

use super::csv::{field, quoted};
use crate::charts;
use crate::charts::canvas::Format;
use crate::stats::Estimate;
use crate::study::map::cell::Figures;
use crate::study::map::{Axis, Cell, CellOutcome, Map, MapShare, Question, Spot};

/// Version of these layouts.
const FORMAT: u32 = 1;

/// A map as `map.json` holds it.
#[derive(Serialize)]
struct MapJson<'a> {
    format: u32,
    title: &'a str,
    answer: String,
    seed: u64,
    runs: u32,
    hours: f64,
    along: AxisJson<'a>,
    across: AxisJson<'a>,
    columns: Vec<ColumnJson<'a>>,
    cells: Vec<CellJson<'a>>,
}

#[derive(Serialize)]
struct AxisJson<'a> {
    key: &'a str,
    unit: &'a str,
    values: Vec<f64>,
    /// The file's own value.
    own: Option<f64>,
}

/// The ends of a column's window: `least` lies above `low`, which surely fails, and not above `high`, which surely works;
/// `most` likewise.
#[derive(Serialize)]
struct ColumnJson<'a> {
    value: f64,
    least: Estimate,
    most: Estimate,
    below: Option<Named<'a>>,
    above: Option<Named<'a>>,
}

#[derive(Serialize)]
struct Named<'a> {
    verdict: CellOutcome,
    at: Option<&'a str>,
}

#[derive(Serialize)]
struct CellJson<'a> {
    along: f64,
    across: f64,
    state: &'static str,
    verdict: CellOutcome,
    at: Option<&'a str>,
    why: Option<&'a str>,
    sure: Option<bool>,
    runs: u32,
    figures: Option<&'a Figures>,
}

/// The map as JSON.
pub fn map_json(map: &Map) -> String {
    let question = &map.grid.question;
    let (along, across) = (&question.along, &question.across);
    let cells = spots(map).into_iter().map(|(column, row, spot)| CellJson {
        along: along.value(row),
        across: across.value(column),
        state: state(spot),
        verdict: spot.verdict(),
        at: spot.at(),
        why: why(spot),
        sure: spot.cell().map(|cell| cell.sure),
        runs: spot.cell().map_or(0, |cell| cell.runs),
        figures: spot.cell().map(|cell| &cell.figures),
    });
    let json = MapJson {
        format: FORMAT,
        title: &map.grid.title,
        answer: map.answer(),
        seed: question.seed,
        runs: question.runs,
        hours: question.hours,
        along: axis(along, map.grid.own.0),
        across: axis(across, map.grid.own.1),
        columns: (0..across.count).map(|n| column(map, n)).collect(),
        cells: cells.collect(),
    };
    serde_json::to_string_pretty(&json).unwrap_or_default()
}

fn axis(axis: &Axis, own: Option<f64>) -> AxisJson<'_> {
    let values = (0..axis.count).map(|n| axis.value(n)).collect();
    AxisJson {
        key: &axis.key,
        unit: axis.unit_word(),
        values,
        own,
    }
}

fn column(map: &Map, n: usize) -> ColumnJson<'_> {
    let mut column = ColumnJson {
        value: map.grid.question.across.value(n),
        least: Estimate::unknown(),
        most: Estimate::unknown(),
        below: None,
        above: None,
    };
    if let Some(window) = &map.windows[n] {
        let (least, most) = (window.least, window.most);
        column.least = edge(map, least.row, least.fails, least.works);
        column.most = edge(map, most.row, most.works, most.fails);
        column.below = broken(window.below.as_ref());
        column.above = broken(window.above.as_ref());
    }
    column
}

fn edge(map: &Map, row: usize, low: Option<usize>, high: Option<usize>) -> Estimate {
    let along = &map.grid.question.along;
    let (low, high) = (
        low.map(|row| along.value(row)),
        high.map(|row| along.value(row)),
    );
    Estimate::from_parts(Some(along.value(row)), low, high)
}

fn broken(side: Option<&(CellOutcome, Option<String>)>) -> Option<Named<'_>> {
    side.map(|(verdict, at)| Named {
        verdict: *verdict,
        at: at.as_deref(),
    })
}

/// One line a cell; an empty field is a figure that does not exist.
pub fn map_csv(map: &Map) -> String {
    let question = &map.grid.question;
    let (mut wheels, mut piles) = (Vec::new(), Vec::new());
    let mut cells = map.columns.iter().flatten();
    if let Some(shown) = cells.find_map(Spot::cell) {
        wheels.extend(shown.figures.fill.keys());
        piles.extend(shown.figures.backlog_p95.keys());
    }
    let mut text = csv_header(question, &wheels, &piles);
    for (column, row, spot) in spots(map) {
        let (across, along) = (question.across.value(column), question.along.value(row));
        let _ = writeln!(
            text,
            "{across},{along},{},{},{},{}",
            state(spot),
            spot.verdict().name(),
            quoted(spot.at().unwrap_or_default()),
            csv_figures(spot, &wheels, &piles)
        );
    }
    text
}

/// The names of the columns, with the line end.
fn csv_header(question: &Question, wheels: &[&String], piles: &[&String]) -> String {
    let mut names = vec![header(&question.across), header(&question.along)];
    names.push("state,verdict,at,sure,runs".to_owned());
    names.push("ran,jams_per_8h,spills,left_in_hand,throughput_per_min".to_owned());
    names.extend(wheels.iter().map(|name| quoted(&format!("fill {name}"))));
    for name in piles {
        names.push(quoted(&format!("backlog_p95 {name}")));
    }
    names.join(",") + "\n"
}

/// The fields of what was simulated; all but the number of runs are empty where nothing was.
fn csv_figures(spot: &Spot, wheels: &[&String], piles: &[&String]) -> String {
    let Some(cell) = spot.cell() else {
        return format!(",0{}", ",".repeat(5 + wheels.len() + piles.len()));
    };
    let figures = &cell.figures;
    let mut fields = vec![cell.sure.to_string(), cell.runs.to_string()];
    let named = [
        &figures.ran,
        &figures.jams_per_8h,
        &figures.spills,
        &figures.left_in_hand,
        &figures.throughput_per_min,
    ];
    fields.extend(named.map(|figure| field(figure.value)));
    for name in wheels {
        fields.push(value(figures.fill.get(*name)));
    }
    for name in piles {
        fields.push(value(figures.backlog_p95.get(*name)));
    }
    fields.join(",")
}

fn value(figure: Option<&Estimate>) -> String {
    match figure {
        Some(figure) => field(figure.value),
        None => String::new(),
    }
}

fn header(axis: &Axis) -> String {
    let unit = if axis.unit.is_empty() {
        String::new()
    } else {
        format!(" {}", axis.unit)
    };
    quoted(&format!("{}{unit}", axis.key))
}

/// Column, row and what is there, column by column.
fn spots(map: &Map) -> Vec<(usize, usize, &Spot)> {
    let mut spots = Vec::new();
    for (column, rows) in map.columns.iter().enumerate() {
        for (row, spot) in rows.iter().enumerate() {
            spots.push((column, row, spot));
        }
    }
    spots
}

fn state(spot: &Spot) -> &'static str {
    match spot {
        Spot::Simulated(_) => "simulated",
        Spot::Inferred { .. } => "inferred",
        Spot::Impossible { .. } => "impossible",
    }
}

fn why(spot: &Spot) -> Option<&str> {
    match spot {
        Spot::Impossible { why } => Some(why),
        _ => None,
    }
}

/// The results of a map: name and bytes.
pub fn map_files(map: &Map) -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("map.json", (map_json(map) + "\n").into_bytes()),
        ("map.csv", map_csv(map).into_bytes()),
    ]
}

/// The picture of a map: name and bytes.
pub fn map_picture(map: &Map) -> (&'static str, Vec<u8>) {
    ("map.png", charts::map::picture(map, Format::Wide).png)
}

/// A share of a map: some of its columns, and all that the whole depends on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MapPart {
    /// Version of this layout.
    pub format: u32,
    /// Which part, from 1.
    pub part: usize,
    /// Of how many.
    pub parts: usize,
    /// What the map depends on.
    pub question: Question,
    /// The simulated cells of its columns.
    pub cells: Vec<Cell>,
}

impl MapPart {
    /// The part of a share, of which these are the cells.
    pub fn new(share: MapShare, question: &Question, cells: Vec<Cell>) -> Self {
        MapPart {
            format: FORMAT,
            part: share.part,
            parts: share.parts,
            question: question.clone(),
            cells,
        }
    }

    /// The name of the file of a share's part.
    pub fn file_name(share: MapShare) -> String {
        format!("part-{}-of-{}.json", share.part, share.parts)
    }

    /// Which share of the map it is.
    pub fn share(&self) -> MapShare {
        MapShare {
            part: self.part,
            parts: self.parts,
        }
    }

    /// It as JSON.
    pub fn json(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default()
    }

    /// A part read from JSON.
    ///
    /// # Errors
    /// Why it is none.
    pub fn read(text: &str) -> Result<Self, String> {
        let part: MapPart = serde_json::from_str(text)
            .map_err(|error| format!("it is no part of a map ({error})"))?;
        match part.format {
            FORMAT => Ok(part),
            other => Err(format!(
                "its format is {other}, and this program reads {FORMAT}"
            )),
        }
    }
}

/// The first line of a journal.
#[derive(Serialize, Deserialize)]
struct Header {
    journal: u32,
    question: Question,
}

/// The first line of the journal of a map, with its line end.
pub fn journal_header(question: &Question) -> String {
    line(&Header {
        journal: FORMAT,
        question: question.clone(),
    })
}

/// The line of a finished cell, with its line end.
pub fn journal_line(cell: &Cell) -> String {
    line(cell)
}

fn line(thing: &impl Serialize) -> String {
    let text = serde_json::to_string(thing).unwrap_or_default();
    format!("{text} {:016x}\n", checksum(text.as_bytes()))
}

/// What was written as a line of a journal; `None` where it is not that any more.
fn unspoilt(line: &str) -> Option<&str> {
    let (text, sum) = line.rsplit_once(' ')?;
    if sum == format!("{:016x}", checksum(text.as_bytes())) {
        Some(text)
    } else {
        None
    }
}

/// Checksum of 64 bits. Each byte is mixed in by a step that can be undone, so that one changed byte always shows.
///
/// Source: Fowler, Noll & Vo, FNV-1a, as in RFC 9923; its two constants are theirs.
fn checksum(bytes: &[u8]) -> u64 {
    let mut sum = 0xcbf2_9ce4_8422_2325;
    for byte in bytes {
        sum = (sum ^ u64::from(*byte)).wrapping_mul(0x100_0000_01b3);
    }
    sum
}

/// What a journal holds.
#[derive(Debug)]
pub struct Journal {
    /// The finished cells.
    pub cells: Vec<Cell>,
    /// How many bytes of the file are whole lines; a torn last line is left out.
    pub whole: usize,
}

/// Reads a journal of `question`; `None` where not even its first line is whole.
///
/// # Errors
/// Why it is not of this question, or damaged.
pub fn read_journal(bytes: &[u8], question: &Question) -> Result<Option<Journal>, String> {
    let Some(last) = bytes.iter().rposition(|&byte| byte == b'\n') else {
        return Ok(None);
    };
    let text =
        std::str::from_utf8(&bytes[..=last]).map_err(|_| "it is no journal of a map".to_owned())?;
    let mut lines = text.lines();
    let Some(header) = read_header(lines.next()) else {
        return Err("its first line is none of a journal of a map".to_owned());
    };
    if header.journal != FORMAT {
        return Err(format!(
            "its format is {}, and this program reads {FORMAT}",
            header.journal
        ));
    }
    if let Some(other) = difference(&header.question, question) {
        return Err(format!("it belongs to another map: {other}"));
    }
    let mut cells = Vec::new();
    for (n, line) in lines.enumerate() {
        let Some(text) = unspoilt(line) else {
            return Err(format!("line {} is not as it was written", n + 2));
        };
        let cell = serde_json::from_str(text);
        cells.push(cell.map_err(|error| format!("line {} is damaged ({error})", n + 2))?);
    }
    Ok(Some(Journal {
        cells,
        whole: last + 1,
    }))
}

fn read_header(line: Option<&str>) -> Option<Header> {
    serde_json::from_str(unspoilt(line?)?).ok()
}

/// What tells two questions apart, if anything does.
pub fn difference(a: &Question, b: &Question) -> Option<String> {
    let differ = if a == b {
        return None;
    } else if a.version != b.version {
        format!("version {} there, {} here", a.version, b.version)
    } else if a.machine != b.machine {
        "the machine file is not the same".to_owned()
    } else if a.settings != b.settings {
        "its settings are not the same".to_owned()
    } else if !same_values(&a.along, &b.along) || !same_values(&a.across, &b.across) {
        "it is over other values".to_owned()
    } else if a.seed != b.seed {
        format!("seed {} there, {} here", a.seed, b.seed)
    } else if a.runs != b.runs {
        format!("runs {} there, {} here", a.runs, b.runs)
    } else if a.hours != b.hours {
        format!("hours {} there, {} here", a.hours, b.hours)
    } else {
        "one has every cell, the other has not".to_owned()
    };
    Some(differ)
}

fn same_values(a: &Axis, b: &Axis) -> bool {
    (&a.key, a.from, a.step, a.count, &a.unit) == (&b.key, b.from, b.step, b.count, &b.unit)
}
