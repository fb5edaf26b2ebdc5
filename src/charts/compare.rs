//! Designs against each other: differences with their intervals, and how splitters share marbles.

use std::iter::zip;

use super::canvas::{Anchor, Area, Canvas, Picture, picture as drawn};
use super::frame::{PanelPlace, cells, foot, heading, notice};
use super::scale::Scale;
use super::style::{AXIS, BANDS, COURSE, GRID, INK, LABEL, LIMIT, MUTED, PAPER, SMALL};
use crate::findings::words::{self, figure, percent};
use crate::stats::Estimate;
use crate::stats::simultaneous::DesignPair;
use crate::study::compare::{Better, Compared, Comparison, Shared};

/// Rows at most in the picture of differences.
const ROWS: usize = 27;
/// Splitters at most in the picture of shares.
const PANELS: usize = 4;

/// The pictures of a comparison: name and bytes. Shares only where designs have a splitter in common.
pub fn of_comparison(
    comparison: &Comparison,
    machine: &str,
    repeat: &str,
) -> Vec<(String, Vec<u8>)> {
    let differences = differences(comparison, machine, repeat);
    let mut files = vec![("differences.png".to_owned(), differences.png)];
    if let Some(shares) = shares(comparison, machine, repeat) {
        files.push(("shares.png".to_owned(), shares.png));
    }
    files
}

/// One difference: a figure of another design less that of the first.
struct DifferenceRow<'a> {
    figure: &'a Compared,
    pair: &'a DesignPair,
    heads: bool,
}

/// The differences of a figure from the first design.
fn from_first(figure: &Compared) -> impl Iterator<Item = &DesignPair> {
    figure.pairs.iter().filter(|pair| pair.first == 0)
}

/// The figures that differ in any run, those first that are shown to.
fn moving(comparison: &Comparison) -> Vec<&Compared> {
    let mut moving: Vec<&Compared> = comparison.figures.iter().collect();
    moving.retain(|f| from_first(f).any(|pair| pair.test.p < 1.0));
    moving.sort_by_key(|f| !from_first(f).any(|pair| pair.distinct));
    moving
}

/// Differences of every other design from the first, each figure on a scale of its own.
pub fn differences(comparison: &Comparison, machine: &str, repeat: &str) -> Picture {
    let mut moving = moving(comparison);
    let (found, others) = (moving.len(), (comparison.designs.len() - 1).max(1));
    moving.truncate((ROWS / others).max(1));
    let shown = moving.len();
    let mut rows: Vec<DifferenceRow<'_>> = Vec::new();
    for figure in moving {
        for (k, pair) in from_first(figure).enumerate() {
            rows.push(DifferenceRow {
                figure,
                pair,
                heads: k == 0,
            });
        }
    }
    let fewer = if found > shown {
        format!(" {shown} of {found} figures.")
    } else {
        String::new()
    };
    let subtitle = format!(
        "Each figure less that of {}, on a scale of its own, with intervals that all hold together at {}. Blue: better; red: worse; \
         grey: not shown to differ.{fewer}",
        first_design(comparison),
        percent(comparison.level)
    );
    drawn(|canvas| {
        let area = heading(canvas, &title(comparison, &rows), &subtitle);
        foot(canvas, machine, repeat);
        if rows.is_empty() {
            return notice(
                canvas,
                &area,
                "In every figure the designs are alike, or it is unknown.",
            );
        }
        let height = (area.height() / rows.len() as f64).min(64.0);
        for (k, row) in rows.iter().enumerate() {
            let y = area.top + (k as f64 + 0.5) * height;
            difference(canvas, comparison, row, &area, (y, height));
        }
        let middle = middle(&area);
        let bottom = area.top + height * rows.len() as f64;
        canvas.line(&[(middle, area.top), (middle, bottom)], 1.0, AXIS);
    })
}

fn first_design(comparison: &Comparison) -> &str {
    match comparison.designs.first() {
        Some(first) => first,
        None => "",
    }
}

