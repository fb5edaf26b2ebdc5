//! The rhythm of the bells over a minute: a mark for each strike.

use super::canvas::{Anchor, Area, Canvas, Format, Picture};
use super::frame::{Panel, foot, heading, heading_height, in_title};
use super::style::{COURSE, GRID, LABEL, SMALL};
use crate::circuit::draw::{nanos, seconds};
use crate::findings::strikes::{BellStrikes, Strikes};
use crate::findings::words::figure;

/// What is drawn, s.
const SPAN_S: f64 = 60.0;
/// Height of a bell's line, and on a telephone, where its name stands over it, pixels.
const ROW: f64 = 58.0;
const NARROW_ROW: f64 = 74.0;
/// Half the height of a mark, pixels.
const MARK: f64 = 16.0;
/// Bells at most.
const ROWS: usize = 10;
/// What stands below the lines, pixels.
const BELOW: f64 = 84.0;

/// The picture; `None` where no bell is struck in the minute.
pub fn picture(strikes: &Strikes, title: &str, format: Format) -> Option<Picture> {
    let from_s = from_s(strikes);
    let mut bells: Vec<&BellStrikes> = strikes.bells.iter().collect();
    bells.truncate(ROWS);
    if bells.iter().all(|bell| within(bell, from_s).is_empty()) {
        return None;
    }
    let (row, aside) = match format {
        Format::Wide => (ROW, "at the right"),
        Format::Narrow => (NARROW_ROW, "over it"),
    };
    let subtitle = format!(
        "Each mark is a marble that strikes, over one minute of run {} from {} s on; {aside} how often it rings and \
         between which gaps nine in ten lie.",
        strikes.run,
        figure(from_s)
    );
    let says = says(&bells);
    let height = heading_height(&says, &subtitle, format.width()) + row * bells.len() as f64;
    Some(format.picture(height + BELOW, |canvas| {
        let mut area = heading(canvas, &says, &subtitle);
        foot(canvas, title, "strikes.csv of a run has all of them");
        if canvas.is_narrow() {
            // Room for the last number of the axis.
            area.right -= 10.0;
        } else {
            area.left += 130.0;
            area.right -= 190.0;
        }
        area.bottom -= 26.0;
        let panel = Panel::new(area, SPAN_S, 1.0);
        for (n, bell) in bells.iter().enumerate() {
            let top = area.top + row * n as f64;
            if canvas.is_narrow() {
                under_its_name(canvas, &panel, (bell, from_s), top);
            } else {
                beside_its_name(canvas, &panel, (bell, from_s), top + row / 2.0);
            }
        }
        panel.time_axis(canvas, true);
    }))
}

/// The second minute, when the machine has got going; of a shorter run what there is.
fn from_s(strikes: &Strikes) -> f64 {
    if strikes.watched_s >= 2.0 * SPAN_S {
        SPAN_S
    } else {
        0.0
    }
}

/// When it is struck in the minute, s after its beginning.
fn within(bell: &BellStrikes, from_s: f64) -> Vec<f64> {
    let (from, until) = (nanos(from_s), nanos(from_s + SPAN_S));
    let strikes = bell.strikes.iter().map(|&(time, _)| time);
    strikes
        .filter(|time| (from..until).contains(time))
        .map(|time| seconds(time - from))
        .collect()
}

fn says(bells: &[&BellStrikes]) -> String {
    let often = |bell: &&BellStrikes| {
        let rhythm = bell.rhythm()?;
        let name = in_title(&bell.name);
        Some(format!("{name} rings {} times", figure(rhythm.per_min)))
    };
    let all: Vec<String> = bells.iter().take(2).filter_map(often).collect();
    match all.is_empty() {
        true => "Bells ring too seldom for a rhythm".to_owned(),
        false => all.join(", ") + " a minute",
    }
}

fn beside_its_name(
    canvas: &mut Canvas<'_>,
    panel: &Panel,
    (bell, from_s): (&BellStrikes, f64),
    y: f64,
) {
    let Area { left, right, .. } = panel.area;
    let name = LABEL.bold().shorten(&bell.name, 120.0);
    canvas.text(left - 12.0, y, &name, LABEL.bold().at(Anchor::Right));
    line(canvas, panel, (bell, from_s), y);
    if let Some((rate, gaps)) = rhythm(bell) {
        canvas.text(right + 14.0, y - 9.0, &rate, LABEL);
        canvas.text(right + 14.0, y + 10.0, &gaps, SMALL);
    }
}

fn under_its_name(
    canvas: &mut Canvas<'_>,
    panel: &Panel,
    (bell, from_s): (&BellStrikes, f64),
    top: f64,
) {
    let (left, y) = (panel.area.left, top + 14.0);
    let says = match rhythm(bell) {
        Some((rate, gaps)) => format!("{rate}, {gaps}"),
        None => String::new(),
    };
    let room = panel.area.width() - SMALL.width(&says) - 8.0;
    let name = LABEL.bold().shorten(&bell.name, room);
    canvas.text(left, y, &name, LABEL.bold());
    canvas.text(panel.area.right, y, &says, SMALL.at(Anchor::Right));
    line(canvas, panel, (bell, from_s), y + 14.0 + MARK);
}

/// How often it rings, and the gaps.
fn rhythm(bell: &BellStrikes) -> Option<(String, String)> {
    let rhythm = bell.rhythm()?;
    let (short, long) = rhythm.gaps_s;
    Some((
        format!("{} a minute", figure(rhythm.per_min)),
        format!("gaps {} to {} s", figure(short), figure(long)),
    ))
}

fn line(canvas: &mut Canvas<'_>, panel: &Panel, (bell, from_s): (&BellStrikes, f64), y: f64) {
    canvas.line(&[(panel.area.left, y), (panel.area.right, y)], 1.0, GRID);
    let width = if canvas.is_narrow() { 1.5 } else { 2.5 };
    for time_s in within(bell, from_s) {
        let x = panel.x.at(time_s);
        canvas.line(&[(x, y - MARK), (x, y + MARK)], width, COURSE);
    }
}
