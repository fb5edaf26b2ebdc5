//! Heights on the bench sheet: what each wheel lifts, what the way to the next one falls, and whether a lap comes round.
//!
//! A lift that is less than the falls of a lap means that the parts cannot be put together as drawn, whatever the
//! simulation says of their times.

use super::entry::SheetEntry;
use super::pocket_exit::PocketExit;
use super::{Row, RowVerdict, Section, Units};
use crate::circuit::drive::wheel_rpm;
use crate::circuit::wheel_shape;
use crate::circuit::workshop::Workshop;
use crate::machine::Machine;
use crate::machine::assumed::AssumedConstant;
use crate::machine::kind::each_kind;
use crate::machine::model::{Element, Exit as Way, Kind, WheelShape};
use crate::physics::hand_over::step_above_entry_m;

/// Height lost to workmanship from an exit to the next entry, metres: our own margin.
pub const MARGIN_M: f64 = 0.002;
/// Height left over in a lap that is plenty, metres: our own margin.
const PLENTY_M: f64 = 0.01;

/// Height left over from which a maker wonders whether something is amiss, metres: our own margin.
const MUCH_M: f64 = 0.04;

/// A way down from one wheel to the next.
struct Descent {
    /// The wheel at its end.
    to: usize,
    /// The greatest fall on any way there, metres.
    fall_m: f64,
}

/// The wheel at `n` with its dimensions.
pub fn wheel(machine: &Machine, n: usize) -> Option<&WheelShape> {
    machine.elements[n].kind.wheel()?.shape.as_ref()
}

/// From where a lift picks marbles up to where they leave it, metres.
fn lift_m(machine: &Machine, n: usize) -> Option<f64> {
    if let Some(lifting) = machine.elements[n].kind.lifting(machine.marbles.diameter_m) {
        return Some(lifting.rise_m);
    }
    let shape = wheel(machine, n)?;
    Some(shape.pitch_radius_m * (1.0 - libm::cos(leave_rad(machine, n)?)))
}

/// Where marbles leave the wheel at `n`, radians past its lowest point; `None` where that is not known or they do not.
pub fn leave_rad(machine: &Machine, n: usize) -> Option<f64> {
    let (element, shape) = (&machine.elements[n], wheel(machine, n)?);
    let rpm = wheel_rpm(element.kind.wheel()?, machine);
    let lift = wheel_shape::lift(shape, &Workshop::new(machine, element))?;
    if rpm > 0.0 {
        let exit = PocketExit::of(&lift, wheel_shape::turning_rad_s(rpm))?;
        return Some(exit.leave_rad);
    }
    None
}

fn fall_m(kind: &Kind) -> Option<f64> {
    each_kind!(kind, of => of.fall_m())
}

/// Whether the file leaves open how far marbles fall onto the floor `n`.
pub fn floor_fall_is_open(machine: &Machine, n: usize) -> bool {
    machine
        .assumed
        .iter()
        .any(|a| a.what == AssumedConstant::FloorFall && a.elements.contains(&n))
}

/// Fall from the entry of `from` to the entry of what a way out of it leads to, metres.
fn edge_m(machine: &Machine, from: &Element, way: &Way) -> f64 {
    let assumed = floor_fall_is_open(machine, way.to);
    let to = &machine.elements[way.to].kind;
    let landing = each_kind!(to, of => of.landing_fall_m(way.landing, assumed));
    fall_m(&from.kind).unwrap_or(0.0) + landing
}

/// The deepest ways from the exit of wheel `from` to each next wheel, and the elements on any of them whose heights are
/// not in the file.
fn descents(machine: &Machine, from: usize) -> (Vec<Descent>, Vec<usize>) {
    let mut deepest: Vec<Option<f64>> = vec![None; machine.elements.len()];
    reach(machine, &mut deepest, from, 0.0);
    // A way without a wheel goes through each element once at most.
    for _ in 0..machine.elements.len() {
        for n in (0..machine.elements.len()).filter(|&n| !is_lift(machine, n)) {
            if let Some(above_m) = deepest[n] {
                reach(machine, &mut deepest, n, above_m);
            }
        }
    }
    let (mut ends, mut unknown) = (Vec::new(), Vec::new());
    for (n, deepest_m) in deepest.into_iter().enumerate() {
        match deepest_m {
            Some(fall_m) if is_lift(machine, n) => ends.push(Descent { to: n, fall_m }),
            Some(_) if fall_m(&machine.elements[n].kind).is_none() => unknown.push(n),
            _ => {}
        }
    }
    (ends, unknown)
}

fn is_lift(machine: &Machine, n: usize) -> bool {
    machine.elements[n].kind.is_lift()
}

/// Takes the ways out of element `n`, so far below the start, for the deepest where they are.
fn reach(machine: &Machine, deepest: &mut [Option<f64>], n: usize, above_m: f64) {
    for way in &machine.elements[n].to {
        let fall = above_m + edge_m(machine, &machine.elements[n], way);
        deepest[way.to] = match deepest[way.to] {
            Some(known) => Some(known.max(fall)),
            None => Some(fall),
        };
    }
}

