//! Jams: in how many runs each cause stopped marbles, and how long runs go without one.

use plotters::style::RGBColor;

use super::Study;
use super::canvas::{Anchor, Area, Canvas, HEIGHT, Picture, Type, WIDTH, picture_of};
use super::frame::{footing, heading, in_title, notice};
use super::scale::{Scale, mark_text, marks, round_step};
use super::style::{AXIS, BAR, BAR_OF_ALL, COURSE, GRID, INK, LABEL, PALE, SMALL};
use super::survival;
use crate::circuit::plan::Cause;
use crate::engine::Outcome;
use crate::findings::RunFigures;
use crate::findings::summary::LEVEL;
use crate::findings::words::{count, percent};
use crate::stats::Estimate;
use crate::stats::proportion::{wilson, zero_event_bound};

/// Rows at most.
const ROWS: usize = 12;
/// Width of the names at the left, pixels.
const NAMES: f64 = 300.0;
/// Width of the figures at the right, pixels.
const FIGURES: f64 = 270.0;

/// Height of the curve, with all that belongs to it, pixels.
const CURVE: f64 = 320.0;
/// Height of a row where the curve stands below, pixels.
const ROW: f64 = 60.0;
/// Height of the title, the axis of the bars and the foot, pixels.
const AROUND: f64 = 200.0;

/// One cause at one element, or one way of stopping.
struct Row {
    what: String,
    /// Where; empty if it is the whole machine.
    at: String,
    /// By run: how often it happened.
    times: Vec<u64>,
    colour: RGBColor,
}

impl Row {
    fn runs(&self) -> u64 {
        self.times.iter().filter(|&&times| times > 0).count() as u64
    }
}

/// The picture: what jams, by share of runs; or how sure it is that nothing does.
pub fn picture(study: &Study<'_>) -> Picture {
    let rows = rows(study);
    let curved = survival::curve(study).map(|_| (CURVE + AROUND + ROW * rows.len() as f64).ceil() as u32);
    picture_of((WIDTH, curved.unwrap_or(HEIGHT)), |canvas| {
        footing(canvas, study, "");
        match (zero_event_bound(study.runs.len() as u64, LEVEL), rows.is_empty()) {
            (Some(bound), true) => no_jam(canvas, study, bound),
            (Some(_), false) => bars(canvas, study, &rows),
            (None, _) => {
                let area = heading(canvas, "Nothing is known of jams", "");
                notice(canvas, &area, "There was no run to count them in.");
            }
        }
    })
}

/// Every cause that happened, the most frequent first; those over [`ROWS`] as one.
fn rows(study: &Study<'_>) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for (n, plan) in study.circuit.nodes.iter().enumerate() {
        for cause in Cause::ALL {
            rows.push(Row {
                what: cause.name().to_owned(),
                at: plan.name.clone(),
                times: study.runs.iter().map(|run| times(run, n, cause)).collect(),
                colour: BAR,
            });
        }
    }
    for (outcome, what) in [(Outcome::Gridlocked, "gridlock"), (Outcome::RanDry, "all marbles at rest")] {
        let times = study.runs.iter().map(|run| u64::from(run.outcome == outcome)).collect();
        rows.push(Row { what: what.to_owned(), at: String::new(), times, colour: BAR_OF_ALL });
    }
    rows.retain(|row| row.runs() > 0);
    rows.sort_by_key(|row| std::cmp::Reverse((row.runs(), row.times.iter().sum::<u64>())));
    if rows.len() > ROWS {
        let rest = rows.split_off(ROWS - 1);
        rows.push(together(&rest));
    }
    rows
}

fn times(run: &RunFigures, node: usize, cause: Cause) -> u64 {
    run.jams.iter().filter(|jam| jam.node == node && jam.cause == cause).map(|jam| jam.count).sum()
}

fn together(rows: &[Row]) -> Row {
    let runs = rows.iter().map(|row| row.times.len()).max().unwrap_or(0);
    let times = (0..runs).map(|run| rows.iter().filter_map(|row| row.times.get(run)).sum()).collect();
    Row { what: format!("any of {} other causes", rows.len()), at: String::new(), times, colour: BAR }
}

/// What happened, and where: `at`, as short as it has to be.
fn named(row: &Row, at: &str) -> String {
    if row.at.is_empty() { row.what.clone() } else { format!("{} at {at}", row.what) }
}

fn title(study: &Study<'_>, rows: &[Row]) -> String {
    let stopped =
        |run: &&RunFigures| !run.jams.is_empty() || matches!(run.outcome, Outcome::Gridlocked | Outcome::RanDry);
    let stop = match study.runs.len() {
        1 => "the one run stops".to_owned(),
        runs => format!("{} of {runs} runs stop at least once", study.runs.iter().filter(stopped).count()),
    };
    let first = rows.first().map_or(String::new(), |row| named(row, &in_title(&row.at)));
    let often = if rows.len() > 1 { "most often" } else { "only cause" };
    format!("{}: {stop}; {often}: {first}", study.setting())
}

