//! The string-line chart of one run about an incident: time along, the elements in order of travel downwards, one line a
//! marble. A line that falls is a marble on its way, a level one a marble that waits.

use plotters::style::RGBColor;

use super::canvas::{Anchor, Area, Canvas, EDGE, Format, HEIGHT, NARROW, Picture};
use super::frame::{foot, heading, heading_height, margin};
use super::scale::{Scale, time_marks};
use super::style::{AXIS, COURSE, FULL, GRID, INK, LABEL, LIMIT, PAPER, SMALL, STANDS, STRING};
use super::time_distance_rows::{ElementBand, StayLine, clipped, rows, travel_order};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, nanos, seconds};
use crate::circuit::plan::{Cause, Role};
use crate::findings::incidents::{IncidentKind, stops};
use crate::findings::replay::{Replay, Stay};
use crate::findings::story::Story;
use crate::findings::words::clock;

/// What the chart is drawn from.
#[derive(Clone, Copy, Debug)]
pub struct IncidentChart<'a> {
    /// The machine's title.
    pub title: &'a str,
    /// Load and speed.
    pub setting: &'a str,
    /// The circuit.
    pub circuit: &'a Circuit,
    /// The run.
    pub replay: &'a Replay,
    /// The story.
    pub story: &'a Story,
}

/// Width of the names at the left, pixels.
const NAMES: f64 = 140.0;
const NARROW_NAMES: f64 = 82.0;
/// Height of an element's row on a telephone, pixels.
const NARROW_ROW: f64 = 38.0;
/// More elements than this are left to those that marbles of the story came through.
const ROWS: usize = 24;
/// Marbles drawn bold at most.
const BOLD: usize = 8;
/// Laps that are drawn before and after an incident, if the story asks for no more.
const LAPS: (f64, f64) = (1.1, 0.35);

/// A stretch of time.
#[derive(Clone, Copy, Debug, PartialEq)]
struct TimeSpan {
    from: Nanos,
    to: Nanos,
}

/// The picture.
pub fn picture(chart: &IncidentChart<'_>, format: Format) -> Picture {
    let window = window(chart);
    let first = chart
        .story
        .sentences
        .first()
        .map_or(String::new(), |s| s.text.replace('`', ""));
    let (title, key) = (first.trim_end_matches('.'), key(chart, window));
    let shown = shown(chart, window);
    let height = match format {
        Format::Wide => f64::from(HEIGHT),
        Format::Narrow => {
            let rows = NARROW_ROW * shown.len().max(6) as f64;
            heading_height(title, &key, NARROW) + rows + 84.0
        }
    };
    format.picture(height, |canvas| {
        let area = heading(canvas, title, &key);
        let repeat = format!("seed {}, run {}", chart.replay.id.seed, chart.replay.id.run);
        foot(
            canvas,
            &format!("{}, {}", chart.title, chart.setting),
            &repeat,
        );
        let below = if canvas.is_narrow() { 38.0 } else { 24.0 };
        let (top, bottom) = (area.top + 14.0, area.bottom - below);
        let rows = rows(chart.circuit, &shown, top, bottom);
        let x = Scale {
            figures: (seconds(window.from), seconds(window.to)),
            pixels: (area.left + names(canvas.is_narrow()), area.right),
        };
        let sheet = ChartBody {
            chart,
            window,
            rows,
            x,
            bottom,
        };
        sheet.draw(canvas);
    })
}

/// Width of the names at the left, pixels.
fn names(narrow: bool) -> f64 {
    if narrow { NARROW_NAMES } else { NAMES }
}

