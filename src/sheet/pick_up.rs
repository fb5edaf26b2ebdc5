//! A wheel's pick-up on the bench sheet: what each passing pocket does, and up to which speed.

use super::wheels::{ENOUGH, Turning};
use super::{Row, Verdict};
use crate::circuit::wheel_shape;
use crate::findings::words::percent;
use crate::physics::pick_up::PickUp;

/// Chance to take that a maker would call sure enough.
const SURE: f64 = 0.9;
/// Chance to take below which wedged marbles begin to matter.
const CERTAIN: f64 = 0.995;
/// Chance of a pinch a pocket that a maker would not notice, and one that stops the wheel every few minutes.
const PINCHES: (f64, f64) = (1e-4, 0.01);
/// A pocket this much deeper than it must be, in marbles, is deep enough: our own margin.
const DEEPER: f64 = 0.1;
/// Shares of the speed at which chances are told.
const SPEEDS: [f64; 6] = [0.5, 0.75, 1.0, 1.25, 1.5, 2.0];

/// The figures; `None` where the marbles are not known.
pub fn rows(on: &Turning) -> Option<Vec<Row>> {
    let at = wheel_shape::at_pick_up(on.shape, on.wheel.pockets, on.workshop)?;
    Some(vec![depth(on, &at), now(on, &at), by_speed(on, &at), fill(on, &at), wedges(on, &at), refill(on, &at)])
}

fn depth(on: &Turning, at: &PickUp) -> Row {
    let needs = at.in_sink_m(at.marble_m / 2.0);
    let (depth, marble) = (on.shape.depth_m, at.marble_m);
    let verdict = Verdict::at_least(depth, needs + DEEPER * marble, needs);
    let out = marble - depth;
    let stands = if out > 5e-5 {
        format!("a marble stands {} out of it", on.units.length(out))
    } else {
        "a marble goes right in".to_owned()
    };
    let told = format!("{}, of which {} must be; {stands}", on.units.length(depth), on.units.length(needs));
    let mend = format!("drill {} deep", on.units.length(needs + DEEPER * marble));
    Row::judged("depth of a pocket", told, verdict, mend)
}

fn now(on: &Turning, at: &PickUp) -> Row {
    let chances = at.chances(wheel_shape::rim_speed_m_s(on.shape, on.rpm));
    let told =
        format!("take {}, miss {}, pinch {}", percent(chances.take), percent(chances.miss), percent(chances.pinch));
    let verdict = match chances {
        c if c.take >= SURE && c.pinch < PINCHES.0 => Verdict::Fine,
        c if c.take >= 0.5 && c.pinch < PINCHES.1 => Verdict::Tight,
        _ => Verdict::WontWork,
    };
    let safe = at.speed_for_take(CERTAIN).map(|speed| on.rpm_at(speed));
    let slower =
        safe.map_or("a larger bore or a steeper ramp".to_owned(), |limit| format!("stay below {limit:.1} rpm"));
    let mend = if on.shape.relieved { slower } else { format!("{slower}, or relieve the channel wall") };
    Row::judged("each pocket at the ramp", told, verdict, mend)
}

fn by_speed(on: &Turning, at: &PickUp) -> Row {
    let speeds = SPEEDS.map(|share| {
        let rpm = share * on.rpm;
        let take = at.chances(wheel_shape::rim_speed_m_s(on.shape, rpm)).take;
        format!("{rpm:.1} rpm: {}", percent(take))
    });
    Row::told("takes at", speeds.join(", "))
}

/// Up to which speed the fill that the maker wants can be had.
fn fill(on: &Turning, at: &PickUp) -> Row {
    let target = on.workshop.machine.workable.least_fill;
    let why = "faster, the trailing edge comes before the marble is in";
    let limit = at.speed_for_take(target).map(|speed| on.rpm_at(speed));
    let sure = at.speed_for_take(SURE).map_or("at no speed".to_owned(), |s| format!("up to {:.1} rpm", on.rpm_at(s)));
    let Some(limit) = limit else {
        let told = format!("below {} at any speed", percent(target));
        return Row::judged("fill", told, Verdict::WontWork, "a larger or deeper bore, or a steeper ramp");
    };
    let told = format!("over {} up to {limit:.1} rpm, 90 % {sure}: {why}", percent(target));
    let verdict = Verdict::at_least(limit / on.rpm, ENOUGH, 1.0);
    Row::judged("fill, marbles waiting", told, verdict, "turn more slowly, a larger bore, or a steeper ramp")
}

fn wedges(on: &Turning, at: &PickUp) -> Row {
    let Some((low, high)) = at.jam_band_m_s().map(|(low, high)| (on.rpm_at(low), on.rpm_at(high))) else {
        let why = if on.shape.relieved { ": the wall is cut back" } else { "" };
        return Row::told("wedges marbles", format!("at no speed{why}"));
    };
    let verdict = match on.rpm {
        rpm if rpm * ENOUGH < low || rpm > high * ENOUGH => Verdict::Fine,
        rpm if rpm < low || rpm > high => Verdict::Tight,
        _ => Verdict::WontWork,
    };
    let told = format!("from {low:.1} to {high:.1} rpm, between trailing edge and channel wall");
    Row::judged("wedges marbles", told, verdict, "turn more slowly, or relieve the channel wall")
}

/// Whether the next marble is there when the next pocket comes.
fn refill(on: &Turning, at: &PickUp) -> Row {
    let label = "next marble waits after";
    let Some(refill_s) = at.refill_s() else {
        return Row::judged(label, "no time: it does not roll", Verdict::WontWork, "a steeper ramp before the wheel");
    };
    let pocket_s = 60.0 / on.rpm / f64::from(on.wheel.pockets);
    let limit_rpm = on.rpm * pocket_s / refill_s;
    let told = format!("{refill_s:.2} s of the {pocket_s:.2} s between pockets; every pocket up to {limit_rpm:.1} rpm");
    let verdict = match limit_rpm / on.rpm {
        x if x >= ENOUGH => Verdict::Fine,
        x if x >= 1.0 || 0.5 >= on.workshop.machine.workable.least_fill => Verdict::Tight,
        _ => Verdict::WontWork,
    };
    Row::judged(label, told, verdict, "pockets pass before the file has moved up: a steeper ramp, or fewer pockets")
}
