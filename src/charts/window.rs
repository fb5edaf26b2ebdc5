//! The workable window: what decides it, load by load, against what is good enough.

use super::canvas::{Anchor, Area, Canvas, Picture, picture as drawn};
use super::frame::{PanelPlace, cells, foot, heading};
use super::scale::{Scale, mark_text, marks, round_step};
use super::style::{AXIS, COURSE, GRID, LABEL, LIMIT, PALE, PALER, SMALL};
use crate::circuit::Circuit;
use crate::findings::verdict_text::{heading as what, is_share};
use crate::findings::workable::{Criterion, CriterionResult, Verdict};
use crate::study::window::{TriedLoad, Window};

/// Panels at most.
const PANELS: usize = 6;
/// How far beyond the window is drawn, as a share of its width, and at least so many marbles.
const BEYOND: (f64, u32) = (0.6, 6);

/// The picture: for every criterion that breaks anywhere near the window, its figure by load; `title` says the answer.
pub fn picture(
    circuit: &Circuit,
    window: &Window,
    title: &str,
    (machine, repeat): (&str, &str),
) -> Picture {
    let shown = near(window);
    let subtitle = "What decides, by load: a dot where the runs are sure, a ring where not; upright lines: bounds. \
                    Dashed: what is good enough. Shaded: where it surely works; paler: not settled.";
    drawn(|canvas| {
        let area = heading(canvas, title, subtitle);
        foot(canvas, machine, repeat);
        let mut deciding = deciding(window, &shown);
        deciding.truncate(PANELS);
        let columns = if deciding.len() > 3 { 2 } else { 1 };
        for (criterion, cell) in deciding.iter().zip(cells(deciding.len(), columns, &area)) {
            panel(canvas, circuit, window, &shown, *criterion, &cell);
        }
    })
}

/// The loads worth drawing: the window and some way beyond it, or all where there is none.
fn near(window: &Window) -> Vec<&TriedLoad> {
    let (low, high) = match (window.least, window.most) {
        (Some(least), Some(most)) => {
            let beyond = ((f64::from(most.high - least.low) * BEYOND.0) as u32).max(BEYOND.1);
            (
                least.low.saturating_sub(beyond),
                most.high.saturating_add(beyond),
            )
        }
        _ => (0, u32::MAX),
    };
    window
        .tried
        .iter()
        .filter(|load| (low..=high).contains(&load.marbles))
        .collect()
}

/// What breaks first on either side of the window; without a window, whatever breaks anywhere; and of a machine that breaks
/// nowhere, the fills.
fn deciding(window: &Window, shown: &[&TriedLoad]) -> Vec<Criterion> {
    let sides: Vec<&TriedLoad> = match window.least {
        Some(_) => window.below().into_iter().chain(window.above()).collect(),
        None => shown.to_vec(),
    };
    let mut all: Vec<Criterion> = Vec::new();
    for result in sides.iter().flat_map(|load| load.judgement.broken()) {
        if !all.contains(&result.criterion) {
            all.push(result.criterion);
        }
    }
    if all.is_empty() {
        let results = shown
            .first()
            .map_or(&[][..], |load| load.judgement.results.as_slice());
        all.extend(
            results
                .iter()
                .map(|result| result.criterion)
                .filter(|c| matches!(c, Criterion::Fill(_))),
        );
    }
    all
}

