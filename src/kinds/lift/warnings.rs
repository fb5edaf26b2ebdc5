//! What there is to regret of a lift: marbles that do not roll in before its seat is past.

use super::LiftKind;
use crate::circuit::lift_speed::LiftSpeed;
use crate::findings::warnings::{Warned, WarningView};
use crate::findings::words::figure;
use crate::machine::allow::Warning;
use crate::machine::model::{DrivenLift, TurnedBy};

/// Whether marbles come in at the speed it turns.
pub fn roll_in<T: LiftKind>(lift: &DrivenLift<T>, view: &WarningView) -> Option<Warned> {
    let lifting = lift.carries.lifting(view.machine.marbles.diameter_m);
    let speed = LiftSpeed::new(&lifting, lift.turned_by, &view.workshop())?;
    if lift.pick_up.is_some() || speed.takes() {
        return None;
    }
    let (name, seat) = (&view.element.name, lifting.seat);
    let (key, easier) = T::EASIER;
    let (Some(needed), Some(limit_rpm)) = (speed.roll_in_s, speed.limit_rpm()) else {
        let what = format!("no marble rolls into a {seat} of `{name}` by itself");
        return Some(view.about_all(Warning::PickUpLimit, what, "make what leads to it steeper"));
    };
    let what = format!(
        "a {seat} of `{name}` is open to a marble for {:.2} s at {} rpm, and to roll in takes {needed:.2} s",
        speed.open_s,
        figure(speed.rpm)
    );
    if lifting.roll_in.open <= 0.0 {
        return Some(view.about_key(Warning::PickUpLimit, key, what, easier));
    }
    let rpm = match lift.turned_by {
        TurnedBy::OwnMotor { .. } => limit_rpm,
        TurnedBy::Drive { ratio } => limit_rpm / ratio,
    };
    // Rounded down: the nearest figure may lie beyond the limit.
    let below = figure((rpm * 10.0).floor() / 10.0);
    let turned = match lift.turned_by {
        TurnedBy::OwnMotor { .. } => format!("`{name}`"),
        TurnedBy::Drive { .. } => "the drive".to_owned(),
    };
    let help = format!("turn {turned} at {below} rpm or less, or {easier}");
    Some(view.about_all(Warning::PickUpLimit, what, help))
}
