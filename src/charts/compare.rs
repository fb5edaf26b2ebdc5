//! Designs against each other: differences with their intervals, and how splitters share marbles.

use std::iter::zip;

use plotters::style::RGBColor;

use super::canvas::{Anchor, Area, Canvas, Format, HEIGHT, NARROW, Picture, WIDTH};
use super::frame::{PanelPlace, cells, foot, heading, heading_height, notice};
use super::scale::Scale;
use super::style::{AXIS, BANDS, COURSE, GRID, INK, LABEL, LIMIT, MUTED, PAPER, SMALL};
use crate::findings::words::{figure, percent};
use crate::stats::Estimate;
use crate::stats::simultaneous::DesignPair;
use crate::study::compare::{Better, Compared, Comparison, Shared};

/// Rows at most in the picture of differences.
const ROWS: usize = 27;
/// Height of a figure's name and of a design under it on a telephone, pixels.
const NAME_ROW: f64 = 26.0;
const DESIGN_ROW: f64 = 42.0;
/// Height of a splitter's name, of the key to its ways and of a design under them on a telephone, pixels.
const SHARED_NAME: f64 = 28.0;
const SHARED_KEY: f64 = 18.0;
const SHARED_ROW: f64 = 58.0;
/// Splitters at most in the picture of shares.
const PANELS: usize = 4;

