//! A splitter bowl made ready to run: how long marbles swirl by how many are inside, then a hole by share.

use std::f64::consts::TAU;

use crate::circuit::crowd_plan;
use crate::circuit::draw::{Shares, nanos};
use crate::circuit::looked_place::LookedPlace;
use crate::circuit::marbles::marbles;
use crate::circuit::plan::{self, Plan, Role};
use crate::circuit::planned::Site;
use crate::circuit::workshop::Workshop;
use crate::contact::bowl_place::BowlPlace;
use crate::contact::crowd_counts::CameInto;
use crate::machine::assumed::ENTRY_M_S;
use crate::machine::model::{Bowl, BowlShape, Room, WhenFull};
use crate::physics::G;

/// How the holes may stand to where marbles come in, which the file does not tell: in so many ways.
const TURNS: usize = 2;

/// A marble that comes in alone.
const LONE: CameInto = CameInto {
    entrance: 0,
    class: 0,
};

/// Makes a splitter bowl ready, with a hole for each way.
pub fn plan(bowl: &Bowl, site: &Site) -> Plan {
    let workshop = &site.workshop;
    let seen = site.crowd();
    let (mut hole_time_s, mut room) = (bowl.hole_time_s, bowl.room);
    if let Some(shape) = &bowl.shape {
        hole_time_s = hole_time_s.or(workshop.machine.marbles.diameter_m.map(passing_s));
        room = room.or(places(shape, workshop));
    }
    let entrances = site.entrances.len();
    let (travel, by_crowd) = crowd_plan::travel(bowl.swirl.as_ref(), seen, entrances);
    Plan {
        room: plan::room(room),
        spills: bowl.when_full == WhenFull::Spill,
        travel,
        by_crowd,
        thrown_out: seen.map_or(Vec::new(), crowd_plan::thrown_out),
        overtaking: true,
        stalls: seen.is_some_and(|counts| counts.times_s(LONE).is_empty()),
        advance: nanos(hole_time_s.unwrap_or(0.0)),
        blockage: crowd_plan::arches(bowl.arch.as_ref(), seen),
        followed: crowd_plan::followed(bowl.arch.as_ref(), seen),
        role: Role::RandomGate(Shares::new(&bowl.shares, site.ways)),
        ..workshop.blank()
    }
}

/// Where a close look is taken, where there are dimensions and the swirl was not measured; marbles of all entrances swirl alike.
pub fn looked_place(bowl: &Bowl, site: &Site) -> Option<LookedPlace> {
    let shape = bowl.shape.as_ref().filter(|_| bowl.swirl.is_none())?;
    let mut places = Vec::new();
    for turn in 0..TURNS {
        let share = (turn as f64 + 0.5) / (TURNS * site.ways.max(1)) as f64;
        places.push(BowlPlace {
            turn_rad: TAU * share,
            ..place(shape, site.ways, &site.workshop)?
        });
    }
    Some(LookedPlace::InBowls(places))
}

/// The bowl as a close look follows marbles in it; `None` where the marbles are not known.
fn place(shape: &BowlShape, holes: usize, workshop: &Workshop) -> Option<BowlPlace> {
    let carried = Some(workshop.entry_speed_m_s()).filter(|&speed| speed > 0.0);
    let entry_m_s = shape.entry_m_s.or(carried).unwrap_or(ENTRY_M_S.0);
    Some(BowlPlace {
        marbles: marbles(workshop)?,
        width_m: shape.width_m,
        depth_m: shape.depth_m,
        holes,
        hole_m: shape.hole_m,
        hole_circle_m: shape.hole_circle_m,
        turn_rad: 0.0,
        fenced: shape.fenced,
        entry_m_s,
        entry_sd_m_s: workshop.machine.assume.entry_scatter * entry_m_s,
        inward_rad: shape.inward_rad,
    })
}

/// Time a marble takes to drop clear through a hole from its lip, s: sqrt(2 d/g).
fn passing_s(diameter_m: f64) -> f64 {
    (2.0 * diameter_m / G).sqrt()
}

/// A bowl takes marbles until they cover a quarter of it. Common practice, no source.
fn places(shape: &BowlShape, workshop: &Workshop) -> Option<Room> {
    let across = shape.width_m / workshop.machine.marbles.diameter_m?;
    Some(Room::Places(((across * across / 4.0) as u32).max(1)))
}
