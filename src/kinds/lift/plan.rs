//! A lift made ready to run: its seats to a clock, marbles to the top by it.

use super::LiftKind;
use crate::circuit::carousel::{CarouselState, PocketClock};
use crate::circuit::draw::{Chance, nanos};
use crate::circuit::lift_speed::LiftSpeed;
use crate::circuit::pick_up::PickUpOdds;
use crate::circuit::plan::{Plan, Role};
use crate::circuit::planned::Site;
use crate::machine::model::{DrivenLift, TurnedBy};

/// From seat to seat of a lift that nothing turns, s.
const STANDS_S: f64 = 6e7;

/// Makes a lift ready.
pub fn plan<T: LiftKind>(lift: &DrivenLift<T>, site: &Site) -> Plan {
    let workshop = &site.workshop;
    let drive = match lift.turned_by {
        TurnedBy::Drive { .. } => 0,
        TurnedBy::OwnMotor { .. } => 1 + site.n,
    };
    let lifting = lift.carries.lifting(workshop.machine.marbles.diameter_m);
    let speed = LiftSpeed::new(&lifting, lift.turned_by, workshop);
    let every_s = speed.map_or(STANDS_S, |speed| speed.every_s);
    let apart = nanos(speed.map_or(0.0, |speed| speed.open_s));
    let turn = nanos(every_s * f64::from(lifting.seats));
    let clock = PocketClock::new(turn, lifting.seats).in_groups(lifting.holds, apart);
    let pick_up = match lift.pick_up {
        Some(measured) => PickUpOdds::alike(measured.take, measured.pinch),
        None if speed.is_some_and(|speed| speed.takes()) => PickUpOdds::alike(1.0, 0.0),
        None => PickUpOdds::alike(0.0, 0.0),
    };
    // A seat has let go before it takes the next marble.
    let up = nanos(every_s * lifting.up).min(clock.turn() - 1);
    let release = Chance::new(lift.release.unwrap_or(1.0));
    let state = CarouselState::new(clock, up, pick_up, release, drive);
    Plan {
        room: lifting.seats * lifting.holds,
        role: Role::Carousel(Box::new(state.of_seats(lifting.seat, lifting.back))),
        ..workshop.blank()
    }
}