/// The pictures of a comparison: name and bytes. Shares only where designs have a splitter in common.
pub fn of_comparison(
    comparison: &Comparison,
    machine: &str,
    repeat: &str,
) -> Vec<(String, Vec<u8>)> {
    let differences = differences(comparison, (machine, repeat), Format::Wide);
    let mut files = vec![("differences.png".to_owned(), differences.png)];
    if let Some(shares) = shares(comparison, (machine, repeat), Format::Wide) {
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
pub fn differences(
    comparison: &Comparison,
    (machine, repeat): (&str, &str),
    format: Format,
) -> Picture {
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
    let arrows = match rows.iter().any(|row| reaches_beyond(row.figure)) {
        true => " Double arrow: far beyond the scale.",
        false => "",
    };
    let subtitle = format!(
        "Each figure less that of {}, on a scale of its own, with intervals that all hold together at {}. Blue: better; red: worse; \
         grey: not shown to differ.{arrows}{fewer}",
        first_design(comparison),
        percent(comparison.level)
    );
    let title = title(comparison, &rows);
    let height = match format {
        Format::Wide => f64::from(HEIGHT),
        Format::Narrow => {
            let names = rows.iter().filter(|row| row.heads).count();
            let rows = NAME_ROW * names as f64 + DESIGN_ROW * rows.len() as f64;
            heading_height(&title, &subtitle, NARROW) + rows.max(120.0) + 52.0
        }
    };
    format.picture(height, |canvas| {
        let area = heading(canvas, &title, &subtitle);
        foot(canvas, machine, repeat);
        if rows.is_empty() {
            return notice(
                canvas,
                &area,
                "In every figure the designs are alike, or it is unknown.",
            );
        }
        if canvas.is_narrow() {
            return stacked(canvas, comparison, &rows, &area);
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
    let reach = (area.right - 210.0 - middle(area)).min(middle(area) - area.left - 480.0);
    let scale = scale_of(row, (middle(area) - reach, middle(area) + reach));
    if let Some(says) = mark(canvas, row, &scale, (y, height)) {
        canvas.text(area.right, y, &says, LABEL.at(Anchor::Right));
    }
}

/// For a telephone: each figure's name, and under it each design with its difference in words and drawn.
fn stacked(
    canvas: &mut Canvas<'_>,
    comparison: &Comparison,
    rows: &[DifferenceRow<'_>],
    area: &Area,
) {
    let mut y = area.top;
    let room = (area.left + 10.0, area.right - 10.0);
    let middle = (room.0 + room.1) / 2.0;
    for row in rows {
        if row.heads {
            canvas.line(&[(area.left, y), (area.right, y)], 1.0, GRID);
            let name = LABEL.bold().shorten(&row.figure.name, area.width());
            canvas.text(area.left, y + NAME_ROW / 2.0, &name, LABEL.bold());
            y += NAME_ROW;
        }
        let at = y + 24.0;
        canvas.line(&[(middle, at - 9.0), (middle, at + 9.0)], 1.0, AXIS);
        let look = SMALL.coloured(INK);
        let says = mark(canvas, row, &scale_of(row, room), (at, DESIGN_ROW));
        let says = says.unwrap_or_default();
        let width = canvas.text(area.right, y + 8.0, &says, look.at(Anchor::Right));
        let design = &comparison.designs[row.pair.second];
        let design = look.shorten(design, area.width() - width - 12.0);
        canvas.text(area.left, y + 8.0, &design, look);
        y += DESIGN_ROW;
    }
}

/// From the figure's least to its most, with no difference in the middle.
fn scale_of(row: &DifferenceRow<'_>, pixels: (f64, f64)) -> Scale {
    let widest = widest(row.figure);
    Scale {
        figures: (-widest, widest),
        pixels,
    }
}

/// Draws one difference with its interval, and returns it in words; `None` where it is not known.
fn mark(
    canvas: &mut Canvas<'_>,
    row: &DifferenceRow<'_>,
    scale: &Scale,
    (y, height): (f64, f64),
) -> Option<String> {
    // The pair is the first design less the other; the picture turns it round.
    let d = row.pair.test.difference;
    let (value, low, high) = (-d.value?, -d.high?, -d.low?);
    let widest = scale.figures.1;
    let good = (value > 0.0) == (row.figure.better == Better::More);
    let colour = match (row.pair.distinct, good) {
        (false, _) => MUTED,
        (true, true) => COURSE,
        (true, false) => LIMIT,
    };
    let on = |figure: f64| scale.at(figure.clamp(-widest, widest));
    canvas.line(&[(on(low), y), (on(high), y)], 2.5, colour);
    if value.abs() <= widest {
        canvas.disc((on(value), y), (height / 4.5).min(5.0), colour);
    }
    for end in [low, high] {
        if end.abs() > widest {
            beyond(canvas, (on(end), y), end.signum(), colour);
        }
    }
    let (times, unit) = if row.figure.share {
        (100.0, " %")
    } else {
        (1.0, "")
    };
    let half = times * (high - low) / 2.0;
    Some(legible(times * value, half) + unit)
}

/// A difference to one figure of its half-width, or two where the first is a 1: as much as a glance takes in, `+7.8 ±0.2`.
fn legible(value: f64, half: f64) -> String {
    let finest = if half > 0.0 {
        half
    } else {
        value.abs() / 100.0
    };
    let first = libm::pow(10.0, libm::floor(libm::log10(finest)));
    let step = match finest {
        0.0 => 1.0,
        _ if finest < 2.0 * first => first / 10.0,
        _ => first,
    };
    let decimals = (-libm::log10(step)).round().clamp(0.0, 9.0) as usize;
    let on_step = |x: f64| (x / step).round() * step + 0.0;
    let value = match on_step(value) {
        0.0 => "0".to_owned(),
        rounded => format!("{rounded:+.decimals$}"),
    };
    match half > 0.0 {
        true => format!("{value} ±{:.decimals$}", on_step(half)),
        false => value,
    }
}

/// A design that reaches so many times as far as any other does not set the scale.
const OUTLIER: f64 = 4.0;

/// How far from zero the scale of a figure reaches: as far as the intervals, but for a design far beyond all others.
fn widest(figure: &Compared) -> f64 {
    let mut reaches = Vec::new();
    for pair in from_first(figure) {
        let ends = [pair.test.difference.low, pair.test.difference.high];
        let reach = ends.into_iter().flatten().map(f64::abs).reduce(f64::max);
        reaches.extend(reach.filter(|reach| *reach > 0.0));
    }
    reaches.sort_by(|a, b| b.total_cmp(a));
    match reaches.as_slice() {
        [first, second, ..] if *first > OUTLIER * second => 1.5 * second,
        [first, ..] => *first,
        [] => f64::MIN_POSITIVE,
    }
}

/// Whether any interval of a figure reaches beyond its scale.
fn reaches_beyond(figure: &Compared) -> bool {
    let widest = widest(figure);
    let mut ends = from_first(figure).flat_map(|pair| {
        let d = pair.test.difference;
        [d.low, d.high]
    });
    ends.any(|end| end.is_some_and(|end| end.abs() > widest))
}

/// An arrowhead at the end of the scale, for what lies beyond it.
fn beyond(canvas: &mut Canvas<'_>, (x, y): (f64, f64), side: f64, colour: RGBColor) {
    for step in [0.0, 9.0] {
        let tip = x - side * step;
        let back = tip - side * 8.0;
        canvas.line(&[(back, y - 5.0), (tip, y), (back, y + 5.0)], 2.5, colour);
    }
}

/// How each design's splitters share the marbles, and the longest run on one way; `None` without a splitter in common.
pub fn shares(
    comparison: &Comparison,
    (machine, repeat): (&str, &str),
    format: Format,
) -> Option<Picture> {
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
    let height = match format {
        Format::Wide => {
            // No higher than its bars need.
            let one = 36.0 + 90.0 * comparison.designs.len() as f64;
            let all = heading_height(&title, subtitle, WIDTH) + one * shown.len() as f64 + 52.0;
            all.min(f64::from(HEIGHT))
        }
        Format::Narrow => {
            let one = SHARED_NAME + SHARED_KEY + SHARED_ROW * comparison.designs.len() as f64;
            heading_height(&title, subtitle, NARROW) + one * shown.len() as f64 + 52.0
        }
    };
    Some(format.picture(height, |canvas| {
        let area = heading(canvas, &title, subtitle);
        foot(canvas, machine, repeat);
        if canvas.is_narrow() {
            let mut top = area.top;
            for shared in shown {
                top = stacked_splitter(canvas, comparison, shared, &Area { top, ..area });
            }
            return;
        }
        for (shared, cell) in zip(shown, cells(shown, 1, &area)) {
            splitter(canvas, comparison, shared, &cell);
        }
    }))
}

/// For a telephone: a splitter's name, and under it each design with its longest run and its bar; where the next one stands.
fn stacked_splitter(
    canvas: &mut Canvas<'_>,
    comparison: &Comparison,
    shared: &Shared,
    area: &Area,
) -> f64 {
    let mut y = area.top;
    let header = SMALL.at(Anchor::Right);
    let taken = canvas.text(area.right, y + 12.0, "longest run", header);
    let name = LABEL
        .bold()
        .shorten(&shared.name, area.width() - taken - 12.0);
    canvas.text(area.left, y + 12.0, &name, LABEL.bold());
    y += SHARED_NAME;
    key_of_ways(canvas, shared, &Area { top: y, ..*area });
    y += SHARED_KEY;
    let scale = Scale {
        figures: (0.0, 1.0),
        pixels: (area.left, area.right),
    };
    for (k, ways) in shared.ways.iter().enumerate() {
        let look = LABEL.bold().at(Anchor::Right);
        let taken = canvas.text(area.right, y + 8.0, &longest_run(shared, k), look);
        let name = LABEL.shorten(&comparison.designs[k], area.width() - taken - 12.0);
        canvas.text(area.left, y + 8.0, &name, LABEL);
        share_bars(canvas, ways, &scale, (y + 32.0, 13.0), false);
        y += SHARED_ROW;
    }
    y
}

/// The ways with their colours, side by side.
fn key_of_ways(canvas: &mut Canvas<'_>, shared: &Shared, area: &Area) {
    let Some(ways) = shared.ways.first() else {
        return;
    };
    let room = area.width() / ways.len().max(1) as f64;
    for (n, (to, _)) in ways.iter().enumerate() {
        let left = area.left + n as f64 * room;
        let swatch = Area {
            left,
            right: left + 10.0,
            top: area.top - 1.0,
            bottom: area.top + 9.0,
        };
        canvas.rect(&swatch, WAYS[n % WAYS.len()].0);
        let name = SMALL.shorten(to, room - 22.0);
        canvas.text(left + 15.0, area.top + 4.0, &name, SMALL);
    }
}

/// The longest run of marbles on one way with design `k`.
fn longest_run(shared: &Shared, k: usize) -> String {
    match shared.longest[k].value {
        Some(longest) => figure(longest),
        None => "unknown".to_owned(),
    }
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
        share_bars(canvas, ways, &scale, (y, half), true);
        canvas.text(
            cell.area.right,
            y,
            &longest_run(shared, k),
            LABEL.bold().at(Anchor::Right),
        );
    }
}

/// Bars end to end, one a way, as long as its share.
fn share_bars(
    canvas: &mut Canvas<'_>,
    ways: &[(String, Estimate)],
    scale: &Scale,
    (y, half): (f64, f64),
    named: bool,
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
        let share = percent(value);
        let says = match named {
            true => look.shorten(&format!("{to} {share}"), bar.width() - 8.0),
            false if look.width(&share) <= bar.width() - 4.0 => share,
            false => String::new(),
        };
        canvas.text((bar.left + bar.right) / 2.0, y, &says, look);
        from += value;
        let end = scale.at(from);
        canvas.line(&[(end, bar.top), (end, bar.bottom)], 2.0, PAPER);
    }
}

/// Colours of the ways, distinct under colour blindness, and whether they are dark.
const WAYS: [(RGBColor, bool); 6] = [
    (BANDS[7], false),
    (BANDS[1], true),
    (BANDS[2], false),
    (BANDS[6], true),
    (BANDS[4], false),
    (BANDS[3], true),
];

#[cfg(test)]
mod tests {
    use super::legible;

    #[test]
    fn differences_have_one_figure_of_their_half_width() {
        assert_eq!(legible(-21.12, 0.84), "-21.1 ±0.8");
        assert_eq!(legible(2357.1, 5.2), "+2357 ±5");
        assert_eq!(legible(21.931, 0.086), "+21.93 ±0.09");
        assert_eq!(legible(0.00001, 0.00033), "0 ±0.0003");
        assert_eq!(legible(-5.0, 11.0), "-5 ±11");
        assert_eq!(legible(6738.0, 148.0), "+6740 ±150");
        assert_eq!(legible(2.0, 0.0), "+2.00");
    }
}
