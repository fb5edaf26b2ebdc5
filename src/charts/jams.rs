//! Jams: in how many runs each cause stopped marbles, and how long runs go without one.

use plotters::style::RGBColor;

use super::ChartData;
use super::canvas::{Anchor, Area, Canvas, Format, HEIGHT, Picture};
use super::frame::{footing, heading, in_title, notice};
use super::scale::{Scale, largest, mark_text, marks, round_step};
use super::style::{AXIS, BAR, BAR_OF_ALL, GRID, INK, LABEL, SMALL};
use super::survival;
use crate::findings::summary::LEVEL;
use crate::findings::totals::Stop;
use crate::findings::words::{count, percent};
use crate::stats::Estimate;
use crate::stats::proportion::zero_event_bound;

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

/// Height of the picture where nothing jams, pixels.
const SENTENCE: f64 = 170.0;
/// The same on a telephone, and there the height of a row and of what is around the rows and the curve.
const NARROW_SENTENCE: f64 = 176.0;
const NARROW_ROW: f64 = 50.0;
const NARROW_AROUND: f64 = 270.0;
/// Room for figures and names at the sides of the curve on a telephone, pixels.
const NARROW_FIGURES: f64 = 44.0;

/// One cause at one element, or one way of stopping.
struct StopRow {
    what: String,
    /// Where; empty if it is the whole machine.
    at: String,
    /// What is counted in it.
    stops: Vec<Stop>,
    /// Runs in which any of it happened.
    runs: u64,
    /// Their share of all.
    share: Estimate,
    /// How often it happened.
    times: u64,
    colour: RGBColor,
}

