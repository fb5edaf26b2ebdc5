//! Where the marbles are over time in one run: one element a band.

use std::iter::zip;

use super::bands::{Band, BandKind, Stack, stack};
use super::canvas::{Anchor, Area, Canvas, Format, HEIGHT, NARROW, Picture};
use super::frame::{Panel, footing, heading, heading_height, in_title, notice};
use super::labels::spread;
use super::style::{AXIS, LABEL, PAPER, SMALL};
use super::{ChartData, marbles_text};
use crate::engine::Outcome;
use crate::findings::words::duration;

/// Width of the labels at the right, pixels.
const LABELS: f64 = 270.0;
/// From label to label, pixels.
const LABEL_GAP: f64 = 22.0;

/// Height of the plot in a picture for a telephone, pixels.
const PLOT: f64 = 250.0;

/// The points (x, upper y, lower y) of a band.
type Outline = Vec<(f64, f64, f64)>;

/// The picture: where the marbles of the first watched run are.
pub fn picture(study: &ChartData<'_>) -> Picture {
    let stack = stack(study);
    let drawn_run = if study.runs.count() > 1 {
        ", the first one drawn"
    } else {
        ""
    };
    let stack = stack.as_ref();
    let (title, subtitle) = (title(study, stack), subtitle(study, stack));
    let height = match study.format {
        Format::Wide => f64::from(HEIGHT),
        Format::Narrow => {
            let named = stack.map_or(0, |stack| stack.bands.len());
            let plot = PLOT + LABEL_GAP * named as f64;
            heading_height(&title, &subtitle, NARROW) + plot + 46.0
        }
    };
    study.format.picture(height, |canvas| {
        let area = heading(canvas, &title, &subtitle);
        footing(canvas, study, drawn_run);
        match stack {
            Some(stack) => draw(canvas, &area, stack),
            None => notice(
                canvas,
                &area,
                "The run ended before there was anything to show.",
            ),
        }
    })
}

fn title(study: &ChartData<'_>, stack: Option<&Stack>) -> String {
    let Some(stack) = stack else {
        return format!("{}: no run to show", study.setting());
    };
    let mut elements: Vec<&Band> = stack
        .bands
        .iter()
        .filter(|band| band.kind == BandKind::Element)
        .collect();
    elements.sort_by(|a, b| b.mean.total_cmp(&a.mean));
    let most = match elements[..] {
        [] => "none in any element".to_owned(),
        [one] => format!("all are at {}", with_mean(one)),
        [first, second, ..] => {
            format!("most are at {} and {}", with_mean(first), with_mean(second))
        }
    };
    let (setting, waiting) = (study.setting(), marbles_text(stack.waiting));
    let lost = at_end(stack, BandKind::Lost, "are lost by the end");
    let hand = at_end(stack, BandKind::Hand, "stay in the hand");
    format!("{setting}: {most}, {waiting} wait{lost}{hand}")
}

fn with_mean(band: &Band) -> String {
    format!("{} ({})", in_title(&band.name), marbles_text(band.mean))
}

fn at_end(stack: &Stack, kind: BandKind, what: &str) -> String {
    let mut bands = stack.bands.iter();
    match bands.find(|band| band.kind == kind && band.end >= 0.5) {
        Some(band) => format!("; {:.0} {what}", band.end),
        None => String::new(),
    }
}

fn subtitle(study: &ChartData<'_>, stack: Option<&Stack>) -> String {
    let (Some(run), Some(stack)) = (study.runs.totals.first.first(), stack) else {
        return String::new();
    };
    let end = duration(run.end_s);
    let ended = match run.outcome {
        Outcome::Ran => format!("which ran through its {end}"),
        Outcome::Jammed => format!("which jammed after {end}"),
        Outcome::Gridlocked => format!("which locked up after {end}"),
        Outcome::RanDry => format!("in which nothing moved any more after {end}"),
    };
    let step = duration(stack.step_s.min(stack.end_s));
    format!(
        "Marbles at each element in run {}, {ended}: means over {step}. At the right: means over the run.",
        run.run
    )
}

