//! Backlog over time: how many marbles wait at each element.

use super::canvas::{Area, Canvas, Picture, picture as drawn};
use super::course::{Stretch, draw, highest, over_runs};
use super::frame::{Cell, Panel, cells, footing, heading, notice, rounded_top, watched};
use super::style::{LIMIT, SMALL};
use super::{Study, marbles_text};
use crate::findings::words::figure;

/// Panels at most.
const PANELS: usize = 12;
/// A room is drawn where the scale need not be stretched by more than this to show it.
const REACH: f64 = 2.0;

/// An element where fewer than this wait in every step, in 95 % of runs, is left out unless it had no room.
const FEW: f64 = 0.1;

/// One element's panel.
struct Waiting {
    name: String,
    room: Option<f64>,
    /// Mean number waiting over all runs.
    mean: Option<f64>,
    /// Most waiting in any run.
    peak: f64,
    /// Mean number lost over its side in a run, where any is.
    lost: Option<f64>,
    /// Whether marbles ever found no room in it.
    overfull: bool,
    stretches: Vec<Stretch>,
}

/// The picture: the backlog of every element at which marbles ever wait, the deepest first.
pub fn picture(study: &Study<'_>) -> Picture {
    let mut all = elements(study);
    let found = all.len();
    all.truncate(PANELS);
    drawn(|canvas| {
        let area = heading(canvas, &title(study, &all), &subtitle(study, found));
        footing(canvas, study, &watched(study));
        if all.is_empty() {
            notice(canvas, &area, "At no element did marbles wait long enough to draw a backlog.");
        }
        for (element, cell) in all.iter().zip(cells(all.len(), columns(all.len()), &area)) {
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
fn elements(study: &Study<'_>) -> Vec<Waiting> {
    let element = |n: usize| {
        let plan = &study.circuit.nodes[n];
        let summary = study.summary.elements.get(&plan.name);
        let stretches = over_runs(study.courses, |course| Some(course.elements.get(n)?.waiting.as_slice()));
        Waiting {
            name: plan.name.clone(),
            room: plan.places().map(f64::from),
            mean: summary.and_then(|e| e.backlog_mean.value),
            lost: summary.and_then(|e| e.spills.value).filter(|&lost| lost > 0.0),
            peak: study.runs.iter().filter_map(|run| Some(run.elements.get(n)?.backlog_peak)).fold(0.0, f64::max),
            overfull: study.runs.iter().filter_map(|run| run.elements.get(n)).any(|e| e.refused + e.spills > 0),
            stretches,
        }
    };
    let all = (0..study.circuit.nodes.len()).map(element);
    let shown = |waiting: &Waiting| {
        let highest = highest(&waiting.stretches);
        highest >= FEW || (highest > 0.0 && waiting.overfull)
    };
    let mut all: Vec<Waiting> = all.filter(shown).collect();
    let depth = |waiting: &Waiting| waiting.mean.unwrap_or(0.0);
    all.sort_by(|a, b| depth(b).total_cmp(&depth(a)));
    all
}

fn title(study: &Study<'_>, all: &[Waiting]) -> String {
    let Some(deepest) = all.first() else {
        return format!("{}: hardly a marble waits anywhere", study.setting());
    };
    let mean = deepest.mean.map_or(String::new(), |mean| format!("{} on average, ", marbles_text(mean)));
    format!("{}: most wait at {}, {mean}{} at worst", study.setting(), deepest.name, figure(deepest.peak))
}

fn subtitle(study: &Study<'_>, found: usize) -> String {
    let fewer = match found {
        0..=PANELS => String::new(),
        _ => format!(" The {PANELS} deepest of {found} elements where marbles wait."),
    };
    format!("Marbles waiting at an element; every panel has its own scale. {}{fewer}", study.key())
}

fn panel(canvas: &mut Canvas<'_>, study: &Study<'_>, cell: &Cell, element: &Waiting) {
    let area = Area {
        left: cell.area.left + 34.0,
        top: cell.area.top + 28.0,
        right: cell.area.right - 66.0,
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
        let red = super::canvas::Type { colour: LIMIT, ..SMALL };
        canvas.text(area.right + 6.0, y, &format!("room {}", figure(room)), red);
    }
    panel.time_axis(canvas, cell.lowest);
    panel.header(canvas, &element.name, &says(element, room), cell.area.right - 8.0);
}

fn says(element: &Waiting, drawn_room: Option<f64>) -> String {
    let mean = element.mean.map_or("mean unknown".to_owned(), |mean| format!("{} wait on average", marbles_text(mean)));
    let mean = format!("{mean}, {} at worst", figure(element.peak));
    let room = match (element.room, drawn_room) {
        (None, _) => "; no limit".to_owned(),
        (Some(room), None) => format!("; room {}", figure(room)),
        _ => String::new(),
    };
    let lost = element.lost.map_or(String::new(), |lost| format!("; {} lost a run", figure(lost)));
    format!("{mean}{room}{lost}")
}
