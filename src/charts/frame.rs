//! What stands around the data: title, footer, panels with their axes.

use super::ChartData;
use super::canvas::{Anchor, Area, Canvas, NARROW, Type};
use super::scale::{Scale, numbered_marks, round_step, time_marks};
use super::style::{AXIS, GRID, LABEL, SMALL, SUBTITLE, TITLE};
use super::text::wrap;
use crate::findings::words::count;

/// Between a name and what is said of it, pixels.
const NAME_GAP: f64 = 8.0;
/// Left and right of everything, pixels.
pub const MARGIN: f64 = 40.0;

/// The same in a picture for a telephone.
pub const NARROW_MARGIN: f64 = 14.0;

/// Left and right of everything in this picture, pixels.
pub fn margin(canvas: &Canvas<'_>) -> f64 {
    if canvas.is_narrow() {
        NARROW_MARGIN
    } else {
        MARGIN
    }
}

/// A title and what is under it, broken into lines: each with its type and its height above the bottom of the line.
struct HeadingLines(Vec<(String, Type, f64)>);

impl HeadingLines {
    /// As they fit into a picture so wide.
    fn new(title: &str, subtitle: &str, width: f64) -> Self {
        let narrow = width <= f64::from(NARROW);
        let (title_type, high, subtitle_type, low, most, margin) = match narrow {
            true => (
                TITLE.sized(17.0),
                22.0,
                SUBTITLE.sized(12.5),
                17.0,
                7,
                NARROW_MARGIN,
            ),
            false => (TITLE, 30.0, SUBTITLE, 20.0, 2, MARGIN),
        };
        let room = width - 2.0 * margin;
        let mut lines = Vec::new();
        for (text, look, height) in [(title, title_type, high), (subtitle, subtitle_type, low)] {
            for line in wrap(text, look.size, look.weight, room, most) {
                lines.push((line, look, height));
            }
        }
        HeadingLines(lines)
    }

    fn height(&self) -> f64 {
        self.0.iter().map(|line| line.2).sum()
    }
}

/// Where the middle of a title's first line stands, pixels from the top.
fn first_line(narrow: bool) -> f64 {
    if narrow { 22.0 } else { 36.0 }
}

/// How much of a picture's height its title and what is under it take, pixels.
pub fn heading_height(title: &str, subtitle: &str, width: u32) -> f64 {
    let lines = HeadingLines::new(title, subtitle, f64::from(width));
    first_line(width <= NARROW) + lines.height() + 6.0
}

/// Height of a picture for a telephone with so many panels one under the other, pixels.
pub fn stacked_height(title: &str, subtitle: &str, panels: usize) -> f64 {
    let panel = 150.0;
    heading_height(title, subtitle, NARROW) + panel * panels.max(1) as f64 + 46.0
}

/// Draws the title, a sentence that says what to see, and under it what the chart shows; returns the part of the picture
/// that is left for the data.
pub fn heading(canvas: &mut Canvas<'_>, title: &str, subtitle: &str) -> Area {
    let (width, height) = canvas.size();
    let margin = margin(canvas);
    let mut y = first_line(canvas.is_narrow());
    for (line, look, high) in HeadingLines::new(title, subtitle, width).0 {
        canvas.text(margin, y, &line, look);
        y += high;
    }
    Area {
        left: margin,
        top: y + 6.0,
        right: width - margin,
        bottom: height - 46.0,
    }
}

/// An element's name as it fits into a title beside others.
pub fn in_title(name: &str) -> String {
    TITLE.shorten(name, 300.0)
}

/// Draws the line at the foot: the machine, and how to repeat it.
pub fn footing(canvas: &mut Canvas<'_>, study: &ChartData<'_>, drawn: &str) {
    let repeat = format!("seed {}, {}{drawn}", study.summary.seed, study.runs_of());
    foot(canvas, &study.summary.title, &repeat);
}

/// Draws a line at the foot: what is shown at the left, how to repeat it at the right.
pub fn foot(canvas: &mut Canvas<'_>, shown: &str, repeat: &str) {
    let (width, height) = canvas.size();
    let margin = margin(canvas);
    let y = height - 22.0;
    if canvas.is_narrow() {
        let look = SMALL.sized(10.5);
        canvas.text(margin, y - 6.0, shown, look);
        canvas.text(margin, y + 8.0, repeat, look);
        return;
    }
    let taken = canvas.text(width - margin, y, repeat, SMALL.at(Anchor::Right));
    let room = width - 2.0 * margin - taken - 24.0;
    canvas.text(margin, y, &SMALL.shorten(shown, room), SMALL);
}

/// What the footer says of a chart that shows the watched runs only.
pub fn watched(study: &ChartData<'_>) -> String {
    match study.courses.len() {
        n if n == study.runs.count() => String::new(),
        n => format!(
            ", {} of them drawn",
            count(n as u64, "run")
                .trim_end_matches(" runs")
                .trim_end_matches(" run")
        ),
    }
}

