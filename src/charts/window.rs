//! The workable window: what decides it, load by load, against what is good enough.

use std::iter::zip;

use super::canvas::{Anchor, Area, Canvas, Picture, picture as drawn};
use super::frame::{PanelPlace, cells, foot, heading};
use super::scale::{Scale, largest, numbered_marks, round_step};
use super::style::{AXIS, COURSE, GRID, LABEL, LIMIT, PALE, PALER, PAPER, SMALL};
use crate::circuit::Circuit;
use crate::findings::verdict_text::{heading as what, is_share};
use crate::findings::words::figure;
use crate::findings::workable::{Criterion, CriterionResult, Verdict};
use crate::study::found_window::{TriedLoad, Window};

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
        for (&criterion, cell) in zip(&deciding, cells(&deciding, columns, &area)) {
            let points = points(&shown, criterion);
            panel(canvas, circuit, window, &points, &cell);
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
    let mut sides = shown.to_vec();
    if window.least.is_some() {
        sides.clear();
        sides.extend(window.below());
        sides.extend(window.above());
    }
    let mut all: Vec<Criterion> = Vec::new();
    for load in sides {
        for result in load.judgement.broken() {
            if !all.contains(&result.criterion) {
                all.push(result.criterion);
            }
        }
    }
    if all.is_empty()
        && let Some(load) = shown.first()
    {
        all.extend(load.judgement.results.iter().map(|result| result.criterion));
        all.retain(|criterion| matches!(criterion, Criterion::Fill(_)));
    }
    all
}

/// Each load at which that criterion was judged, with how it stands.
fn points(shown: &[&TriedLoad], criterion: Criterion) -> Vec<(u32, CriterionResult)> {
    let mut points = Vec::new();
    for load in shown {
        let mut results = load.judgement.results.iter();
        let result = results.find(|result| result.criterion == criterion);
        points.extend(result.map(|result| (load.marbles, *result)));
    }
    points
}

fn panel(
    canvas: &mut Canvas<'_>,
    circuit: &Circuit,
    window: &Window,
    points: &[(u32, CriterionResult)],
    cell: &PanelPlace,
) {
    let area = Area {
        left: cell.area.left + 52.0,
        top: cell.area.top + 28.0,
        right: cell.area.right - 110.0,
        bottom: cell.area.bottom - 40.0,
    };
    let (Some((first, about)), Some((last, _))) = (points.first(), points.last()) else {
        return;
    };
    let (times, unit) = if is_share(about) {
        (100.0, " %")
    } else {
        (1.0, "")
    };
    let x = Scale {
        figures: (f64::from(*first) - 0.5, f64::from(*last) + 0.5),
        pixels: (area.left, area.right),
    };
    let y = Scale {
        figures: (0.0, top(points, about, times)),
        pixels: (area.bottom, area.top),
    };
    shade(canvas, window, &x, &area);
    axes(canvas, &x, &y, &area, unit);
    let limit = about.limit * times;
    let word = if matches!(about.criterion, Criterion::Fill(_)) {
        "at least"
    } else {
        "at most"
    };
    canvas.dashes(area.left, area.right, y.at(limit), LIMIT);
    canvas.text(
        area.right + 6.0,
        y.at(limit),
        &format!("{word} {}{unit}", figure(limit)),
        SMALL.coloured(LIMIT),
    );
    for (marbles, result) in points {
        point(canvas, (x.at(f64::from(*marbles)), &y, times), result);
    }
    let name = LABEL.bold().shorten(&what(circuit, about), area.width());
    canvas.text(area.left, area.top - 14.0, &name, LABEL.bold());
    if cell.lowest {
        canvas.text(
            (area.left + area.right) / 2.0,
            area.bottom + 32.0,
            "marbles in the machine",
            SMALL.at(Anchor::Middle),
        );
    }
}

/// The figure at the upper end of a panel: over all that is drawn, and for shares not over 100 %.
fn top(points: &[(u32, CriterionResult)], about: &CriterionResult, times: f64) -> f64 {
    let values = points.iter().filter_map(|(_, result)| result.figure.value);
    let highest = largest(values) * times;
    let mut top = highest.max(about.limit * times) * 1.15;
    if is_share(about) {
        top = top.min(100.0);
    }
    if top > 0.0 { top } else { 1.0 }
}

/// The window, from the first load that surely works to the last, and paler to the loads that surely do not.
fn shade(canvas: &mut Canvas<'_>, window: &Window, x: &Scale, area: &Area) {
    let (Some(least), Some(most)) = (window.least, window.most) else {
        return;
    };
    let mut stretches = vec![(least.low, most.high, PALER), (least.high, most.low, PALE)];
    for (first, last) in window.inside(Verdict::Broken) {
        stretches.push((first, last, PAPER));
    }
    for (first, last, colour) in stretches {
        let stretch = Area {
            left: x.at(f64::from(first) - 0.5).max(area.left),
            right: x.at(f64::from(last) + 0.5).min(area.right),
            ..*area
        };
        canvas.rect(&stretch, colour);
    }
}

fn axes(canvas: &mut Canvas<'_>, x: &Scale, y: &Scale, area: &Area, unit: &str) {
    let step = round_step(y.figures.1, ((area.height() / 24.0) as usize).clamp(2, 6));
    for (k, (mark, number)) in numbered_marks(y.figures.1, step, unit).iter().enumerate() {
        let at = y.at(*mark);
        if k > 0 {
            canvas.line(&[(area.left, at), (area.right, at)], 1.0, GRID);
        }
        canvas.text(area.left - 8.0, at, number, SMALL.at(Anchor::Right));
    }
    let step = round_step(x.figures.1 - x.figures.0, 10).max(1.0);
    for (mark, number) in numbered_marks(x.figures.1, step, "") {
        if mark < x.figures.0 {
            continue;
        }
        let at = x.at(mark);
        canvas.line(&[(at, area.bottom), (at, area.bottom + 4.0)], 1.0, AXIS);
        canvas.text(at, area.bottom + 15.0, &number, SMALL.at(Anchor::Middle));
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
    let ends = [
        result.figure.low.unwrap_or(0.0),
        result.figure.high.unwrap_or(f64::MAX),
    ];
    let ends = ends.map(|end| (x, y.at((end * times).clamp(0.0, y.figures.1))));
    canvas.line(&ends, 1.5, colour);
    let at = (x, y.at(value * times));
    canvas.disc(at, 4.0, colour);
    if result.verdict == Verdict::Unsure {
        canvas.disc(at, 2.5, PAPER);
    }
}
