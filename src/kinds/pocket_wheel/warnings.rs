//! What there is to regret of a pocket wheel: pockets that fit no marble, speeds beyond a limit, a wheel too slow for the one
//! before.

use crate::circuit::drive::wheel_rpm;
use crate::circuit::wheel_shape;
use crate::circuit::workshop::Workshop;
use crate::findings::warnings::{Warned, WarningView};
use crate::findings::words::{figure, percent};
use crate::machine::Machine;
use crate::machine::allow::Warning;
use crate::machine::model::{Element, PocketWheel, TurnedBy, WheelShape};
use crate::physics::capture_limit::RampAtWheel;

/// Share of marbles that a wheel should take, and hand over, in one go: nine in ten.
const SURE: f64 = 0.9;
/// Narrowest pocket, in marbles, into which marbles come off a ramp that is not built to a hair: common practice, no
/// source.
pub const LEAST_BORE: f64 = 1.1;
/// Slowest speed at which a limit is looked for, turns a minute.
const SLOWEST_RPM: f64 = 0.1;

/// All that there is to regret of a wheel.
pub fn warnings(wheel: &PocketWheel, view: &WarningView) -> Vec<Warned> {
    let workshop = view.workshop();
    let mut all: Vec<Warned> = slower(wheel, view).into_iter().collect();
    let (Some(shape), Some(diameter_m)) = (&wheel.shape, view.machine.marbles.diameter_m) else {
        return all;
    };
    if shape.depth_m <= diameter_m / 2.0 {
        // In so shallow a pocket neither picking up nor letting go means anything.
        all.push(shallow(shape, diameter_m, view));
        return all;
    }
    all.extend(two_at_once(shape, diameter_m, view));
    if wheel.pick_up.is_none()
        && let Some(ramp) = wheel_shape::at_pick_up(shape, &workshop)
    {
        all.extend(pick_up(wheel, shape, &ramp, view));
    }
    if wheel.lift.is_none() && wheel.release.is_none() {
        all.extend(release(wheel, shape, view));
    }
    all
}

fn two_at_once(shape: &WheelShape, diameter_m: f64, view: &WarningView) -> Option<Warned> {
    if shape.bore_m < 2.0 * diameter_m {
        return None;
    }
    let (bore, marble) = (
        view.system.length(shape.bore_m),
        view.system.length(diameter_m),
    );
    let what = format!(
        "two marbles of {marble} fit side by side into a pocket of {bore} of `{}`",
        view.element.name
    );
    let help = "drill it narrower than two marbles";
    Some(view.about_key(Warning::Bore, "bore", what, help))
}

fn shallow(shape: &WheelShape, diameter_m: f64, view: &WarningView) -> Warned {
    let (depth, marble) = (
        view.system.length(shape.depth_m),
        view.system.length(diameter_m),
    );
    let what = format!(
        "a marble of {marble} stands more than half out of the pockets of `{}`, {depth} deep",
        view.element.name
    );
    let help = format!(
        "drill them deeper than {}",
        view.system.length(diameter_m / 2.0)
    );
    view.about_key(Warning::ShallowPocket, "depth", what, help)
}

/// Whether its pockets take the marbles that wait, at the speed it turns.
fn pick_up(
    wheel: &PocketWheel,
    shape: &WheelShape,
    at: &RampAtWheel,
    view: &WarningView,
) -> Option<Warned> {
    let name = &view.element.name;
    let rpm = wheel_rpm(wheel, view.machine);
    let speed = wheel_shape::rim_speed_m_s(shape, rpm);
    let limit = at.face_speed_m_s();
    if limit <= 0.0 {
        let (bore, marble) = (
            view.system.length(shape.bore_m),
            view.system.length(at.marble_m),
        );
        let what =
            format!("no marble of {marble} rolls into a pocket of {bore} of `{name}` by itself");
        let help = "drill it wider, or make the ramp before it steeper";
        return Some(view.about_key(Warning::Bore, "bore", what, help));
    }
    if shape.bore_m < LEAST_BORE * at.marble_m {
        let (bore, play) = (
            view.system.length(shape.bore_m),
            view.system.length(shape.bore_m - at.marble_m),
        );
        let what = format!("a pocket of {bore} of `{name}` leaves a marble only {play} of play");
        let help = format!(
            "drill it {} wide or more",
            view.system.length(LEAST_BORE * at.marble_m)
        );
        return Some(view.about_key(Warning::Bore, "bore", what, help));
    }
    if speed <= limit {
        return None;
    }
    let (rpm, limit_rpm) = (figure(rpm), rpm * limit / speed);
    let what = format!(
        "`{name}` turns at {rpm} rpm, where a pocket is past before a marble has rolled in by itself; `run` looks closer"
    );
    Some(view.about_all(Warning::PickUpLimit, what, slow_to(wheel, limit_rpm, name)))
}

