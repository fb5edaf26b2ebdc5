//! Single files: start ramps, slides and tracks.

use super::build::room;
use super::draw::{Draw, nanos};
use super::plan::{Plan, Role};
use super::workshop::Workshop;
use crate::machine::law::TimeLaw;
use crate::machine::model::{Line, Room, Segment, WhenFull};
use crate::physics::file;

/// Makes a start ramp, slide or track ready: rolling time, places, and how fast the file moves up.
pub fn plan(line: &Line, workshop: &Workshop) -> Plan {
    let passage = workshop.roll(line);
    let computed = passage.map_or(0.0, |passage| passage.time_s);
    let travel = Draw::new(line.time.as_ref().unwrap_or(&TimeLaw::Fixed { time_s: computed }));
    let advance = nanos(line.advance_s.or_else(|| move_up_s(line, workshop)).unwrap_or(0.0));
    Plan {
        room: room(line.room.or_else(|| places(line, workshop))),
        spills: line.when_full == WhenFull::Spill,
        travel: vec![travel],
        stalls: line.time.is_none() && passage.is_none() && !line.segments.is_empty(),
        advance,
        entrance_delay: advance,
        role: Role::Through,
        ..workshop.blank()
    }
}

/// Length over diameter, counting the parts a marble can stand on.
fn places(line: &Line, workshop: &Workshop) -> Option<Room> {
    let length: f64 = line.segments.iter().map(standing_length_m).sum();
    let diameter = workshop.machine.marbles.diameter_m?;
    (!line.segments.is_empty()).then(|| Room::Places((file::places(length, diameter) as u32).max(1)))
}

fn standing_length_m(segment: &Segment) -> f64 {
    match *segment {
        Segment::Straight { length_m, .. } => length_m,
        Segment::Bend { radius_m, turn_rad, .. } => radius_m * turn_rad,
        Segment::Steps { count, run_m, .. } => f64::from(count) * run_m,
        Segment::Drop { .. } | Segment::Corner { .. } => 0.0,
    }
}

/// Time in which the file rolls up one place: from rest, on the last slope before the exit.
///
/// A file that was only timed, not measured, moves up as on a 4-degree slope.
fn move_up_s(line: &Line, workshop: &Workshop) -> Option<f64> {
    let diameter = workshop.machine.marbles.diameter_m?;
    let slope = line.segments.iter().rev().find_map(|segment| match *segment {
        Segment::Straight { slope_rad, .. } | Segment::Bend { slope_rad, .. } | Segment::Steps { slope_rad, .. } => {
            Some(slope_rad)
        }
        _ => None,
    });
    let slope = slope.unwrap_or(4.0 * std::f64::consts::PI / 180.0);
    file::advance_time_s(1.0, diameter, workshop.acceleration(slope, line.channel))
}
