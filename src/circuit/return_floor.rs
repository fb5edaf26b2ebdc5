//! The return floor: from where each marble lands to the mouth, and one at a time through it.

use super::build::{room, snag};
use super::draw::{Draw, nanos};
use super::plan::{Cause, Plan, Role};
use super::workshop::Workshop;
use crate::machine::law::TimeLaw;
use crate::machine::model::{FloorShape, Landing, ReturnFloor, Room, WhenFull};
use crate::physics::file;

/// Makes a return floor ready. `landings` are the spots of its entries, `None` for anywhere.
pub fn plan(floor: &ReturnFloor, landings: &[Option<Landing>], workshop: &Workshop) -> Plan {
    let travel = landings.iter().map(|landing| match (&floor.time, floor.shape) {
        (Some(law), _) => Draw::new(law),
        (None, Some(shape)) => Draw::new(&TimeLaw::Samples { times_s: home_times_s(&shape, *landing, workshop) }),
        (None, None) => Draw::Fixed(0),
    });
    let mouth_time = floor.mouth_time_s.or_else(|| floor.shape.and_then(|shape| mouth_time_s(&shape, workshop)));
    Plan {
        room: room(floor.room.or_else(|| floor.shape.and_then(|shape| places(&shape, workshop)))),
        spills: floor.when_full == WhenFull::Spill,
        travel: travel.collect(),
        overtaking: true,
        advance: nanos(mouth_time.unwrap_or(0.0)),
        snag: floor.arch.as_ref().map(|arch| snag(arch, Cause::Arch)),
        role: Role::Through,
        ..workshop.blank()
    }
}

/// Marbles pass the mouth one behind the other, moving up one place each on the valley's pitch.
fn mouth_time_s(shape: &FloorShape, workshop: &Workshop) -> Option<f64> {
    let a = workshop.acceleration(shape.valley_rad, crate::machine::model::Channel::Plane);
    file::advance_time_s(1.0, workshop.machine.marbles.diameter_m?, a)
}

/// A single layer at a packing of 0.8 over a third of the floor, after which the heap at the mouth climbs the surround.
/// Common practice, no source.
fn places(shape: &FloorShape, workshop: &Workshop) -> Option<Room> {
    let d = workshop.machine.marbles.diameter_m?;
    let layer = 0.8 * shape.width_m * shape.depth_m / (std::f64::consts::FRAC_PI_4 * d * d);
    Some(Room::Places(((layer / 3.0) as u32).max(1)))
}

/// Times from landing to the mouth over a fixed set of spots.
fn home_times_s(shape: &FloorShape, landing: Option<Landing>, workshop: &Workshop) -> Vec<f64> {
    let roll = |length: f64, slope: f64| {
        let a = workshop.acceleration(slope, crate::machine::model::Channel::Plane).max(1e-3);
        (2.0 * length / a).sqrt()
    };
    let spots = match landing {
        Some(landing) => vec![(landing.x_m, landing.y_m)],
        None => (0..256)
            .map(|n| {
                (shape.width_m * (f64::from(n) + 0.5) / 256.0, shape.depth_m * (f64::from(n * 97 % 256) + 0.5) / 256.0)
            })
            .collect(),
    };
    spots
        .into_iter()
        .map(|(x, y)| {
            roll((x - shape.width_m / 2.0).abs(), shape.cross_rad)
                + roll((shape.depth_m - y).max(0.0), shape.valley_rad)
        })
        .collect()
}
