//! Backlog over time: how many marbles wait at each element.

use std::iter::zip;

use super::canvas::{Area, Canvas, Format, HEIGHT, Picture};
use super::frame::{
    Panel, PanelPlace, cells, footing, heading, in_title, notice, rounded_top, stacked_height,
    watched,
};
use super::style::{LIMIT, SMALL};
use super::time_series::{Stretch, draw, highest, over_runs};
use super::{ChartData, marbles_text};
use crate::findings::words::figure;

/// Panels at most.
const PANELS: usize = 12;
/// A room is drawn where the scale need not be stretched by more than this to show it.
const REACH: f64 = 2.0;

/// An element where fewer than this wait in every step, in 95 % of runs, is left out unless it had no room.
const FEW: f64 = 0.1;

/// One element's panel.
struct BacklogPanel {
    name: String,
    room: Option<f64>,
    /// Mean number waiting over all runs.
    mean: Option<f64>,
    /// Most waiting in any run.
    peak: f64,
    /// Marbles lost over its side, where any are.
    lost: Option<String>,
    /// Whether marbles ever found no room in it.
    overfull: bool,
    stretches: Vec<Stretch>,
}

/// The picture: the backlog of every element at which marbles ever wait, the deepest first.
pub fn picture(study: &ChartData<'_>) -> Picture {
    let mut all = elements(study);
    let found = all.len();
    all.truncate(PANELS);
    let (title, subtitle) = (title(study, &all), subtitle(study, found));
    let (height, columns) = match study.format {
        Format::Wide => (f64::from(HEIGHT), columns(all.len())),
        Format::Narrow => (stacked_height(&title, &subtitle, all.len()), 1),
    };
    study.format.picture(height, |canvas| {
        let area = heading(canvas, &title, &subtitle);
        footing(canvas, study, &watched(study));
        if all.is_empty() {
            notice(
                canvas,
                &area,
                "At no element did marbles wait long enough to draw a backlog.",
            );
        }
        for (element, cell) in zip(&all, cells(&all, columns, &area)) {
            panel(canvas, study, &cell, element);
        }
    })
}

fn columns(panels: usize) -> usize {
    match panels {
        0..=3 => 1,
        4..=8 => 2,
        _ => 3,
    }
}

/// The elements at which marbles wait in the watched runs, the largest mean first.
fn elements(study: &ChartData<'_>) -> Vec<BacklogPanel> {
    let mut all = Vec::new();
    for (n, plan) in study.circuit.nodes.iter().enumerate() {
        let mean = match study.summary.elements.get(&plan.name) {
            Some(summary) => summary.backlog_mean.value,
            None => None,
        };
        let overfull = match study.runs.totals.elements.get(n) {
            Some(element) => element.held.runs + element.spilled.runs > 0,
            None => false,
        };
        let lost = study.lost(n);
        all.push(BacklogPanel {
            name: plan.name.clone(),
            room: plan.places().map(f64::from),
            mean,
            lost: lost.map(|(mean, per)| format!("{} lost {per}", figure(mean))),
            peak: study.peak(n).unwrap_or(0.0),
            overfull,
            stretches: over_runs(study.courses, |course| {
                Some(course.elements.get(n)?.waiting.as_slice())
            }),
        });
    }
    all.retain(|waiting| {
        let highest = highest(&waiting.stretches);
        highest >= FEW || (highest > 0.0 && waiting.overfull)
    });
    all.sort_by(|a, b| b.mean.unwrap_or(0.0).total_cmp(&a.mean.unwrap_or(0.0)));
    all
}

fn title(study: &ChartData<'_>, all: &[BacklogPanel]) -> String {
    let Some(deepest) = all.first() else {
        return format!("{}: hardly a marble waits anywhere", study.setting());
    };
    let mean = match deepest.mean {
        Some(mean) => format!("{} on average, ", marbles_text(mean)),
        None => String::new(),
    };
    format!(
        "{}: most wait at {}, {mean}{} at worst",
        study.setting(),
        in_title(&deepest.name),
        figure(deepest.peak)
    )
}

fn subtitle(study: &ChartData<'_>, found: usize) -> String {
    let fewer = match found {
        0..=PANELS => String::new(),
        _ => format!(" The {PANELS} deepest of {found} elements where marbles wait."),
    };
    format!(
        "Marbles waiting at an element; every panel has its own scale. {}{fewer}",
        study.key()
    )
}

fn panel(
    canvas: &mut Canvas<'_>,
    study: &ChartData<'_>,
    cell: &PanelPlace,
    element: &BacklogPanel,
) {
    let area = Area {
        left: cell.area.left + 34.0,
        top: cell.area.top + 28.0,
        right: cell.area.right - if canvas.is_narrow() { 56.0 } else { 66.0 },
        bottom: cell.area.bottom - 26.0,
    };
    let deepest = highest(&element.stretches).max(1.0);
    let room = element.room.filter(|&room| room <= REACH * deepest);
    let top = rounded_top(room.unwrap_or(0.0).max(deepest), area.height());
    let panel = Panel::new(area, study.span_s(), top);
    panel.figure_axis(canvas, false, "");
    draw(canvas, &panel, &element.stretches);
    if let Some(room) = room {
        let y = panel.y.at(room);
        canvas.dashes(area.left, area.right, y, LIMIT);
        let says = format!("room {}", figure(room));
        canvas.text(area.right + 6.0, y, &says, SMALL.coloured(LIMIT));
    }
    panel.time_axis(canvas, cell.lowest);
    let says = says(element, room);
    panel.header(canvas, &element.name, &says, cell.area.right - 8.0);
}

/// What to say of an element, the most important first.
fn says(element: &BacklogPanel, drawn_room: Option<f64>) -> Vec<String> {
    let mut says = Vec::new();
    if let Some(mean) = element.mean {
        says.push(format!("{} on average", marbles_text(mean)));
    }
    says.push(format!("{} at worst", figure(element.peak)));
    says.extend(element.lost.clone());
    match (element.room, drawn_room) {
        (None, _) => says.push("no limit".to_owned()),
        (Some(room), None) => says.push(format!("room {}", figure(room))),
        _ => {}
    }
    says
}
