//! The circuit as a picture: what leads where, how much flows, where marbles wait, what limits and what goes wrong.

use std::iter::zip;
use std::ops::Range;

use super::canvas::{Area, Canvas, Format, HEIGHT, Picture, WIDTH, picture_of};
use super::excerpt::Excerpt;
use super::frame::{MARGIN, footing, heading, in_title, notice, watched};
use super::layout::{Graph, Layout, Sizes, Wire};
use super::scale::{Scale, largest};
use super::signs::sign;
use super::style::{AXIS, BAR, COURSE, FLOW, INK, LABEL, LIMIT, MUTED, PALE, PAPER, SMALL};
use super::{ChartData, circuit_list, marbles_text};
use crate::circuit::Circuit;
use crate::findings::limit::{Relief, Trial};
use crate::findings::totals::Stop;
use crate::findings::words::{figure, percent};

/// Up to so many elements, a box has room for all that is known of it.
const FEW: usize = 14;
/// Widest arrow, pixels.
const WIDEST: f64 = 8.0;
/// Thinnest arrow, pixels.
const THINNEST: f64 = 1.5;
/// Height of what stands above the circuit and below it, pixels.
const AROUND: f64 = 172.0;

/// The picture.
pub fn picture(study: &ChartData<'_>) -> Picture {
    if study.format == Format::Narrow {
        return circuit_list::picture(study);
    }
    let elements = elements(study);
    let roomy = elements.len() <= FEW;
    let drawn = Excerpt::of(
        study.circuit,
        &sizes(&elements, roomy),
        (2.0 * MARGIN, AROUND),
    );
    let layout = &drawn.layout;
    let size = (
        layout.width + 2.0 * MARGIN,
        (layout.height + AROUND).max(f64::from(HEIGHT) * 0.6),
    );
    picture_of((size.0.ceil() as u32, size.1.ceil() as u32), |canvas| {
        let carries = carries(study.circuit);
        let subtitle = format!("{SUBTITLE}{carries}.{}", drawn.left_out(study.circuit));
        let area = heading(canvas, &title(study), &subtitle);
        footing(canvas, study, &watched(study));
        if elements.is_empty() {
            return notice(canvas, &area, "There is no element to draw.");
        }
        let layout = layout.moved(area.left, area.top + (area.height() - layout.height) / 2.0);
        let flows: Vec<Option<f64>> = layout.wires.iter().map(|wire| flow(study, wire)).collect();
        arrows(canvas, &layout, &flows);
        for (&n, area) in zip(&drawn.shown, &layout.boxes) {
            draw_box(canvas, &elements[n], area, roomy);
        }
    })
}

const SUBTITLE: &str = "At arrows: marbles a minute. Bars: mean of places taken, dark by marbles that wait, pale by those on \
                        their way; tick: most ever waiting";

/// What the bar of a lift shows, in the words of this machine's lifts; nothing where it has none.
pub fn carries(circuit: &Circuit) -> String {
    if circuit.wheels().next().is_none() {
        return String::new();
    }
    let (seats, lift) = circuit.carriers();
    format!("; of a {lift} the share of {seats} that carry one")
}

/// The circuit as elements and ways; two ways between the same elements are one.
pub fn graph(circuit: &Circuit) -> Graph {
    let mut links: Vec<(usize, usize)> = Vec::new();
    for (from, plan) in circuit.nodes.iter().enumerate() {
        for way in plan.ways.iter().filter(|way| way.to < circuit.nodes.len()) {
            if !links.contains(&(from, way.to)) {
                links.push((from, way.to));
            }
        }
    }
    let nodes = circuit.nodes.iter();
    Graph {
        lifts: nodes.map(|plan| plan.wheel().is_some()).collect(),
        links,
        start: circuit.start,
    }
}

fn sizes(elements: &[ElementBox], roomy: bool) -> Sizes {
    let alarms = elements.iter().map(|element| element.alarms.len());
    let alarms = 17.0 * alarms.max().unwrap_or(0) as f64;
    let room = f64::from(WIDTH) - 2.0 * MARGIN;
    match roomy {
        true => Sizes {
            width: 196.0,
            height: 76.0 + alarms,
            label: 52.0,
            abreast: 4,
            room,
        },
        false => Sizes {
            width: 150.0,
            height: 54.0 + alarms,
            label: 48.0,
            abreast: 5,
            room,
        },
    }
}