/// What the lines and shades mean, as far as they are there.
fn key(chart: &IncidentChart<'_>, window: TimeSpan) -> String {
    let mut parts = vec!["One line a marble: falling on its way, level where it waits".to_owned()];
    parts.extend(match bold(chart).len() {
        0 => None,
        1 => Some("red: the marble of the story".to_owned()),
        _ => Some("red and blue: the marbles of the story".to_owned()),
    });
    let nodes = 0..chart.circuit.nodes.len();
    if nodes.clone().any(|n| !full(chart, n, window).is_empty()) {
        parts.push("orange shade: no free place".to_owned());
    }
    if nodes.clone().any(|n| !stands(chart, n, window).is_empty()) {
        parts.push("grey shade: the wheel stands".to_owned());
    }
    parts.join("; ") + "."
}

/// The time about the incident: a lap before it and what the story goes back to, and a little after it.
fn window(chart: &IncidentChart<'_>) -> TimeSpan {
    let result = &chart.replay.result;
    // The mean lap may hold a wait for somebody to clear a jam.
    let lap = if result.laps.count > 0 {
        1.4 * seconds(result.laps.shortest)
    } else {
        40.0
    };
    let lap = lap.clamp(12.0, 90.0);
    let incident = &chart.story.incident;
    let (time, until) = (seconds(incident.time), seconds(incident.until));
    let text = seconds(chart.story.since) - 0.1 * lap;
    let from = (time - LAPS.0 * lap)
        .min(text.max(time - 2.5 * lap))
        .max(0.0);
    let end = until.min(time + 2.0 * lap) + LAPS.1 * lap;
    // A run that ended with the incident leaves a little paper after it.
    let to = end
        .min(seconds(result.end) + 0.04 * (end - from))
        .max(from + 5.0);
    TimeSpan {
        from: nanos(from),
        to: nanos(to),
    }
}

/// Marbles drawn bold; the first is the one that the incident happened to.
fn bold(chart: &IncidentChart<'_>) -> Vec<u32> {
    let mut marbles: Vec<u32> = Vec::new();
    for &marble in &chart.story.marbles {
        if !marbles.contains(&marble) && marbles.len() < BOLD {
            marbles.push(marble);
        }
    }
    marbles
}

/// The elements that are drawn, in order of travel.
fn shown(chart: &IncidentChart<'_>, window: TimeSpan) -> Vec<usize> {
    let mut order = travel_order(chart.circuit);
    if order.len() > ROWS {
        let bold = bold(chart);
        let inside = |v: &Stay| v.enter <= window.to && v.leave.is_none_or(|t| t >= window.from);
        let met = |n: usize| {
            let stays = &chart.replay.stays;
            n == chart.story.incident.node
                || stays
                    .iter()
                    .any(|v| v.node == n && bold.contains(&v.marble) && inside(v))
        };
        let kept: Vec<usize> = order.iter().copied().filter(|&n| met(n)).collect();
        order = if kept.len() > 1 { kept } else { order };
        order.truncate(ROWS);
    }
    order
}

/// When the element was full; a wheel full of marbles is as it should be, and so is a cup.
fn full(chart: &IncidentChart<'_>, n: usize, window: TimeSpan) -> Vec<(Nanos, Nanos)> {
    let plan = &chart.circuit.nodes[n];
    let text = plan.room > 1 && plan.places().is_some();
    if !text || matches!(plan.role, Role::Carousel(_) | Role::Batch(_)) {
        return Vec::new();
    }
    let stretches = chart.replay.held[n].stretches(
        plan.room,
        window.from,
        window.to.min(chart.replay.result.end),
    );
    // A place that comes free and is taken at once would make stripes of the shade.
    let moment = (window.to - window.from) / 60;
    let mut joined: Vec<(Nanos, Nanos)> = Vec::new();
    for (begin, end) in stretches {
        match joined.last_mut().filter(|last| begin - last.1 < moment) {
            Some(last) => last.1 = end,
            None => joined.push((begin, end)),
        }
    }
    joined
}

