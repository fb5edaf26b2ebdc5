//! A table of stopwatch readings: CSV text in, readings with their places out, or every problem found in it.

use std::ops::Range;

use super::rolling::Roll;
use crate::machine::limits;
use crate::machine::problem::{Place, Problem, Report};
use crate::machine::suggest::did_you_mean;
use crate::machine::text::one_line;
use crate::machine::units::{ANGLE, DURATION, LENGTH, Misread, QuantityKind, number, quantity};

const HEADERS: &str =
    "the first line names the columns: `element,seconds` or `length,slope,seconds`";

/// What a table tells.
#[derive(Clone, Debug, PartialEq)]
pub enum Table {
    /// Times of elements, in the order of their first reading.
    Elements(Vec<Timed>),
    /// Times of a marble rolling down known slopes.
    Slopes(Vec<Roll>),
}

/// The readings of one element.
#[derive(Clone, Debug, PartialEq)]
pub struct Timed {
    /// Its name.
    pub element: String,
    /// Where it is first named.
    pub place: Place,
    /// Times read, seconds.
    pub timed: Vec<f64>,
    /// Times after which watching stopped, seconds.
    pub over: Vec<f64>,
}

/// One cell of the table.
struct TableCell<'t> {
    text: &'t str,
    place: Place,
}

/// A line of the text.
#[derive(Clone, Copy)]
struct TableLine<'t> {
    text: &'t str,
    /// Its first byte in the text.
    start: usize,
    /// Its number, from 1.
    number: usize,
}

/// One line of the table with something in it.
struct TableRow<'t> {
    cells: Vec<TableCell<'t>>,
    place: Place,
}

/// Reads a table. Lines that begin with `#` are comments, and so is what follows ` #` at the end of a line.
///
/// # Errors
/// Every problem found, in the order of the file; never an empty list.
pub fn read(text: &str) -> Result<Table, Vec<Problem>> {
    let report = Report::default();
    let mut rows = rows(text).into_iter();
    let table = match rows.next() {
        None => {
            let place = Place::File {
                start: 0,
                end: 0,
                line: 1,
                column: 1,
            };
            report.add(Some(place), "", "there is nothing in this table", HEADERS);
            None
        }
        Some(header) => table(&header, rows, &report),
    };
    match table {
        Some(table) if report.is_empty() => Ok(table),
        _ => Err(report.into_problems()),
    }
}

fn table<'t>(
    header: &TableRow,
    rows: impl Iterator<Item = TableRow<'t>>,
    report: &Report,
) -> Option<Table> {
    let names: Vec<String> = header
        .cells
        .iter()
        .map(|cell| cell.text.to_lowercase())
        .collect();
    let slopes = names.iter().any(|name| name == "length" || name == "slope");
    let wanted: &[&str] = if slopes {
        &["length", "slope", "seconds"]
    } else {
        &["element", "seconds"]
    };
    if !sound_header(header, &names, wanted, report) {
        return None;
    }
    let order: Vec<usize> = wanted
        .iter()
        .filter_map(|name| names.iter().position(|known| known == name))
        .collect();
    let mut elements: Vec<Timed> = Vec::new();
    let mut rolls = Vec::new();
    let mut any = false;
    for row in rows {
        any = true;
        if row.cells.len() != names.len() {
            wrong_count(&row, names.len(), report);
        } else if slopes {
            rolls.extend(roll(&row, &order, report));
        } else {
            element(&row, &order, &mut elements, report);
        }
    }
    if !any {
        report.add(
            Some(header.place),
            "",
            "there are no readings under these columns",
            "write one reading a line",
        );
    }
    Some(if slopes {
        Table::Slopes(rolls)
    } else {
        Table::Elements(elements)
    })
}

fn sound_header(header: &TableRow, names: &[String], wanted: &[&str], report: &Report) -> bool {
    if let [only] = header.cells.as_slice()
        && only.text.contains([';', '\t'])
    {
        let help = "save the table with commas between its columns and points in its numbers";
        report.add(
            Some(only.place),
            "",
            "the columns of this table are not parted by commas",
            help,
        );
        return false;
    }
    for (n, (cell, name)) in header.cells.iter().zip(names).enumerate() {
        if !wanted.contains(&name.as_str()) {
            let help = format!(
                "{}; write remarks after `#`",
                did_you_mean(name, wanted.iter().copied())
            );
            report.add(
                Some(cell.place),
                "",
                format!("there is no column called `{}`", cell.text),
                help,
            );
        } else if names[..n].contains(name) {
            report.add(
                Some(cell.place),
                "",
                format!("the column `{name}` is there twice"),
                "take one away",
            );
        }
    }
    for missing in wanted
        .iter()
        .filter(|name| !names.iter().any(|known| known == *name))
    {
        report.add(
            Some(header.place),
            "",
            format!("there is no column `{missing}`"),
            HEADERS,
        );
    }
    report.is_empty()
}

