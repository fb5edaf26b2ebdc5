//! The rhythm of the bells over a minute: a mark for each strike.

use super::canvas::{Anchor, Area, Canvas, Picture, picture_of};
use super::frame::{Panel, foot, heading, in_title};
use super::style::{COURSE, GRID, LABEL, SMALL};
use crate::circuit::draw::{nanos, seconds};
use crate::findings::strikes::{BellStrikes, Strikes};
use crate::findings::words::figure;

/// What is drawn, s.
const SPAN_S: f64 = 60.0;
/// Height of a bell's line, pixels.
const ROW: f64 = 58.0;
/// Half the height of a mark, pixels.
const MARK: f64 = 16.0;
/// Bells at most.
const ROWS: usize = 10;
/// Width of the picture, and what stands above and below the lines, pixels.
const SIZE: (u32, f64) = (1200, 190.0);

/// The picture; `None` where no bell is struck in the minute.
pub fn picture(strikes: &Strikes, title: &str) -> Option<Picture> {
    let from_s = from_s(strikes);
    let mut bells: Vec<&BellStrikes> = strikes.bells.iter().collect();
    bells.truncate(ROWS);
    if bells.iter().all(|bell| within(bell, from_s).is_empty()) {
        return None;
    }
    let height = SIZE.1 + ROW * bells.len() as f64;
    Some(picture_of((SIZE.0, height as u32), |canvas| {
        let subtitle = format!(
            "Each mark is a marble that strikes, over one minute of run {} from {} s on; at the right how often it rings and \
             between which gaps nine in ten lie.",
            strikes.run,
            figure(from_s)
        );
        let mut area = heading(canvas, &says(&bells), &subtitle);
        foot(canvas, title, "strikes.csv of a run has all of them");
        area.left += 130.0;
        area.right -= 190.0;
        area.bottom -= 26.0;
        let panel = Panel::new(area, SPAN_S, 1.0);
        for (row, bell) in bells.iter().enumerate() {
            let y = area.top + ROW * (row as f64 + 0.5);
            line(canvas, &panel, (bell, from_s), y);
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

fn line(canvas: &mut Canvas<'_>, panel: &Panel, (bell, from_s): (&BellStrikes, f64), y: f64) {
    let Area { left, right, .. } = panel.area;
    canvas.line(&[(left, y), (right, y)], 1.0, GRID);
    let name = LABEL.bold().shorten(&bell.name, 120.0);
    canvas.text(left - 12.0, y, &name, LABEL.bold().at(Anchor::Right));
    for time_s in within(bell, from_s) {
        let x = panel.x.at(time_s);
        canvas.line(&[(x, y - MARK), (x, y + MARK)], 2.5, COURSE);
    }
    if let Some(rhythm) = bell.rhythm() {
        let (short, long) = rhythm.gaps_s;
        let rate = format!("{} a minute", figure(rhythm.per_min));
        let gaps = format!("gaps {} to {} s", figure(short), figure(long));
        canvas.text(right + 14.0, y - 9.0, &rate, LABEL);
        canvas.text(right + 14.0, y + 10.0, &gaps, SMALL);
    }
}
