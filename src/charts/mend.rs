//! A ladder of changes: what decides, as the machine is and after each.

use super::canvas::{Anchor, Area, Canvas, Format, HEIGHT, NARROW, Picture, WIDTH};
use super::frame::{NARROW_MARGIN, foot, heading, heading_height};
use super::scale::{Scale, largest, numbered_marks, round_step};
use super::style::{AXIS, COURSE, GRID, INK, LABEL, LIMIT, PALE, PAPER, SMALL};
use super::text::wrap;
use crate::circuit::Circuit;
use crate::findings::verdict_text::{heading as what, is_share};
use crate::findings::words::{figure, percent};
use crate::findings::workable::{Criterion, CriterionResult, Verdict};
use crate::study::mend::Tested;

/// Width of the column that says what is done, and most height of a row, pixels.
const SAYS: f64 = 330.0;
const ROW: f64 = 84.0;
/// Left and right of the figures of a panel, pixels.
const GAP: f64 = 36.0;
/// Height of a line of a panel's name, pixels.
const NAME: f64 = 18.0;

/// A change, or the machine as it is.
pub struct MendRow<'a> {
    /// What is done.
    pub label: String,
    /// What the runs show.
    pub tested: &'a Tested,
}

/// The machine as it is, first, and after each change.
pub struct MendRows<'a> {
    /// The circuit, for the names in it.
    pub circuit: &'a Circuit,
    /// What is drawn, a panel each.
    pub criteria: &'a [Criterion],
    /// The rows.
    pub rows: &'a [MendRow<'a>],
}

/// The picture; `title` says the answer.
pub fn picture(
    of: &MendRows,
    title: &str,
    (machine, repeat): (&str, &str),
    format: Format,
) -> Picture {
    let subtitle = "Bars: from the machine as it is to what each change makes of it; a dot where the runs are sure, a ring \
                    where not; thin lines: bounds. Upright: what is good enough.";
    let title = title.replace('`', "");
    let height = match format {
        Format::Wide => {
            // No higher than its rows need.
            let rows = ROW * of.rows.len() as f64;
            let all = heading_height(&title, subtitle, WIDTH) + rows + 110.0 + NAME;
            all.min(f64::from(HEIGHT))
        }
        Format::Narrow => {
            let panel = of.rows.iter().map(|row| narrow_row(row).1).sum::<f64>() + 74.0;
            heading_height(&title, subtitle, NARROW) + panel * of.criteria.len() as f64 + 46.0
        }
    };
    format.picture(height, |canvas| {
        let area = heading(canvas, &title, subtitle);
        foot(canvas, machine, repeat);
        if canvas.is_narrow() {
            let mut top = area.top + 36.0;
            for criterion in of.criteria {
                top = stacked(canvas, of, *criterion, &Area { top, ..area }) + 74.0;
            }
            return;
        }
        let left = area.left + SAYS;
        let width = (area.right - left) / of.criteria.len().max(1) as f64;
        let names = of.criteria.iter().filter_map(|criterion| {
            let about = of.rows.iter().find_map(|row| result(row, *criterion))?;
            Some(name_lines(of.circuit, &about, width - GAP).len())
        });
        let top = area.top + 12.0 + NAME * names.max().unwrap_or(1) as f64;
        let height = ((area.bottom - 34.0 - top) / of.rows.len() as f64).min(ROW);
        let middle = |n: usize| top + (n as f64 + 0.5) * height;
        for (n, row) in of.rows.iter().enumerate() {
            let lines = wrap(
                &row.label.replace('`', ""),
                LABEL.size,
                LABEL.weight,
                SAYS - 16.0,
                3,
            );
            let first = middle(n) - 9.0 * (lines.len() as f64 - 1.0);
            for (k, line) in lines.iter().enumerate() {
                canvas.text(area.left, first + 18.0 * k as f64, line, LABEL);
            }
        }
        for (n, criterion) in of.criteria.iter().enumerate() {
            let panel = Area {
                left: left + n as f64 * width + GAP / 2.0,
                right: left + (n as f64 + 1.0) * width - GAP,
                top,
                bottom: top + height * of.rows.len() as f64,
            };
            draw_panel(canvas, of, *criterion, &panel);
        }
    })
}

/// What a panel shows, as it fits over a panel so wide.
fn name_lines(circuit: &Circuit, about: &CriterionResult, width: f64) -> Vec<String> {
    let look = LABEL.bold();
    wrap(&what(circuit, about), look.size, look.weight, width, 2)
}

fn result(row: &MendRow, criterion: Criterion) -> Option<CriterionResult> {
    let mut results = row.tested.judgement.results.iter();
    results
        .find(|result| result.criterion == criterion)
        .copied()
}

/// On a telephone the lines of a row and how high it is with what is drawn under them.
fn narrow_row(row: &MendRow) -> (Vec<String>, f64) {
    let width = f64::from(NARROW) - 2.0 * NARROW_MARGIN;
    let lines = wrap(
        &row.label.replace('`', ""),
        SMALL.size,
        SMALL.weight,
        width,
        3,
    );
    let height = 16.0 * lines.len() as f64 + 42.0;
    (lines, height)
}

/// One criterion of a panel: what the runs show in each row, and the scale for all of them.
struct CriterionPanel {
    results: Vec<Option<CriterionResult>>,
    about: CriterionResult,
    x: Scale,
}

