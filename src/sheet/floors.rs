//! A return floor on the bench sheet.

use super::{Row, RowVerdict, Units, degrees, passes, room, takes};
use crate::circuit::plan::Circuit;
use crate::circuit::workshop::Workshop;
use crate::findings::words::percent;
use crate::machine::model::{FloorShape, ReturnFloor};
use crate::physics::mouth::{self, Mouth};
use crate::physics::rolling::{self, Seat};

/// Numbers of marbles at the mouth for which the chance of an arch is shown.
const CROWDS: [u32; 4] = [3, 4, 6, 10];
/// The crowd by which a mouth is judged: more than a floor that keeps up ever has.
const CROWD: u32 = 6;
/// Chances that this crowd arches which are fine, and tight.
const ARCHES: (f64, f64) = (0.001, 0.05);
/// A pitch this many times the least that keeps a marble rolling brings it home past dust and warp: our own margin.
const PITCH_TIMES: f64 = 3.0;

/// The figures of floor `n`.
pub fn rows(
    floor: &ReturnFloor,
    circuit: &Circuit,
    n: usize,
    workshop: &Workshop,
    units: Units,
) -> Vec<Row> {
    let plan = &circuit.nodes[n];
    let mut rows = vec![room("room", plan)];
    rows.extend(times(circuit, n));
    rows.extend(passes(plan));
    if let Some(shape) = &floor.shape {
        rows.extend(pitches(shape, workshop, units).into_iter().flatten());
        rows.extend(arches(floor, shape, workshop, units));
    }
    rows
}

/// From each way in to the mouth.
fn times(circuit: &Circuit, n: usize) -> Vec<Row> {
    let travel = &circuit.nodes[n].travel;
    let mut rows: Vec<Row> = Vec::new();
    for plan in &circuit.nodes {
        let from = format!(", from `{}`", plan.name);
        for way in plan.ways.iter().filter(|way| way.to == n) {
            let row = takes("to the mouth", &travel[way.entry], &from);
            if !rows.contains(&row) {
                rows.push(row);
            }
        }
    }
    rows
}

fn pitches(shape: &FloorShape, workshop: &Workshop, units: Units) -> Option<[Row; 2]> {
    let marble = workshop.marble()?;
    let least = rolling::least_slope_rad(Seat::PLANE, marble.radius_m(), &workshop.surface());
    let pitches = [
        ("cross pitch", shape.cross_rad, shape.width_m / 2.0),
        ("valley pitch", shape.valley_rad, shape.depth_m),
    ];
    Some(pitches.map(|(label, pitch_rad, run_m)| {
        let value = format!(
            "{}, falls {} on {}; {:.0} times the {} that keep a marble rolling",
            degrees(pitch_rad),
            units.length(run_m * libm::tan(pitch_rad)),
            units.length(run_m),
            pitch_rad / least,
            degrees(least)
        );
        let verdict = RowVerdict::at_least(pitch_rad / least, PITCH_TIMES, 1.0);
        let help = format!("{} bring them home", degrees(PITCH_TIMES * least));
        let angles = [
            ("pitch", pitch_rad.to_degrees(), "deg"),
            ("least", least.to_degrees(), "deg"),
        ];
        Row::judged(label, value, verdict, help).with(angles)
    }))
}

/// The chance that a crowd at the mouth arches.
fn arches(
    floor: &ReturnFloor,
    shape: &FloorShape,
    workshop: &Workshop,
    units: Units,
) -> Option<Row> {
    let diameter_m = workshop.machine.marbles.diameter_m?;
    let wide = format!(
        "{}, {:.2} marbles",
        units.length(shape.mouth_m),
        shape.mouth_m / diameter_m
    );
    if floor.arch.is_some() {
        return Some(
            Row::plain("mouth", format!("{wide}; its arches are measured")).with([(
                "width",
                shape.mouth_m,
                "m",
            )]),
        );
    }
    let mouth = Mouth {
        opening_m: shape.mouth_m,
        slope_rad: shape.valley_rad,
        surface: workshop.surface(),
    };
    let crowds = CROWDS.map(|n| {
        let chance = mouth::block_chance(n, &mouth, diameter_m);
        format!("{n}: {}", percent(chance))
    });
    let chance = mouth::block_chance(CROWD, &mouth, diameter_m);
    let value = format!("{wide}; so many together arch: {}", crowds.join(", "));
    let verdict = RowVerdict::at_most(chance, ARCHES.0, ARCHES.1);
    let row = Row::judged(
        "mouth",
        value,
        verdict,
        format!("{} or wider", units.length(2.0 * diameter_m)),
    );
    Some(row.with([
        ("width", shape.mouth_m, "m"),
        ("arch_chance_of_6", chance, "1"),
    ]))
}
