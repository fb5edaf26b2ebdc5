//! A lift on the bench sheet: how often it takes and how much, whether marbles come in, and what turning it asks.

use super::LiftKind;
use crate::circuit::drive::full_torque_nm;
use crate::circuit::lift_speed::LiftSpeed;
use crate::circuit::wheel_shape::turning_rad_s;
use crate::machine::model::{DrivenLift, Lifting};
use crate::sheet::entry::SheetView;
use crate::sheet::{Row, RowVerdict, heights, time};

/// A speed limit this much above the speed is far enough: our own margin.
const ENOUGH: f64 = 1.1;

/// The figures of a lift.
pub fn rows<T: LiftKind>(lift: &DrivenLift<T>, view: &SheetView) -> Vec<Row> {
    let workshop = &view.workshop;
    let lifting = lift.carries.lifting(workshop.machine.marbles.diameter_m);
    let Some(speed) = LiftSpeed::new(&lifting, lift.turned_by, workshop) else {
        let help = "a stronger motor, or more reduction";
        let stands = "it does not turn";
        return vec![Row::judged("speed", stands, RowVerdict::WontWork, help)];
    };
    let mut rows = vec![
        often(&lifting, &speed),
        carries(&lifting, &speed),
        Row::length("lifts by", lifting.rise_m, view.units),
        time("takes to the top", speed.every_s * lifting.up),
    ];
    rows.extend(lift.carries.rows(view, lift.turned_by));
    if lift.pick_up.is_none() {
        rows.extend(roll_in::<T>(&lifting, &speed));
    }
    rows.extend(torque(&lifting, &speed, view).into_iter().flatten());
    rows.extend(heights::exits(workshop.machine, view.n, view.units));
    rows
}

fn often(lifting: &Lifting, speed: &LiftSpeed) -> Row {
    let value = format!(
        "{:.2} rpm, a {} every {:.2} s",
        speed.rpm, lifting.seat, speed.every_s
    );
    Row::plain("speed", value).with([("speed", speed.rpm, "rpm"), ("every", speed.every_s, "s")])
}

fn carries(lifting: &Lifting, speed: &LiftSpeed) -> Row {
    let seats = 60.0 / speed.every_s;
    let marbles = seats * f64::from(lifting.holds);
    let value = format!("{marbles:.1} marbles a minute, if none goes up empty");
    let figures = [
        ("marbles_per_min", marbles, "1/min"),
        ("seats_per_min", seats, "1/min"),
    ];
    Row::plain("carries at most", value).with(figures)
}

fn roll_in<T: LiftKind>(lifting: &Lifting, speed: &LiftSpeed) -> Option<Row> {
    let label = "marbles roll in";
    let (_, easier) = T::EASIER;
    if speed.stalls {
        let help = "make what leads to it steeper";
        let value = "no marble rolls in by itself";
        return Some(Row::judged(label, value, RowVerdict::WontWork, help));
    }
    let (needed, limit) = (speed.roll_in_s?, speed.limit_rpm()?);
    let verdict = RowVerdict::at_least(limit, ENOUGH * speed.rpm, speed.rpm);
    let value = format!(
        "in {needed:.2} s, and a {} is open to each for {:.2} s: up to {limit:.1} rpm; not looked at closely",
        lifting.seat, speed.open_s
    );
    let help = format!("turn it more slowly, or {easier}");
    let figures = [
        ("needs", needed, "s"),
        ("open", speed.open_s, "s"),
        ("limit", limit, "rpm"),
    ];
    Some(Row::judged(label, value, verdict, help).with(figures))
}

fn torque(lifting: &Lifting, speed: &LiftSpeed, view: &SheetView) -> Option<[Row; 2]> {
    let mass_kg = view.workshop.marble()?.mass_kg();
    let mean = full_torque_nm(lifting, mass_kg);
    let value = format!(
        "{} on average, every {} full",
        view.units.torque(mean),
        lifting.seat
    );
    let power_w = mean * turning_rad_s(speed.rpm);
    let power = format!(
        "{:.0} mW, friction of guides, bearings and gears not counted",
        power_w * 1e3
    );
    Some([
        Row::plain("torque to lift", value).with([("mean", mean, "N m")]),
        Row::plain("power to lift", power).with([("power", power_w, "W")]),
    ])
}
