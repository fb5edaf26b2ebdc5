//! A pocket wheel on the bench sheet: its pockets, and what turning it asks.

use std::f64::consts::{PI, TAU};

use super::warnings::LEAST_BORE;
use super::{pick_up, release};
use crate::circuit::drive::wheel_rpm;
use crate::circuit::wheel_shape::{rim_speed_m_s, turning_rad_s};
use crate::circuit::workshop::Workshop;
use crate::machine::model::{PocketWheel, WheelShape};
use crate::physics::drive;
use crate::sheet::entry::SheetView;
use crate::sheet::face::{LEAST_WEB_M, spacing_m};
use crate::sheet::heights;
use crate::sheet::{Row, RowVerdict, Units};

/// Pocket width over marble that works: common practice, no source.
const BORES: (f64, f64) = (1.2, 1.45);
/// Pocket width over marble outside of which it hardly does: our own margin around it.
const BORES_AT_ALL: (f64, f64) = (LEAST_BORE, 1.6);
/// A speed limit this much above the speed is far enough.
pub const ENOUGH: f64 = 1.1;

/// A wheel with dimensions, turning.
pub struct Turning<'a> {
    /// The wheel.
    pub wheel: &'a PocketWheel,
    /// Its dimensions.
    pub shape: &'a WheelShape,
    /// Its speed, turns a minute, above 0.
    pub rpm: f64,
    /// What it stands in.
    pub workshop: &'a Workshop<'a>,
    /// How figures are shown.
    pub units: Units,
}

/// The figures of a wheel.
pub fn rows(wheel: &PocketWheel, view: &SheetView) -> Vec<Row> {
    let mut rows = of_turning(wheel, &view.workshop, view.units);
    rows.extend(heights::steps(view.workshop.machine, view.n, view.units));
    rows
}

fn of_turning(wheel: &PocketWheel, workshop: &Workshop, units: Units) -> Vec<Row> {
    let rpm = wheel_rpm(wheel, workshop.machine);
    if rpm <= 0.0 {
        let help = "a stronger motor, or more reduction";
        return vec![Row::judged(
            "speed",
            "it does not turn",
            RowVerdict::WontWork,
            help,
        )];
    }
    let pocket_s = 60.0 / rpm / f64::from(wheel.pockets);
    let mut rows = vec![
        Row::plain(
            "speed",
            format!("{rpm:.2} rpm, a pocket every {pocket_s:.2} s"),
        )
        .with([("speed", rpm, "rpm"), ("pocket_every", pocket_s, "s")]),
        Row::angle("indexing angle", TAU / f64::from(wheel.pockets)),
    ];
    let Some(shape) = &wheel.shape else {
        return rows;
    };
    let turning = Turning {
        wheel,
        shape,
        rpm,
        workshop,
        units,
    };
    let rim_speed = rim_speed_m_s(shape, rpm);
    rows.push(Row::plain("rim speed", units.speed(rim_speed)).with([("speed", rim_speed, "m/s")]));
    rows.extend(pockets(&turning));
    rows.extend(bore(&turning));
    rows.extend(pick_up::rows(&turning).unwrap_or_default());
    rows.extend(release::rows(&turning).unwrap_or_default());
    rows.extend(torque(&turning).into_iter().flatten());
    rows
}

fn pockets(on: &Turning) -> Vec<Row> {
    let Some(spacing) = spacing_m(on.wheel.pockets, on.shape.pitch_radius_m) else {
        return Vec::new();
    };
    let web = spacing - on.shape.bore_m;
    let verdict = RowVerdict::at_least(web, LEAST_WEB_M, LEAST_WEB_M / 2.0);
    let help = format!(
        "leave at least {}: fewer pockets or a larger pitch circle",
        on.units.length(LEAST_WEB_M)
    );
    vec![
        Row::length("pocket spacing", spacing, on.units),
        Row::judged("web between pockets", on.units.length(web), verdict, help)
            .with([("length", web, "m")]),
    ]
}

fn bore(on: &Turning) -> Option<Row> {
    let diameter_m = on.workshop.machine.marbles.diameter_m?;
    let ratio = on.shape.bore_m / diameter_m;
    let verdict = match ratio {
        x if (BORES.0..=BORES.1).contains(&x) => RowVerdict::Fine,
        x if (BORES_AT_ALL.0..=BORES_AT_ALL.1).contains(&x) => RowVerdict::Tight,
        _ => RowVerdict::WontWork,
    };
    let (least, most) = (
        on.units.length(BORES.0 * diameter_m),
        on.units.length(BORES.1 * diameter_m),
    );
    let help = format!(
        "drill {least} to {most}, {} to {} marbles wide",
        BORES.0, BORES.1
    );
    let value = format!(
        "{}, {ratio:.2} marbles wide",
        on.units.length(on.shape.bore_m)
    );
    let figures = [
        ("width", on.shape.bore_m, "m"),
        ("marbles_wide", ratio, "1"),
    ];
    Some(Row::judged("bore of a pocket", value, verdict, help).with(figures))
}

fn torque(on: &Turning) -> Option<[Row; 2]> {
    let mass_kg = on.workshop.marble()?.mass_kg();
    let (count, radius_m) = (on.wheel.pockets, on.shape.pitch_radius_m);
    let top = on.shape.guide_rad.unwrap_or(0.75 * PI);
    let mean = drive::mean_lift_torque_n_m(count, 1.0, mass_kg, radius_m, top);
    let peak = drive::peak_lift_torque_n_m(count, mass_kg, radius_m, top);
    let value = format!(
        "{} on average, {} at most, every pocket full",
        on.units.torque(mean),
        on.units.torque(peak)
    );
    let power_w = mean * turning_rad_s(on.rpm);
    let power = format!(
        "{:.0} mW, friction of bearings and gears not counted",
        power_w * 1e3
    );
    Some([
        Row::plain("torque to lift", value).with([("mean", mean, "N m"), ("peak", peak, "N m")]),
        Row::plain("power to lift", power).with([("power", power_w, "W")]),
    ])
}
