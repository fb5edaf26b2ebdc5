//! How fast the machine's drive turns: as the file says, or as its motor manages under the load of lifted marbles.

use std::f64::consts::TAU;

use super::workshop::Workshop;
use crate::machine::Machine;
use crate::machine::model::{Element, Lifting, Motor, PocketWheel, TurnedBy};
use crate::physics::{G, drive};

/// Fill with which the load of the motor is computed: every pocket, the worst case.
const FILL: f64 = 1.0;

/// Turns of the drive a minute; 0 where the motor cannot turn it, or nothing is said of it.
pub fn drive_rpm(machine: &Machine) -> f64 {
    match &machine.drive.motor {
        Some(motor) if machine.drive.rpm == 0.0 => loaded_rpm(machine, motor),
        _ => machine.drive.rpm,
    }
}

/// Turns of a wheel a minute.
pub fn wheel_rpm(wheel: &PocketWheel, machine: &Machine) -> f64 {
    turned_rpm(wheel.turned_by, machine)
}

/// Turns a minute of what is turned so.
pub fn turned_rpm(turned_by: TurnedBy, machine: &Machine) -> f64 {
    match turned_by {
        TurnedBy::Drive { ratio } => drive_rpm(machine) * ratio,
        TurnedBy::OwnMotor { rpm } => rpm,
    }
}

fn loaded_rpm(machine: &Machine, motor: &Motor) -> f64 {
    match at_drive(machine, motor).speed_rad_s(lift_torque_nm(machine)) {
        Some(speed_rad_s) => speed_rad_s / TAU * 60.0,
        None => 0.0,
    }
}

/// The motor as it acts on the drive's shaft, behind its gears, at its duty and on its supply.
pub fn at_drive(machine: &Machine, motor: &Motor) -> drive::DcMotor {
    let ratio = f64::from(motor.teeth.1) / f64::from(motor.teeth.0);
    let efficiency = if motor.teeth.0 == motor.teeth.1 {
        1.0
    } else {
        machine.assume.gear_efficiency
    };
    let rated = drive::DcMotor {
        stall_torque_n_m: motor.stall_torque_nm,
        no_load_rad_s: motor.no_load_rpm / 60.0 * TAU,
        stall_current_a: motor.stall_current_a,
        no_load_current_a: motor.no_load_current_a,
    };
    rated
        .at_duty(motor.duty * motor.voltage_share())
        .geared(ratio, efficiency)
}

/// Mean torque at the drive's shaft of lifting marbles in all its lifts, N m.
pub fn lift_torque_nm(machine: &Machine) -> f64 {
    let elements = machine.elements.iter();
    elements
        .filter_map(|element| torque_nm(machine, element))
        .sum()
}

/// That of one element, if it is a lift of known dimensions which the drive turns.
fn torque_nm(machine: &Machine, element: &Element) -> Option<f64> {
    let Some(TurnedBy::Drive { ratio }) = element.kind.turned_by() else {
        return None;
    };
    let mass_kg = Workshop::new(machine, element).marble()?.mass_kg();
    if let Some(lifting) = element.kind.lifting(machine.marbles.diameter_m) {
        return Some(ratio * full_torque_nm(&lifting, mass_kg));
    }
    let wheel = element.kind.wheel()?;
    let shape = wheel.shape.as_ref()?;
    let top = shape.guide_rad.unwrap_or(0.75 * std::f64::consts::PI);
    Some(
        ratio
            * drive::mean_lift_torque_n_m(wheel.pockets, FILL, mass_kg, shape.pitch_radius_m, top),
    )
}

/// Mean torque at the shaft of a lift whose seats are all taken, N m: the work of a turn, the weight of what is lifted in it
/// times the rise, over the turn's angle.
pub fn full_torque_nm(lifting: &Lifting, mass_kg: f64) -> f64 {
    let marbles = lifting.a_turn * f64::from(lifting.holds) * FILL;
    marbles * mass_kg * G * lifting.rise_m / TAU
}
