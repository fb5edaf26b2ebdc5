//! A pocket wheel on the bench sheet.

use std::f64::consts::{PI, TAU};

use super::{Row, Units, Verdict, degrees};
use crate::circuit::drive::wheel_rpm;
use crate::circuit::wheel_shape;
use crate::circuit::workshop::Workshop;
use crate::findings::words::percent;
use crate::machine::model::{PocketWheel, WheelShape};
use crate::physics::hand_over::{height_share, mouth_width_m};
use crate::physics::release::CARRIED_OVER_RAD;
use crate::physics::{drive, pick_up};

/// Least web of wood between two pockets, metres: common practice, no source.
const LEAST_WEB_M: f64 = 0.004;
/// Chance to take that a maker would call sure enough.
const SURE: f64 = 0.9;
/// Chance to take below which wedged marbles begin to matter.
const CERTAIN: f64 = 0.995;

/// The figures of a wheel.
pub fn rows(wheel: &PocketWheel, workshop: &Workshop, units: Units) -> Vec<Row> {
    let rpm = wheel_rpm(wheel, workshop.machine);
    let mut rows = vec![
        Row::told("speed", format!("{rpm:.2} rpm, a pocket every {:.2} s", 60.0 / rpm / f64::from(wheel.pockets))),
        Row::told("indexing angle", degrees(TAU / f64::from(wheel.pockets))),
    ];
    let Some(shape) = &wheel.shape else { return rows };
    rows.extend(pockets(wheel.pockets, shape, units));
    if let Some(pick_up) = wheel_shape::at_pick_up(shape, wheel.pockets, workshop) {
        rows.extend(picking_up(&pick_up, shape, rpm));
    }
    rows.extend(letting_go(shape, rpm, workshop, units).into_iter().flatten());
    rows.extend(torque(wheel.pockets, shape, workshop));
    rows
}

fn pockets(count: u32, shape: &WheelShape, units: Units) -> Vec<Row> {
    let spacing = 2.0 * shape.pitch_radius_m * libm::sin(PI / f64::from(count));
    let web = spacing - shape.bore_m;
    let verdict = if web >= LEAST_WEB_M { Verdict::Fine } else { Verdict::Tight };
    let mend = format!("leave at least {}: fewer pockets or a larger pitch circle", units.length(LEAST_WEB_M));
    vec![
        Row::told("pocket spacing", units.length(spacing)),
        Row::judged("web between pockets", units.length(web), verdict, mend),
    ]
}

fn picking_up(pick_up: &pick_up::PickUp, shape: &WheelShape, rpm: f64) -> Vec<Row> {
    let to_rpm = |speed_m_s: f64| speed_m_s / shape.pitch_radius_m / TAU * 60.0;
    let speed = wheel_shape::rim_speed_m_s(shape, rpm);
    let chances = pick_up.chances(speed);
    let limit = pick_up.speed_for_take(SURE).map(to_rpm);
    let safe = pick_up.speed_for_take(CERTAIN).map(to_rpm);
    let band = pick_up.jam_band_m_s().map(|(low, high)| (to_rpm(low), to_rpm(high)));
    let told =
        format!("take {}, miss {}, pinch {}", percent(chances.take), percent(chances.miss), percent(chances.pinch));
    let verdict = match chances {
        c if c.take >= SURE && c.pinch < 1e-4 => Verdict::Fine,
        c if c.take >= 0.5 && c.pinch < 0.01 => Verdict::Tight,
        _ => Verdict::WontWork,
    };
    let slower =
        safe.map_or("a larger bore or a steeper ramp".to_owned(), |limit| format!("stay below {limit:.1} rpm"));
    let mend = if shape.relieved { slower } else { format!("{slower}, or relieve the channel wall") };
    vec![
        Row::told("rim speed", format!("{:.0} mm/s", speed * 1e3)),
        Row::judged("each pocket at the ramp", told, verdict, mend),
        Row::told("takes 9 in 10 up to", limit.map_or("no speed".to_owned(), |limit| format!("{limit:.1} rpm"))),
        Row::told(
            "wedges marbles",
            band.map_or("at no speed".to_owned(), |(a, b)| format!("from {a:.1} to {b:.1} rpm")),
        ),
    ]
}

fn letting_go(shape: &WheelShape, rpm: f64, workshop: &Workshop, units: Units) -> Option<Vec<Row>> {
    let lift = wheel_shape::lift(shape, workshop)?;
    let turning = wheel_shape::turning_rad_s(rpm);
    let (leave, out) = (lift.leave_rad(turning).ok()?, lift.out_rad(turning).ok()?);
    if out >= CARRIED_OVER_RAD {
        let mend = "more tilt, or turn more slowly";
        return Some(vec![Row::judged("release", "carried over the top".to_owned(), Verdict::WontWork, mend)]);
    }
    let height = shape.pitch_radius_m * (1.0 - libm::cos(leave));
    let told = format!(
        "leaves at {} past the lowest point, {} up ({} of the way)",
        degrees(leave),
        units.length(height),
        percent(height_share(leave))
    );
    let late = out > PI;
    let verdict = if late { Verdict::Tight } else { Verdict::Fine };
    let diameter = workshop.machine.marbles.diameter_m?;
    let width = mouth_width_m(shape.pitch_radius_m, leave, out, diameter, 0.002);
    Some(vec![
        Row::judged("release", told, verdict, "it is out only past the top: more tilt, or turn more slowly"),
        Row::told("out at", degrees(out)),
        Row::told("slide mouth at least", units.length(width)),
    ])
}

fn torque(count: u32, shape: &WheelShape, workshop: &Workshop) -> Option<Row> {
    let mass_kg = workshop.marble()?.mass_kg();
    let top = shape.guide_rad.unwrap_or(0.75 * PI);
    let mean = drive::mean_lift_torque_n_m(count, 1.0, mass_kg, shape.pitch_radius_m, top);
    let peak = drive::peak_lift_torque_n_m(count, mass_kg, shape.pitch_radius_m, top);
    let told = format!("{:.1} N mm on average, {:.1} at most, every pocket full", mean * 1e3, peak * 1e3);
    Some(Row::told("torque to lift", told))
}
