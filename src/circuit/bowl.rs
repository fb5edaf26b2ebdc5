//! The splitter bowl: a random swirl, several marbles at once, then a hole by share.

use super::build::{room, snag};
use super::draw::{Draw, Shares, nanos};
use super::plan::{Cause, Plan, Role};
use super::workshop::Workshop;
use crate::machine::law::TimeLaw;
use crate::machine::model::{Bowl, WhenFull};

/// Makes a splitter bowl of so many holes ready.
pub fn plan(bowl: &Bowl, holes: usize, workshop: &Workshop) -> Plan {
    let swirl = bowl.swirl.clone().unwrap_or(TimeLaw::Fixed { time_s: 0.0 });
    Plan {
        room: room(bowl.room),
        spills: bowl.when_full == WhenFull::Spill,
        travel: vec![Draw::new(&swirl)],
        overtaking: true,
        advance: nanos(bowl.hole_time_s.unwrap_or(0.0)),
        snag: bowl.arch.as_ref().map(|arch| snag(arch, Cause::Arch)),
        role: Role::Holes(Shares::new(&bowl.shares, holes)),
        ..workshop.blank()
    }
}
