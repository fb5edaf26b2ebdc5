//! A wheel's release on the bench sheet: where marbles come out, what holds and catches them, and up to which speed.

use std::f64::consts::PI;

use super::sheet::{ENOUGH, Turning};
use crate::circuit::wheel_shape;
use crate::findings::words::percent;
use crate::physics::hand_over::{LiftGeometry, Spread, height_share};
use crate::physics::release::CARRIED_OVER_RAD;
use crate::sheet::pocket_exit::{GUIDE_MARGIN_RAD, PocketExit, SPREADS, guide_from_rad};
use crate::sheet::units::degrees;
use crate::sheet::{Row, RowVerdict};

/// The angle named to whoever could lift marbles higher with a guide.
const HIGHER_RAD: f64 = 150.0 * PI / 180.0;
/// Speeds between which a limit is looked for, in speeds of the wheel.
const SEARCH: (f64, f64) = (0.25, 16.0);
/// Chances to be out before the mouth's end that are fine, and tight.
const OUT_IN_TIME: (f64, f64) = (0.999, 0.95);

/// The figures; `None` where the marbles are not known or do not fit.
pub fn rows(on: &Turning) -> Option<Vec<Row>> {
    let lift = wheel_shape::lift(on.shape, on.workshop)?;
    let turning = wheel_shape::turning_rad_s(on.rpm);
    let Some(exit) = PocketExit::of(&lift, turning) else {
        let help = "more tilt, a guide that ends lower, or turn more slowly";
        let mut rows = vec![Row::judged(
            "release",
            "carried over the top",
            RowVerdict::WontWork,
            help,
        )];
        rows.extend(top_speed(on, &lift));
        return Some(rows);
    };
    let mut rows = vec![release(on, &exit)];
    rows.extend(guide(on, &lift, turning, &exit));
    rows.push(mouth(on, &exit)?);
    rows.extend(in_time(on, &lift, turning));
    rows.extend(top_speed(on, &lift));
    Some(rows)
}

fn up(on: &Turning, angle_rad: f64) -> String {
    let height = on.shape.pitch_radius_m * (1.0 - libm::cos(angle_rad));
    format!(
        "{} up, {} of the way",
        on.units.length(height),
        percent(height_share(angle_rad))
    )
}

fn release(on: &Turning, exit: &PocketExit) -> Row {
    let value = format!(
        "leaves {} past the lowest point, {}; out at {}",
        degrees(exit.leave_rad),
        up(on, exit.leave_rad),
        degrees(exit.out_rad)
    );
    let verdict = RowVerdict::at_most(exit.out_rad + SPREADS * exit.sd_rad, PI, CARRIED_OVER_RAD);
    let row = Row::judged(
        "release",
        value,
        verdict,
        "some come out only past the top: more tilt, or turn more slowly",
    );
    row.with([
        ("leaves", exit.leave_rad.to_degrees(), "deg"),
        ("out", exit.out_rad.to_degrees(), "deg"),
    ])
}

/// What the guide holds back, or what one would do.
fn guide(on: &Turning, lift: &LiftGeometry, turning: f64, exit: &PocketExit) -> Option<Row> {
    let from = guide_from_rad();
    let free = LiftGeometry {
        guide: None,
        ..*lift
    };
    let Some(end) = on.shape.guide_rad else {
        let arc = free
            .guide_arc(HIGHER_RAD, turning, on.shape.gap_m, GUIDE_MARGIN_RAD)
            .ok()??;
        let (from, to) = (degrees(arc.from_rad), degrees(arc.to_rad));
        let value = format!(
            "none; one from {from} to {to} would lift to {} ({})",
            degrees(HIGHER_RAD),
            up(on, HIGHER_RAD)
        );
        let angles = [
            ("from", arc.from_rad.to_degrees(), "deg"),
            ("to", arc.to_rad.to_degrees(), "deg"),
        ];
        return Some(Row::plain("guide", value).with(angles));
    };
    let unguided = PocketExit::of(&free, turning);
    let lower = unguided.map_or("marbles would be carried over".to_owned(), |free| {
        format!("marbles would leave at {}", degrees(free.leave_rad))
    });
    let value = format!(
        "covers {} to {}; without it {lower}",
        degrees(from),
        degrees(end)
    );
    let useless = unguided.is_some_and(|free| free.leave_rad >= exit.leave_rad - 1e-3);
    let verdict = if useless {
        RowVerdict::Tight
    } else {
        RowVerdict::Fine
    };
    let help = "it ends before marbles leave anyway: end it higher, or leave it out";
    let angles = [
        ("from", from.to_degrees(), "deg"),
        ("to", end.to_degrees(), "deg"),
    ];
    Some(Row::judged("guide", value, verdict, help).with(angles))
}

fn mouth(on: &Turning, exit: &PocketExit) -> Option<Row> {
    let marble_m = on.workshop.machine.marbles.diameter_m?;
    let width = exit.mouth_m(on.shape.pitch_radius_m, marble_m);
    let (first, last) = exit.mouth_rad();
    let value = format!(
        "at least {} wide, from {} to {}",
        on.units.length(width),
        degrees(first),
        degrees(last)
    );
    let angles = [
        ("from", first.to_degrees(), "deg"),
        ("to", last.to_degrees(), "deg"),
    ];
    Some(Row::plain("slide mouth", value).with([("width", width, "m"), angles[0], angles[1]]))
}

/// Whether marbles are out before the mouth that the file gives ends.
fn in_time(on: &Turning, lift: &LiftGeometry, turning: f64) -> Option<Row> {
    let end = on.shape.mouth_rad?;
    let chance = lift
        .chance_out_before(end, turning, &Spread::WORKSHOP)
        .ok()??;
    let verdict = RowVerdict::at_least(chance, OUT_IN_TIME.0, OUT_IN_TIME.1);
    let value = format!(
        "{} of marbles are out before the mouth ends at {}",
        percent(chance),
        degrees(end)
    );
    let row = Row::judged(
        "in time",
        value,
        verdict,
        "end the mouth later, end the guide lower, or more tilt",
    );
    Some(row.with([
        ("share", chance, "1"),
        ("mouth_ends", end.to_degrees(), "deg"),
    ]))
}

/// The speed at which marbles no longer leave in time.
fn top_speed(on: &Turning, lift: &LiftGeometry) -> Option<Row> {
    let turning = wheel_shape::turning_rad_s(on.rpm);
    let (end, place) = match on.shape.mouth_rad {
        Some(end) => (end, format!("the mouth's end at {}", degrees(end))),
        None => (PI, "the top".to_owned()),
    };
    let (low, high) = (SEARCH.0 * turning, SEARCH.1 * turning);
    let Some(top) = lift.top_speed_rad_s(end, low, high).ok()? else {
        let value = format!(
            "at no speed: not out before {place} even at {:.1} rpm",
            SEARCH.0 * on.rpm
        );
        let row = Row::judged(
            "leaves",
            value,
            RowVerdict::WontWork,
            "end the guide lower, or more tilt",
        );
        return Some(row.with([("not_even_at", SEARCH.0 * on.rpm, "rpm")]));
    };
    let share = top / turning;
    let at = if share >= SEARCH.1 { "over " } else { "" };
    let value = format!(
        "in time up to {at}{:.1} rpm: faster, it is not out before {place}",
        share * on.rpm
    );
    let verdict = RowVerdict::at_least(share, ENOUGH, 1.0);
    let row = Row::judged(
        "leaves",
        value,
        verdict,
        "turn more slowly, end the guide lower, or more tilt",
    );
    Some(row.with([("limit", share * on.rpm, "rpm")]))
}