/// How to turn a wheel at this speed or less: by its own motor, its gears or the drive.
fn slow_to(wheel: &PocketWheel, rpm: f64, name: &str) -> String {
    let motor_rpm = match wheel.turned_by {
        TurnedBy::OwnMotor { .. } => rpm,
        TurnedBy::Drive { ratio } => rpm / ratio,
    };
    // Rounded down: the nearest figure may lie beyond the limit.
    let below = figure((motor_rpm * 10.0).floor() / 10.0);
    match wheel.turned_by {
        TurnedBy::OwnMotor { .. } => format!("turn `{name}` at {below} rpm or less"),
        TurnedBy::Drive { ratio: 1.0 } => format!("turn the drive at {below} rpm or less"),
        TurnedBy::Drive { .. } => {
            format!("turn the drive at {below} rpm or less, or gear `{name}` down")
        }
    }
}

/// Whether marbles roll out before the slide's mouth is past.
fn release(wheel: &PocketWheel, shape: &WheelShape, view: &WarningView) -> Option<Warned> {
    let workshop = &view.workshop();
    let name = &view.element.name;
    let rpm = wheel_rpm(wheel, view.machine);
    let (_, at_speed) = wheel_shape::hand_over(shape, rpm, workshop)?;
    if at_speed >= SURE {
        return None;
    }
    let what = format!(
        "`{name}` turns at {} rpm and lets {} of its marbles out in time",
        figure(rpm),
        percent(at_speed)
    );
    let help = match fastest_release_rpm(shape, rpm, workshop) {
        None => "give its pockets more tilt, or end the slide's mouth later: slower does not help"
            .to_owned(),
        Some(rpm) => format!(
            "{}, or give its pockets more tilt",
            slow_to(wheel, rpm, name)
        ),
    };
    Some(view.about_all(Warning::ReleaseLimit, what, help))
}

/// The fastest speed up to `rpm` at which a wheel surely hands over; `None` where it would not, however slowly it turned.
fn fastest_release_rpm(shape: &WheelShape, rpm: f64, workshop: &Workshop) -> Option<f64> {
    if !lets_go(shape, SLOWEST_RPM, workshop) {
        return None;
    }
    let (mut slow, mut fast) = (SLOWEST_RPM, rpm);
    for _ in 0..12 {
        let middle = (slow + fast) / 2.0;
        if lets_go(shape, middle, workshop) {
            slow = middle
        } else {
            fast = middle
        }
    }
    Some(slow)
}

fn lets_go(shape: &WheelShape, rpm: f64, workshop: &Workshop) -> bool {
    match wheel_shape::hand_over(shape, rpm, workshop) {
        Some((_, chance)) => chance >= SURE,
        None => false,
    }
}

/// Whether the wheel that feeds this one, by slides alone, brings more than it can carry.
fn slower(wheel: &PocketWheel, view: &WarningView) -> Option<Warned> {
    let mut elements = view.machine.elements.iter();
    let before = elements.find(|before| {
        before.kind.wheel().is_some()
            && before.name != view.element.name
            && wheel_after(before, view.machine) == Some(view.n)
    })?;
    let own = pockets_per_min(wheel, view.machine);
    let brought = pockets_per_min(before.kind.wheel()?, view.machine);
    // Gear ratios are rounded to what a tooth count gives: a thousandth is no difference.
    if own >= 0.999 * brought {
        return None;
    }
    let what = format!(
        "`{}` carries at most {} marbles a minute, and `{}` before it brings up to {}",
        view.element.name,
        figure(own),
        before.name,
        figure(brought)
    );
    let help = "turn it faster, or give it more pockets";
    Some(view.about_all(Warning::SlowerWheel, what, help))
}

fn pockets_per_min(wheel: &PocketWheel, machine: &Machine) -> f64 {
    f64::from(wheel.pockets) * wheel_rpm(wheel, machine)
}

/// The wheel that lines alone lead to from an element.
fn wheel_after(element: &Element, machine: &Machine) -> Option<usize> {
    let mut at = element;
    for _ in &machine.elements {
        let [exit] = at.to.as_slice() else {
            return None;
        };
        at = &machine.elements[exit.to];
        if at.kind.wheel().is_some() {
            return Some(exit.to);
        }
        at.kind.line()?;
    }
    None
}