/// What a box says of its element.
pub struct ElementBox {
    /// Its name.
    pub name: String,
    /// Its kind as the file writes it.
    pub kind: &'static str,
    room: Option<u32>,
    /// The figure at the end of the bar.
    full: f64,
    /// Mean number inside and mean number waiting.
    held: Option<f64>,
    waiting: Option<f64>,
    /// Most waiting in any run; `None` where there was none.
    peak: Option<f64>,
    fill: Option<f64>,
    is_wheel: bool,
    limits: bool,
    /// What is wrong at it.
    pub alarms: Vec<String>,
}

/// What every element's box says.
pub fn elements(study: &ChartData<'_>) -> Vec<ElementBox> {
    let limiting = limiting(study);
    let mut elements = Vec::new();
    for (n, plan) in study.circuit.nodes.iter().enumerate() {
        let (held, waiting) = match study.summary.elements.get(&plan.name) {
            Some(e) => (e.held_mean.value, e.backlog_mean.value),
            None => (None, None),
        };
        let fill = match study.summary.wheels.get(&plan.name) {
            Some(wheel) => wheel.fill.value,
            None => None,
        };
        let limits = limiting == Some(n);
        elements.push(ElementBox {
            name: plan.name.clone(),
            kind: plan.kind,
            room: plan.places(),
            full: f64::from(plan.places().unwrap_or(study.circuit.marbles).max(1)),
            held,
            waiting,
            peak: study.peak(n),
            fill,
            is_wheel: plan.wheel().is_some(),
            limits,
            alarms: alarms(study, n, limits),
        });
    }
    elements
}

fn limit<'a>(study: &ChartData<'a>) -> Option<&'a Trial> {
    study.summary.causes.as_ref()?.limit()
}

fn limiting(study: &ChartData<'_>) -> Option<usize> {
    let name = limit(study)?.element.as_ref()?;
    let mut nodes = study.circuit.nodes.iter();
    nodes.position(|plan| plan.name == *name)
}

/// What is wrong at element `n`, in a few words each.
fn alarms(study: &ChartData<'_>, n: usize, limits: bool) -> Vec<String> {
    let mut alarms = Vec::new();
    if limits {
        alarms.push("limits the flow".to_owned());
    }
    let totals = &study.runs.totals;
    let jammed = totals.stopped_by(|stop| matches!(stop, Stop::Jam(node, _) if *node == n));
    if jammed > 0 {
        let share = percent(jammed as f64 / totals.runs as f64);
        alarms.push(format!("jams in {share} of runs"));
    }
    if let Some((mean, per)) = study.lost(n) {
        alarms.push(format!("loses {} {per}", figure(mean)));
    }
    alarms
}

/// What limits the flow, as the title.
pub fn title(study: &ChartData<'_>) -> String {
    let says = match limit(study) {
        Some(Trial {
            relief: Relief::Marbles,
            ..
        }) => "the load limits the flow; more marbles carry more".to_owned(),
        Some(Trial {
            element: Some(name),
            from,
            to,
            ..
        }) => {
            let how = if to > from { "faster" } else { "slower" };
            let name = in_title(name);
            match limiting(study).filter(|&n| study.circuit.nodes[n].wheel().is_some()) {
                Some(_) => format!("{name} limits the flow; turned {how}, it carries more"),
                None => format!("{name} limits the flow; were it faster, more would pass"),
            }
        }
        _ => "what limits the flow was not found".to_owned(),
    };
    format!("{}: {says}", study.setting())
}

/// Marbles a minute along `wire` in the watched runs; `None` where they lasted no time.
fn flow(study: &ChartData<'_>, wire: &Wire) -> Option<f64> {
    flow_between(study, wire.from..wire.to)
}

/// The same between two elements.
pub fn flow_between(study: &ChartData<'_>, way: Range<usize>) -> Option<f64> {
    let minutes: f64 = study.courses.iter().map(|course| course.end_s / 60.0).sum();
    if minutes <= 0.0 {
        return None;
    }
    let mut marbles = 0;
    for flow in study.courses.iter().flat_map(|course| &course.flows) {
        if (flow.from..flow.to) == way {
            marbles += flow.marbles;
        }
    }
    Some(marbles as f64 / minutes)
}

