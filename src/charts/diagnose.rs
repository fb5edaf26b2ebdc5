//! What may be wrong with a machine: a bar a cause, as long as it is likely.

use plotters::style::RGBColor;

use super::canvas::{Anchor, Area, Canvas, Format, Picture, Type};
use super::frame::{NARROW_MARGIN, foot, heading, heading_height};
use super::scale::{Scale, mark_text, marks, round_step};
use super::style::{AXIS, BAR, BAR_OF_ALL, GRID, INK, LABEL, LIMIT, OTHERS, PAPER, SMALL};
use super::text::wrap;
use crate::findings::words::percent;

/// One cause.
#[derive(Clone, Debug, PartialEq)]
pub struct CauseBar {
    /// What it is.
    pub name: String,
    /// How likely, 0 to 1.
    pub share: f64,
    /// Whether it says that nothing is wrong.
    pub is_nothing: bool,
}

/// What the picture shows.
#[derive(Clone, Debug, PartialEq)]
pub struct DiagnosisPicture {
    /// The answer.
    pub title: String,
    /// What was counted.
    pub seen: String,
    /// The causes, the likeliest first.
    pub bars: Vec<CauseBar>,
    /// How many are left, and how likely they are together.
    pub others: (usize, f64),
    /// A warning where nothing explains what was counted.
    pub unexplained: Option<String>,
    /// What to measure next.
    pub next: String,
    /// The machine, and how to repeat it.
    pub foot: (String, String),
}

/// Width of the names at the left, pixels.
const NAMES: f64 = 400.0;
/// Width of the figures at the right, pixels.
const FIGURES: f64 = 80.0;
/// Height of a row, pixels.
const ROW: f64 = 46.0;
/// Height of the title, the axis, what is next and the foot, pixels.
const AROUND: f64 = 310.0;
/// On a telephone, height of a bar with the room about it, and of a line of text, pixels.
const NARROW_BAR: f64 = 28.0;
const LINE: f64 = 17.0;

/// The picture.
pub fn picture(of: &DiagnosisPicture, format: Format) -> Picture {
    let subtitle = format!(
        "Seen: {}. How likely each cause is, of those in the model, one at a time.",
        of.seen
    );
    if format == Format::Narrow {
        return stacked(of, &subtitle);
    }
    let rows = of.bars.len() + usize::from(of.others.0 > 0);
    format.picture(AROUND + ROW * rows as f64, |canvas| {
        let area = heading(canvas, &of.title, &subtitle);
        foot(canvas, &of.foot.0, &of.foot.1);
        let mut y = area.bottom - 50.0;
        for line in wrap(&of.next, LABEL.size, LABEL.weight, area.width(), 3) {
            canvas.text(area.left, y, &line, LABEL);
            y += 20.0;
        }
        let mut top = area.top;
        if let Some(text) = &of.unexplained {
            canvas.text(
                area.left,
                top + 8.0,
                &LABEL.shorten(text, area.width()),
                LABEL.bold().coloured(LIMIT),
            );
            top += 28.0;
        }
        let plot = Area {
            left: area.left + NAMES,
            right: area.right - FIGURES,
            top,
            bottom: top + ROW * rows as f64,
        };
        bars(canvas, of, &plot);
    })
}

