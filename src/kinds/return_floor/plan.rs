//! A return floor made ready to run: from where each marble lands to the mouth, and one at a time through it.

use crate::circuit::draw::{Chance, Draw, nanos};
use crate::circuit::plan::{Blockage, Cause, Plan, blockage, room};
use crate::circuit::planned::{Floors, Site};
use crate::circuit::quantile::normal;
use crate::circuit::workshop::Workshop;
use crate::machine::law::TimeLaw;
use crate::machine::model::{FloorShape, Landing, ReturnFloor, Room, WhenFull};
use crate::physics::floor::{self, Floor, Homecoming};
use crate::physics::material::Marble;
use crate::physics::mouth::{self, Mouth};
use crate::physics::queue_advance;

/// Makes a return floor ready.
pub fn plan(floor: &ReturnFloor, site: &Site) -> Plan {
    let workshop = &site.workshop;
    let thinned = match site.floors {
        Floors::Follow(thinned) => thinned,
        Floors::Like(other) => return other.nodes[site.n].clone(),
    };
    let travel = site
        .entrances
        .iter()
        .map(|entrance| match (&floor.time, floor.shape) {
            (Some(law), _) => Draw::new(law),
            (None, Some(shape)) => Draw::new(&TimeLaw::Samples {
                times_s: home_times_s(&shape, entrance.landing, thinned, workshop),
            }),
            (None, None) => Draw::Fixed(0),
        });
    let (mut mouth_time, mut places) = (floor.mouth_time_s, floor.room);
    if let Some(shape) = &floor.shape {
        mouth_time = mouth_time.or(mouth_time_s(shape, workshop));
        places = places.or(places_on(shape, workshop));
    }
    Plan {
        room: room(places),
        spills: floor.when_full == WhenFull::Spill,
        travel: travel.collect(),
        overtaking: true,
        collects: true,
        advance: nanos(mouth_time.unwrap_or(0.0)),
        blockage: match (&floor.arch, &floor.shape) {
            (Some(arch), _) => Some(blockage(arch, Cause::Arch)),
            (None, Some(shape)) => arching(shape, workshop),
            (None, None) => None,
        },
        ..workshop.blank()
    }
}

/// Marbles pass the mouth one behind the other, moving up one place each on the valley's pitch.
fn mouth_time_s(shape: &FloorShape, workshop: &Workshop) -> Option<f64> {
    let a = workshop.acceleration(shape.valley_rad, crate::machine::model::Channel::Plane);
    queue_advance::advance_time_s(
        queue_advance::ARRIVED_SHARE,
        workshop.machine.marbles.diameter_m?,
        a,
    )
}

/// A single layer at a packing of 0.8 over a third of the floor, after which the heap at the mouth climbs the surround.
/// Common practice, no source.
fn places_on(shape: &FloorShape, workshop: &Workshop) -> Option<Room> {
    let d = workshop.machine.marbles.diameter_m?;
    let layer = 0.8 * shape.width_m * shape.depth_m / (std::f64::consts::FRAC_PI_4 * d * d);
    Some(Room::Places(((layer / 3.0) as u32).max(1)))
}

/// Spots from which marbles are followed home, over the whole floor.
const SPOTS: usize = 96;
/// Spots about one landing, where times differ less.
const SPOTS_ABOUT_LANDING: usize = 32;

/// Times from the fall to the mouth over a fixed set of spots, each marble followed by itself.
fn home_times_s(
    shape: &FloorShape,
    landing: Option<Landing>,
    thinned: usize,
    workshop: &Workshop,
) -> Vec<f64> {
    let Some(marble) = workshop.marble() else {
        return vec![0.0];
    };
    let spots = spots(shape, landing, thinned, marble.radius_m());
    let times: Vec<f64> = homecomings(shape, &spots, &marble, workshop)
        .map(|home| home.time_s)
        .collect();
    // Nothing comes home on a floor too flat to roll on: its marbles stay for good.
    if times.is_empty() {
        vec![crate::machine::limits::LONGEST_TIME_S]
    } else {
        times
    }
}

/// One in so many of the usual spots shows how fast marbles come out of the mouth.
const THINNED_FOR_SPEED: usize = 12;

/// Mean speed at which marbles that meet nobody come out of the mouth, m/s; `None` where no dimensions tell it.
pub fn mouth_speed_m_s(floor: &ReturnFloor, workshop: &Workshop) -> Option<f64> {
    let (shape, marble) = (floor.shape?, workshop.marble()?);
    let spots = spots(&shape, None, THINNED_FOR_SPEED, marble.radius_m());
    let (mut sum, mut home) = (0.0, 0.0);
    for homecoming in homecomings(&shape, &spots, &marble, workshop) {
        (sum, home) = (sum + homecoming.speed_m_s, home + 1.0);
    }
    (home > 0.0).then(|| sum / home)
}

/// Marbles followed home from `spots`, those that come.
fn homecomings<'a>(
    shape: &'a FloorShape,
    spots: &'a [(f64, f64)],
    marble: &'a Marble,
    workshop: &Workshop,
) -> impl Iterator<Item = Homecoming> + 'a {
    let floor = Floor {
        length_m: shape.depth_m,
        width_m: shape.width_m,
        cross_pitch_rad: shape.cross_rad,
        valley_pitch_rad: shape.valley_rad,
        mouth_m: shape.mouth_m,
        surface: workshop.surface(),
    };
    spots
        .iter()
        .filter_map(move |&(x, y)| floor::roll_home(x, y, &floor, marble, shape.fall_m))
}

/// Spots on the floor, along the valley and across it from its middle: Halton's points (bases 2 and 3) over the whole
/// floor, or scattered about a landing by the normal law.
fn spots(
    shape: &FloorShape,
    landing: Option<Landing>,
    thinned: usize,
    radius_m: f64,
) -> Vec<(f64, f64)> {
    let (length, half) = (shape.depth_m, shape.width_m / 2.0);
    let count = if landing.is_some() {
        SPOTS_ABOUT_LANDING
    } else {
        SPOTS
    } / thinned.max(1);
    (1..=count)
        .map(|k| {
            let (u, v) = (floor::van_der_corput(k, 2), floor::van_der_corput(k, 3));
            let (x, y) = match landing {
                Some(at) => (
                    at.y_m + at.spread_m * normal(u),
                    at.x_m - half + at.spread_m * normal(v),
                ),
                None => (length * u, half * (2.0 * v - 1.0)),
            };
            (
                x.clamp(radius_m, length - radius_m),
                y.clamp(radius_m - half, half - radius_m),
            )
        })
        .collect()
}

/// Chance that a marble reaching the mouth arches there with those it meets, by their number.
fn arching(shape: &FloorShape, workshop: &Workshop) -> Option<Blockage> {
    let diameter_m = workshop.machine.marbles.diameter_m?;
    let mouth = Mouth {
        opening_m: shape.mouth_m,
        slope_rad: shape.valley_rad,
        surface: workshop.surface(),
    };
    let chance = (0..=MOST_MET).map(|met| Chance::new(mouth::hazard(met, &mouth, diameter_m)));
    Some(Blockage {
        chance: chance.collect(),
        clears: None,
        cause: Cause::Arch,
        counterfactual: None,
    })
}

/// The chance of an arch hardly grows beyond so many marbles waiting.
const MOST_MET: u32 = 24;
