//! Stopwatch readings against the laws fitted to them.

use plotters::style::RGBColor;

use super::canvas::{Anchor, Area, Canvas, Format, HEIGHT, Picture};
use super::frame::{heading, heading_height, in_title, margin};
use super::scale::{Scale, largest, mark_text, round_step};
use super::style::{AXIS, COURSE, GRID, INK, LABEL, LIMIT, MUTED, PALE, SMALL};
use super::text::wrap;
use crate::findings::words::{count, figure};
use crate::stats::readings::Readings;
use crate::stats::survival::{SurvivalCurve, kaplan_meier};
use crate::study::fit::TriedLaw;

/// Width of the list of laws at the right, pixels.
const LIST: f64 = 290.0;
/// From one law in it to the next, pixels.
const ENTRY: f64 = 44.0;
/// Height of the curves on a telephone, the axis included, pixels.
const NARROW_PLOT: f64 = 260.0;
/// Points along a law's line.
const POINTS: usize = 240;
const LEVEL: f64 = 0.95;

/// What a picture of one element shows.
pub struct FitPicture<'a> {
    /// The element.
    pub element: &'a str,
    /// Its readings.
    pub readings: &'a Readings,
    /// The laws, most plausible first.
    pub tried: &'a [TriedLaw],
    /// Name of the law taken, if one was.
    pub taken: Option<&'a str>,
    /// How to repeat it, for the foot of the picture.
    pub repeat: &'a str,
}

/// The picture: the share of readings up to each time, and what each law gives; `None` without a timed reading.
pub fn picture(of: &FitPicture<'_>, format: Format) -> Option<Picture> {
    let curve =
        kaplan_meier(&of.readings.observations()).filter(|curve| !curve.steps.is_empty())?;
    let cut = if of.readings.over.is_empty() {
        ""
    } else {
        " Ticks: readings cut short."
    };
    let subtitle = format!(
        "Steps: share of the readings up to each time, with its 95 % band.{cut} Lines: the laws fitted."
    );
    let title = title(of);
    let height = match format {
        Format::Wide => f64::from(HEIGHT),
        Format::Narrow => {
            let list = ENTRY * (of.tried.len() + 1) as f64;
            heading_height(&title, &subtitle, format.width()) + NARROW_PLOT + list + 46.0
        }
    };
    Some(format.picture(height, |canvas| {
        let area = heading(canvas, &title, &subtitle);
        let plot = match format {
            Format::Wide => Area {
                left: area.left + 50.0,
                top: area.top + 8.0,
                right: area.right - LIST,
                bottom: area.bottom - 34.0,
            },
            Format::Narrow => Area {
                left: area.left + 42.0,
                top: area.top + 8.0,
                right: area.right - 14.0,
                bottom: area.top + NARROW_PLOT - 34.0,
            },
        };
        let (x, y) = scales(of, &plot);
        axes(canvas, &plot, &x, &y);
        let end = watched_to(of.readings, &curve, &x);
        band(canvas, &curve, end, &x, &y);
        laws(canvas, of, &x, &y);
        steps(canvas, &curve, end, &x, &y);
        cut_short(canvas, of.readings, &curve, &x, &y);
        match format {
            Format::Wide => list(canvas, of, (plot.right + 34.0, plot.top + 14.0)),
            Format::Narrow => list(canvas, of, (area.left, area.top + NARROW_PLOT + 14.0)),
        }
        repeat(canvas, of.repeat);
    }))
}

/// How to repeat it, at the foot: at the right, or on a telephone in as many lines as it takes.
fn repeat(canvas: &mut Canvas<'_>, says: &str) {
    let ((width, height), margin) = (canvas.size(), margin(canvas));
    let y = height - 22.0;
    if !canvas.is_narrow() {
        canvas.text(width - margin, y, says, SMALL.at(Anchor::Right));
        return;
    }
    let look = SMALL.sized(10.5);
    let room = width - 2.0 * margin;
    for (n, line) in wrap(says, look.size, look.weight, room, 2)
        .iter()
        .enumerate()
    {
        canvas.text(margin, y - 6.0 + 14.0 * n as f64, line, look);
    }
}

