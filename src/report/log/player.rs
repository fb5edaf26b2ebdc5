//! One run to watch in the page: what its player is made of, and its words. How it moves is in `player.js`.
//!
//! Every stay of every marble is in the page, marble by marble, in whole milliseconds as numbers of 7 bits a byte: how many
//! stays; when the first begins; then for each how it went and how long, and by which way the marble left.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value, json};

use super::Log;
use super::near::{NearWheel, near};
use crate::charts::film::scene::{longest_travels, standstills};
use crate::charts::film::stage::BoxShape;
use crate::charts::film::{fits, for_page, for_telephone};
use crate::charts::layout::Layout;
use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::findings::incidents::{Incident, incidents};
use crate::findings::replay::{Replay, Stay};

/// Nanoseconds in a millisecond.
const MS: Nanos = 1_000_000;
/// Stays kept at most, so that the page stays small; later ones are left out.
const MOST_STAYS: usize = 300_000;
/// Incidents marked at most.
const MOST_INCIDENTS: usize = 12;

/// A run to watch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Player {
    /// The run's number.
    pub run: u64,
    /// The names of the elements.
    pub names: Vec<String>,
    /// What went wrong, in order of time, each in a line.
    pub incidents: Vec<String>,
    /// Which of them the page tells the story of.
    pub in_story: Option<usize>,
    /// Up to when it can be watched, milliseconds.
    pub cut_ms: u64,
    /// Whether the run went on beyond that.
    pub goes_on: bool,
    /// What the player reads, as JSON.
    pub data: String,
    /// A wheel from near.
    pub near: Option<NearWheel>,
}

/// The player of the page's run; `None` where there is no run to watch, or no room to draw the circuit.
pub fn player(log: &Log) -> Option<Player> {
    let replay = log.watched?;
    let circuit = log.circuit;
    if !fits(circuit) {
        return None;
    }
    let end = replay.result.end;
    let cut = replay.stays.get(MOST_STAYS).map_or(end, |stay| stay.enter);
    let marked = marked(circuit, replay, cut);
    let story = log.tale.and_then(|tale| tale.story);
    let in_story = story.and_then(|story| marked.iter().position(|of| *of == story.incident));
    let lines: Vec<String> = marked.iter().map(|of| of.line(circuit)).collect();
    let mut shown: Vec<Value> = Vec::new();
    for (of, line) in marked.iter().zip(&lines) {
        shown.push(json!({ "ms": of.time / MS, "text": line.replace('`', "") }));
    }
    let mut stands: Vec<Value> = Vec::new();
    for (drive, from, until) in standstills(circuit, replay) {
        let until = (until < Nanos::MAX).then(|| ms(until));
        stands.push(json!([drive, ms(from), until]));
    }
    let data = json!({
        "marbles": circuit.marbles,
        "start": circuit.start,
        "end": end / MS,
        "cut": cut / MS,
        "elements": elements(circuit, replay),
        "wide": placed(&for_page(circuit)),
        "narrow": placed(&for_telephone(circuit)),
        "stands": stands,
        "incidents": shown,
        "stays": STANDARD.encode(stays(circuit, replay, cut)),
    });
    Some(Player {
        run: replay.id.run,
        names: circuit.nodes.iter().map(|plan| plan.name.clone()).collect(),
        incidents: lines,
        in_story,
        cut_ms: cut / MS,
        goes_on: cut < end,
        // Text within a script element ends at `</`.
        data: data.to_string().replace('<', "\\u003c"),
        near: log
            .near
            .and_then(|(n, of)| near(&circuit.nodes[*n].name, of)),
    })
}

fn ms(time: Nanos) -> f64 {
    time as f64 / MS as f64
}

/// The gravest incidents until `cut`, in order of time.
fn marked(circuit: &Circuit, replay: &Replay, cut: Nanos) -> Vec<Incident> {
    let mut marked = incidents(circuit, replay);
    marked.retain(|of| of.time <= cut);
    marked.truncate(MOST_INCIDENTS);
    marked.sort_by_key(|of| of.time);
    marked
}

