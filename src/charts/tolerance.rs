//! Of so many makers: a bar of what becomes of their machines, and beside it the errors by what they turn.

use plotters::style::RGBColor;

use super::canvas::{Anchor, Area, Canvas, Format, HEIGHT, NARROW, Picture, WIDTH};
use super::frame::{foot, heading, heading_height};
use super::scale::{Scale, numbered_marks, round_step};
use super::style::{AXIS, BAR, BAR_OF_ALL, GRID, INK, LABEL, LIMIT, SMALL};
use crate::stats::Estimate;

/// Bars in each of the two, at most.
const BARS: usize = 9;
/// Width of the names of outcomes and of errors, pixels.
const NAMES: (f64, f64) = (170.0, 270.0);
/// Share of the width for the outcomes.
const LEFT: f64 = 0.42;
/// A bar and the room about it, at most, pixels.
const ROW: f64 = 52.0;
/// The same on a telephone, the name over the bar included.
const STACKED_ROW: f64 = 44.0;

/// What is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct ToleranceBars {
    /// The answer.
    pub title: String,
    /// What becomes of machines, works first, with shares of makers.
    pub outcomes: Vec<(String, Estimate)>,
    /// Errors, the most deciding first, with the shares of makers for whom they turn the answer.
    pub errors: Vec<(String, Estimate)>,
    /// That share for other runs alone.
    pub by_chance: Option<f64>,
}

/// One of the two sets of bars.
struct BarSet<'a> {
    header: &'a str,
    bars: &'a [(String, Estimate)],
    names: f64,
    colours: (RGBColor, RGBColor),
    mark: Option<f64>,
}

/// The picture; `about` is the machine and how to repeat it.
pub fn picture(bars: &ToleranceBars, (machine, repeat): (&str, &str), format: Format) -> Picture {
    let alone = bars.errors.is_empty();
    let subtitle = match format {
        _ if alone => {
            "What becomes of the machines of 100 makers, each with errors of its own. Black lines: 95 % intervals."
        }
        Format::Wide => {
            "Left: what becomes of the machines of 100 makers. Right: for how many the answer turns where one error alone is drawn \
             anew; dashed: with other runs alone. Black lines: 95 % intervals."
        }
        Format::Narrow => {
            "What becomes of the machines of 100 makers, and for how many the answer turns where one error alone is drawn anew; \
             dashed: with other runs alone. Black lines: 95 % intervals."
        }
    };
    let height = match format {
        Format::Wide => {
            // No higher than its bars need.
            let rows = bars.outcomes.len().max(bars.errors.len()).min(BARS);
            let all = heading_height(&bars.title, subtitle, WIDTH) + ROW * rows as f64 + 106.0;
            all.min(f64::from(HEIGHT))
        }
        Format::Narrow => {
            let sets = [&bars.outcomes, &bars.errors];
            let sets = sets.iter().map(|set| stacked_height(set));
            heading_height(&bars.title, subtitle, NARROW) + sets.sum::<f64>() + 46.0
        }
    };
    format.picture(height, |canvas| {
        let area = heading(canvas, &bars.title, subtitle);
        foot(canvas, machine, repeat);
        let (outcomes, errors) = (outcomes(bars), errors(bars));
        if canvas.is_narrow() {
            stacked(canvas, &outcomes, &area);
            let top = area.top + stacked_height(&bars.outcomes);
            if !alone {
                stacked(canvas, &errors, &Area { top, ..area });
            }
            return;
        }
        let share = if alone { 1.0 } else { LEFT };
        let split = area.left + share * area.width();
        let left = Area {
            right: split - 20.0,
            ..area
        };
        let right = Area {
            left: split + 20.0,
            ..area
        };
        set(canvas, &outcomes, &left);
        if !alone {
            set(canvas, &errors, &right);
        }
    })
}

fn outcomes(bars: &ToleranceBars) -> BarSet<'_> {
    BarSet {
        header: "makers of 100, by what becomes of it",
        bars: &bars.outcomes,
        names: NAMES.0,
        colours: (BAR, BAR_OF_ALL),
        mark: None,
    }
}

fn errors(bars: &ToleranceBars) -> BarSet<'_> {
    BarSet {
        header: "makers of 100 for whom the answer turns",
        bars: &bars.errors,
        names: NAMES.1,
        colours: (BAR, BAR),
        mark: bars.by_chance,
    }
}

/// Height of a set of bars on a telephone, where each name stands over its bar.
fn stacked_height(bars: &[(String, Estimate)]) -> f64 {
    match bars.len().min(BARS) {
        0 => 0.0,
        n => STACKED_ROW * n as f64 + 66.0,
    }
}

