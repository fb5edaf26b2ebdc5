//! A return floor made ready to run: from where each marble lands to the mouth, by how many are on the floor.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

use crate::circuit::close_look::lone_speed_m_s;
use crate::circuit::crowd_plan;
use crate::circuit::draw::nanos;
use crate::circuit::looked_place::LookedPlace;
use crate::circuit::marbles::marbles;
use crate::circuit::plan::{Plan, room};
use crate::circuit::planned::{Entrance, Site};
use crate::circuit::workshop::Workshop;
use crate::contact::crowd_counts::CrowdCounts;
use crate::contact::floor_place::{FloorEntrance, FloorPlace, LandingSpot};
use crate::machine::model::{FloorShape, Landing, ReturnFloor, Room, WhenFull};

/// Makes a return floor ready.
pub fn plan(floor: &ReturnFloor, site: &Site) -> Plan {
    let workshop = &site.workshop;
    let seen = site.crowd();
    let (mut mouth_time_s, mut places) = (floor.mouth_time_s, floor.room);
    if let Some(shape) = &floor.shape {
        mouth_time_s = mouth_time_s.or(passing_s(seen, workshop));
        places = places.or(places_on(shape, workshop));
    }
    let entrances = site.entrances.len();
    let (travel, by_crowd) = crowd_plan::travel(floor.time.as_ref(), seen, entrances);
    Plan {
        room: room(places),
        spills: floor.when_full == WhenFull::Spill,
        travel,
        by_crowd,
        overtaking: true,
        collects: true,
        advance: nanos(mouth_time_s.unwrap_or(0.0)),
        blockage: crowd_plan::arches(floor.arch.as_ref(), seen),
        followed: crowd_plan::followed(floor.arch.as_ref(), seen),
        ..workshop.blank()
    }
}

/// Where a close look is taken, where there are dimensions of which anything is to be seen.
pub fn looked_place(floor: &ReturnFloor, site: &Site) -> Option<LookedPlace> {
    if floor.time.is_some() && floor.arch.is_some() {
        return None;
    }
    let shape = floor.shape.as_ref()?;
    Some(LookedPlace::OnFloor(place(
        shape,
        site.entrances,
        &site.workshop,
    )?))
}

/// The floor as a close look follows marbles on it; `None` where the marbles are not known.
pub fn place(
    shape: &FloorShape,
    entrances: &[Entrance],
    workshop: &Workshop,
) -> Option<FloorPlace> {
    let middle_m = shape.width_m / 2.0;
    let landing = |entrance: &Entrance| FloorEntrance {
        spot: match entrance.landing {
            Some(at) => LandingSpot::About {
                x_m: at.y_m,
                y_m: at.x_m - middle_m,
                spread_m: at.spread_m,
            },
            None => LandingSpot::Anywhere,
        },
        speed_m_s: entrance.speed_m_s,
        heading_rad: entrance
            .landing
            .map_or(Landing::AWAY_RAD, |at| at.heading_rad),
    };
    Some(FloorPlace {
        landings: entrances.iter().map(landing).collect(),
        fall_m: shape.fall_m,
        marbles: marbles(workshop)?,
        length_m: shape.depth_m,
        width_m: shape.width_m,
        cross_pitch_rad: shape.cross_rad,
        valley_pitch_rad: shape.valley_rad,
        mouth_m: shape.mouth_m,
        funnel_rad: shape.funnel_rad.unwrap_or(FRAC_PI_2),
    })
}

/// Marbles pass the mouth one behind the other as fast as lone ones do.
fn passing_s(seen: Option<&CrowdCounts>, workshop: &Workshop) -> Option<f64> {
    Some(workshop.machine.marbles.diameter_m? / seen?.lone_speed_m_s()?)
}

/// A single layer at a packing of 0.8 over a third of the floor, after which the heap at the mouth climbs the surround.
/// Common practice, no source.
fn places_on(shape: &FloorShape, workshop: &Workshop) -> Option<Room> {
    let d = workshop.machine.marbles.diameter_m?;
    let layer = 0.8 * shape.width_m * shape.depth_m / (FRAC_PI_4 * d * d);
    Some(Room::Places(((layer / 3.0) as u32).max(1)))
}

/// Mean speed at which marbles that meet nobody come out of the mouth, m/s; `None` where no dimensions tell it.
pub fn mouth_speed_m_s(floor: &ReturnFloor, workshop: &Workshop) -> Option<f64> {
    if floor.mouth_m_s.is_some() {
        return floor.mouth_m_s;
    }
    let by_hand = [Entrance::POURED_IN];
    lone_speed_m_s(&place(floor.shape.as_ref()?, &by_hand, workshop)?)
}
