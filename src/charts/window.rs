//! The workable window: what decides it, value by value of the key searched, against what is good enough.

use std::iter::zip;

use super::canvas::{Anchor, Area, Canvas, Format, HEIGHT, Picture};
use super::frame::{PanelPlace, cells, foot, heading, stacked_height};
use super::scale::{Scale, largest, mark_text, marks, numbered_marks, round_step};
use super::style::{AXIS, COURSE, GRID, LABEL, LIMIT, PALE, PALER, PAPER, SMALL};
use crate::circuit::Circuit;
use crate::findings::verdict_text::{heading as what, is_share};
use crate::findings::words::figure;
use crate::findings::workable::{Criterion, CriterionResult, Verdict};
use crate::study::axis::Axis;
use crate::study::found_window::{TriedValue, Window};

/// Panels at most.
const PANELS: usize = 6;
/// How far beyond the window is drawn, as a share of its width, and at least so many values.
const BEYOND: (f64, usize) = (0.6, 6);

/// On a telephone what is good enough has a line of its own over each panel, so high, pixels.
const NARROW_LIMIT: f64 = 15.0;
/// Bounds of a value that is not settled, over more than this share of a panel's height, are not drawn.
const SAYS_NOTHING: f64 = 0.9;
/// From the middle of a dot to that of the next at least, where nothing changes between them, pixels.
const DOT: f64 = 10.0;

/// The picture: for every criterion that breaks anywhere near the window, its figure by the key searched; `title` says the
/// answer.
pub fn picture(
    circuit: &Circuit,
    (window, axis): (&Window, &Axis),
    title: &str,
    (machine, repeat): (&str, &str),
    format: Format,
) -> Picture {
    let shown = near(window);
    let subtitle = format!(
        "What decides, by {}: a dot where the runs are sure, a ring where not; upright lines: bounds, where they say anything. \
         Dashed: what is good enough. Shaded: where it surely works; paler: not settled.{}",
        axis.name(),
        match shown.iter().any(|value| value.impossible.is_some()) {
            true => " Cross: can't be built.",
            false => "",
        }
    );
    let mut deciding = deciding(window, &shown);
    deciding.truncate(PANELS);
    let (height, columns) = match format {
        Format::Wide if deciding.len() > 3 => (f64::from(HEIGHT), 2),
        Format::Wide => (f64::from(HEIGHT), 1),
        Format::Narrow => {
            let more = 20.0 + NARROW_LIMIT * deciding.len() as f64;
            (stacked_height(title, &subtitle, deciding.len()) + more, 1)
        }
    };
    format.picture(height, |canvas| {
        let area = heading(canvas, title, &subtitle);
        foot(canvas, machine, repeat);
        for (&criterion, cell) in zip(&deciding, cells(&deciding, columns, &area)) {
            let panel = WindowPanel {
                window,
                axis,
                shown: &shown,
                points: points(&shown, criterion),
            };
            panel.draw(canvas, circuit, &cell);
        }
    })
}

/// The values worth drawing: the window and some way beyond it, or all where there is none.
fn near(window: &Window) -> Vec<&TriedValue> {
    let (low, high) = match (window.least, window.most) {
        (Some(least), Some(most)) => {
            let width = most.high.saturating_sub(least.low) as f64;
            let beyond = ((width * BEYOND.0) as usize).max(BEYOND.1);
            (
                least.low.saturating_sub(beyond),
                most.high.saturating_add(beyond),
            )
        }
        _ => maybe(window),
    };
    window
        .tried
        .iter()
        .filter(|value| (low..=high).contains(&value.position))
        .collect()
}

/// From the first value that may work to the last, and some way beyond; all where there is none.
fn maybe(window: &Window) -> (usize, usize) {
    let Some((first, last)) = window.likely() else {
        return (0, usize::MAX);
    };
    let beyond = (((last - first) as f64 * BEYOND.0) as usize).max(BEYOND.1);
    (first.saturating_sub(beyond), last.saturating_add(beyond))
}

/// The points with room between them: of those closer than a dot is wide, where nothing changes, only some.
fn apart(points: &[(usize, CriterionResult)], x: impl Fn(usize) -> f64) -> Vec<usize> {
    let mut kept: Vec<usize> = Vec::new();
    for (n, (position, result)) in points.iter().enumerate() {
        let near = kept
            .last()
            .is_some_and(|&last| (x(*position) - x(points[last].0)).abs() < DOT);
        let changes = |other: Option<usize>| {
            let other = other.and_then(|k| points.get(k));
            other.is_some_and(|(_, other)| other.verdict != result.verdict)
        };
        if !near || changes(n.checked_sub(1)) || changes(Some(n + 1)) {
            kept.push(n);
        }
    }
    kept
}