fn title(comparison: &Comparison, rows: &[DifferenceRow<'_>]) -> String {
    let first = first_design(comparison);
    let distinct = rows.iter().filter(|row| row.pair.distinct).count();
    let figures = comparison.figures.len();
    match comparison.designs.as_slice() {
        _ if distinct == 0 => format!("Nothing is shown to differ from {first}"),
        [_, other] => format!("{other} against {first}: {distinct} of {figures} figures differ"),
        _ => {
            let winners = comparison.winners();
            if winners.is_empty() {
                return "No design is better than all others in any figure".to_owned();
            }
            let winners = winners.join(", ");
            format!("Of {figures} figures, better than all others: {winners}")
        }
    }
}

fn middle(area: &Area) -> f64 {
    area.left + 0.62 * area.width()
}

fn difference(
    canvas: &mut Canvas<'_>,
    comparison: &Comparison,
    row: &DifferenceRow<'_>,
    area: &Area,
    (y, height): (f64, f64),
) {
    if row.heads {
        let top = y - height / 2.0;
        canvas.line(&[(area.left, top), (area.right, top)], 1.0, GRID);
        let name = LABEL.bold().shorten(&row.figure.name, 310.0);
        canvas.text(area.left, y, &name, LABEL.bold());
    }
    let design = LABEL.shorten(&comparison.designs[row.pair.second], 150.0);
    canvas.text(area.left + 470.0, y, &design, LABEL.at(Anchor::Right));
    // The pair is the first design less the other; the picture turns it round.
    let d = row.pair.test.difference;
    let (Some(value), Some(low), Some(high)) = (d.value, d.high, d.low) else {
        return;
    };
    let (value, low, high) = (-value, -low, -high);
    let widest = widest(row.figure);
    let reach = (area.right - 210.0 - middle(area)).min(middle(area) - area.left - 480.0);
    let scale = Scale {
        figures: (-widest, widest),
        pixels: (middle(area) - reach, middle(area) + reach),
    };
    let good = (value > 0.0) == (row.figure.better == Better::More);
    let colour = match (row.pair.distinct, good) {
        (false, _) => MUTED,
        (true, true) => COURSE,
        (true, false) => LIMIT,
    };
    canvas.line(&[(scale.at(low), y), (scale.at(high), y)], 2.5, colour);
    canvas.disc((scale.at(value), y), (height / 4.5).min(5.0), colour);
    let (times, unit) = if row.figure.share {
        (100.0, " %")
    } else {
        (1.0, "")
    };
    let shown = Estimate::interval(times * value, times * low, times * high);
    let says = words::difference(&shown) + unit;
    canvas.text(area.right, y, &says, LABEL.at(Anchor::Right));
}

/// How far from zero the intervals of a figure reach.
fn widest(figure: &Compared) -> f64 {
    let mut widest = f64::MIN_POSITIVE;
    for pair in from_first(figure) {
        let ends = [pair.test.difference.low, pair.test.difference.high];
        for end in ends.into_iter().flatten() {
            widest = widest.max(end.abs());
        }
    }
    widest
}

/// How each design's splitters share the marbles, and the longest run on one way; `None` without a splitter in common.
pub fn shares(comparison: &Comparison, machine: &str, repeat: &str) -> Option<Picture> {
    let shown = &comparison.splitters[..comparison.splitters.len().min(PANELS)];
    let first = shown.first()?;
    let mut known = Vec::new();
    for (design, longest) in zip(&comparison.designs, &first.longest) {
        known.extend(longest.value.map(|longest| (design, longest)));
    }
    let title = match known.into_iter().min_by(|a, b| a.1.total_cmp(&b.1)) {
        Some((design, longest)) => format!(
            "{}: {design} sends at most {} on end the same way",
            first.name,
            figure(longest)
        ),
        None => "How the splitters share the marbles".to_owned(),
    };
    let subtitle = "Share of the marbles that take each way, by design; at the right the longest run on one way, mean over runs.";
    Some(drawn(|canvas| {
        let area = heading(canvas, &title, subtitle);
        foot(canvas, machine, repeat);
        for (shared, cell) in zip(shown, cells(shown, 1, &area)) {
            splitter(canvas, comparison, shared, &cell);
        }
    }))
}

fn splitter(canvas: &mut Canvas<'_>, comparison: &Comparison, shared: &Shared, cell: &PanelPlace) {
    let (left, right) = (cell.area.left + 190.0, cell.area.right - 150.0);
    canvas.text(
        cell.area.left,
        cell.area.top + 14.0,
        &LABEL.bold().shorten(&shared.name, 170.0),
        LABEL.bold(),
    );
    canvas.text(
        cell.area.right,
        cell.area.top + 14.0,
        "longest run",
        SMALL.at(Anchor::Right),
    );
    let height = ((cell.area.height() - 36.0) / comparison.designs.len() as f64).min(90.0);
    let scale = Scale {
        figures: (0.0, 1.0),
        pixels: (left, right),
    };
    for (k, ways) in shared.ways.iter().enumerate() {
        let y = cell.area.top + 34.0 + (k as f64 + 0.5) * height;
        let half = (height * 0.36).min(26.0);
        let name = LABEL.shorten(&comparison.designs[k], 178.0);
        canvas.text(left - 12.0, y, &name, LABEL.at(Anchor::Right));
        share_bars(canvas, ways, &scale, (y, half));
        let longest = match shared.longest[k].value {
            Some(longest) => figure(longest),
            None => "unknown".to_owned(),
        };
        canvas.text(cell.area.right, y, &longest, LABEL.bold().at(Anchor::Right));
    }
}

/// Bars end to end, one a way, as long as its share.
fn share_bars(
    canvas: &mut Canvas<'_>,
    ways: &[(String, Estimate)],
    scale: &Scale,
    (y, half): (f64, f64),
) {
    let mut from = 0.0;
    for (n, (to, share)) in ways.iter().enumerate() {
        let value = share.value.unwrap_or(0.0);
        let bar = Area {
            left: scale.at(from),
            right: scale.at(from + value),
            top: y - half,
            bottom: y + half,
        };
        let (colour, dark) = WAYS[n % WAYS.len()];
        canvas.rect(&bar, colour);
        let ink = if dark { PAPER } else { INK };
        let look = LABEL.coloured(ink).at(Anchor::Middle);
        let says = look.shorten(&format!("{to} {}", percent(value)), bar.width() - 8.0);
        canvas.text((bar.left + bar.right) / 2.0, y, &says, look);
        from += value;
        let end = scale.at(from);
        canvas.line(&[(end, bar.top), (end, bar.bottom)], 2.0, PAPER);
    }
}

/// Colours of the ways, distinct under colour blindness, and whether they are dark.
const WAYS: [(plotters::style::RGBColor, bool); 6] = [
    (BANDS[7], false),
    (BANDS[1], true),
    (BANDS[2], false),
    (BANDS[6], true),
    (BANDS[4], false),
    (BANDS[3], true),
];
