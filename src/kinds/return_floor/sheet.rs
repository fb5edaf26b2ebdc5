//! A return floor on the bench sheet.

use crate::circuit::plan::Plan;
use crate::circuit::workshop::Workshop;
use crate::contact::crowd_counts::crowd;
use crate::findings::words::percent;
use crate::machine::model::{FloorShape, Landing, ReturnFloor};
use crate::physics::rolling::{self, Seat};
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetView;
use crate::sheet::profile::ProfilePiece;
use crate::sheet::units::degrees;
use crate::sheet::{Row, RowVerdict, Units, passes, room, takes};

/// Numbers of marbles on the floor for which the chance of an arch is shown.
const CROWDS: [u32; 4] = [3, 5, 8, 12];
/// The crowd by which a mouth is judged: more than a floor that keeps up ever has.
const CROWD: u32 = 6;
/// Chances of an arch in this crowd, a marble, which are fine, and tight.
const ARCHES: (f64, f64) = (0.001, 0.02);
/// A pitch this many times the least that keeps a marble rolling brings it home past dust and warp: our own margin.
const PITCH_TIMES: f64 = 3.0;

/// Lists its dimensions.
pub fn list(of: &ReturnFloor, plan: &Plan, list: &mut Lister) {
    if let Some(shape) = &of.shape {
        list.length("width", shape.width_m);
        list.length("depth", shape.depth_m);
        list.slope("cross-pitch", shape.cross_rad);
        list.slope("valley-pitch", shape.valley_rad);
        list.length("mouth", shape.mouth_m);
        if let Some(funnel) = shape.funnel_rad {
            list.angle("funnel", funnel);
        }
        list.length("fall", shape.fall_m);
    }
    list.law("time", of.time.as_ref());
    list.room("room", plan);
    list.advance("mouth-time", plan);
    list.arch("arch", of.arch.as_ref());
    list.when_full(of.when_full);
}

/// The figures of a floor.
pub fn rows(floor: &ReturnFloor, view: &SheetView) -> Vec<Row> {
    let (plan, workshop, units) = (view.plan(), &view.workshop, view.units);
    let mut rows = vec![room("room", plan)];
    rows.extend(times(view));
    rows.extend(passes(plan));
    if let Some(shape) = &floor.shape {
        rows.extend(pitches(shape, workshop, units).into_iter().flatten());
        rows.extend(arches(plan, shape, workshop, units));
    }
    rows
}

/// From each way in to the mouth.
fn times(view: &SheetView) -> Vec<Row> {
    let travel = &view.plan().travel;
    let mut rows: Vec<Row> = Vec::new();
    for plan in &view.circuit.nodes {
        let from = format!(", from `{}`", plan.name);
        for way in plan.ways.iter().filter(|way| way.to == view.n) {
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

/// The chance that marbles arch at the mouth.
fn arches(plan: &Plan, shape: &FloorShape, workshop: &Workshop, units: Units) -> Option<Row> {
    let diameter_m = workshop.machine.marbles.diameter_m?;
    let wide = format!(
        "{}, {:.2} marbles",
        units.length(shape.mouth_m),
        shape.mouth_m / diameter_m
    );
    let width = ("width", shape.mouth_m, "m");
    if plan.blockage.as_ref().is_some_and(|arch| !arch.by_crowd) {
        let value = format!("{wide}; its arches are measured");
        return Some(Row::plain("mouth", value).with([width]));
    }
    let chance = |on_floor: u32| match &plan.blockage {
        Some(arch) => arch.chance[crowd(on_floor)].share(),
        None => 0.0,
    };
    let crowds = CROWDS.map(|n| format!("{n}: {}", percent(chance(n))));
    let value = format!(
        "{wide}; of the marbles that come to it arch, with so many on the floor: {}",
        crowds.join(", ")
    );
    let verdict = RowVerdict::at_most(chance(CROWD), ARCHES.0, ARCHES.1);
    let help = if shape.funnel_rad.is_some() {
        format!("{} or wider", units.length(2.0 * diameter_m))
    } else {
        format!("{} or wider, or a funnel", units.length(2.0 * diameter_m))
    };
    let row = Row::judged("mouth", value, verdict, help);
    Some(row.with([width, ("arch_chance_with_6", chance(CROWD), "1")]))
}

/// Fall onto a floor and on it to its mouth, metres, from where marbles land; from the farthest corner where that is open.
pub fn landing_fall_m(shape: &FloorShape, landing: Option<Landing>, onto_m: f64) -> f64 {
    let (across, along) = to_the_mouth_m(shape, landing);
    onto_m + across * libm::tan(shape.cross_rad) + along * libm::tan(shape.valley_rad)
}

/// From where marbles land across the floor to the valley and along it to the mouth, metres.
fn to_the_mouth_m(shape: &FloorShape, landing: Option<Landing>) -> (f64, f64) {
    match landing {
        Some(at) => ((at.x_m - shape.width_m / 2.0).abs(), shape.depth_m - at.y_m),
        None => (shape.width_m / 2.0, shape.depth_m),
    }
}

/// The same as seen from the side.
pub fn landing_pieces(
    shape: &FloorShape,
    landing: Option<Landing>,
    assumed: bool,
) -> Vec<ProfilePiece> {
    let (across, along) = to_the_mouth_m(shape, landing);
    let onto = if assumed {
        ProfilePiece::Unknown("fall onto")
    } else {
        ProfilePiece::Drop {
            fall_m: shape.fall_m,
        }
    };
    let rolls = |along_m: f64, pitch_rad: f64| ProfilePiece::Roll {
        along_m,
        fall_m: along_m * libm::tan(pitch_rad),
    };
    vec![
        onto,
        rolls(across, shape.cross_rad),
        rolls(along, shape.valley_rad),
    ]
}