/// What breaks first on either side of the window; without a window, whatever breaks anywhere, and then what looks wrong
/// somewhere, since that bounds what may work; and of a machine that breaks nowhere, the fills.
fn deciding(window: &Window, shown: &[&TriedValue]) -> Vec<Criterion> {
    let mut sides = shown.to_vec();
    if window.least.is_some() {
        sides.clear();
        sides.extend(window.below());
        sides.extend(window.above());
    }
    let broken = sides.iter().flat_map(|load| load.judgement.broken());
    let results = shown.iter().flat_map(|load| &load.judgement.results);
    let looks_wrong = results.filter(|result| !result.likely && window.least.is_none());
    let mut all: Vec<Criterion> = Vec::new();
    for result in broken.chain(looks_wrong) {
        if !all.contains(&result.criterion) {
            all.push(result.criterion);
        }
    }
    if all.is_empty()
        && let Some(load) = shown.iter().find(|value| value.impossible.is_none())
    {
        all.extend(load.judgement.results.iter().map(|result| result.criterion));
        all.retain(|criterion| matches!(criterion, Criterion::Fill(_)));
    }
    all
}

/// Each value at which that criterion was judged, with how it stands.
fn points(shown: &[&TriedValue], criterion: Criterion) -> Vec<(usize, CriterionResult)> {
    let mut points = Vec::new();
    for value in shown {
        let mut results = value.judgement.results.iter();
        let result = results.find(|result| result.criterion == criterion);
        points.extend(result.map(|result| (value.position, *result)));
    }
    points
}

/// One criterion by the key searched.
struct WindowPanel<'a> {
    window: &'a Window,
    axis: &'a Axis,
    shown: &'a [&'a TriedValue],
    points: Vec<(usize, CriterionResult)>,
}

impl WindowPanel<'_> {
    fn draw(&self, canvas: &mut Canvas<'_>, circuit: &Circuit, cell: &PanelPlace) {
        let narrow = canvas.is_narrow();
        let area = Area {
            left: cell.area.left + if narrow { 46.0 } else { 52.0 },
            top: cell.area.top + if narrow { 28.0 + NARROW_LIMIT } else { 28.0 },
            right: cell.area.right - if narrow { 8.0 } else { 110.0 },
            bottom: cell.area.bottom - 40.0,
        };
        let (Some((_, about)), Some(first), Some(last)) =
            (self.points.first(), self.shown.first(), self.shown.last())
        else {
            return;
        };
        let (times, unit) = if is_share(about) {
            (100.0, " %")
        } else {
            (1.0, "")
        };
        let half = self.axis.step / 2.0;
        let x = Scale {
            figures: (
                self.axis.value(first.position) - half,
                self.axis.value(last.position) + half,
            ),
            pixels: (area.left, area.right),
        };
        let y = Scale {
            figures: (0.0, top(&self.points, about, times)),
            pixels: (area.bottom, area.top),
        };
        self.shade(canvas, &x, &area);
        figure_axis(canvas, &y, &area, unit);
        self.value_axis(canvas, &x, &area);
        let limit = about.limit * times;
        let word = if matches!(about.criterion, Criterion::Fill(_)) {
            "at least"
        } else {
            "at most"
        };
        canvas.dashes(area.left, area.right, y.at(limit), LIMIT);
        let says = format!("{word} {}{unit}", figure(limit));
        let look = SMALL.coloured(LIMIT);
        let mut above = area.top - 14.0;
        if narrow {
            // Over the panel: beside its line it would cover what is drawn there.
            canvas.text(area.right, above, &says, look.at(Anchor::Right));
            above -= NARROW_LIMIT;
        } else {
            canvas.text(area.right + 6.0, y.at(limit), &says, look);
        }
        for n in apart(&self.points, |position| x.at(self.axis.value(position))) {
            let (position, result) = &self.points[n];
            point(
                canvas,
                (x.at(self.axis.value(*position)), &y, times),
                result,
            );
        }
        let name = LABEL.bold().shorten(&what(circuit, about), area.width());
        canvas.text(area.left, above, &name, LABEL.bold());
        if cell.lowest {
            let under = (area.left + area.right) / 2.0;
            let name = SMALL.shorten(&self.name(), area.width());
            canvas.text(under, area.bottom + 32.0, &name, SMALL.at(Anchor::Middle));
        }
    }

    /// What the axis below the panels shows.
    fn name(&self) -> String {
        match () {
            () if self.axis.is_load() => "marbles in the machine".to_owned(),
            () if self.axis.is_speed() => "speed of the drive, rpm".to_owned(),
            () => self.axis.heading(),
        }
    }

    /// The window, from the first value that surely works to the last, and paler to the values that surely do not; where
    /// none surely works, paler what may.
    fn shade(&self, canvas: &mut Canvas<'_>, x: &Scale, area: &Area) {
        let mut stretches = Vec::new();
        match (self.window.least, self.window.most) {
            (Some(least), Some(most)) => {
                stretches.push((least.low, most.high, PALER));
                stretches.push((least.high, most.low, PALE));
            }
            _ => {
                let likely = self.window.likely();
                stretches.extend(likely.map(|(first, last)| (first, last, PALER)));
            }
        }
        for (first, last) in self.window.inside(Verdict::Broken) {
            stretches.push((first, last, PAPER));
        }
        let half = self.axis.step / 2.0;
        for (first, last, colour) in stretches {
            let stretch = Area {
                left: x.at(self.axis.value(first) - half).max(area.left),
                right: x.at(self.axis.value(last) + half).min(area.right),
                ..*area
            };
            canvas.rect(&stretch, colour);
        }
    }

    /// The axis of the key, with a cross at each value that makes no machine.
    fn value_axis(&self, canvas: &mut Canvas<'_>, x: &Scale, area: &Area) {
        let steps = if canvas.is_narrow() { 5 } else { 10 };
        let mut step = round_step(x.figures.1 - x.figures.0, steps);
        if self.axis.is_load() {
            step = step.max(1.0);
        }
        let first = (x.figures.0 / step).ceil() * step;
        for mark in marks(x.figures.1 - first, step) {
            let at = x.at(first + mark);
            canvas.line(&[(at, area.bottom), (at, area.bottom + 4.0)], 1.0, AXIS);
            let number = mark_text(first + mark, step);
            canvas.text(at, area.bottom + 15.0, &number, SMALL.at(Anchor::Middle));
        }
        canvas.line(
            &[(area.left, area.bottom), (area.right, area.bottom)],
            1.0,
            AXIS,
        );
        for value in self.shown.iter().filter(|value| value.impossible.is_some()) {
            let (x, y) = (x.at(self.axis.value(value.position)), area.bottom - 8.0);
            for (left, right) in [(-4.0, 4.0), (4.0, -4.0)] {
                canvas.line(&[(x + left, y - 4.0), (x + right, y + 4.0)], 1.5, LIMIT);
            }
        }
    }
}