fn title(of: &FitPicture<'_>) -> String {
    let (name, readings) = (
        in_title(of.element),
        count(of.readings.count() as u64, "reading"),
    );
    let taken = of
        .tried
        .iter()
        .find(|tried| Some(tried.fit.name) == of.taken);
    match taken {
        Some(tried) if tried.refused() => format!(
            "{name}: {readings} speak against the {} law taken",
            tried.fit.name
        ),
        Some(tried) => format!("{name}: the {} law fits {readings}", tried.fit.name),
        None => format!("{name}: no law was taken for {readings}"),
    }
}

fn scales(of: &FitPicture<'_>, plot: &Area) -> (Scale, Scale) {
    let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
    for &time in of.readings.timed.iter().chain(&of.readings.over) {
        least = least.min(time);
        most = most.max(time);
    }
    let room = (0.12 * (most - least))
        .max(of.readings.error_s)
        .max(0.02 * most);
    let x = Scale {
        figures: ((least - room).max(0.0), most + room),
        pixels: (plot.left, plot.right),
    };
    (
        x,
        Scale {
            figures: (0.0, 1.0),
            pixels: (plot.bottom, plot.top),
        },
    )
}

fn axes(canvas: &mut Canvas<'_>, plot: &Area, x: &Scale, y: &Scale) {
    for percent in [0, 25, 50, 75, 100] {
        let at = y.at(f64::from(percent) / 100.0);
        canvas.line(
            &[(plot.left, at), (plot.right, at)],
            1.0,
            if percent == 0 { AXIS } else { GRID },
        );
        let unit = if percent == 100 { " %" } else { "" };
        canvas.text(
            plot.left - 8.0,
            at,
            &format!("{percent}{unit}"),
            SMALL.at(Anchor::Right),
        );
    }
    let step = round_step(
        x.figures.1 - x.figures.0,
        if canvas.is_narrow() { 5 } else { 8 },
    );
    let first = (x.figures.0 / step - 1e-9).ceil() as u64;
    let last = (x.figures.1 / step + 1e-9).floor() as u64;
    for k in first..=last {
        let at = x.at(k as f64 * step);
        canvas.line(&[(at, plot.bottom), (at, plot.bottom + 4.0)], 1.0, AXIS);
        let unit = if k == last { " s" } else { "" };
        canvas.text(
            at,
            plot.bottom + 15.0,
            &format!("{}{unit}", mark_text(k as f64 * step, step)),
            SMALL.at(Anchor::Middle),
        );
    }
}

/// The times at which the curve steps, each with the share reached, from the left edge on.
fn corners(curve: &SurvivalCurve, x: &Scale) -> Vec<(f64, f64)> {
    let mut corners = vec![(x.figures.0, 0.0)];
    for step in &curve.steps {
        corners.push((step.time, 1.0 - step.survival));
    }
    corners
}

/// Where the curve ends: at the last reading if that was cut short, since nobody knows how it goes on.
fn watched_to(readings: &Readings, curve: &SurvivalCurve, x: &Scale) -> f64 {
    let cut = largest(readings.over.iter().copied());
    let last = match curve.steps.last() {
        Some(step) => step.time,
        None => 0.0,
    };
    if cut > last { cut } else { x.figures.1 }
}

fn cut_short(
    canvas: &mut Canvas<'_>,
    readings: &Readings,
    curve: &SurvivalCurve,
    x: &Scale,
    y: &Scale,
) {
    for &time in &readings.over {
        let mut before = curve.steps.iter().rev();
        let reached = match before.find(|step| step.time <= time) {
            Some(step) => 1.0 - step.survival,
            None => 0.0,
        };
        let (x, y) = (x.at(time), y.at(reached));
        canvas.line(&[(x, y - 7.0), (x, y + 7.0)], 2.0, INK);
    }
}

