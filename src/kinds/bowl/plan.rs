//! A splitter bowl made ready to run: a random swirl, several marbles at once, then a hole by share.

use crate::circuit::draw::{Draw, Shares, nanos};
use crate::circuit::plan::{self, Cause, Plan, Role, blockage};
use crate::circuit::planned::Site;
use crate::circuit::workshop::Workshop;
use crate::machine::assumed::ENTRY_M_S;
use crate::machine::law::TimeLaw;
use crate::machine::model::{Bowl, BowlShape, Room, WhenFull};
use crate::physics::bowl::{self as physics, BowlEntry, Hollow};
use crate::physics::bowl_crowd;

/// Makes a splitter bowl ready, with a hole for each way.
pub fn plan(bowl: &Bowl, site: &Site) -> Plan {
    let (holes, workshop) = (site.ways, &site.workshop);
    let (mut swirl, mut hole_time_s, mut room) = (bowl.swirl.clone(), bowl.hole_time_s, bowl.room);
    if let Some(shape) = &bowl.shape {
        let diameter_m = workshop.machine.marbles.diameter_m;
        swirl = swirl.or_else(|| swirl_law(shape, holes, workshop));
        hole_time_s = hole_time_s.or(diameter_m.map(bowl_crowd::passing_s));
        room = room.or(places(shape, workshop));
    }
    let stalls = swirl.is_none();
    let swirl = swirl.unwrap_or(TimeLaw::Fixed { time_s: 0.0 });
    Plan {
        room: plan::room(room),
        spills: bowl.when_full == WhenFull::Spill,
        travel: vec![Draw::new(&swirl)],
        overtaking: true,
        stalls,
        advance: nanos(hole_time_s.unwrap_or(0.0)),
        blockage: bowl.arch.as_ref().map(|arch| blockage(arch, Cause::Arch)),
        role: Role::RandomGate(Shares::new(&bowl.shares, holes)),
        ..workshop.blank()
    }
}

/// How far inside the rim marbles come in, metres.
const INSET_M: f64 = 0.002;

/// How long one marble swirls before a hole takes it; `None` where it comes to rest in the bowl.
fn swirl_law(shape: &BowlShape, holes: usize, workshop: &Workshop) -> Option<TimeLaw> {
    let marble = workshop.marble()?;
    let hollow = Hollow {
        width_m: shape.width_m,
        depth_m: shape.depth_m,
    };
    let holes = physics::even_holes(holes, shape.hole_circle_m, shape.hole_m);
    let bowl = physics::BowlSurface {
        hollow,
        holes,
        surface: workshop.surface(),
    };
    let carried = Some(workshop.entry_speed_m_s()).filter(|&speed| speed > 0.0);
    let speed_m_s = shape.entry_m_s.or(carried).unwrap_or(ENTRY_M_S.0);
    let entry = BowlEntry {
        speed_m_s,
        inset_m: INSET_M,
    };
    let dwell = physics::dwell(
        &bowl,
        &marble,
        entry,
        workshop.machine.assume.entry_scatter * speed_m_s,
    )?;
    Some(TimeLaw::Lognormal {
        mean_s: dwell.mean_s,
        sd_s: dwell.sd_s,
    })
}

/// A bowl takes marbles until they cover a quarter of it; beyond that they throw each other over the rim.
/// Common practice, no source.
fn places(shape: &BowlShape, workshop: &Workshop) -> Option<Room> {
    let across = shape.width_m / workshop.machine.marbles.diameter_m?;
    Some(Room::Places(((across * across / 4.0) as u32).max(1)))
}
