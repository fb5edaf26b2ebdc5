//! A splitter bowl on the bench sheet.

use crate::circuit::draw::{Chance, seconds};
use crate::circuit::drive::turned_rpm;
use crate::circuit::plan::Plan;
use crate::circuit::workshop::Workshop;
use crate::contact::crowd_counts::crowd;
use crate::findings::words::percent;
use crate::machine::model::{Bowl, BowlShape};
use crate::physics::orbit::orbit_speed_m_s;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetView;
use crate::sheet::{Row, RowVerdict, Units, spread, timed};

/// Shares of marbles that arch over a hole which are fine, and tight.
const ARCHES: (f64, f64) = (0.001, 0.02);
/// Shares of marbles over the rim which are fine, and tight.
const OVER: (f64, f64) = (0.0, 0.01);
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
        list.angle("entry-angle", shape.inward_rad);
        list.word("fence", if shape.fenced { "yes" } else { "no" });
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
    let orbit = orbit_speed_m_s(shape.width_m / 2.0, rim_slope_rad(&shape));
    rows.push(Row::plain("circles the rim at", units.speed(orbit)).with([("speed", orbit, "m/s")]));
    let Some(rate) = most_a_second(workshop) else {
        return rows;
    };
    let crowd = Company::at_rate(plan, rate);
    rows.push(in_company(plan, rate, &crowd));
    rows.push(holes(plan, &shape, &crowd, diameter_m, units));
    rows
}

/// Slope of the bowl at its rim, rad.
fn rim_slope_rad(shape: &BowlShape) -> f64 {
    let rim = shape.width_m / 2.0;
    let sphere = (rim * rim + shape.depth_m * shape.depth_m) / (2.0 * shape.depth_m);
    libm::asin((rim / sphere).min(1.0))
}

/// A bowl fed by a steady stream.
struct Company {
    /// Marbles in it.
    inside: u32,
    /// How long each swirls, median, s.
    stay_s: f64,
    /// Share that goes over the rim.
    thrown_out: f64,
    /// Share that arches at a hole.
    arched: f64,
}

impl Company {
    /// As many as come while one is inside (J. D. C. Little, Oper. Res. 9 (1961) 383).
    fn at_rate(plan: &Plan, rate_per_s: f64) -> Company {
        let most = plan.places().unwrap_or(MOST);
        let mut inside = 1;
        while inside < most && f64::from(inside) < rate_per_s * stay_s(plan, inside) {
            inside += 1;
        }
        let class = class(plan, inside);
        let of = |chances: &[Chance]| {
            chances
                .get(class)
                .or(chances.last())
                .map_or(0.0, |c| c.share())
        };
        Company {
            inside,
            stay_s: stay_s(plan, inside),
            thrown_out: of(&plan.thrown_out),
            arched: plan.blockage.as_ref().map_or(0.0, |arch| of(&arch.chance)),
        }
    }
}

/// Where nothing bounds the marbles in a bowl, so many are looked at.
const MOST: u32 = 1000;

fn class(plan: &Plan, inside: u32) -> usize {
    if plan.by_crowd { crowd(inside) } else { 0 }
}

fn stay_s(plan: &Plan, inside: u32) -> f64 {
    seconds(plan.travel[class(plan, inside)].quantile(0.5))
}

/// The most marbles a second that the lifts bring: every pocket of the quickest one.
fn most_a_second(workshop: &Workshop) -> Option<f64> {
    let machine = workshop.machine;
    let mut most = 0.0_f64;
    for element in &machine.elements {
        let a_turn = match element.kind.lifting(machine.marbles.diameter_m) {
            Some(lifting) => lifting.a_turn * f64::from(lifting.holds),
            None => element
                .kind
                .wheel()
                .map_or(0.0, |wheel| wheel.pockets.into()),
        };
        if let Some(turned_by) = element.kind.turned_by() {
            most = most.max(a_turn * turned_rpm(turned_by, machine) / 60.0);
        }
    }
    Some(most).filter(|&rate| rate > 0.0)
}

fn in_company(plan: &Plan, rate: f64, crowd: &Company) -> Row {
    let value = format!(
        "{} marbles at a time, each {:.2} s, where one comes every {:.2} s; {} over the rim",
        crowd.inside,
        crowd.stay_s,
        1.0 / rate,
        percent(crowd.thrown_out)
    );
    let full = match plan.places() {
        Some(places) => f64::from(crowd.inside) / f64::from(places),
        None => 0.0,
    };
    let verdict = RowVerdict::at_most(full, CROWDED, 1.0).max(RowVerdict::at_most(
        crowd.thrown_out,
        OVER.0,
        OVER.1,
    ));
    let help = "a wider bowl, larger holes, or a fence on the rim";
    Row::judged("lifts full", value, verdict, help).with([
        ("inside", f64::from(crowd.inside), "1"),
        ("stay", crowd.stay_s, "s"),
        ("over_rim", crowd.thrown_out, "1"),
    ])
}

fn holes(plan: &Plan, shape: &BowlShape, crowd: &Company, diameter_m: f64, units: Units) -> Row {
    let wide = format!(
        "{} wide, {:.2} marbles",
        units.length(shape.hole_m),
        shape.hole_m / diameter_m
    );
    if plan.blockage.as_ref().is_some_and(|arch| !arch.by_crowd) {
        return Row::plain("holes", format!("{wide}; their arches are measured"));
    }
    let value = format!("{wide}; {} of marbles arch there", percent(crowd.arched));
    let verdict = RowVerdict::at_most(crowd.arched, ARCHES.0, ARCHES.1);
    let help = "wider holes, more of them, or fewer marbles a minute";
    Row::judged("holes", value, verdict, help).with([
        ("width", shape.hole_m, "m"),
        ("arch_chance", crowd.arched, "1"),
    ])
}