/// Marbles a minute to as many figures as a maker can use.
pub fn flow_text(per_min: f64) -> String {
    match per_min {
        x if x >= 99.95 => format!("{x:.0}"),
        x if x >= 0.05 || x == 0.0 => format!("{x:.1}").trim_end_matches(".0").to_owned(),
        _ => "< 0.1".to_owned(),
    }
}

/// Draws all ways, the strongest over the others, each with its label.
fn arrows(canvas: &mut Canvas<'_>, layout: &Layout, flows: &[Option<f64>]) {
    let most = largest(flows.iter().flatten().copied());
    let mut order: Vec<usize> = (0..layout.wires.len()).collect();
    order.sort_by(|&a, &b| {
        flows[a]
            .unwrap_or(-1.0)
            .total_cmp(&flows[b].unwrap_or(-1.0))
    });
    for n in order {
        let width = match flows[n] {
            Some(flow) if most > 0.0 => THINNEST + (WIDEST - THINNEST) * flow / most,
            _ => THINNEST,
        };
        arrow(canvas, &layout.wires[n].points, width);
    }
    let look = SMALL.coloured(INK);
    for (wire, flow) in zip(&layout.wires, flows) {
        let says = match flow {
            Some(flow) => look.shorten(&flow_text(*flow), wire.label.width()),
            None => look.shorten("?", wire.label.width()),
        };
        let middle = (wire.label.top + wire.label.bottom) / 2.0;
        canvas.text(wire.label.left, middle, &says, look);
    }
}

/// Draws a way with an arrowhead; what it crosses passes under it.
pub fn arrow(canvas: &mut Canvas<'_>, points: &[(f64, f64)], width: f64) {
    let Some(&tip) = points.last() else { return };
    let Some(&before) = points.iter().rev().find(|point| **point != tip) else {
        return;
    };
    let head = 6.0 + 0.6 * width;
    let length = libm::hypot(tip.0 - before.0, tip.1 - before.1);
    let (dx, dy) = ((tip.0 - before.0) / length, (tip.1 - before.1) / length);
    let mut line = rounded(points);
    if let Some(end) = line.last_mut() {
        *end = (tip.0 - dx * head, tip.1 - dy * head);
    }
    canvas.line(&line, width + 4.0, PAPER);
    canvas.line(&line, width, FLOW);
    let back = (tip.0 - dx * (head + 1.0), tip.1 - dy * (head + 1.0));
    let half = head * 0.75;
    canvas.shape(
        &[
            tip,
            (back.0 - dy * half, back.1 + dx * half),
            (back.0 + dy * half, back.1 - dx * half),
        ],
        FLOW,
    );
}

/// The same corners, rounded.
fn rounded(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Vec::new();
    };
    let mut line = vec![*first];
    for three in points.windows(3) {
        let [a, b, c] = [three[0], three[1], three[2]];
        let (p, q) = (towards(b, a), towards(b, c));
        for k in 0..=4 {
            let t = f64::from(k) / 4.0;
            line.push((bend(p.0, b.0, q.0, t), bend(p.1, b.1, q.1, t)));
        }
    }
    if points.len() > 1 {
        line.push(*last);
    }
    line
}

/// Where the rounding of a corner begins.
fn towards(from: (f64, f64), to: (f64, f64)) -> (f64, f64) {
    let length = libm::hypot(to.0 - from.0, to.1 - from.1).max(1e-9);
    let part = (7.0 / length).min(0.5);
    (
        from.0 + (to.0 - from.0) * part,
        from.1 + (to.1 - from.1) * part,
    )
}

/// A quadratic Bézier curve from `p` to `q` with control point `b`, at `t` from 0 to 1.
fn bend(p: f64, b: f64, q: f64, t: f64) -> f64 {
    (1.0 - t) * (1.0 - t) * p + 2.0 * t * (1.0 - t) * b + t * t * q
}

/// Draws the frame of a box.
pub fn frame(canvas: &mut Canvas<'_>, area: &Area, marked: bool) {
    let (width, colour) = if marked { (3.0, LIMIT) } else { (1.2, AXIS) };
    let edge = Area {
        left: area.left - width / 2.0,
        top: area.top - width / 2.0,
        right: area.right + width / 2.0,
        bottom: area.bottom + width / 2.0,
    };
    canvas.rect(&edge, colour);
    let inner = Area {
        left: area.left + width / 2.0,
        top: area.top + width / 2.0,
        right: area.right - width / 2.0,
        bottom: area.bottom - width / 2.0,
    };
    canvas.rect(&inner, PAPER);
}

