//! The circuit for a telephone, which has no room for arrows: its elements one under the other, each with what it leads to.

use super::ChartData;
use super::canvas::{Anchor, Area, Format, NARROW, Picture, Type};
use super::circuit::{ElementBox, bar, carries, elements, flow_between, flow_text, says, title};
use super::frame::{NARROW_MARGIN, footing, heading, heading_height, watched};
use super::signs::sign;
use super::style::{COURSE, GRID, INK, LABEL, LIMIT, SMALL};
use super::text::wrap;

/// Height of an element, and of each line more, pixels.
const ROW: f64 = 58.0;
const MORE: f64 = 17.0;
/// Elements at most.
const MOST: usize = 60;

const SUBTITLE: &str = "Bars: mean of places taken, dark by marbles that wait, pale by those on their way; tick: most ever waiting";
/// Right of an element's sign, pixels.
const SIGN: f64 = 28.0;

/// The picture.
pub fn picture(study: &ChartData<'_>) -> Picture {
    let elements = elements(study);
    let left_out = elements.len().saturating_sub(MOST);
    let subtitle = format!(
        "{SUBTITLE}{}. Behind each name: marbles a minute on its ways.{}",
        carries(study.circuit),
        match left_out {
            0 => String::new(),
            n => format!(" {n} elements are left out."),
        }
    );
    let title = title(study);
    let mut height = heading_height(&title, &subtitle, NARROW) + 46.0;
    for (n, element) in elements.iter().enumerate().take(MOST) {
        height += row_height(element, &HeadLine::of(study, n));
    }
    Format::Narrow.picture(height, |canvas| {
        let area = heading(canvas, &title, &subtitle);
        footing(canvas, study, &watched(study));
        let mut top = area.top;
        for (n, element) in elements.iter().take(MOST).enumerate() {
            canvas.line(&[(area.left, top), (area.right, top)], 1.0, GRID);
            let y = top + 14.0;
            sign(canvas, element.kind, (area.left + 10.0, y), COURSE);
            let ways = HeadLine::of(study, n);
            canvas.text(area.left + SIGN, y, &ways.name, LABEL.bold());
            canvas.text(area.right, y, &ways.beside, WAYS.at(Anchor::Right));
            let mut y = y;
            for line in &ways.below {
                y += MORE;
                canvas.text(area.left + SIGN, y, line, WAYS);
            }
            let full = Area {
                left: area.left,
                top: y + 13.0,
                right: area.right,
                bottom: y + 21.0,
            };
            bar(canvas, element, &full);
            let mut y = y + 33.0;
            canvas.text(area.left, y, &says(element, true), SMALL.sized(11.5));
            for alarm in &element.alarms {
                y += MORE;
                canvas.text(area.left, y, alarm, SMALL.coloured(LIMIT).bold());
            }
            top += row_height(element, &ways);
        }
    })
}

fn row_height(element: &ElementBox, ways: &HeadLine) -> f64 {
    ROW + MORE * (element.alarms.len() + ways.below.len()) as f64
}

/// How it is said what an element leads to.
const WAYS: Type = SMALL.sized(11.5).coloured(INK);

/// An element's name and what it leads to: beside it, or where that is too long, below.
struct HeadLine {
    name: String,
    beside: String,
    below: Vec<String>,
}

impl HeadLine {
    fn of(study: &ChartData<'_>, n: usize) -> HeadLine {
        let room = f64::from(NARROW) - 2.0 * NARROW_MARGIN - SIGN;
        let says = ways(study, n);
        let name = &study.circuit.nodes[n].name;
        if LABEL.bold().width(name) + 10.0 + WAYS.width(&says) <= room {
            let (name, beside) = (name.clone(), says);
            return HeadLine {
                name,
                beside,
                below: Vec::new(),
            };
        }
        HeadLine {
            name: LABEL.bold().shorten(name, room),
            beside: String::new(),
            below: wrap(&says, WAYS.size, WAYS.weight, room, 3),
        }
    }
}

/// What element `n` leads to, each with its marbles a minute: `to floor 28.3`.
fn ways(study: &ChartData<'_>, n: usize) -> String {
    let nodes = &study.circuit.nodes;
    let mut ways: Vec<String> = Vec::new();
    for way in nodes[n].ways.iter().filter(|way| way.to < nodes.len()) {
        let flow = match flow_between(study, n..way.to) {
            Some(flow) => flow_text(flow),
            None => "?".to_owned(),
        };
        let says = format!("{} {flow}", nodes[way.to].name);
        if !ways.contains(&says) {
            ways.push(says);
        }
    }
    match ways.is_empty() {
        true => "ends".to_owned(),
        false => format!("to {}", ways.join(", ")),
    }
}