fn wrong_count(row: &TableRow, due: usize, report: &Report) {
    let what = format!(
        "this line has {} cells, where {due} are due",
        row.cells.len()
    );
    let comma = row.cells.len() > due
        && row.cells[due]
            .text
            .starts_with(|c: char| c.is_ascii_digit());
    let help = if comma {
        "write a decimal point, not a comma, as in `3.42`"
    } else {
        "write one reading a line, a cell for each column"
    };
    report.add(Some(row.place), "", what, help);
}

fn element(row: &TableRow, order: &[usize], elements: &mut Vec<Timed>, report: &Report) {
    let (name, reading) = (&row.cells[order[0]], &row.cells[order[1]]);
    if name.text.is_empty() {
        report.add(
            Some(row.place),
            "",
            "this reading names no element",
            "write the element's name before the time",
        );
    }
    let over = reading.text.starts_with('>');
    let Some(seconds) = seconds(reading, over, report) else {
        return;
    };
    let element = one_line(name.text);
    let known = elements.iter().position(|timed| timed.element == element);
    if known.is_none() {
        elements.push(Timed {
            element,
            place: name.place,
            timed: Vec::new(),
            over: Vec::new(),
        });
    }
    let at = known.unwrap_or(elements.len() - 1);
    let of = &mut elements[at];
    if of.timed.len() + of.over.len() == limits::SAMPLES {
        let what = format!("`{}` has more than {} readings", name.text, limits::SAMPLES);
        report.add(
            Some(name.place),
            "",
            what,
            "leave some out: so many tell no more",
        );
    }
    if over {
        of.over.push(seconds)
    } else {
        of.timed.push(seconds)
    }
}

/// A time in seconds, its unit written or not.
fn seconds(cell: &TableCell, over: bool, report: &Report) -> Option<f64> {
    let text = if over {
        cell.text[1..].trim()
    } else {
        cell.text
    };
    let read = match number(text) {
        Some(bare) => Ok(bare),
        None => quantity(text, &DURATION),
    };
    match read {
        Ok(time) if time > 0.0 && time <= limits::LONGEST_TIME_S => Some(time),
        Ok(_) => {
            let help = format!(
                "write a time above 0 s and up to {}",
                DURATION.show(limits::LONGEST_TIME_S)
            );
            report.add(
                Some(cell.place),
                "",
                format!("`{}` is no time a marble takes", cell.text),
                help,
            );
            None
        }
        Err(_) => {
            let help =
                "write seconds, as in `3.42`, or `>20` where the marble had not come after 20 s";
            report.add(
                Some(cell.place),
                "",
                format!("`{}` is not a stopwatch reading", cell.text),
                help,
            );
            None
        }
    }
}

fn roll(row: &TableRow, order: &[usize], report: &Report) -> Option<Roll> {
    let [length, slope, time] = [0, 1, 2].map(|n| &row.cells[order[n]]);
    let length_m = measure(length, &LENGTH, 0.01..=limits::LONGEST_LENGTH_M, report);
    let slope_rad = measure(slope, &ANGLE, 1e-4..=std::f64::consts::PI / 4.0, report);
    if time.text.starts_with('>') {
        let help = "leave this roll out, or take a steeper slope";
        report.add(
            Some(time.place),
            "",
            "a roll over a known slope has to be timed to its end",
            help,
        );
        return None;
    }
    let time_s = seconds(time, false, report);
    Some(Roll {
        length_m: length_m?,
        slope_rad: slope_rad?,
        time_s: time_s?,
    })
}

fn measure(
    cell: &TableCell,
    of: &QuantityKind,
    range: std::ops::RangeInclusive<f64>,
    report: &Report,
) -> Option<f64> {
    let what = match quantity(cell.text, of) {
        Ok(value) if range.contains(&value) => return Some(value),
        Ok(_) => {
            let help = format!(
                "write {} from {} to {}",
                of.one(),
                of.show(*range.start()),
                of.show(*range.end())
            );
            report.add(
                Some(cell.place),
                "",
                format!("`{}` is out of bounds", cell.text),
                help,
            );
            return None;
        }
        Err(Misread::Bare) => format!("`{}` has no unit, and {} needs one", cell.text, of.one()),
        Err(_) => format!("`{}` is not {}", cell.text, of.one()),
    };
    report.add(
        Some(cell.place),
        "",
        what,
        format!("write {} with its unit, as in {}", of.one(), of.examples),
    );
    None
}