fn bars(canvas: &mut Canvas<'_>, study: &Study<'_>, rows: &[Row]) {
    let subtitle = "Share of runs in which each cause stopped marbles at least once. Black line: 95 % interval.";
    let area = heading(canvas, &title(study, rows), subtitle);
    let curve = survival::curve(study);
    let below = if curve.is_some() { CURVE } else { 0.0 };
    let plot =
        Area { left: area.left + NAMES, right: area.right - FIGURES, bottom: area.bottom - 30.0 - below, ..area };
    if let Some(curve) = &curve {
        let part =
            Area { left: plot.left, top: area.bottom - below + 24.0, right: area.right - 40.0, bottom: area.bottom };
        survival::draw(canvas, study, curve, &part);
    }
    let shares: Vec<Estimate> = rows.iter().map(|row| wilson(row.runs(), study.runs.len() as u64, LEVEL)).collect();
    let widest = shares.iter().filter_map(|share| share.high).fold(0.0, f64::max);
    let widest = if widest > 0.75 { 1.0 } else { widest * 1.02 };
    let scale = Scale { figures: (0.0, widest), pixels: (plot.left, plot.right) };
    let height = (plot.height() / rows.len() as f64).min(110.0);
    let bottom = plot.top + height * rows.len() as f64;
    share_axis(canvas, &scale, plot.top, bottom, " of runs");
    for (k, (row, share)) in rows.iter().zip(&shares).enumerate() {
        let middle = plot.top + (k as f64 + 0.5) * height;
        bar(canvas, &scale, (middle, height.min(64.0) * 0.36), row, share);
    }
    canvas.line(&[(plot.left, plot.top), (plot.left, bottom)], 1.0, AXIS);
}

/// Vertical grid lines with percentages under them.
fn share_axis(canvas: &mut Canvas<'_>, scale: &Scale, top: f64, bottom: f64, unit: &str) {
    let step = round_step(scale.figures.1 * 100.0, 5);
    let marked = marks(scale.figures.1 * 100.0, step);
    for (k, &mark) in marked.iter().enumerate() {
        let x = scale.at(mark / 100.0);
        canvas.line(&[(x, top), (x, bottom)], 1.0, GRID);
        let number = format!("{} %", mark_text(mark, step));
        let number = if k + 1 == marked.len() { format!("{number}{unit}") } else { number };
        canvas.text(x, bottom + 15.0, &number, SMALL.at(Anchor::Middle));
    }
}

fn bar(canvas: &mut Canvas<'_>, scale: &Scale, (y, half): (f64, f64), row: &Row, share: &Estimate) {
    let value = share.value.unwrap_or(0.0);
    let area = Area { left: scale.at(0.0), top: y - half, right: scale.at(value), bottom: y + half };
    canvas.rect(&area, row.colour);
    let (low, high) = (share.low.unwrap_or(value), share.high.unwrap_or(value));
    canvas.line(&[(scale.at(low), y), (scale.at(high), y)], 2.0, INK);
    let times: u64 = row.times.iter().sum();
    let jams = if row.at.is_empty() { String::new() } else { format!(", {}", count(times, "jam")) };
    let says = format!("{} ({} of {}){jams}", percent(value), row.runs(), row.times.len());
    canvas.text(scale.at(high) + 10.0, y, &says, LABEL);
    let room = NAMES - 12.0;
    let name = named(row, &LABEL.shorten(&row.at, room - LABEL.width(&named(row, ""))));
    canvas.text(scale.at(0.0) - 12.0, y, &name, LABEL.at(Anchor::Right));
}

/// What no jam in so many runs proves, and what it does not.
fn no_jam(canvas: &mut Canvas<'_>, study: &Study<'_>, bound: f64) {
    let title = format!("{}: no jam in {}", study.setting(), study.runs_of());
    let subtitle = "That none was seen does not prove that none can happen; more runs narrow it down.";
    let area = heading(canvas, &title, subtitle);
    let top = (bound * 1.6).min(1.0);
    let scale = Scale { figures: (0.0, top), pixels: (area.left + 60.0, area.right - 200.0) };
    let middle = (area.top + area.bottom) / 2.0;
    let strip = Area { left: scale.at(0.0), top: middle - 50.0, right: scale.at(bound), bottom: middle + 50.0 };
    share_axis(canvas, &scale, strip.top - 20.0, strip.bottom + 20.0, " of runs");
    canvas.rect(&strip, PALE);
    canvas.line(&[(strip.left, strip.top), (strip.left, strip.bottom)], 5.0, COURSE);
    canvas.line(&[(strip.right, strip.top), (strip.right, strip.bottom)], 1.5, COURSE);
    let big = Type { size: 16.0, ..LABEL };
    canvas.text(strip.left, strip.top - 38.0, &format!("seen: 0 of {}", study.runs.len()), big.bold());
    let says = format!("95 % sure: a jam in under {} of such runs", percent(bound));
    canvas.text(strip.left + 20.0, middle, &says, big);
}