fn band(canvas: &mut Canvas<'_>, curve: &SurvivalCurve, last: f64, x: &Scale, y: &Scale) {
    let corners = corners(curve, x);
    for (k, &(time, _)) in corners.iter().enumerate() {
        let end = match corners.get(k + 1) {
            Some((next, _)) => *next,
            None => last,
        };
        let share = curve.at(time.max(0.0), LEVEL);
        if let (Some(low), Some(high)) = (share.low, share.high) {
            let (top, bottom) = (y.at(1.0 - low), y.at(1.0 - high));
            canvas.band(&[(x.at(time), top, bottom), (x.at(end), top, bottom)], PALE);
        }
    }
}

fn steps(canvas: &mut Canvas<'_>, curve: &SurvivalCurve, last: f64, x: &Scale, y: &Scale) {
    let mut line = Vec::new();
    let mut reached = 0.0;
    for (time, share) in corners(curve, x) {
        line.push((x.at(time), y.at(reached)));
        line.push((x.at(time), y.at(share)));
        reached = share;
    }
    line.push((x.at(last), y.at(reached)));
    canvas.line(&line, 2.0, INK);
}

/// How the line of a law looks.
fn look(of: &FitPicture<'_>, tried: &TriedLaw) -> (f64, RGBColor) {
    match tried {
        _ if of.taken == Some(tried.fit.name) => (4.0, COURSE),
        _ if tried.refused() => (1.5, LIMIT),
        _ => (1.5, MUTED),
    }
}

fn laws(canvas: &mut Canvas<'_>, of: &FitPicture<'_>, x: &Scale, y: &Scale) {
    let mut order: Vec<&TriedLaw> = of.tried.iter().collect();
    // The one taken is drawn over the others.
    order.sort_by_key(|tried| of.taken == Some(tried.fit.name));
    for tried in order {
        let mut line = Vec::new();
        for k in 0..=POINTS {
            let t = x.figures.0 + (x.figures.1 - x.figures.0) * k as f64 / POINTS as f64;
            let share = of.readings.share_below(&tried.fit.law, t);
            line.push((x.at(t), y.at(share.clamp(0.0, 1.0))));
        }
        let (width, colour) = look(of, tried);
        canvas.line(&line, width, colour);
    }
}

/// The laws by name, with what speaks for and against each.
fn list(canvas: &mut Canvas<'_>, of: &FitPicture<'_>, (left, top): (f64, f64)) {
    let mut y = top;
    canvas.line(&[(left, y), (left + 26.0, y)], 2.0, INK);
    canvas.text(left + 38.0, y, "readings", LABEL);
    for tried in of.tried {
        y += ENTRY;
        let (width, colour) = look(of, tried);
        canvas.line(&[(left, y), (left + 26.0, y)], width, colour);
        let name = if of.taken == Some(tried.fit.name) {
            LABEL.bold()
        } else {
            LABEL
        };
        canvas.text(left + 38.0, y, tried.fit.name, name);
        canvas.text(left + 38.0, y + 18.0, &says(of, tried), SMALL);
    }
}

fn says(of: &FitPicture<'_>, tried: &TriedLaw) -> String {
    let p = match tried.p {
        Some(p) => format!("p {}", figure(p)),
        None => "p unknown".to_owned(),
    };
    let verdict = if tried.refused() { "refused: " } else { "" };
    let all = of.tried.iter().filter_map(|tried| tried.fit.aicc);
    match (tried.fit.aicc, all.reduce(f64::min)) {
        (Some(aicc), Some(best)) => format!("{verdict}{p}, AICc +{}", figure(aicc - best)),
        _ => format!("{verdict}{p}"),
    }
}
