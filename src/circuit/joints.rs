//! Speed across joints: how fast a marble comes out of an element, and so into the next.
//!
//! Of a marble that nothing holds up: one that waited at an exit comes out slower, one that falls through a gate, a hole or
//! out of a cup has no speed along what it falls on.

use super::drive::wheel_rpm;
use super::return_floor::mouth_speed_m_s;
use super::wheel_shape;
use super::workshop::Workshop;
use crate::machine::Machine;
use crate::machine::model::{self, Element, Kind};

/// Speed is followed back over so many joints: what a marble had before, slopes and friction have made up for.
const FOLLOWED: usize = 8;

/// Speed at which marbles come from one element into the next, m/s: as measured there, else as they come out; 0 where nothing
/// is known of that.
pub fn speed_across_m_s(machine: &Machine, from: &Element, to: &Element) -> f64 {
    across(machine, from, to, FOLLOWED)
}

/// Speed at which marbles come into `element`, m/s: as measured there, else what the one element that leads there gives them;
/// 0 where there are several.
pub fn entry_speed_m_s(machine: &Machine, element: &Element) -> f64 {
    entry(machine, element, FOLLOWED)
}

fn measured_m_s(element: &Element) -> Option<f64> {
    element.kind.line()?.entry_m_s
}

fn across(machine: &Machine, from: &Element, to: &Element, joints: usize) -> f64 {
    match measured_m_s(to) {
        Some(measured) => measured,
        None => exit(machine, from, joints),
    }
}

fn entry(machine: &Machine, element: &Element, joints: usize) -> f64 {
    match Workshop::new(machine, element).feeders().as_slice() {
        [one] if joints > 0 => across(machine, one, element, joints - 1),
        _ => measured_m_s(element).unwrap_or(0.0),
    }
}

fn exit(machine: &Machine, element: &Element, joints: usize) -> f64 {
    let workshop = Workshop::new(machine, element);
    let speed = match &element.kind {
        // On a start ramp marbles stand at the exit.
        Kind::Slide(model::Slide(line)) | Kind::Track(model::Track(line)) => {
            let entry = entry(machine, element, joints);
            let passage = workshop.roll_from(line, entry).and_then(Result::ok);
            passage.map(|passage| passage.exit_speed_m_s)
        }
        Kind::PocketWheel(wheel) => {
            let rpm = wheel_rpm(wheel, machine);
            wheel_shape::out_speed_m_s(wheel, rpm, &workshop)
        }
        Kind::ReturnFloor(floor) => mouth_speed_m_s(floor, &workshop),
        _ => None,
    };
    speed.unwrap_or(0.0)
}
