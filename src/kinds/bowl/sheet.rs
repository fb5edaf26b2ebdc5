//! A splitter bowl on the bench sheet.

use crate::circuit::drive::wheel_rpm;
use crate::circuit::plan::Plan;
use crate::circuit::workshop::Workshop;
use crate::findings::words::percent;
use crate::machine::model::{Bowl, BowlShape};
use crate::physics::bowl::{Dwell, Hollow, orbit_speed_m_s};
use crate::physics::bowl_crowd::{Company, arch_bound, company};
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetView;
use crate::sheet::{Row, RowVerdict, Units, spread, timed};

/// Chances that a marble finds company enough to arch over a hole which are fine, and tight.
const ARCHES: (f64, f64) = (0.001, 0.02);
/// A bowl fuller than this share of its room is crowded: our own margin.
const CROWDED: f64 = 0.5;

/// Lists its dimensions.
pub fn list(of: &Bowl, plan: &Plan, list: &mut Lister) {
    if let Some(shape) = &of.shape {
        list.length("width", shape.width_m);
        list.length("depth", shape.depth_m);
        list.length("hole", shape.hole_m);
        list.length("hole-circle", shape.hole_circle_m);
        if let Some(speed) = shape.entry_m_s {
            list.velocity("entry-speed", speed);
        }
    }
    list.law("swirl", of.swirl.as_ref());
    if let (None, Some(draw)) = (&of.swirl, plan.travel.first()) {
        list.computed("swirl", spread(draw));
    }
    list.shares(&of.shares);
    list.room("room", plan);
    list.advance("hole-time", plan);
    list.arch("arch", of.arch.as_ref());
    list.when_full(of.when_full);
}

/// The figures of a bowl.
pub fn rows(bowl: &Bowl, view: &SheetView) -> Vec<Row> {
    let (plan, workshop, units) = (view.plan(), &view.workshop, view.units);
    let mut rows = timed(plan);
    let (Some(shape), Some(diameter_m)) = (bowl.shape, workshop.machine.marbles.diameter_m) else {
        return rows;
    };
    if plan.stalls {
        let help = "a deeper bowl, or wider holes nearer to the middle";
        rows.push(Row::judged(
            "a marble",
            "comes to rest in the bowl",
            RowVerdict::WontWork,
            help,
        ));
        return rows;
    }
    let hollow = Hollow {
        width_m: shape.width_m,
        depth_m: shape.depth_m,
    };
    let rim = shape.width_m / 2.0;
    let orbit = orbit_speed_m_s(rim, hollow.slope_rad(rim));
    rows.push(Row::plain("circles the rim at", units.speed(orbit)).with([("speed", orbit, "m/s")]));
    if let Some(rate) = most_a_second(workshop) {
        let [low, middle, high] =
            [0.16, 0.5, 0.84].map(|p| crate::circuit::draw::seconds(plan.travel[0].quantile(p)));
        let alone = Dwell {
            mean_s: middle,
            sd_s: (high - low) / 2.0,
        };
        let crowd = company(alone, rate, diameter_m, shape.width_m);
        rows.push(in_company(plan, rate, &crowd));
        rows.push(holes(plan, &shape, rate, diameter_m, units));
    }
    rows
}

/// The most marbles a second that the wheels bring: every pocket of the quickest one.
fn most_a_second(workshop: &Workshop) -> Option<f64> {
    let machine = workshop.machine;
    let mut most = 0.0_f64;
    for element in &machine.elements {
        if let Some(wheel) = element.kind.wheel() {
            most = most.max(f64::from(wheel.pockets) * wheel_rpm(wheel, machine) / 60.0);
        }
    }
    Some(most).filter(|&rate| rate > 0.0)
}

fn in_company(plan: &Plan, rate: f64, crowd: &Company) -> Row {
    let value = format!(
        "{:.1} marbles at a time, each {:.2} s, where one comes every {:.2} s; {} over a rim without a fence",
        crowd.inside,
        crowd.dwell.mean_s,
        1.0 / rate,
        percent(crowd.over_rim)
    );
    let full = match plan.places() {
        Some(places) => crowd.inside / f64::from(places),
        None => 0.0,
    };
    let verdict = RowVerdict::at_most(full, CROWDED, 1.0);
    Row::judged(
        "every pocket full",
        value,
        verdict,
        "a wider bowl, or larger holes",
    )
    .with([
        ("inside", crowd.inside, "1"),
        ("stay", crowd.dwell.mean_s, "s"),
        ("over_rim", crowd.over_rim, "1"),
    ])
}

fn holes(plan: &Plan, shape: &BowlShape, rate: f64, diameter_m: f64, units: Units) -> Row {
    let chance = arch_bound(shape.hole_m, diameter_m, rate / plan.gates() as f64);
    let value = format!(
        "{} wide, {:.2} marbles; company enough to arch there: at most {} of marbles",
        units.length(shape.hole_m),
        shape.hole_m / diameter_m,
        percent(chance)
    );
    let verdict = RowVerdict::at_most(chance, ARCHES.0, ARCHES.1);
    Row::judged(
        "holes",
        value,
        verdict,
        "wider holes, more of them, or fewer marbles a minute",
    )
    .with([
        ("width", shape.hole_m, "m"),
        ("arch_chance_at_most", chance, "1"),
    ])
}