impl CriterionPanel {
    fn of(of: &MendRows, criterion: Criterion, pixels: (f64, f64)) -> Option<CriterionPanel> {
        let results: Vec<Option<CriterionResult>> =
            of.rows.iter().map(|row| result(row, criterion)).collect();
        let about = results.iter().flatten().next().copied()?;
        let values = results.iter().flatten().filter_map(|one| one.figure.value);
        let mut top = largest(values).max(about.limit) * 1.15;
        if is_share(&about) {
            top = top.min(1.0);
        }
        let x = Scale {
            figures: (0.0, if top > 0.0 { top } else { 1.0 }),
            pixels,
        };
        Some(CriterionPanel { results, about, x })
    }

    fn axes(&self, canvas: &mut Canvas<'_>, circuit: &Circuit, area: &Area) {
        figure_axis(canvas, (&self.x, is_share(&self.about)), area);
        let lines = name_lines(circuit, &self.about, area.width() + GAP / 2.0);
        let first = area.top - 14.0 - NAME * (lines.len() as f64 - 1.0);
        for (k, line) in lines.iter().enumerate() {
            let y = first + NAME * k as f64;
            canvas.text(area.left, y, line, LABEL.bold());
        }
        let limit = self.x.at(self.about.limit);
        canvas.line(&[(limit, area.top), (limit, area.bottom)], 1.5, LIMIT);
    }

    /// The point of row `n` at that height.
    fn point(&self, canvas: &mut Canvas<'_>, n: usize, y: f64) {
        let before = self.results.first().copied().flatten();
        let before = before.and_then(|one| one.figure.value).filter(|_| n > 0);
        if let Some(one) = self.results.get(n).copied().flatten() {
            point(canvas, (&self.x, y), &one, before);
        }
    }
}

fn draw_panel(canvas: &mut Canvas<'_>, of: &MendRows, criterion: Criterion, area: &Area) {
    let Some(panel) = CriterionPanel::of(of, criterion, (area.left, area.right)) else {
        return;
    };
    panel.axes(canvas, of.circuit, area);
    let height = area.height() / of.rows.len() as f64;
    for n in 0..of.rows.len() {
        panel.point(canvas, n, area.top + (n as f64 + 0.5) * height);
    }
}

/// For a telephone: one criterion, each row's words over what is drawn of it; where it ends.
fn stacked(canvas: &mut Canvas<'_>, of: &MendRows, criterion: Criterion, area: &Area) -> f64 {
    let rows: Vec<(Vec<String>, f64)> = of.rows.iter().map(narrow_row).collect();
    let plot = Area {
        left: area.left + 4.0,
        right: area.right - 26.0,
        top: area.top,
        bottom: area.top + rows.iter().map(|row| row.1).sum::<f64>(),
    };
    let Some(panel) = CriterionPanel::of(of, criterion, (plot.left, plot.right)) else {
        return plot.bottom;
    };
    panel.axes(canvas, of.circuit, &plot);
    let mut top = plot.top;
    for (n, (lines, height)) in rows.iter().enumerate() {
        for (k, line) in lines.iter().enumerate() {
            let look = SMALL.coloured(INK);
            let y = top + 10.0 + 16.0 * k as f64;
            // The line of what is good enough does not run through words.
            let behind = Area {
                left: area.left,
                top: y - 8.0,
                right: area.left + look.width(line) + 3.0,
                bottom: y + 8.0,
            };
            canvas.rect(&behind, PAPER);
            canvas.text(area.left, y, line, look);
        }
        panel.point(canvas, n, top + height - 12.0);
        top += height;
    }
    plot.bottom
}

fn figure_axis(canvas: &mut Canvas<'_>, (x, share): (&Scale, bool), area: &Area) {
    let (times, unit) = if share { (100.0, " %") } else { (1.0, "") };
    let top = x.figures.1 * times;
    let step = round_step(top, ((area.width() / 60.0) as usize).clamp(1, 6));
    for (mark, number) in numbered_marks(top, step, unit) {
        let at = x.at(mark / times);
        canvas.line(&[(at, area.top), (at, area.bottom)], 1.0, GRID);
        canvas.text(at, area.bottom + 14.0, &number, SMALL.at(Anchor::Middle));
    }
    canvas.line(
        &[(area.left, area.bottom), (area.right, area.bottom)],
        1.0,
        AXIS,
    );
}

/// A figure with its bounds, and the way to it from what it was `before`.
fn point(
    canvas: &mut Canvas<'_>,
    (x, y): (&Scale, f64),
    one: &CriterionResult,
    before: Option<f64>,
) {
    let Some(value) = one.figure.value else {
        return;
    };
    let colour = if one.likely { COURSE } else { LIMIT };
    let at = x.at(value);
    if let Some(before) = before {
        canvas.line(&[(x.at(before), y), (at, y)], 9.0, PALE);
    }
    let ends = [
        one.figure.low.unwrap_or(0.0),
        one.figure.high.unwrap_or(f64::MAX),
    ];
    let ends = ends.map(|end| (x.at(end.clamp(0.0, x.figures.1)), y));
    canvas.line(&ends, 1.5, colour);
    canvas.disc((at, y), 5.0, colour);
    if one.verdict == Verdict::Unsure {
        canvas.disc((at, y), 3.0, PAPER);
    }
    let said = if is_share(one) {
        percent(value)
    } else {
        figure(value)
    };
    // On the side of the dot that turns away from the limit, if there is room.
    let has_room = at - SMALL.width(&said) > x.pixels.0 - 10.0;
    let (side, x) = match value < one.limit && has_room {
        true => (Anchor::Right, at + 3.0),
        false => (Anchor::Left, at - 3.0),
    };
    canvas.text(x, y - 15.0, &said, SMALL.coloured(colour).at(side));
}
