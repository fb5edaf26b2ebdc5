//! How long runs go without a jam: the share that has had none by each time, with its band and the numbers behind it.

use super::ChartData;
use super::canvas::{Anchor, Area, Canvas};
use super::frame::Panel;
use super::scale::{largest, marks, time_marks};
use super::style::{COURSE, LABEL, SMALL, SPREAD};
use crate::findings::summary::LEVEL;
use crate::findings::words::{count, duration};
use crate::stats::Estimate;
use crate::stats::survival::{SurvivalCurve, kaplan_meier};

/// Height of the numbers under the time axis, pixels.
const NUMBERS: f64 = 46.0;

/// The curve of a study; `None` where no run jammed.
pub fn curve(study: &ChartData<'_>) -> Option<SurvivalCurve> {
    kaplan_meier(&study.runs.totals.first_jams()).filter(|curve| !curve.steps.is_empty())
}

/// Draws `curve` into `area`: the share of runs without a jam so far, and under it how many are still watched.
pub fn draw(canvas: &mut Canvas<'_>, study: &ChartData<'_>, curve: &SurvivalCurve, area: &Area) {
    let plot = Area {
        top: area.top + 28.0,
        bottom: area.bottom - NUMBERS - if canvas.is_narrow() { 14.0 } else { 0.0 },
        ..*area
    };
    let first_jams = study.runs.totals.first_jams();
    let span_h = largest(first_jams.iter().map(|run| run.time));
    let panel = Panel::new(plot, span_h * 3600.0, 100.0);
    panel.figure_axis(canvas, false, " %");
    let mut line = Vec::new();
    for step in steps(curve, span_h) {
        let (from, until) = (
            panel.x.at(step.from_h * 3600.0),
            panel.x.at(step.until_h * 3600.0),
        );
        if let (Some(low), Some(high)) = (step.share.low, step.share.high) {
            let (top, bottom) = (panel.y.at(100.0 * high), panel.y.at(100.0 * low));
            canvas.band(&[(from, top, bottom), (until, top, bottom)], SPREAD);
        }
        if let Some(share) = step.share.value {
            let y = panel.y.at(100.0 * share);
            line.extend([(from, y), (until, y)]);
        }
    }
    canvas.line(&line, 2.0, COURSE);
    panel.time_axis(canvas, true);
    panel.header(
        canvas,
        if canvas.is_narrow() {
            "No jam so far"
        } else {
            "Runs without a jam so far"
        },
        &[says(study, curve), "shade: 95 % band".to_owned()],
        area.right,
    );
    numbers(canvas, &panel, curve);
}

/// A level part of the curve.
struct LevelPart {
    from_h: f64,
    until_h: f64,
    share: Estimate,
}

fn steps(curve: &SurvivalCurve, span_h: f64) -> Vec<LevelPart> {
    let mut times: Vec<f64> = curve.steps.iter().map(|step| step.time).collect();
    times.retain(|&time| time > 0.0);
    times.insert(0, 0.0);
    times.push(span_h);
    let pairs = times.windows(2);
    pairs
        .map(|pair| LevelPart {
            from_h: pair[0],
            until_h: pair[1],
            share: curve.at(pair[0], LEVEL),
        })
        .collect()
}

fn says(study: &ChartData<'_>, curve: &SurvivalCurve) -> String {
    let median = curve.median(LEVEL);
    let Some(median_h) = median.value else {
        let runs = count(study.runs.count() as u64, "run");
        return format!("fewer than half of {runs} jam");
    };
    let half = format!("half have jammed by {}", duration(median_h * 3600.0));
    let (Some(low_h), Some(high_h)) = (median.low, median.high) else {
        return half;
    };
    let (low, high) = (duration(low_h * 3600.0), duration(high_h * 3600.0));
    format!("{half} (95 % sure: {low} to {high})")
}

/// Under each mark of the time axis, how many runs are still watched there without a jam.
fn numbers(canvas: &mut Canvas<'_>, panel: &Panel, curve: &SurvivalCurve) {
    let span_s = panel.x.figures.1;
    let time = time_marks(span_s, ((panel.area.width() / 65.0) as usize).min(9));
    let y = panel.area.bottom + 36.0;
    for mark in marks(span_s / time.unit_s, time.step) {
        let time_s = mark * time.unit_s;
        let runs = curve.still_watched(time_s / 3600.0);
        canvas.text(
            panel.x.at(time_s),
            y,
            &runs.to_string(),
            SMALL.at(Anchor::Middle),
        );
    }
    if canvas.is_narrow() {
        let middle = (panel.area.left + panel.area.right) / 2.0;
        let under = SMALL.at(Anchor::Middle);
        canvas.text(middle, y + 16.0, "runs without a jam", under);
        return;
    }
    canvas.text(
        panel.area.left - 24.0,
        y,
        "runs without a jam",
        LABEL.at(Anchor::Right),
    );
}