fn panel(
    canvas: &mut Canvas<'_>,
    circuit: &Circuit,
    window: &Window,
    shown: &[&TriedLoad],
    criterion: Criterion,
    cell: &PanelPlace,
) {
    let area = Area {
        left: cell.area.left + 52.0,
        top: cell.area.top + 28.0,
        right: cell.area.right - 110.0,
        bottom: cell.area.bottom - 40.0,
    };
    let result = |load: &TriedLoad| {
        load.judgement
            .results
            .iter()
            .find(|result| result.criterion == criterion)
            .copied()
    };
    let points: Vec<(u32, CriterionResult)> = shown
        .iter()
        .filter_map(|load| Some((load.marbles, result(load)?)))
        .collect();
    let Some(&(first, about)) = points.first() else {
        return;
    };
    let last = points[points.len() - 1].0;
    let times = if is_share(&about) { 100.0 } else { 1.0 };
    let limit = about.limit * times;
    let highest = points
        .iter()
        .filter_map(|(_, result)| result.figure.value)
        .fold(0.0, f64::max)
        * times;
    let top = if is_share(&about) {
        (highest.max(limit) * 1.15).min(100.0)
    } else {
        highest.max(limit) * 1.15
    };
    let x = Scale {
        figures: (f64::from(first) - 0.5, f64::from(last) + 0.5),
        pixels: (area.left, area.right),
    };
    let y = Scale {
        figures: (0.0, if top > 0.0 { top } else { 1.0 }),
        pixels: (area.bottom, area.top),
    };
    shade(canvas, window, &x, &area);
    axes(canvas, &x, &y, &area, if times > 1.0 { " %" } else { "" });
    canvas.dashes(area.left, area.right, y.at(limit), LIMIT);
    let word = if matches!(criterion, Criterion::Fill(_)) {
        "at least"
    } else {
        "at most"
    };
    let unit = if times > 1.0 { " %" } else { "" };
    let says = format!("{word} {}{unit}", crate::findings::words::figure(limit));
    canvas.text(
        area.right + 6.0,
        y.at(limit),
        &says,
        super::canvas::Type {
            colour: LIMIT,
            ..SMALL
        },
    );
    for (marbles, result) in &points {
        point(canvas, (x.at(f64::from(*marbles)), &y, times), result);
    }
    let name = LABEL.bold().shorten(&what(circuit, &about), area.width());
    canvas.text(area.left, area.top - 14.0, &name, LABEL.bold());
    if cell.lowest {
        let middle = (area.left + area.right) / 2.0;
        canvas.text(
            middle,
            area.bottom + 32.0,
            "marbles in the machine",
            SMALL.at(Anchor::Middle),
        );
    }
}

/// The window, from the first load that surely works to the last, and paler to the loads that surely do not.
fn shade(canvas: &mut Canvas<'_>, window: &Window, x: &Scale, area: &Area) {
    let (Some(least), Some(most)) = (window.least, window.most) else {
        return;
    };
    let from = |low: u32, high: u32| Area {
        left: x.at(f64::from(low) - 0.5).max(area.left),
        right: x.at(f64::from(high) + 0.5).min(area.right),
        ..*area
    };
    canvas.rect(&from(least.low, most.high), PALER);
    canvas.rect(&from(least.high, most.low), PALE);
    for (first, last) in window.inside(Verdict::Broken) {
        canvas.rect(&from(first, last), super::style::PAPER);
    }
}

fn axes(canvas: &mut Canvas<'_>, x: &Scale, y: &Scale, area: &Area, unit: &str) {
    let step = round_step(y.figures.1, ((area.height() / 24.0) as usize).clamp(2, 6));
    let marked = marks(y.figures.1, step);
    for (k, &mark) in marked.iter().enumerate() {
        let at = y.at(mark);
        if k > 0 {
            canvas.line(&[(area.left, at), (area.right, at)], 1.0, GRID);
        }
        let number = mark_text(mark, step);
        let number = if k + 1 == marked.len() {
            format!("{number}{unit}")
        } else {
            number
        };
        canvas.text(area.left - 8.0, at, &number, SMALL.at(Anchor::Right));
    }
    let step = round_step(x.figures.1 - x.figures.0, 10).max(1.0);
    for mark in marks(x.figures.1, step)
        .into_iter()
        .filter(|&mark| mark >= x.figures.0)
    {
        let at = x.at(mark);
        canvas.line(&[(at, area.bottom), (at, area.bottom + 4.0)], 1.0, AXIS);
        canvas.text(
            at,
            area.bottom + 15.0,
            &mark_text(mark, step),
            SMALL.at(Anchor::Middle),
        );
    }
    canvas.line(
        &[(area.left, area.bottom), (area.right, area.bottom)],
        1.0,
        AXIS,
    );
}

/// One load: its bounds as an upright line, its figure as a dot, or as a ring where the runs are not sure.
fn point(canvas: &mut Canvas<'_>, (x, y, times): (f64, &Scale, f64), result: &CriterionResult) {
    let Some(value) = result.figure.value else {
        return;
    };
    let colour = if result.verdict == Verdict::Broken {
        LIMIT
    } else {
        COURSE
    };
    let end = |end: Option<f64>, otherwise: f64| {
        y.at((end.unwrap_or(otherwise) * times).clamp(0.0, y.figures.1))
    };
    let (low, high) = (
        end(result.figure.low, 0.0),
        end(result.figure.high, f64::MAX),
    );
    canvas.line(&[(x, low), (x, high)], 1.5, colour);
    let at = (x, y.at(value * times));
    canvas.disc(at, 4.0, colour);
    if result.verdict == Verdict::Unsure {
        canvas.disc(at, 2.5, super::style::PAPER);
    }
}