/// When the wheel stood.
fn stands(chart: &IncidentChart<'_>, n: usize, window: TimeSpan) -> Vec<(Nanos, Nanos)> {
    let Some(wheel) = chart.circuit.nodes[n].wheel() else {
        return Vec::new();
    };
    let all = stops(chart.circuit, chart.replay, wheel.drive).into_iter();
    let cut = all.map(|(begin, end)| (begin.max(window.from), end.min(window.to)));
    cut.filter(|(begin, end)| begin < end).collect()
}

/// The chart's inner part while it is drawn.
struct ChartBody<'a> {
    chart: &'a IncidentChart<'a>,
    window: TimeSpan,
    rows: Vec<ElementBand>,
    x: Scale,
    bottom: f64,
}

impl ChartBody<'_> {
    fn draw(&self, canvas: &mut Canvas<'_>) {
        for row in &self.rows {
            self.shades(canvas, row);
        }
        self.grid(canvas);
        let bold = bold(self.chart);
        let queues: Vec<StayLine<'_>> = self
            .rows
            .iter()
            .map(|row| StayLine::new(self.chart.replay, *row, self.window.from..=self.window.to))
            .collect();
        let draw_all =
            |canvas: &mut Canvas<'_>, of: &dyn Fn(u32) -> bool, width: f64, colour: RGBColor| {
                for queue in &queues {
                    for n in (0..queue.stays().len()).filter(|&n| of(queue.stays()[n].marble)) {
                        self.stay(canvas, queue, n, width, colour);
                    }
                }
            };
        draw_all(canvas, &|marble| !bold.contains(&marble), 1.0, STRING);
        draw_all(
            canvas,
            &|marble| bold.iter().skip(1).any(|&b| b == marble),
            2.0,
            COURSE,
        );
        draw_all(canvas, &|marble| bold.first() == Some(&marble), 2.5, LIMIT);
        self.time_axis(canvas);
        self.incident(canvas);
    }

    fn time_x(&self, time: Nanos) -> f64 {
        self.x
            .at(seconds(time))
            .clamp(self.x.pixels.0, self.x.pixels.1)
    }

    fn shades(&self, canvas: &mut Canvas<'_>, row: &ElementBand) {
        let mut shade = |stretches: Vec<(Nanos, Nanos)>, colour: RGBColor| {
            for (begin, end) in stretches {
                let area = Area {
                    left: self.time_x(begin),
                    top: row.top,
                    right: self.time_x(end),
                    bottom: row.bottom,
                };
                canvas.rect(&area, colour);
            }
        };
        shade(full(self.chart, row.node, self.window), FULL);
        shade(stands(self.chart, row.node, self.window), STANDS);
    }

    /// The lines between the rows, and their names.
    fn grid(&self, canvas: &mut Canvas<'_>) {
        let (left, right) = self.x.pixels;
        let narrow = canvas.is_narrow();
        let look = match narrow {
            true => SMALL.sized(10.5),
            false if self.rows.len() > 18 => SMALL,
            false => LABEL,
        };
        let (gap, room) = (if narrow { 5.0 } else { 10.0 }, names(narrow));
        for row in &self.rows {
            canvas.line(&[(left, row.top), (right, row.top)], 1.0, GRID);
            let incident = row.node == self.chart.story.incident.node;
            let look = if incident { look.bold() } else { look };
            let name = &self.chart.circuit.nodes[row.node].name;
            canvas.text(
                left - gap,
                (row.top + row.bottom) / 2.0,
                &look.shorten(name, room - gap - 4.0),
                look.at(Anchor::Right),
            );
        }
        canvas.line(&[(left, self.bottom), (right, self.bottom)], 1.0, AXIS);
    }

    /// One marble's stay in an element, and the way down to the next.
    fn stay(
        &self,
        canvas: &mut Canvas<'_>,
        queue: &StayLine<'_>,
        n: usize,
        width: f64,
        colour: RGBColor,
    ) {
        let visit = queue.stays()[n];
        let (from, to) = self.x.figures;
        let line: Vec<(f64, f64)> = clipped(&queue.line(n), from, to)
            .into_iter()
            .map(|(time, y)| (self.x.at(time), y))
            .collect();
        canvas.line(&line, width, colour);
        let row = |n: usize| self.rows.iter().find(|row| row.node == n);
        let (Some(here), Some(next), Some(leave)) =
            (row(visit.node), visit.to.and_then(row), visit.leave)
        else {
            return;
        };
        // The way home, up to the start again, is not drawn.
        if next.top > here.bottom + 1.0 && (self.window.from..=self.window.to).contains(&leave) {
            let x = self.time_x(leave);
            canvas.line(
                &[(x, here.bottom), (x, next.top)],
                (width * 0.5).max(0.5),
                colour,
            );
        }
    }

    fn time_axis(&self, canvas: &mut Canvas<'_>) {
        let (from, to) = self.x.figures;
        let narrow = canvas.is_narrow();
        let marks = time_marks(to - from, if narrow { 4 } else { 9 });
        // Half of the widest time, and what no text may come into.
        let (half, edge) = if narrow { (24.0, 8.0) } else { (30.0, EDGE) };
        let step = (marks.step * marks.unit_s).max(1.0);
        let mut mark = (from / step).ceil() * step;
        while mark <= to {
            let x = self.x.at(mark);
            canvas.line(&[(x, self.bottom), (x, self.bottom + 4.0)], 1.0, AXIS);
            if x + half < canvas.size().0 - edge {
                canvas.text(
                    x,
                    self.bottom + 15.0,
                    &clock(mark + 1e-6),
                    SMALL.at(Anchor::Middle),
                );
            }
            mark += step;
        }
        let unit = if to >= 3600.0 {
            "time, h:min:s"
        } else {
            "time, min:s"
        };
        let left = margin(canvas);
        canvas.text(
            left,
            self.bottom + if narrow { 31.0 } else { 15.0 },
            unit,
            SMALL,
        );
    }

    /// Marks when and where it happened.
    fn incident(&self, canvas: &mut Canvas<'_>) {
        let incident = &self.chart.story.incident;
        let Some(row) = self.rows.iter().find(|row| row.node == incident.node) else {
            return;
        };
        let (x, end) = (self.time_x(incident.time), self.time_x(incident.until));
        let top = self.rows.first().map_or(0.0, |row| row.top);
        canvas.line(&[(x, top - 4.0), (x, self.bottom)], 1.0, LIMIT);
        if incident.kind == IncidentKind::Starved && end > x + 2.0 {
            let middle = (row.top + row.bottom) / 2.0;
            canvas.line(&[(end, row.top + 3.0), (end, row.bottom - 3.0)], 2.0, LIMIT);
            canvas.line(&[(x, middle), (end, middle)], 2.0, LIMIT);
        }
        let y = match incident.kind {
            IncidentKind::Spill
            | IncidentKind::Held
            | IncidentKind::Starved
            | IncidentKind::Jam(Cause::Pinch) => row.top,
            _ => row.bottom - 3.0,
        };
        let at = Area {
            left: x - 5.0,
            top: y - 5.0,
            right: x + 5.0,
            bottom: y + 5.0,
        };
        canvas.rect(&at, LIMIT);
        let inner = Area {
            left: at.left + 2.0,
            top: at.top + 2.0,
            right: at.right - 2.0,
            bottom: at.bottom - 2.0,
        };
        canvas.rect(&inner, PAPER);
        let says = format!(
            "{}, {}",
            incident.kind.name(),
            clock(seconds(incident.time))
        );
        let look = LABEL.bold();
        let width = look.width(&says);
        let (anchor, at) = if x + width + 6.0 > self.x.pixels.1 {
            (Anchor::Right, x - 6.0)
        } else {
            (Anchor::Left, x + 6.0)
        };
        canvas.text(
            at,
            top - 9.0,
            &says,
            super::canvas::Type {
                colour: INK,
                ..look
            }
            .at(anchor),
        );
    }
}
