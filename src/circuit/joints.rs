//! Speed across joints: how fast a marble comes out of an element, and so into the next.
//!
//! Of a marble that nothing holds up: one that waited at an exit comes out slower, one that falls through a gate, a hole or
//! out of a cup has no speed along what it falls on.

use super::drive::wheel_rpm;
use super::return_floor::mouth_speed_m_s;
use super::wheel_shape;
use super::workshop::Workshop;
use crate::machine::Machine;
use crate::machine::model::{Element, Kind};

/// Speed is followed back over so many joints: what a marble had before, slopes and friction have made up for.
const FOLLOWED: usize = 8;

/// Speed along the way out of `element`, m/s; 0 where nothing is known of it.
pub fn exit_speed_m_s(machine: &Machine, element: &Element) -> f64 {
    exit(machine, element, FOLLOWED)
}

/// Speed at which marbles come into `element`, m/s: what the one element that leads there gives them; 0 where there are
/// several.
pub fn entry_speed_m_s(machine: &Machine, element: &Element) -> f64 {
    entry(machine, element, FOLLOWED)
}

fn entry(machine: &Machine, element: &Element, joints: usize) -> f64 {
    if let Some(measured) = element.kind.line().and_then(|line| line.entry_m_s) {
        return measured;
    }
    match Workshop::new(machine, element).feeders().as_slice() {
        [one] if joints > 0 => exit(machine, one, joints - 1),
        _ => 0.0,
    }
}

fn exit(machine: &Machine, element: &Element, joints: usize) -> f64 {
    let workshop = Workshop::new(machine, element);
    let speed = match &element.kind {
        // On a start ramp marbles stand at the exit.
        Kind::Slide(line) | Kind::Track(line) => {
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
