//! Fill of the wheels over time: the share of their pockets that carry a marble.

use std::iter::zip;

use super::ChartData;
use super::canvas::{Area, Canvas, Format, HEIGHT, Picture};
use super::frame::{
    Panel, PanelPlace, cells, footing, heading, in_title, notice, stacked_height, watched,
};
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
    if found == 0 {
        return None;
    }
    if found > PANELS {
        // The emptiest are the ones to look at.
        all.sort_by(|a, b| a.fill.unwrap_or(0.0).total_cmp(&b.fill.unwrap_or(0.0)));
        all.truncate(PANELS);
    }
    let (title, subtitle) = (title(study, &all), subtitle(study, found));
    let is_narrow = study.format == Format::Narrow;
    let height = match study.format {
        Format::Wide => f64::from(HEIGHT),
        Format::Narrow => stacked_height(&title, &subtitle, all.len()),
    };
    Some(study.format.picture(height, |canvas| {
        let area = heading(canvas, &title, &subtitle);
        footing(canvas, study, &watched(study));
        let columns = if all.len() > 3 && !is_narrow { 2 } else { 1 };
        for (wheel, cell) in zip(&all, cells(&all, columns, &area)) {
            panel(canvas, study, &cell, wheel);
        }
    }))
}

fn wheels(study: &ChartData<'_>) -> Vec<Wheel> {
    let mut wheels = Vec::new();
    for (n, plan) in study.circuit.nodes.iter().enumerate() {
        if plan.wheel().is_none() {
            continue;
        }
        let (fill, empty_streak) = match study.summary.wheels.get(&plan.name) {
            Some(wheel) => (wheel.fill.value, wheel.empty_streak_max.value),
            None => (None, None),
        };
        wheels.push(Wheel {
            name: plan.name.clone(),
            fill,
            empty_streak,
            stretches: over_runs(study.courses, |course| {
                Some(course.elements.get(n)?.fill.as_slice())
            }),
        });
    }
    wheels
}

fn title(study: &ChartData<'_>, all: &[Wheel]) -> String {
    let mut known = Vec::new();
    for wheel in all {
        known.extend(wheel.fill.map(|fill| (wheel, fill)));
    }
    let setting = study.setting();
    let emptiest = known.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let (seats, lift) = study.circuit.carriers();
    let Some(&(wheel, fill)) = emptiest else {
        return format!("{setting}: fill unknown, since in some run no {lift} turned far enough");
    };
    let (name, share) = (in_title(&wheel.name), percent(fill));
    if all.len() == 1 {
        format!("{setting}: {share} of the {seats} of {name} carry a marble")
    } else if known.len() == all.len() && known.iter().all(|(_, fill)| percent(*fill) == share) {
        format!("{setting}: {share} of the {seats} of every {lift} carry a marble")
    } else {
        format!("{setting}: {name} is the emptiest {lift}, {share} of its {seats} carry a marble")
    }
}

fn subtitle(study: &ChartData<'_>, found: usize) -> String {
    let (seats, lift) = study.circuit.carriers();
    let fewer = match found {
        0..=PANELS => String::new(),
        _ => format!(" The {PANELS} emptiest of {found} {lift}s."),
    };
    format!(
        "Share of passing {seats} that carry a marble. {}{fewer}",
        study.key()
    )
}

fn panel(canvas: &mut Canvas<'_>, study: &ChartData<'_>, cell: &PanelPlace, wheel: &Wheel) {
    let area = Area {
        left: cell.area.left + 44.0,
        top: cell.area.top + 28.0,
        right: cell.area.right - 34.0,
        bottom: cell.area.bottom - 26.0,
    };
    if wheel.stretches.is_empty() {
        let (seats, _) = study.circuit.carriers();
        let sentence = format!(
            "{}: too few {seats} passed to know its fill over time.",
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
    let mut stretches = stretches.to_vec();
    for point in stretches.iter_mut().flatten() {
        point.low *= 100.0;
        point.middle *= 100.0;
        point.high *= 100.0;
    }
    stretches
}

fn says(wheel: &Wheel) -> Vec<String> {
    let mut says = Vec::new();
    if let Some(fill) = wheel.fill {
        says.push(format!("{} on average", percent(fill)));
    }
    if let Some(n) = wheel.empty_streak {
        says.push(format!("{n:.0} empty in a row at longest"));
    }
    says
}