fn draw_box(canvas: &mut Canvas<'_>, element: &ElementBox, area: &Area, roomy: bool) {
    frame(canvas, area, element.limits);
    let (left, right) = (area.left + 10.0, area.right - 10.0);
    let text_left = left + 28.0;
    sign(
        canvas,
        element.kind,
        (left + 10.0, area.top + if roomy { 22.0 } else { 13.0 }),
        COURSE,
    );
    let name = LABEL.bold().shorten(&element.name, right - text_left);
    canvas.text(text_left, area.top + 13.0, &name, LABEL.bold());
    let mut y = area.top + 30.0;
    if roomy {
        let kind = SMALL.shorten(
            &format!("{}{}", element.kind, room_text(element)),
            right - text_left,
        );
        canvas.text(text_left, y + 1.0, &kind, SMALL);
        y += 19.0;
    }
    bar(
        canvas,
        element,
        &Area {
            left,
            top: y - 4.0,
            right,
            bottom: y + 4.0,
        },
    );
    y += 15.0;
    let says = SMALL.shorten(&says(element, roomy), right - left);
    canvas.text(left, y, &says, SMALL);
    let look = SMALL.coloured(LIMIT).bold();
    for alarm in &element.alarms {
        y += 17.0;
        canvas.text(left, y, &look.shorten(alarm, right - left), look);
    }
}

fn room_text(element: &ElementBox) -> String {
    match element.room {
        Some(room) if element.is_wheel => format!(" of {room}"),
        Some(room) => format!(", room {room}"),
        None => ", no limit".to_owned(),
    }
}

/// Who waits in an element, or how full its pockets are.
pub fn says(element: &ElementBox, roomy: bool) -> String {
    if element.is_wheel {
        return match element.fill {
            Some(fill) => format!("fill {}", percent(fill)),
            None => "fill unknown".to_owned(),
        };
    }
    let (Some(waiting), Some(peak)) = (element.waiting, element.peak) else {
        return "waiting: unknown".to_owned();
    };
    match roomy {
        _ if peak == 0.0 => "none ever waits".to_owned(),
        true => format!("{} wait, {} at worst", marbles_text(waiting), figure(peak)),
        false if waiting < 0.01 => format!("< 0.01 wait, most {}", figure(peak)),
        false => format!("{} wait, most {}", marbles_text(waiting), figure(peak)),
    }
}

/// The places of an element and how many are taken; of a wheel, how many of its pockets carry a marble.
pub fn bar(canvas: &mut Canvas<'_>, element: &ElementBox, area: &Area) {
    let scale = Scale {
        figures: (0.0, element.full),
        pixels: (area.left, area.right),
    };
    if element.is_wheel {
        let right = area.left + element.fill.unwrap_or(0.0).clamp(0.0, 1.0) * area.width();
        canvas.rect(&Area { right, ..*area }, BAR);
        return outlined(canvas, element, area);
    }
    let (waiting, held) = (element.waiting.unwrap_or(0.0), element.held.unwrap_or(0.0));
    for (taken, colour) in [(held.max(waiting), PALE), (waiting, COURSE)] {
        let right = scale.at(taken.clamp(0.0, element.full));
        canvas.rect(&Area { right, ..*area }, colour);
    }
    outlined(canvas, element, area);
    if let Some(peak) = element.peak.filter(|&peak| peak > 0.0) {
        let x = scale.at(peak.clamp(0.0, element.full));
        canvas.line(&[(x, area.top - 3.0), (x, area.bottom + 3.0)], 2.0, INK);
    }
}

/// The outline of a bar, open at its right end where there is no limit.
fn outlined(canvas: &mut Canvas<'_>, element: &ElementBox, area: &Area) {
    let mut outline = vec![
        (area.right, area.top),
        (area.left, area.top),
        (area.left, area.bottom),
        (area.right, area.bottom),
    ];
    if element.room.is_some() {
        outline.push((area.right, area.top));
    }
    canvas.line(&outline, 1.0, MUTED);
}
