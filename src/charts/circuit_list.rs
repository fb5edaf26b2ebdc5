//! The circuit for a telephone, which has no room for arrows: its elements one under the other, each with what it leads to.

use super::ChartData;
use super::canvas::{Anchor, Area, Format, NARROW, Picture};
use super::circuit::{ElementBox, bar, elements, flow_between, flow_text, says, title};
use super::frame::{footing, heading, heading_height, watched};
use super::signs::sign;
use super::style::{COURSE, GRID, INK, LABEL, LIMIT, SMALL};

/// Height of an element, and of each line more, pixels.
const ROW: f64 = 58.0;
const MORE: f64 = 17.0;
/// Elements at most.
const MOST: usize = 60;

const SUBTITLE: &str = "Bars: mean of places taken, dark by marbles that wait, pale by those on their way; tick: most ever waiting; of a \
                        wheel the share of pockets that carry one. Behind each name: marbles a minute on its ways.";

/// The picture.
pub fn picture(study: &ChartData<'_>) -> Picture {
    let elements = elements(study);
    let left_out = elements.len().saturating_sub(MOST);
    let subtitle = match left_out {
        0 => SUBTITLE.to_owned(),
        n => format!("{SUBTITLE} {n} elements are left out."),
    };
    let title = title(study);
    let mut height = heading_height(&title, &subtitle, NARROW) + 46.0;
    for element in elements.iter().take(MOST) {
        height += row_height(element);
    }
    Format::Narrow.picture(height, |canvas| {
        let area = heading(canvas, &title, &subtitle);
        footing(canvas, study, &watched(study));
        let mut top = area.top;
        for (n, element) in elements.iter().take(MOST).enumerate() {
            canvas.line(&[(area.left, top), (area.right, top)], 1.0, GRID);
            let y = top + 14.0;
            sign(canvas, element.kind, (area.left + 10.0, y), COURSE);
            let ways = ways(study, n);
            let look = SMALL.sized(11.5).coloured(INK);
            let room = area.width() - 28.0;
            let name = LABEL.bold().shorten(&element.name, room * 0.55);
            let width = canvas.text(area.left + 28.0, y, &name, LABEL.bold());
            let to = look.shorten(&ways, room - width - 10.0);
            canvas.text(area.right, y, &to, look.at(Anchor::Right));
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
            top += row_height(element);
        }
    })
}

fn row_height(element: &ElementBox) -> f64 {
    ROW + MORE * element.alarms.len() as f64
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
