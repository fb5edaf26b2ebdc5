//! What may be wrong with a machine: a bar a cause, as long as it is likely.

use super::canvas::{Anchor, Area, Canvas, Picture, WIDTH, picture_of};
use super::frame::{foot, heading};
use super::scale::{Scale, mark_text, marks, round_step};
use super::style::{AXIS, BAR, BAR_OF_ALL, GRID, LABEL, LIMIT, OTHERS, SMALL};
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

/// The picture.
pub fn picture(of: &DiagnosisPicture) -> Picture {
    let rows = of.bars.len() + usize::from(of.others.0 > 0);
    let height = (AROUND + ROW * rows as f64).ceil() as u32;
    picture_of((WIDTH, height), |canvas| {
        let subtitle = format!(
            "Seen: {}. How likely each cause is, of those in the model, one at a time.",
            of.seen
        );
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

fn bars(canvas: &mut Canvas<'_>, of: &DiagnosisPicture, plot: &Area) {
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
    let step = round_step(top, 8);
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
    let mut y = plot.top;
    for bar in &of.bars {
        let colour = if bar.is_nothing { BAR_OF_ALL } else { BAR };
        row(canvas, (&bar.name, bar.share), (&x, y, plot), colour);
        y += ROW;
    }
    if of.others.0 > 0 {
        let name = format!("any of {} other causes", of.others.0);
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
    colour: plotters::style::RGBColor,
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
