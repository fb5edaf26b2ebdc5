//! Marbles to buy, and what turning the wheels asks of motor, gears and battery.

use std::f64::consts::TAU;

use super::{Row, RowVerdict, Section, Units, supplies};
use crate::circuit::drive::{at_drive, drive_rpm, lift_torque_nm};
use crate::circuit::workshop::Workshop;
use crate::machine::Machine;
use crate::machine::model::{Kind, Motor, TurnedBy};
use crate::physics::gears::{self, Gear, Standing};

/// Spare marbles to buy for each that runs: one in ten. Common practice, no source.
const SPARE: f64 = 0.1;
/// Share of the stall torque that a motor can lift all day: our own margin; a quarter to a half is common practice.
const LOAD: f64 = 0.4;
/// Least teeth of a 20 degree gear that practice takes, one below where undercut begins by the formula.
const LEAST_TEETH: u32 = 17;
/// Most teeth of the gears that are proposed.
const MOST_TEETH: u32 = 80;
/// A module for wooden gears that a scroll saw can follow, metres: of ISO 54 series 1.
const WOODEN_MODULE_M: f64 = 0.005;

/// What the marbles weigh and how many to buy.
pub fn marbles(machine: &Machine, units: Units) -> Section {
    let count = machine.marbles.count;
    let buy = (f64::from(count) * (1.0 + SPARE)).ceil();
    let mut rows = vec![
        Row::plain("to buy", format!("{buy} for {count} that run")).with([("marbles", buy, "1")]),
    ];
    if let Some(element) = machine.elements.first()
        && let Some(marble) = Workshop::new(machine, element).marble()
    {
        rows.push(Row::length("diameter", marble.diameter_m, units));
        let (each, all) = (marble.mass_kg(), marble.mass_kg() * f64::from(count));
        let value = format!(
            "{} each, {} together",
            units.weight(each),
            units.weight(all)
        );
        rows.push(
            Row::plain("weight", value).with([("each", each, "kg"), ("together", all, "kg")]),
        );
    }
    Section {
        title: "marbles".to_owned(),
        rows,
    }
}

/// How fast the drive turns, and what that asks of motor, gears and battery.
pub fn drive(machine: &Machine, units: Units) -> Section {
    let mut rows = Vec::new();
    let rpm = drive_rpm(machine);
    if rpm > 0.0 {
        rows.push(
            Row::plain("speed of the drive", format!("{rpm:.2} rpm")).with([("speed", rpm, "rpm")]),
        );
    }
    let torque = lift_torque_nm(machine);
    match &machine.drive.motor {
        Some(motor) => rows.extend(driven_by(machine, motor, torque, units)),
        None if torque > 0.0 => {
            let power = torque * rpm / 60.0 * TAU;
            let value = format!(
                "{} at {rpm:.2} rpm fully loaded, {:.0} mW; a motor that stalls from {}",
                units.torque(torque),
                power * 1e3,
                units.torque(torque / LOAD)
            );
            let stalls_from = ("stall_torque_at_least", torque / LOAD, "N m");
            let row = Row::plain("asked of the drive", value);
            rows.push(row.with([
                ("torque", torque, "N m"),
                ("power", power, "W"),
                stalls_from,
            ]));
        }
        None => {}
    }
    for element in &machine.elements {
        rows.extend(wheel_gears(&element.name, &element.kind, units));
    }
    Section {
        title: "drive".to_owned(),
        rows,
    }
}

fn driven_by(machine: &Machine, motor: &Motor, torque: f64, units: Units) -> Vec<Row> {
    let shaft = at_drive(machine, motor);
    let share = torque / shaft.stall_torque_n_m;
    let value = format!(
        "{}, {:.0} % of the {} that stall it",
        units.torque(torque),
        share * 100.0,
        units.torque(shaft.stall_torque_n_m)
    );
    let verdict = RowVerdict::at_most(share, LOAD, 1.0);
    let load = Row::judged(
        "load of lifting",
        value,
        verdict,
        "a stronger motor, or more reduction",
    );
    let mut rows = vec![load.with([
        ("torque", torque, "N m"),
        ("stall_torque", shaft.stall_torque_n_m, "N m"),
    ])];
    let current = shaft.current_a(torque);
    let stalled_a = motor.stalled_a();
    let stalled = format!(
        "{:.0} mA; {stalled_a:.1} A when a jam stalls it: fuse for less",
        current * 1e3
    );
    let figures = [("current", current, "A"), ("stalled", stalled_a, "A")];
    rows.push(Row::plain("current", stalled).with(figures));
    rows.extend(supplies::rows(motor, current));
    if motor.teeth.0 != motor.teeth.1 {
        rows.extend(pair("motor's gears", motor.teeth, motor.module_m, units));
    }
    rows
}

