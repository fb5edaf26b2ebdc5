//! How long runs go without a jam: the share that has had none by each time, with its band and the numbers behind it.

use super::ChartData;
use super::canvas::{Anchor, Area, Canvas};
use super::frame::Panel;
use super::scale::{marks, time_marks};
use super::style::{COURSE, LABEL, SMALL, SPREAD};
use crate::findings::summary::LEVEL;
use crate::findings::words::{count, duration};
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
        bottom: area.bottom - NUMBERS,
        ..*area
    };
    let span_h = study
        .runs
        .totals
        .first_jams()
        .iter()
        .map(|run| run.time)
        .fold(0.0, f64::max);
    let panel = Panel::new(plot, span_h * 3600.0, 100.0);
    panel.figure_axis(canvas, false, " %");
    let steps = steps(curve, span_h);
    let at = |time_h: f64| panel.x.at(time_h * 3600.0);
    let y = |share: f64| panel.y.at(100.0 * share);
    for step in &steps {
        if let (Some(low), Some(high)) = (step.low, step.high) {
            canvas.band(
                &[
                    (at(step.from_h), y(high), y(low)),
                    (at(step.until_h), y(high), y(low)),
                ],
                SPREAD,
            );
        }
    }
    let line: Vec<(f64, f64)> = steps
        .iter()
        .filter_map(|step| {
            step.share
                .map(|share| [(at(step.from_h), y(share)), (at(step.until_h), y(share))])
        })
        .flatten()
        .collect();
    canvas.line(&line, 2.0, COURSE);
    panel.time_axis(canvas, true);
    panel.header(
        canvas,
        "Runs without a jam so far",
        &[says(study, curve), "shade: 95 % band".to_owned()],
        area.right,
    );
    numbers(canvas, &panel, curve);
}

/// A level part of the curve.
struct LevelPart {
    from_h: f64,
    until_h: f64,
    share: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
}

fn steps(curve: &SurvivalCurve, span_h: f64) -> Vec<LevelPart> {
    let mut times: Vec<f64> = curve
        .steps
        .iter()
        .map(|step| step.time)
        .filter(|&time| time > 0.0)
        .collect();
    times.insert(0, 0.0);
    times.push(span_h);
    let step = |pair: &[f64]| {
        let share = curve.at(pair[0], LEVEL);
        LevelPart {
            from_h: pair[0],
            until_h: pair[1],
            share: share.value,
            low: share.low,
            high: share.high,
        }
    };
    times.windows(2).map(step).collect()
}

fn says(study: &ChartData<'_>, curve: &SurvivalCurve) -> String {
    let median = curve.median(LEVEL);
    let hours = |h: f64| duration(h * 3600.0);
    match (median.value, median.low, median.high) {
        (Some(median), Some(low), Some(high)) => {
            format!(
                "half have jammed by {} (95 % sure: {} to {})",
                hours(median),
                hours(low),
                hours(high)
            )
        }
        (Some(median), ..) => format!("half have jammed by {}", hours(median)),
        _ => format!(
            "fewer than half of {} jam",
            count(study.runs.count() as u64, "run")
        ),
    }
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
    canvas.text(
        panel.area.left - 24.0,
        y,
        "runs without a jam",
        LABEL.at(Anchor::Right),
    );
}
