//! A pocket wheel made ready to run: its dimensions to its clock, its chances at the pick-up and where its marbles come out.

use std::f64::consts::PI;

use crate::circuit::carousel::{CarouselState, PocketClock};
use crate::circuit::draw::{Chance, Nanos, nanos};
use crate::circuit::drive::wheel_rpm;
use crate::circuit::pick_up::PickUpOdds;
use crate::circuit::plan::{Plan, Role};
use crate::circuit::planned::Site;
use crate::circuit::wheel_shape::{hand_over, rim_speed_m_s};
use crate::machine::model::{Lift, PocketWheel, TurnedBy};

/// Makes a pocket wheel ready; without a look at its place every pocket takes the waiting marble.
pub fn plan(wheel: &PocketWheel, site: &Site) -> Plan {
    let workshop = &site.workshop;
    let drive = match wheel.turned_by {
        TurnedBy::Drive { .. } => 0,
        TurnedBy::OwnMotor { .. } => 1 + site.n,
    };
    let rpm = wheel_rpm(wheel, workshop.machine);
    let turn_s = 60.0 / rpm.max(1e-6);
    let (mut out, mut looked, mut open_s) = (None, None, 0.0);
    if let Some(shape) = &wheel.shape {
        out = hand_over(shape, rpm, workshop);
        looked = site.pick_up().cloned();
        if looked.is_some() {
            open_s = shape.bore_m / rim_speed_m_s(shape, rpm);
        }
    }
    // What a pocket does is settled when all of its mouth has passed the lowest point.
    let settled_s = open_s / 2.0;
    let lift = match (wheel.lift, out) {
        (Some(Lift::Time(time_s)), _) => nanos(time_s),
        (Some(Lift::Arc(arc_rad)), _) | (None, Some((arc_rad, _))) => {
            nanos(turn_s * arc_rad / (2.0 * PI)).saturating_sub(nanos(settled_s))
        }
        (None, None) => nanos(turn_s / 2.0).saturating_sub(nanos(settled_s)),
    };
    let pick_up = match (looked, wheel.pick_up) {
        (Some(counts), _) => PickUpOdds::looked(counts, nanos(open_s)),
        (None, Some(measured)) => PickUpOdds::alike(measured.take, measured.pinch),
        (None, None) => PickUpOdds::alike(1.0, 0.0),
    };
    let phase = phase(wheel, turn_s, settled_s);
    let clock = PocketClock::new(nanos(turn_s), wheel.pockets).starting_at(phase);
    let release = wheel
        .release
        .or(out.map(|(_, chance)| chance))
        .unwrap_or(1.0);
    // However long the lift was measured to take, a pocket has let go before it takes the next marble.
    let lift = lift.min(clock.turn() - 1);
    Plan {
        room: wheel.pockets,
        role: Role::Carousel(Box::new(CarouselState::new(
            clock,
            lift,
            pick_up,
            Chance::new(release),
            drive,
        ))),
        ..workshop.blank()
    }
}

/// When the first pocket is settled. A wheel has pockets all round: where the first stands counts only to the next.
fn phase(wheel: &PocketWheel, turn_s: f64, settled_s: f64) -> Nanos {
    let pocket_s = turn_s / f64::from(wheel.pockets.max(1));
    let stands =
        pocket_s * (wheel.phase_rad / (2.0 * PI) * f64::from(wheel.pockets)).rem_euclid(1.0);
    let phase = nanos((stands + settled_s) % pocket_s);
    // A whole number of pockets that came out of the division a hair below itself.
    if phase < nanos(pocket_s) { phase } else { 0 }
}