fn draw(canvas: &mut Canvas<'_>, area: &Area, stack: &Stack) {
    let steps = stack.bands.iter().map(|band| band.held.len());
    let steps = steps.min().unwrap_or(0);
    let mut top = 1.0_f64;
    for k in 0..steps {
        top = top.max(stack.bands.iter().map(|band| band.held[k]).sum());
    }
    let narrow = canvas.is_narrow();
    let under = LABEL_GAP * stack.bands.len() as f64 + 8.0;
    let inner = Area {
        left: area.left + if narrow { 26.0 } else { 40.0 },
        top: area.top + 26.0,
        right: area.right - if narrow { 22.0 } else { LABELS },
        bottom: area.bottom - 26.0 - if narrow { under } else { 0.0 },
    };
    let panel = Panel::new(inner, stack.end_s, top);
    canvas.text(area.left, area.top + 6.0, "marbles", SMALL);
    let outlines = outlines(&panel, stack, steps);
    for (band, outline) in zip(&stack.bands, &outlines) {
        fill(canvas, band, outline);
    }
    for outline in outlines.iter().skip(1) {
        let line: Vec<(f64, f64)> = outline.iter().map(|&(x, _, low)| (x, low)).collect();
        canvas.line(&line, 0.5, PAPER);
    }
    panel.figure_axis(canvas, true, "");
    panel.time_axis(canvas, true);
    if narrow {
        list_bands(canvas, area, &stack.bands);
    } else {
        name_bands(canvas, &panel, area.right, &stack.bands, &outlines);
    }
}

/// Names the bands one under the other below the plot, the uppermost first.
fn list_bands(canvas: &mut Canvas<'_>, area: &Area, bands: &[Band]) {
    let mut y = area.bottom - LABEL_GAP * (bands.len() as f64 - 0.5);
    for band in bands.iter().rev() {
        swatch(canvas, band, area.left, y);
        named(canvas, band, (area.left + 20.0, area.right), y);
        y += LABEL_GAP;
    }
}

/// A band's name and mean.
fn named(canvas: &mut Canvas<'_>, band: &Band, (left, right): (f64, f64), y: f64) {
    let says = match band.kind {
        BandKind::Lost => format!("{:.0} by the end", band.end),
        _ => marbles_text(band.mean),
    };
    let width = canvas.text(right, y, &says, LABEL.at(Anchor::Right));
    let name = LABEL.shorten(&band.name, right - width - 12.0 - left);
    canvas.text(left, y, &name, LABEL);
}

/// The outline of every band: through the middles of the steps, and level to both ends.
fn outlines(panel: &Panel, stack: &Stack, steps: usize) -> Vec<Outline> {
    let mut outlines = Vec::new();
    if steps == 0 {
        return outlines;
    }
    let mut times = vec![(0.0, 0)];
    for k in 0..steps {
        let (begin_s, end_s) = stack.step(k);
        times.push(((begin_s + end_s) / 2.0, k));
    }
    times.push((stack.end_s, steps - 1));
    let mut below = vec![0.0; steps];
    for band in &stack.bands {
        let above: Vec<f64> = (0..steps).map(|k| below[k] + band.held[k]).collect();
        let mut outline = Vec::new();
        for &(time_s, k) in &times {
            let (top, low) = (panel.y.at(above[k]), panel.y.at(below[k]));
            outline.push((panel.x.at(time_s), top, low));
        }
        outlines.push(outline);
        below = above;
    }
    outlines
}

/// Names every band at its right end.
fn name_bands(
    canvas: &mut Canvas<'_>,
    panel: &Panel,
    right: f64,
    bands: &[Band],
    outlines: &[Outline],
) {
    let mut ends = Vec::new();
    for outline in outlines {
        let (_, top, low) = outline[outline.len() - 1];
        ends.push((top + low) / 2.0);
    }
    // Counted upwards, so that bands that end together keep their order.
    let wanted: Vec<f64> = ends.iter().map(|y| -y).collect();
    let places = spread(&wanted, LABEL_GAP, -panel.area.bottom, -panel.area.top);
    for (n, (band, end)) in zip(bands, ends).enumerate() {
        let (left, y) = (panel.area.right, -places[n]);
        canvas.line(
            &[(left + 3.0, end), (left + 24.0, y), (left + 30.0, y)],
            1.0,
            AXIS,
        );
        swatch(canvas, band, left + 33.0, y);
        named(canvas, band, (left + 52.0, right), y);
    }
}

fn swatch(canvas: &mut Canvas<'_>, band: &Band, left: f64, y: f64) {
    let corners = [(left, y - 6.0, y + 6.0), (left + 12.0, y - 6.0, y + 6.0)];
    fill(canvas, band, &corners);
}

fn fill(canvas: &mut Canvas<'_>, band: &Band, outline: &[(f64, f64, f64)]) {
    match band.kind {
        BandKind::Element | BandKind::Others => canvas.band(outline, band.colour),
        BandKind::Hand => canvas.hatched_band(outline, false, band.colour),
        BandKind::Lost => canvas.hatched_band(outline, true, band.colour),
    }
}