/// The picture: what jams, by share of runs; or how sure it is that nothing does.
pub fn picture(study: &ChartData<'_>) -> Picture {
    let rows = rows(study);
    let has_curve = survival::curve(study).is_some();
    let all = rows.len() as f64;
    let height = match (study.format, has_curve) {
        (Format::Narrow, _) if rows.is_empty() => NARROW_SENTENCE,
        (_, _) if rows.is_empty() => SENTENCE,
        (Format::Narrow, true) => NARROW_AROUND + CURVE + NARROW_ROW * all,
        (Format::Narrow, false) => NARROW_AROUND + NARROW_ROW * all,
        (Format::Wide, true) => CURVE + AROUND + ROW * all,
        (Format::Wide, false) => f64::from(HEIGHT),
    };
    let bound = zero_event_bound(study.runs.count() as u64, LEVEL);
    study.format.picture(height, |canvas| {
        footing(canvas, study, "");
        match (bound, rows.is_empty()) {
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
fn rows(study: &ChartData<'_>) -> Vec<StopRow> {
    let mut rows = Vec::new();
    for stop in study.runs.totals.all_stops() {
        rows.extend(row(study, stop));
    }
    rows.sort_by_key(|row| std::cmp::Reverse((row.runs, row.times)));
    if rows.len() > ROWS {
        let rest = rows.split_off(ROWS - 1);
        rows.push(together(study, &rest));
    }
    rows
}

/// `None` for an element that the circuit does not have.
fn row(study: &ChartData<'_>, stop: Stop) -> Option<StopRow> {
    let totals = &study.runs.totals;
    let runs = totals.stopped_by(|other| *other == stop);
    let (mut at, mut times, mut colour) = (String::new(), runs, BAR_OF_ALL);
    let what = match stop {
        Stop::Jam(n, cause) => {
            at = study.circuit.nodes.get(n)?.name.clone();
            times = totals.jams(n, cause).map_or(0, |jams| jams.count);
            colour = BAR;
            cause.name()
        }
        Stop::Gridlocked => "gridlock",
        Stop::RanDry => "all marbles at rest",
    };
    Some(StopRow {
        what: what.to_owned(),
        at,
        stops: vec![stop],
        runs,
        share: totals.share(runs),
        times,
        colour,
    })
}

fn together(study: &ChartData<'_>, rows: &[StopRow]) -> StopRow {
    let stops: Vec<Stop> = rows.iter().flat_map(|row| &row.stops).copied().collect();
    let runs = study.runs.totals.stopped_by(|stop| stops.contains(stop));
    StopRow {
        what: format!("any of {} other causes", rows.len()),
        at: String::new(),
        stops,
        runs,
        share: study.runs.totals.share(runs),
        times: rows.iter().map(|row| row.times).sum(),
        colour: BAR,
    }
}

/// What happened, and where: `at`, as short as it has to be.
fn named(row: &StopRow, at: &str) -> String {
    if row.at.is_empty() {
        row.what.clone()
    } else {
        format!("{} at {at}", row.what)
    }
}

fn title(study: &ChartData<'_>, rows: &[StopRow]) -> String {
    let stop = match study.runs.count() {
        1 => "the one run stops".to_owned(),
        runs => format!(
            "{} of {runs} runs stop at least once",
            study.runs.totals.stopped_by(|_| true)
        ),
    };
    let first = match rows.first() {
        Some(row) => named(row, &in_title(&row.at)),
        None => String::new(),
    };
    let often = if rows.len() > 1 {
        "most often"
    } else {
        "only cause"
    };
    format!("{}: {stop}; {often}: {first}", study.setting())
}

fn bars(canvas: &mut Canvas<'_>, study: &ChartData<'_>, rows: &[StopRow]) {
    let subtitle = "Share of runs in which each cause stopped marbles at least once. Black line: 95 % interval.";
    let area = heading(canvas, &title(study, rows), subtitle);
    let curve = survival::curve(study);
    let below = if curve.is_some() { CURVE } else { 0.0 };
    let narrow = canvas.is_narrow();
    let (names, figures, aside) = match narrow {
        true => (12.0, 60.0, 16.0),
        false => (NAMES, FIGURES, 40.0),
    };
    let plot = Area {
        left: area.left + names,
        right: area.right - figures,
        bottom: area.bottom - 30.0 - below,
        ..area
    };
    if let Some(curve) = &curve {
        let part = Area {
            left: if narrow {
                area.left + NARROW_FIGURES
            } else {
                plot.left
            },
            top: area.bottom - below + 24.0,
            right: area.right - aside,
            bottom: area.bottom,
        };
        survival::draw(canvas, study, curve, &part);
    }
    let widest = largest(rows.iter().filter_map(|row| row.share.high));
    let widest = if widest > 0.75 { 1.0 } else { widest * 1.02 };
    let scale = Scale {
        figures: (0.0, widest),
        pixels: (plot.left, plot.right),
    };
    let height = (plot.height() / rows.len() as f64).min(110.0);
    let bottom = plot.top + height * rows.len() as f64;
    share_axis(canvas, &scale, plot.top, bottom);
    for (k, row) in rows.iter().enumerate() {
        let middle = plot.top + (k as f64 + 0.5) * height;
        let half = if narrow { 8.0 } else { height.min(64.0) * 0.36 };
        bar(canvas, &scale, (middle, half), (row, study.runs.count()));
    }
    canvas.line(&[(plot.left, plot.top), (plot.left, bottom)], 1.0, AXIS);
}

/// Vertical grid lines with shares of runs in per cent under them.
fn share_axis(canvas: &mut Canvas<'_>, scale: &Scale, top: f64, bottom: f64) {
    let most = scale.figures.1 * 100.0;
    let step = round_step(most, 5);
    let marked = marks(most, step);
    for (k, &mark) in marked.iter().enumerate() {
        let x = scale.at(mark / 100.0);
        canvas.line(&[(x, top), (x, bottom)], 1.0, GRID);
        let unit = if k + 1 == marked.len() && !canvas.is_narrow() {
            " % of runs"
        } else {
            " %"
        };
        let number = mark_text(mark, step) + unit;
        canvas.text(x, bottom + 15.0, &number, SMALL.at(Anchor::Middle));
    }
}

fn bar(
    canvas: &mut Canvas<'_>,
    scale: &Scale,
    (y, half): (f64, f64),
    (row, runs): (&StopRow, usize),
) {
    let share = &row.share;
    let value = share.value.unwrap_or(0.0);
    let area = Area {
        left: scale.at(0.0),
        top: y - half,
        right: scale.at(value),
        bottom: y + half,
    };
    canvas.rect(&area, row.colour);
    let (low, high) = (share.low.unwrap_or(value), share.high.unwrap_or(value));
    canvas.line(&[(scale.at(low), y), (scale.at(high), y)], 2.0, INK);
    let jams = if row.at.is_empty() {
        String::new()
    } else {
        format!(", {}", count(row.times, "jam"))
    };
    let says = format!("{} ({} of {runs}){jams}", percent(value), row.runs);
    if canvas.is_narrow() {
        let (width, _) = canvas.size();
        let room = width - 2.0 * scale.at(0.0);
        let name = named(row, &row.at);
        let look = LABEL.sized(12.0);
        let said = look.shorten(&format!("{name}: {says}"), room);
        canvas.text(scale.at(0.0), y - 19.0, &said, look);
        return;
    }
    canvas.text(scale.at(high) + 10.0, y, &says, LABEL);
    let room = NAMES - 12.0;
    let name = named(
        row,
        &LABEL.shorten(&row.at, room - LABEL.width(&named(row, ""))),
    );
    canvas.text(scale.at(0.0) - 12.0, y, &name, LABEL.at(Anchor::Right));
}

/// What no jam in so many runs proves, and what it does not: a sentence.
fn no_jam(canvas: &mut Canvas<'_>, study: &ChartData<'_>, bound: f64) {
    let title = format!("{}: no jam in {}", study.setting(), study.runs_of());
    let subtitle = format!(
        "95 % sure: a jam in under {} of such runs. That none was seen does not prove that none can happen; more runs \
         narrow it down.",
        percent(bound)
    );
    heading(canvas, &title, &subtitle);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Outcome;
    use crate::findings::made_up::MadeUp;
    use crate::findings::{Runs, StudyScope, summarize};

    #[test]
    fn a_share_of_runs_has_the_same_interval_in_chart_and_table() {
        let made_up = MadeUp::new(1, "jams-per-8h: 1");
        let mut runs = Runs::new(made_up.circuit.start);
        for n in 0..12 {
            let outcome = if n < 3 {
                Outcome::Gridlocked
            } else {
                Outcome::Ran
            };
            runs.push(crate::findings::RunFigures {
                outcome,
                ..made_up.run(n, |_| 0.5)
            });
        }
        let question = StudyScope {
            title: String::new(),
            rpm: None,
            seed: 1,
            hours: 1.0,
        };
        let summary = summarize(&question, &made_up.circuit, &runs);
        let study = ChartData {
            circuit: &made_up.circuit,
            summary: &summary,
            runs: &runs,
            courses: &[],
            format: Format::Wide,
        };
        let rows = rows(&study);
        assert_eq!(
            rows.iter().map(|row| row.share).collect::<Vec<_>>(),
            [summary.outcomes.gridlocked]
        );
    }
}