/// How far the exit of wheel `n` must stand above the entries of the wheels that follow.
pub fn steps(machine: &Machine, n: usize, units: Units) -> Vec<Row> {
    let (Some(shape), Some(leave)) = (wheel(machine, n), leave_rad(machine, n)) else {
        return Vec::new();
    };
    let (descents, unknown) = descents(machine, n);
    let exit_m = -shape.pitch_radius_m * libm::cos(leave) - shape.bore_m / 2.0;
    let entry = format!(
        "{} below the axle",
        units.length(shape.pitch_radius_m + shape.bore_m / 2.0)
    );
    let exit = format!(
        "{} {} the axle",
        units.length(exit_m.abs()),
        if exit_m < 0.0 { "below" } else { "above" }
    );
    let ends = format!("ramp's end no lower than {entry}, slide's mouth no higher than {exit}");
    let entry_m = -shape.pitch_radius_m - shape.bore_m / 2.0;
    let floors = [
        ("ramp_above_axle", entry_m, "m"),
        ("slide_above_axle", exit_m, "m"),
    ];
    let mut rows = vec![Row::plain("floors of ramp and slide", ends).with(floors)];
    for Descent { to, fall_m } in descents {
        let step = step_m(fall_m);
        let mut value = stands_above(machine, to, step, units);
        if let Some(next) = wheel(machine, to)
            && to != n
            && unknown.is_empty()
        {
            let axle = exit_m - step + next.pitch_radius_m + next.bore_m / 2.0;
            value += &axle_stands(axle, units);
        }
        value += &without(machine, &unknown);
        rows.push(Row::plain("exit must stand at least", value).with([("above", step, "m")]));
    }
    rows
}

/// How far the exit of a lift other than a wheel must stand above the entries of the lifts that follow.
pub fn exits(machine: &Machine, n: usize, units: Units) -> Vec<Row> {
    let (descents, unknown) = descents(machine, n);
    let row = |Descent { to, fall_m }| {
        let step = step_m(fall_m);
        let value = stands_above(machine, to, step, units) + &without(machine, &unknown);
        Row::plain("exit must stand at least", value).with([("above", step, "m")])
    };
    descents.into_iter().map(row).collect()
}

fn step_m(fall_m: f64) -> f64 {
    step_above_entry_m(0.0, 0.0, fall_m, MARGIN_M)
}

fn stands_above(machine: &Machine, to: usize, step_m: f64, units: Units) -> String {
    let (name, margin) = (&machine.elements[to].name, units.length(MARGIN_M));
    format!(
        "{} above where `{name}` picks up: the fall between, and {margin}",
        units.length(step_m)
    )
}

/// How far the next wheel's axle is from this one.
fn axle_stands(above_m: f64, units: Units) -> String {
    let far = units.length(above_m.abs());
    if above_m < 0.0 {
        format!("; its axle at least {far} below this one")
    } else {
        format!("; its axle at most {far} above this one")
    }
}

fn without(machine: &Machine, unknown: &[usize]) -> String {
    let names: Vec<String> = unknown
        .iter()
        .map(|&n| format!("`{}`", machine.elements[n].name))
        .collect();
    match names.len() {
        0 => String::new(),
        1 => format!(" (and {}, whose height is not in the file)", names[0]),
        _ => format!(
            " (and {}, whose heights are not in the file)",
            names.join(", ")
        ),
    }
}

/// Whether what is lifted in a lap makes up for what falls in it, where the wheels follow each other in one ring.
pub fn lap(machine: &Machine, units: Units) -> Section {
    let rows = ring(machine)
        .map(|wheels| lap_rows(machine, &wheels, units))
        .unwrap_or_default();
    Section {
        title: "heights".to_owned(),
        rows,
    }
}

/// The wheels of the machine in the order marbles meet them; `None` unless each leads to just one, all in a ring, and all
/// lifts are known.
fn ring(machine: &Machine) -> Option<Vec<(f64, Descent, Vec<usize>)>> {
    let first = (0..machine.elements.len()).find(|&n| is_lift(machine, n))?;
    let (mut ring, mut at) = (Vec::new(), first);
    loop {
        let lift = lift_m(machine, at)?;
        let (mut next, unknown) = descents(machine, at);
        let descent = next.pop().filter(|_| next.is_empty())?;
        at = descent.to;
        ring.push((lift, descent, unknown));
        if at == first {
            return Some(ring);
        }
        if ring.len() > machine.elements.len() {
            return None;
        }
    }
}

fn lap_rows(machine: &Machine, ring: &[(f64, Descent, Vec<usize>)], units: Units) -> Vec<Row> {
    let lifted: f64 = ring.iter().map(|(lift, ..)| lift).sum();
    let fallen: f64 = ring
        .iter()
        .map(|(_, descent, _)| descent.fall_m + MARGIN_M)
        .sum();
    let mut unknown = Vec::new();
    for (.., passed) in ring {
        unknown.extend_from_slice(passed);
    }
    let left = lifted - fallen;
    let verdict = RowVerdict::at_least(left, PLENTY_M, 0.0);
    let open = machine
        .assumed
        .iter()
        .any(|assumption| assumption.what == AssumedConstant::FloorFall);
    let onto = if open {
        ", the fall onto the floor not counted: the file gives none"
    } else {
        ""
    };
    let falls = format!(
        "{} at most{}{onto}",
        units.length(fallen),
        without(machine, &unknown)
    );
    let used = if left > MUCH_M {
        ": more than a lap needs; a drop or longer tracks use it up, and left as it is it only costs the motor"
    } else {
        ""
    };
    let help = "lift higher (a guide that ends higher, a larger pitch circle), or take height out of the falls";
    vec![
        Row::length("lifted in a lap", lifted, units),
        Row::plain("falls in a lap", falls).with([("length", fallen, "m")]),
        Row::judged("height left over", units.length(left) + used, verdict, help)
            .with([("length", left, "m")]),
    ]
}