fn elements(circuit: &Circuit, replay: &Replay) -> Vec<Value> {
    let travels = longest_travels(circuit, replay);
    let mut elements = Vec::new();
    for (plan, travel) in circuit.nodes.iter().zip(travels) {
        let ways: Vec<usize> = plan.ways.iter().map(|way| way.to).collect();
        let mut of = json!({
            "name": plan.name,
            "ways": ways,
            "places": plan.places(),
            "travel": ms(travel),
            "shape": BoxShape::of(plan).name(),
        });
        if let (Some(wheel), Value::Object(keys)) = (plan.wheel(), &mut of) {
            let clock = &wheel.clock;
            keys.insert("turn".to_owned(), json!(ms(clock.turn())));
            keys.insert("first".to_owned(), json!(ms(clock.time(0))));
            keys.insert("pockets".to_owned(), json!(clock.pockets()));
            keys.insert("drive".to_owned(), json!(wheel.drive));
            let lift = wheel.lift as f64 / clock.turn() as f64;
            keys.insert("lift".to_owned(), json!(lift));
        }
        elements.push(of);
    }
    elements
}

/// A layout to a tenth of a pixel.
fn placed(layout: &Layout) -> Value {
    let tenth = |x: f64| (x * 10.0).round() / 10.0;
    let mut boxes = Vec::new();
    for of in &layout.boxes {
        boxes.push([of.left, of.top, of.right, of.bottom].map(tenth));
    }
    let mut wires = Vec::new();
    for wire in &layout.wires {
        let points: Vec<[f64; 2]> = wire
            .points
            .iter()
            .map(|p| [tenth(p.0), tenth(p.1)])
            .collect();
        wires.push(json!({ "from": wire.from, "to": wire.to, "points": points }));
    }
    json!({ "width": tenth(layout.width), "height": tenth(layout.height), "boxes": boxes, "wires": wires })
}

/// All stays until `cut` as bytes.
fn stays(circuit: &Circuit, replay: &Replay, cut: Nanos) -> Vec<u8> {
    let mut bytes = Vec::new();
    for marble in 0..circuit.marbles as usize {
        let begun = replay.stays_of(marble).take_while(|stay| stay.enter <= cut);
        let all: Vec<&Stay> = begun.collect();
        number(&mut bytes, all.len() as u64);
        if let Some(first) = all.first() {
            number(&mut bytes, first.enter / MS);
        }
        for stay in all {
            put(&mut bytes, circuit, stay, cut);
        }
    }
    bytes
}

/// How a stay went: 0 straight on, 1 waited and went on, 2 on its way at the end, 3 waits at the end.
fn put(bytes: &mut Vec<u8>, circuit: &Circuit, stay: &Stay, cut: Nanos) {
    let enter = stay.enter / MS;
    let queued = stay
        .queued
        .filter(|&time| time <= cut)
        .map(|time| time / MS);
    let left = stay.leave.filter(|&time| time <= cut).map(|time| time / MS);
    match (queued, left) {
        (None, None) => return number(bytes, 2),
        (Some(queued), None) => return number(bytes, 3 + 4 * (queued - enter)),
        (None, Some(left)) => number(bytes, 4 * (left - enter)),
        (Some(queued), Some(left)) => {
            number(bytes, 1 + 4 * (queued - enter));
            number(bytes, left - queued);
        }
    }
    let ways = &circuit.nodes[stay.node].ways;
    let way = ways.iter().position(|way| Some(way.to) == stay.to);
    // One beyond the last way: over the side.
    number(bytes, way.unwrap_or(ways.len()) as u64);
}

/// A number, its lowest 7 bits first, the highest bit of a byte set where more follow.
fn number(bytes: &mut Vec<u8>, mut number: u64) {
    while number >= 128 {
        bytes.push(number as u8 | 128);
        number >>= 7;
    }
    bytes.push(number as u8);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_take_seven_bits_a_byte() {
        for (value, wanted) in [
            (0, vec![0]),
            (127, vec![127]),
            (128, vec![128, 1]),
            (300, vec![172, 2]),
        ] {
            let mut bytes = Vec::new();
            number(&mut bytes, value);
            assert_eq!(bytes, wanted, "{value}");
        }
    }
}