/// Says in the middle of `area` why there is nothing to draw.
pub fn notice(canvas: &mut Canvas<'_>, area: &Area, sentence: &str) {
    let size = if canvas.is_narrow() { 14.0 } else { 18.0 };
    let look = SUBTITLE.sized(size).at(Anchor::Middle);
    let lines = wrap(sentence, look.size, look.weight, area.width() * 0.8, 3);
    let mut y = (area.top + area.bottom) / 2.0 - 28.0;
    for line in lines {
        canvas.text((area.left + area.right) / 2.0, y, &line, look);
        y += 28.0;
    }
}

/// A part of the picture with a time axis and an axis of figures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Panel {
    /// The part inside the axes.
    pub area: Area,
    /// Time, seconds.
    pub x: Scale,
    /// The figure.
    pub y: Scale,
}

impl Panel {
    /// From 0 to `span_s` seconds and from 0 to `top`.
    pub fn new(area: Area, span_s: f64, top: f64) -> Self {
        Panel {
            area,
            x: Scale {
                figures: (0.0, span_s),
                pixels: (area.left, area.right),
            },
            y: Scale {
                figures: (0.0, top),
                pixels: (area.bottom, area.top),
            },
        }
    }

    /// Draws the time axis; its numbers and unit only where it has `text`.
    pub fn time_axis(&self, canvas: &mut Canvas<'_>, text: bool) {
        let span_s = self.x.figures.1;
        let time = time_marks(span_s, ((self.area.width() / 65.0) as usize).min(9));
        let unit = format!(" {}", time.unit);
        for (mark, number) in numbered_marks(span_s / time.unit_s, time.step, &unit) {
            let x = self.x.at(mark * time.unit_s);
            canvas.line(
                &[(x, self.area.bottom), (x, self.area.bottom + 4.0)],
                1.0,
                AXIS,
            );
            if text {
                canvas.text(
                    x,
                    self.area.bottom + 15.0,
                    &number,
                    SMALL.at(Anchor::Middle),
                );
            }
        }
        canvas.line(
            &[
                (self.area.left, self.area.bottom),
                (self.area.right, self.area.bottom),
            ],
            1.0,
            AXIS,
        );
    }

    /// Draws grid lines and numbers at whole figures, `unit` behind the uppermost; where `over` the data, ticks in place
    /// of the lines.
    pub fn figure_axis(&self, canvas: &mut Canvas<'_>, over: bool, unit: &str) {
        let top = self.y.figures.1;
        let step = figure_step(top, self.area.height());
        for (k, (mark, number)) in numbered_marks(top, step, unit).into_iter().enumerate() {
            let y = self.y.at(mark);
            match (over, k) {
                (true, _) => {
                    canvas.line(&[(self.area.left - 4.0, y), (self.area.left, y)], 1.0, AXIS)
                }
                (false, 0) => {}
                (false, _) => canvas.line(&[(self.area.left, y), (self.area.right, y)], 1.0, GRID),
            }
            canvas.text(self.area.left - 8.0, y, &number, SMALL.at(Anchor::Right));
        }
    }

    /// Draws what the panel is about over it, up to `right`: a name, and in plain type as many of `parts` as there is
    /// room for, the first ones first. The name has half of the room, or more if the parts leave it.
    pub fn header(&self, canvas: &mut Canvas<'_>, name: &str, parts: &[String], right: f64) {
        let narrow = canvas.is_narrow();
        let left = if narrow {
            margin(canvas)
        } else {
            self.area.left
        };
        let y = self.area.top - 14.0;
        let room = right - left - NAME_GAP;
        let all = parts.join("; ");
        let name = LABEL
            .bold()
            .shorten(name, (room - LABEL.width(&all)).max(room / 2.0));
        let width = canvas.text(left, y, &name, LABEL.bold());
        let fitting = (0..=parts.len()).rev().map(|n| parts[..n].join("; "));
        let says = fitting
            .into_iter()
            .find(|says| LABEL.width(says) <= room - width)
            .unwrap_or_default();
        canvas.text(left + width + NAME_GAP, y, &says, LABEL);
    }
}

/// From mark to mark on an axis of whole figures, `height` pixels high.
fn figure_step(top: f64, height: f64) -> f64 {
    round_step(top, ((height / 24.0) as usize).min(8)).max(1.0)
}

/// `top`, or the next mark above it where that is not far.
pub fn rounded_top(top: f64, height: f64) -> f64 {
    let step = figure_step(top, height);
    let rounded = (top / step - 1e-9).ceil() * step;
    if rounded <= 1.3 * top { rounded } else { top }
}

/// A cell of a grid of panels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanelPlace {
    /// All of it, axes and header included.
    pub area: Area,
    /// Whether no cell stands under it.
    pub lowest: bool,
}

/// A cell for each of `shown` in `columns` columns, filled row by row.
pub fn cells<T>(shown: &[T], columns: usize, area: &Area) -> Vec<PanelPlace> {
    let n = shown.len();
    let columns = columns.max(1);
    let rows = n.div_ceil(columns).max(1);
    let (width, height) = (area.width() / columns as f64, area.height() / rows as f64);
    let mut cells = Vec::new();
    for i in 0..n {
        let (row, column) = (i / columns, i % columns);
        let (left, top) = (
            area.left + column as f64 * width,
            area.top + row as f64 * height,
        );
        cells.push(PanelPlace {
            area: Area {
                left,
                top,
                right: left + width,
                bottom: top + height,
            },
            lowest: i + columns >= n,
        });
    }
    cells
}