/// The lines that hold something, cut into cells.
fn rows(text: &str) -> Vec<TableRow<'_>> {
    let (mut rows, mut start) = (Vec::new(), 0);
    for (n, whole) in text.split('\n').enumerate() {
        let line = whole.strip_suffix('\r').unwrap_or(whole);
        if !line.trim().is_empty() && !line.trim_start().starts_with('#') {
            rows.push(row(TableLine {
                text: line,
                start,
                number: n + 1,
            }));
        }
        start += whole.len() + 1;
    }
    rows
}

/// The cells of a line, which never runs on, not even inside quotes.
fn row(line: TableLine<'_>) -> TableRow<'_> {
    let kept = line.text.split(" #").next().unwrap_or(line.text).trim_end();
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .from_reader(kept.as_bytes());
    let record = reader
        .records()
        .next()
        .and_then(Result::ok)
        .unwrap_or_default();
    let mut from = 0;
    let mut cells: Vec<TableCell> = Vec::new();
    for value in &record {
        // Of a cell with quotes inside quotes only the part before them is found; it is no reading in any case.
        let wanted = value.trim();
        let at = kept[from..].find(wanted).map_or(from, |n| from + n);
        let found = kept[at..].starts_with(wanted);
        let text = if found {
            &kept[at..at + wanted.len()]
        } else {
            &kept[at..]
        };
        cells.push(TableCell {
            text,
            place: line.place(at..at + text.len()),
        });
        let after = at + text.len();
        from = kept[after..].find(',').map_or(after, |n| after + n + 1);
    }
    TableRow {
        cells,
        place: line.place(0..kept.len()),
    }
}

impl TableLine<'_> {
    /// The place in the file of some bytes of the line.
    fn place(&self, bytes: Range<usize>) -> Place {
        Place::File {
            start: self.start + bytes.start,
            end: self.start + bytes.end,
            line: self.number,
            column: self.text[..bytes.start].chars().count() + 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn problem(text: &str) -> Problem {
        read(text).expect_err(text).swap_remove(0)
    }

    #[test]
    fn readings_come_with_comments_units_and_readings_cut_short() {
        let text = "# by hand\nElement, seconds\n bell-track , 3.42\n\nstairs,\"4 1/2\" # late\nbell-track,>20\r\nstairs,> 1 min\n";
        let Ok(Table::Elements(all)) = read(text) else {
            panic!("{:?}", read(text))
        };
        assert_eq!(
            (all[0].element.as_str(), &all[0].timed[..], &all[0].over[..]),
            ("bell-track", &[3.42][..], &[20.0][..])
        );
        assert_eq!(
            (all[1].element.as_str(), &all[1].timed[..], &all[1].over[..]),
            ("stairs", &[4.5][..], &[60.0][..])
        );
    }

    #[test]
    fn slopes_come_with_their_units_in_any_order() {
        let Ok(Table::Slopes(rolls)) =
            read("seconds,length,slope\n2.1,600 mm,3 deg\n2.6,2 ft,1 in 24\n")
        else {
            panic!()
        };
        assert_eq!(rolls.len(), 2);
        assert!(
            (rolls[0].slope_rad - 3_f64.to_radians()).abs() < 1e-12
                && (rolls[1].length_m - 0.6096).abs() < 1e-12
        );
    }

    #[test]
    fn a_problem_knows_its_place() {
        let found = problem("element,seconds\nbell-track,3,42\n");
        assert!(found.help.contains("decimal point"), "{found:?}");
        let found = problem("element,seconds\nbell-track,fast\n");
        assert_eq!(
            found.place,
            Some(Place::File {
                start: 27,
                end: 31,
                line: 2,
                column: 12
            })
        );
        assert!(
            problem("length,slope,seconds\n600,3 deg,2\n")
                .what
                .contains("no unit")
        );
        assert!(problem("element;seconds\n").what.contains("commas"));
        assert!(problem("elemnt,seconds\nx,1\n").help.contains("`element`"));
        assert!(problem("element\nx\n").what.contains("`seconds`"));
        assert!(problem("element,seconds\nx,0\n").what.contains("no time"));
        assert!(
            problem("").what.contains("nothing")
                && problem("element,seconds\n").what.contains("no readings")
        );
    }
}