fn stacked(canvas: &mut Canvas<'_>, set: &BarSet, area: &Area) {
    let shown = &set.bars[..set.bars.len().min(BARS)];
    let plot = Area {
        left: area.left,
        top: area.top + 30.0,
        right: area.right - 34.0,
        bottom: area.top + 30.0 + STACKED_ROW * shown.len() as f64,
    };
    let header = LABEL.bold().shorten(set.header, area.width());
    canvas.text(area.left, area.top + 12.0, &header, LABEL.bold());
    let scale = scale(set, &plot);
    grid(canvas, &scale, &plot);
    for (n, (name, share)) in shown.iter().enumerate() {
        let top = plot.top + n as f64 * STACKED_ROW;
        let colour = if n == 0 { set.colours.0 } else { set.colours.1 };
        bar(canvas, &scale, (top + 30.0, 8.0), share, colour);
        let name = SMALL.shorten(name, area.width());
        canvas.text(plot.left, top + 12.0, &name, SMALL.coloured(INK));
    }
    mark(canvas, set, &scale, &plot);
}

/// From no maker to as many as the longest interval reaches, and what other runs alone turn.
fn scale(set: &BarSet, plot: &Area) -> Scale {
    let ends = set.bars.iter().take(BARS);
    let ends = ends.filter_map(|(_, share)| share.high).chain(set.mark);
    let most = ends.fold(0.1f64, f64::max).min(1.0);
    Scale {
        figures: (0.0, most * 100.0),
        pixels: (plot.left, plot.right),
    }
}

fn grid(canvas: &mut Canvas<'_>, scale: &Scale, plot: &Area) {
    for (mark, number) in numbered_marks(scale.figures.1, round_step(scale.figures.1, 5), "") {
        let x = scale.at(mark);
        canvas.line(&[(x, plot.top), (x, plot.bottom)], 1.0, GRID);
        canvas.text(x, plot.bottom + 14.0, &number, SMALL.at(Anchor::Middle));
    }
}

/// The dashes of what other runs alone turn, and the line on which bars stand.
fn mark(canvas: &mut Canvas<'_>, set: &BarSet, scale: &Scale, plot: &Area) {
    if let Some(mark) = set.mark {
        let x = scale.at(mark * 100.0);
        let mut y = plot.top;
        while y < plot.bottom {
            canvas.line(&[(x, y), (x, (y + 6.0).min(plot.bottom))], 1.5, LIMIT);
            y += 11.0;
        }
    }
    canvas.line(
        &[(plot.left, plot.top), (plot.left, plot.bottom)],
        1.0,
        AXIS,
    );
}

fn set(canvas: &mut Canvas<'_>, set: &BarSet, area: &Area) {
    let shown = &set.bars[..set.bars.len().min(BARS)];
    let plot = Area {
        left: area.left + set.names,
        top: area.top + 34.0,
        right: area.right - 56.0,
        bottom: area.bottom - 26.0,
    };
    let header = LABEL.bold().shorten(set.header, area.width());
    canvas.text(area.left, area.top + 12.0, &header, LABEL.bold());
    let row = (plot.height() / shown.len() as f64).min(ROW);
    let plot = Area {
        bottom: plot.top + row * shown.len() as f64,
        ..plot
    };
    let scale = scale(set, &plot);
    grid(canvas, &scale, &plot);
    for (n, (name, share)) in shown.iter().enumerate() {
        let middle = plot.top + (n as f64 + 0.5) * row;
        let colour = if n == 0 { set.colours.0 } else { set.colours.1 };
        let name = LABEL.shorten(name, set.names - 14.0);
        canvas.text(plot.left - 10.0, middle, &name, LABEL.at(Anchor::Right));
        bar(canvas, &scale, (middle, row * 0.3), share, colour);
    }
    mark(canvas, set, &scale, &plot);
}

fn bar(
    canvas: &mut Canvas<'_>,
    scale: &Scale,
    (middle, half): (f64, f64),
    share: &Estimate,
    colour: RGBColor,
) {
    let Some(value) = share.value else {
        return;
    };
    let bar = Area {
        left: scale.pixels.0,
        top: middle - half,
        right: scale.at(value * 100.0),
        bottom: middle + half,
    };
    canvas.rect(&bar, colour);
    let mut end = bar.right;
    if let (Some(low), Some(high)) = (share.low, share.high) {
        let ends = [low, high].map(|end| (scale.at(end * 100.0), middle));
        canvas.line(&ends, 2.0, INK);
        end = end.max(ends[1].0);
    }
    canvas.text(end + 8.0, middle, &format!("{:.0}", value * 100.0), LABEL);
}