/// A pair of gears: its ratio, sizes and whether its module can be bought.
fn pair(label: &'static str, teeth: (u32, u32), module_m: Option<f64>, units: Units) -> Vec<Row> {
    let (driver, driven) = teeth;
    let cut = if driver.min(driven) >= LEAST_TEETH {
        RowVerdict::Fine
    } else {
        RowVerdict::Tight
    };
    let value = format!(
        "{driver} on {driven} teeth, {:.3} to 1",
        gears::ratio(&[teeth])
    );
    let help =
        format!("below {LEAST_TEETH} teeth a 20 degree gear is undercut: more teeth on both");
    let ratio = ("ratio", gears::ratio(&[teeth]), "1");
    let mut rows = vec![Row::judged(label, value, cut, help).with([ratio])];
    if let Some(module_m) = module_m {
        rows.push(sizes(teeth, module_m, units));
        rows.push(module(module_m));
    }
    rows
}

fn sizes(pair: (u32, u32), module_m: f64, units: Units) -> Row {
    let gears = [pair.0, pair.1].map(|teeth| Gear { module_m, teeth });
    let [one, other] = gears.map(|gear| {
        format!(
            "{} over the tips ({} pitch)",
            units.length(gear.tip_diameter_m()),
            units.length(gear.pitch_diameter_m())
        )
    });
    let apart_m = gears::centre_distance_m(module_m, pair);
    Row::plain(
        "gears' sizes",
        format!("axles {} apart; {one} and {other}", units.length(apart_m)),
    )
    .with([
        ("axles_apart", apart_m, "m"),
        ("driver_over_tips", gears[0].tip_diameter_m(), "m"),
        ("driven_over_tips", gears[1].tip_diameter_m(), "m"),
    ])
}

fn module(module_m: f64) -> Row {
    let mm = module_m * 1e3;
    let (value, verdict) = match gears::standing(module_m) {
        Standing::Series1 => ("a preferred module (ISO 54, series 1)", RowVerdict::Fine),
        Standing::Series2 => (
            "a module of ISO 54, series 2: series 1 is easier to buy",
            RowVerdict::Fine,
        ),
        Standing::Din780 => (
            "a module in common use below 1 mm (DIN 780)",
            RowVerdict::Fine,
        ),
        Standing::NotStandard => ("in no standard list", RowVerdict::Tight),
    };
    Row::judged(
        "module",
        format!("{mm} mm: {value}"),
        verdict,
        "fine if you cut both gears; else 1, 1.5, 2, 3, 4 or 5 mm",
    )
    .with([("module", module_m, "m")])
}

/// A pair of gears that turns a wheel at its ratio, where it is not one to one.
fn wheel_gears(name: &str, kind: &Kind, units: Units) -> Option<Row> {
    let Some(TurnedBy::Drive { ratio }) = kind.turned_by() else {
        return None;
    };
    if (ratio - 1.0).abs() < 1e-9 {
        return None;
    }
    let label = "gears of a wheel";
    let Some((driver, driven)) = teeth_for(ratio) else {
        let value =
            format!("no pair of {LEAST_TEETH} to {MOST_TEETH} teeth gives `{name}` {ratio} turns");
        return Some(Row::judged(
            label,
            value,
            RowVerdict::Tight,
            "two pairs in a row, or another ratio",
        ));
    };
    let apart_m = gears::centre_distance_m(WOODEN_MODULE_M, (driver, driven));
    let apart = units.length(apart_m);
    let value = format!(
        "`{name}` {ratio} turns for one of the drive: {driver} teeth drive {driven}, axles {apart} apart at module 5 mm (ISO 54, series 1)"
    );
    let teeth = [
        ("driver_teeth", f64::from(driver), "1"),
        ("driven_teeth", f64::from(driven), "1"),
    ];
    Some(Row::plain(label, value).with([teeth[0], teeth[1], ("axles_apart", apart_m, "m")]))
}

/// The least teeth on drive and wheel, in that order, that give so many turns of the wheel for one of the drive, to one part
/// in ten thousand.
fn teeth_for(turns: f64) -> Option<(u32, u32)> {
    for driven in LEAST_TEETH..=MOST_TEETH {
        let driver = (turns * f64::from(driven)).round() as u32;
        let off = f64::from(driver) / f64::from(driven) / turns - 1.0;
        if (LEAST_TEETH..=MOST_TEETH).contains(&driver) && off.abs() < 1e-4 {
            return Some((driver, driven));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn teeth_are_the_least_that_give_the_ratio() {
        assert_eq!(teeth_for(1.1), Some((22, 20)));
        assert_eq!(teeth_for(0.5), Some((17, 34)));
        assert_eq!(teeth_for(30.0), None);
    }
}
