//! A line made ready to run.

use crate::circuit::draw::{Draw, nanos};
use crate::circuit::plan::{Plan, room};
use crate::circuit::planned::Site;
use crate::circuit::workshop::Workshop;
use crate::machine::law::TimeLaw;
use crate::machine::model::{Line, Room, Segment, WhenFull};
use crate::physics::hand_over::Spread;
use crate::physics::material::{Marble, SurfaceProperties};
use crate::physics::path::{Halt, Passage};
use crate::physics::queue_advance;

/// Makes a line ready: rolling time by speed at each entrance, places, and how fast the file moves up.
pub fn plan(line: &Line, site: &Site) -> Plan {
    let workshop = &site.workshop;
    let mut travel = Vec::new();
    let mut stalls = false;
    for entrance in site.entrances {
        let entry = entrance.speed_m_s;
        let passage = workshop.roll_from(line, entry);
        stalls |= line.time.is_none() && matches!(passage, Some(Err(_)));
        let passage = passage.and_then(Result::ok);
        let law = match (&line.time, passage) {
            (Some(measured), _) => measured.clone(),
            (None, Some(passage)) => spread(line, entry, passage.time_s, workshop),
            (None, None) => TimeLaw::Fixed { time_s: 0.0 },
        };
        travel.push(Draw::new(&law));
    }
    let advance_s = line.advance_s.or_else(|| move_up_s(line, workshop));
    let advance = nanos(advance_s.unwrap_or(0.0));
    Plan {
        room: room(line.room.or_else(|| places(line, workshop))),
        spills: line.when_full == WhenFull::Spill,
        travel,
        stalls,
        advance,
        entrance_delay: advance,
        ..workshop.blank()
    }
}

/// Travel times scatter as the marbles' diameters do and as rolling resistance does from roll to roll.
fn spread(line: &Line, entry_m_s: f64, time_s: f64, workshop: &Workshop) -> TimeLaw {
    let Some(marble) = workshop.marble() else {
        return TimeLaw::Fixed { time_s };
    };
    let surface = workshop.surface();
    let larger = Marble {
        diameter_m: marble.diameter_m + workshop.machine.marbles.spread_m,
        ..marble
    };
    let lever_m = surface.rolling_lever_m + Spread::WORKSHOP.rolling_lever_sd_m;
    let rougher = SurfaceProperties {
        rolling_lever_m: lever_m,
        ..surface
    };
    let by_size = later_s(workshop.roll_as(line, entry_m_s, &larger, &surface), time_s);
    let by_surface = later_s(workshop.roll_as(line, entry_m_s, &marble, &rougher), time_s);
    TimeLaw::Normal {
        mean_s: time_s,
        sd_s: libm::hypot(by_size, by_surface),
    }
}

fn later_s(passage: Result<Passage, Halt>, than_s: f64) -> f64 {
    match passage {
        Ok(passage) => passage.time_s - than_s,
        Err(_) => 0.0,
    }
}

/// Length over diameter, counting the parts a marble can stand on.
fn places(line: &Line, workshop: &Workshop) -> Option<Room> {
    let length: f64 = line.segments.iter().map(standing_length_m).sum();
    let diameter = workshop.machine.marbles.diameter_m?;
    if line.segments.is_empty() {
        return None;
    }
    let places = queue_advance::places(length, diameter) as u32;
    Some(Room::Places(places.max(1)))
}

fn standing_length_m(segment: &Segment) -> f64 {
    match *segment {
        Segment::Straight { length_m, .. } => length_m,
        Segment::Bend {
            radius_m, turn_rad, ..
        } => radius_m * turn_rad,
        Segment::Steps { count, run_m, .. } => f64::from(count) * run_m,
        Segment::Drop { .. } | Segment::Corner { .. } => 0.0,
    }
}

/// Time in which the file rolls up one place: from rest, on the last slope before the exit.
///
/// A file that was only timed, not measured, moves up as on the slope that is assumed.
fn move_up_s(line: &Line, workshop: &Workshop) -> Option<f64> {
    let diameter = workshop.machine.marbles.diameter_m?;
    let slope = last_slope_rad(line).unwrap_or(workshop.machine.assume.slope_rad);
    queue_advance::advance_time_s(
        queue_advance::ARRIVED_SHARE,
        diameter,
        workshop.acceleration(slope, line.channel),
    )
}

/// Slope of the last part that marbles roll on, radians.
pub fn last_slope_rad(line: &Line) -> Option<f64> {
    line.segments
        .iter()
        .rev()
        .find_map(|segment| match *segment {
            Segment::Straight { slope_rad, .. }
            | Segment::Bend { slope_rad, .. }
            | Segment::Steps { slope_rad, .. } => Some(slope_rad),
            Segment::Drop { .. } | Segment::Corner { .. } => None,
        })
}
