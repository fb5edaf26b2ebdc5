//! Fill of the wheels over time: the share of their pockets that carry a marble.

use super::ChartData;
use super::canvas::{Area, Canvas, Picture, picture as drawn};
use super::frame::{Panel, PanelPlace, cells, footing, heading, in_title, notice, watched};
use super::time_series::{Stretch, draw, over_runs};
use crate::findings::words::percent;

/// Panels at most.
const PANELS: usize = 8;

/// One wheel's panel.
struct Wheel {
    name: String,
    /// Mean fill over all runs.
    fill: Option<f64>,
    /// Mean over runs of the longest run of empty pockets.
    empty_streak: Option<f64>,
    stretches: Vec<Stretch>,
}

/// The picture: the fill of each wheel; `None` for a machine without any.
pub fn picture(study: &ChartData<'_>) -> Option<Picture> {
    let mut all = wheels(study);
    let found = all.len();
    if found > PANELS {
        // The emptiest are the ones to look at.
        all.sort_by(|a, b| a.fill.unwrap_or(0.0).total_cmp(&b.fill.unwrap_or(0.0)));
        all.truncate(PANELS);
    }
    (found > 0).then(|| {
        drawn(|canvas| {
            let area = heading(canvas, &title(study, &all), &subtitle(study, found));
            footing(canvas, study, &watched(study));
            let columns = if all.len() > 3 { 2 } else { 1 };
            for (wheel, cell) in all.iter().zip(cells(all.len(), columns, &area)) {
                panel(canvas, study, &cell, wheel);
            }
        })
    })
}

fn wheels(study: &ChartData<'_>) -> Vec<Wheel> {
    let nodes = study
        .circuit
        .nodes
        .iter()
        .enumerate()
        .filter(|(_, plan)| plan.wheel().is_some());
    let wheel = |(n, plan): (usize, &crate::circuit::plan::Plan)| {
        let summary = study.summary.wheels.get(&plan.name);
        Wheel {
            name: plan.name.clone(),
            fill: summary.and_then(|wheel| wheel.fill.value),
            empty_streak: summary.and_then(|wheel| wheel.empty_streak_max.value),
            stretches: over_runs(study.courses, |course| {
                Some(course.elements.get(n)?.fill.as_slice())
            }),
        }
    };
    nodes.map(wheel).collect()
}

fn title(study: &ChartData<'_>, all: &[Wheel]) -> String {
    let known = all.iter().filter_map(|wheel| Some((wheel, wheel.fill?)));
    let setting = study.setting();
    match known.min_by(|a, b| a.1.total_cmp(&b.1)) {
        None => format!("{setting}: fill unknown, since in some run no pocket passed"),
        Some((wheel, fill)) if all.len() == 1 => {
            format!(
                "{setting}: {} of the pockets of {} carry a marble",
                percent(fill),
                in_title(&wheel.name)
            )
        }
        Some((_, fill))
            if all
                .iter()
                .all(|wheel| wheel.fill.map(percent) == Some(percent(fill))) =>
        {
            format!(
                "{setting}: {} of the pockets of every wheel carry a marble",
                percent(fill)
            )
        }
        Some((wheel, fill)) => {
            format!(
                "{setting}: {} is the emptiest wheel, {} of its pockets carry a marble",
                in_title(&wheel.name),
                percent(fill)
            )
        }
    }
}

fn subtitle(study: &ChartData<'_>, found: usize) -> String {
    let fewer = match found {
        0..=PANELS => String::new(),
        _ => format!(" The {PANELS} emptiest of {found} wheels."),
    };
    format!(
        "Share of passing pockets that carry a marble. {}{fewer}",
        study.key()
    )
}

fn panel(canvas: &mut Canvas<'_>, study: &ChartData<'_>, cell: &PanelPlace, wheel: &Wheel) {
    let area = Area {
        left: cell.area.left + 50.0,
        top: cell.area.top + 28.0,
        right: cell.area.right - 34.0,
        bottom: cell.area.bottom - 26.0,
    };
    if wheel.stretches.is_empty() {
        let sentence = format!(
            "{}: too few pockets passed to know its fill over time.",
            wheel.name
        );
        return notice(canvas, &area, &sentence);
    }
    let panel = Panel::new(area, study.span_s(), 100.0);
    panel.figure_axis(canvas, false, " %");
    draw(canvas, &panel, &in_percent(&wheel.stretches));
    panel.time_axis(canvas, cell.lowest);
    panel.header(canvas, &wheel.name, &says(wheel), cell.area.right - 8.0);
}

fn in_percent(stretches: &[Stretch]) -> Vec<Stretch> {
    let point = |p: &super::time_series::Point| super::time_series::Point {
        time_s: p.time_s,
        low: p.low * 100.0,
        middle: p.middle * 100.0,
        high: p.high * 100.0,
    };
    stretches
        .iter()
        .map(|stretch| stretch.iter().map(point).collect())
        .collect()
}

fn says(wheel: &Wheel) -> Vec<String> {
    let fill = wheel
        .fill
        .map(|fill| format!("{} on average", percent(fill)));
    let streak = wheel
        .empty_streak
        .map(|n| format!("{n:.0} empty in a row at longest"));
    [fill, streak].into_iter().flatten().collect()
}