/// For a telephone: each cause's words over its bar.
fn stacked(of: &DiagnosisPicture, subtitle: &str) -> Picture {
    let room = Format::Narrow.width();
    let head = heading_height(&of.title, subtitle, room);
    let width = f64::from(room) - 2.0 * NARROW_MARGIN;
    let lines = |text: &str| wrap(text, SMALL.size, SMALL.weight, width, 4);
    let alarm = SMALL.bold().coloured(LIMIT);
    let warning = of.unexplained.as_deref().unwrap_or_default();
    let warning = wrap(warning, alarm.size, alarm.weight, width, 4);
    let next = lines(&of.next);
    let mut rows = Vec::new();
    for bar in &of.bars {
        rows.push((lines(&bar.name), bar.share, colour(bar)));
    }
    if of.others.0 > 0 {
        rows.push((lines(&others(of)), of.others.1, OTHERS));
    }
    let high = |said: usize| LINE * said as f64 + NARROW_BAR;
    let bars: f64 = rows.iter().map(|row| high(row.0.len())).sum();
    let text = LINE * (warning.len() + next.len()) as f64;
    Format::Narrow.picture(head + bars + text + 110.0, |canvas| {
        let area = heading(canvas, &of.title, subtitle);
        foot(canvas, &of.foot.0, &of.foot.1);
        let mut y = said(canvas, &warning, (area.left, area.top + 6.0), alarm) + 4.0;
        let plot = Area {
            // Room for half of the axis' first number.
            left: area.left + 8.0,
            // And for the longest figure, "over 99.9 %".
            right: area.right - 84.0,
            top: y,
            bottom: y + bars,
        };
        let x = axis(canvas, of, &plot);
        for (name, share, colour) in &rows {
            let under = said(canvas, name, (plot.left, y + 8.0), SMALL.coloured(INK));
            let right = x.at(share * 100.0);
            let bar = Area {
                left: plot.left,
                right,
                top: under - 4.0,
                bottom: under + 10.0,
            };
            canvas.rect(&bar, *colour);
            canvas.text(right + 6.0, under + 3.0, &percent(*share), SMALL);
            y += high(name.len());
        }
        said(
            canvas,
            &next,
            (area.left, plot.bottom + 46.0),
            SMALL.coloured(INK),
        );
    })
}

/// Lines of text one under the other; where the next one would stand.
fn said(canvas: &mut Canvas<'_>, lines: &[String], (x, mut y): (f64, f64), look: Type) -> f64 {
    for line in lines {
        // No line of the axis runs through words.
        let behind = Area {
            left: x,
            right: x + look.width(line),
            top: y - 8.0,
            bottom: y + 8.0,
        };
        canvas.rect(&behind, PAPER);
        canvas.text(x, y, line, look);
        y += LINE;
    }
    y
}

fn colour(bar: &CauseBar) -> RGBColor {
    if bar.is_nothing { BAR_OF_ALL } else { BAR }
}

fn others(of: &DiagnosisPicture) -> String {
    format!("any of {} other causes", of.others.0)
}

/// The scale of the bars, drawn over and under them.
fn axis(canvas: &mut Canvas<'_>, of: &DiagnosisPicture, plot: &Area) -> Scale {
    let longest = of
        .bars
        .iter()
        .map(|bar| bar.share)
        .fold(of.others.1, f64::max);
    let top = (longest * 1.05).clamp(0.05, 1.0) * 100.0;
    let x = Scale {
        figures: (0.0, top),
        pixels: (plot.left, plot.right),
    };
    let step = round_step(top, if canvas.is_narrow() { 4 } else { 8 });
    for mark in marks(top, step) {
        let at = x.at(mark);
        canvas.line(&[(at, plot.top), (at, plot.bottom)], 1.0, GRID);
        canvas.text(
            at,
            plot.bottom + 14.0,
            &format!("{} %", mark_text(mark, step)),
            SMALL.at(Anchor::Middle),
        );
    }
    x
}

fn bars(canvas: &mut Canvas<'_>, of: &DiagnosisPicture, plot: &Area) {
    let x = axis(canvas, of, plot);
    let mut y = plot.top;
    for bar in &of.bars {
        row(canvas, (&bar.name, bar.share), (&x, y, plot), colour(bar));
        y += ROW;
    }
    if of.others.0 > 0 {
        let name = others(of);
        row(canvas, (&name, of.others.1), (&x, y, plot), OTHERS);
    }
    canvas.line(
        &[(plot.left, plot.top), (plot.left, plot.bottom)],
        1.0,
        AXIS,
    );
}

fn row(
    canvas: &mut Canvas<'_>,
    (name, share): (&str, f64),
    (x, y, plot): (&Scale, f64, &Area),
    colour: RGBColor,
) {
    let right = x.at(share * 100.0);
    let bar = Area {
        left: plot.left,
        right,
        top: y + 8.0,
        bottom: y + ROW - 8.0,
    };
    canvas.rect(&bar, colour);
    let lines = wrap(name, LABEL.size, LABEL.weight, NAMES - 20.0, 2);
    let mut at = y + ROW / 2.0 - 9.0 * (lines.len() as f64 - 1.0);
    for line in &lines {
        canvas.text(plot.left - 12.0, at, line, LABEL.at(Anchor::Right));
        at += 18.0;
    }
    canvas.text(right + 8.0, y + ROW / 2.0, &percent(share), LABEL);
}