/// The figure at the upper end of a panel: over all that is drawn, and for shares not over 100 %.
fn top(points: &[(usize, CriterionResult)], about: &CriterionResult, times: f64) -> f64 {
    let values = points.iter().filter_map(|(_, result)| result.figure.value);
    let highest = largest(values) * times;
    let mut top = highest.max(about.limit * times) * 1.15;
    if is_share(about) {
        top = top.min(100.0);
    }
    if top > 0.0 { top } else { 1.0 }
}

fn figure_axis(canvas: &mut Canvas<'_>, y: &Scale, area: &Area, unit: &str) {
    let step = round_step(y.figures.1, ((area.height() / 24.0) as usize).clamp(2, 6));
    for (k, (mark, number)) in numbered_marks(y.figures.1, step, unit).iter().enumerate() {
        let at = y.at(*mark);
        if k > 0 {
            canvas.line(&[(area.left, at), (area.right, at)], 1.0, GRID);
        }
        canvas.text(area.left - 8.0, at, number, SMALL.at(Anchor::Right));
    }
}

/// One value: its bounds as an upright line, its figure as a dot, or as a ring where the runs are not sure.
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
    // Bounds that leave everything open, as of a glance of four runs, would only hide the dots.
    let reach = (ends[0].1 - ends[1].1).abs() / (y.pixels.1 - y.pixels.0).abs();
    match result.verdict {
        Verdict::Unsure if reach > SAYS_NOTHING => {}
        Verdict::Unsure => canvas.line(&ends, 1.0, AXIS),
        _ => canvas.line(&ends, 1.5, colour),
    }
    let at = (x, y.at(value * times));
    canvas.disc(at, 4.0, colour);
    if result.verdict == Verdict::Unsure {
        canvas.disc(at, 2.5, PAPER);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::circuit;
    use crate::machine;
    use crate::study::window::Search;

    /// A wheel that now and then pinches a marble, in too few runs to show anything.
    #[test]
    fn what_looks_wrong_has_a_panel_where_nothing_is_settled() {
        let file = "format: 1
marbles: { count: 5 }
drive: { speed: 7.5 rpm }
start: ramp
tending: clear after 10 s
circuit:
  ramp: { ramp: { time: 1 s, places: 30 }, to: wheel }
  wheel: { pocket-wheel: { pockets: 10, lift: 180 deg, pick-up: { take: 0.99, pinch: 0.005 } }, to: ramp }
workable: { least-fill: 0.1, jams-per-8h: 1 }";
        let machine = machine::read(file, &[]).expect("a sound file");
        let search = Search {
            axis: Axis::loads(4..=9),
            runs: 4,
            seed: 1,
            horizon: 360_000_000_000,
            error: 0.05,
        };
        let circuit = circuit(&machine);
        let window = search.window(&circuit, &machine.workable, |_| {}, || {});
        let shown: Vec<&TriedValue> = window.tried.iter().collect();
        let jams = |value: &&TriedValue| {
            let mut results = value.judgement.results.iter();
            let jams = results.find(|result| result.criterion == Criterion::Jams);
            jams.is_some_and(|jams| !jams.likely && jams.verdict == Verdict::Unsure)
        };
        assert!(window.least.is_none() && shown.iter().any(jams));
        assert!(deciding(&window, &shown).contains(&Criterion::Jams));
    }
}
