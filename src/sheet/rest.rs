//! Marbles, drive, and the elements of which the sheet has only times to tell.

use super::{Row, Section, Verdict};
use crate::circuit::draw::{Draw, seconds};
use crate::circuit::drive::{at_drive, drive_rpm, lift_torque_nm};
use crate::circuit::plan::{Plan, Role};
use crate::circuit::workshop::Workshop;
use crate::machine::Machine;
use crate::physics::drive::ALKALINE_AA_TESTED;

/// Spare marbles to buy for each that runs: one in ten. Common practice, no source.
const SPARE: f64 = 0.1;

/// What the marbles weigh and how many to buy.
pub fn marbles(machine: &Machine) -> Section {
    let count = machine.marbles.count;
    let buy = (f64::from(count) * (1.0 + SPARE)).ceil();
    let mut rows = vec![Row::told("to buy", format!("{buy} for {count} that run"))];
    let mass = machine.elements.first().and_then(|e| Workshop::new(machine, e).marble()).map(|m| m.mass_kg());
    if let Some(mass_kg) = mass {
        let told = format!("{:.2} g each, {:.0} g together", mass_kg * 1e3, mass_kg * f64::from(count) * 1e3);
        rows.push(Row::told("weight", told));
    }
    Section { title: "marbles".to_owned(), rows }
}

/// How fast the drive turns, and what that asks of motor and battery.
pub fn drive(machine: &Machine) -> Section {
    let mut rows = Vec::new();
    let rpm = drive_rpm(machine);
    if let Some(motor) = &machine.drive.motor {
        let torque = lift_torque_nm(machine);
        let at_drive = at_drive(motor);
        let share = torque / at_drive.stall_torque_n_m;
        let verdict = match share {
            x if x < 0.4 => Verdict::Fine,
            x if x < 1.0 => Verdict::Tight,
            _ => Verdict::WontWork,
        };
        let told = format!("{:.0} % of what stalls it", share * 100.0);
        rows.push(Row::judged("load of lifting", told, verdict, "a stronger motor, or more reduction"));
        let current = at_drive.current_a(torque);
        rows.push(Row::told("current", format!("{:.0} mA", current * 1e3)));
        if motor.cells.is_some()
            && let Some(hours) = ALKALINE_AA_TESTED.hours(current, 1)
        {
            rows.push(Row::told("alkaline AA cells last about", format!("{hours:.1} h")));
        }
    }
    if rpm > 0.0 {
        rows.push(Row::told("speed of the drive", format!("{rpm:.2} rpm")));
    }
    Section { title: "drive".to_owned(), rows }
}

/// Times and rooms of bowls, escapements and floors.
pub fn timed(plan: &Plan) -> Vec<Row> {
    let draw = match &plan.role {
        Role::Escapement(time) => Some(time),
        _ => plan.travel.first(),
    };
    let mut rows = vec![Row::told("room", plan.places().map_or("any number".to_owned(), |n| n.to_string()))];
    rows.extend(draw.map(|draw| Row::told("takes", spread(draw))));
    if plan.advance > 0 {
        rows.push(Row::told("one passes every", format!("{:.2} s", seconds(plan.advance))));
    }
    rows
}

/// Median and 5 to 95 % of a time.
fn spread(draw: &Draw) -> String {
    let [low, middle, high] = [0.05, 0.5, 0.95].map(|p| seconds(draw.quantile(p)));
    if low == high { format!("{middle:.2} s") } else { format!("{middle:.2} s, 9 in 10 from {low:.2} to {high:.2} s") }
}
