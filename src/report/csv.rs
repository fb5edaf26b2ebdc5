//! Runs and elements as comma-separated tables; an empty field is a figure that does not exist.

use std::fmt::Write;
use std::iter::zip;

use crate::circuit::Circuit;
use crate::circuit::draw::seconds;
use crate::engine::Outcome;
use crate::findings::RunFigures;
use crate::findings::figures::WheelFigures;
use crate::findings::strikes::Strikes;

/// The first line of the table of runs.
pub const RUNS_HEADER: &str =
    "run,outcome,end_s,throughput_per_min,lap_s,jams,first_jam_s,spills,left_in_hand\n";
/// The first line of the table of elements.
pub const ELEMENTS_HEADER: &str = "run,element,kind,entries,held_mean,backlog_mean,backlog_p95,backlog_peak,full_share,refused,spills,arches,fill,\
     empty_streak_max,missed,pinched,carried_over\n";

/// The line of one run.
pub fn run_row(run: &RunFigures) -> String {
    format!(
        "{},{},{},{},{},{},{},{},{}\n",
        run.run,
        outcome(run.outcome),
        run.end_s,
        field(run.throughput_per_min),
        field(run.lap_s),
        run.jam_count(),
        field(run.first_jam_s()),
        run.spills(),
        run.left_in_hand
    )
}

/// The lines of the elements of one run.
pub fn element_rows(circuit: &Circuit, run: &RunFigures) -> String {
    let mut text = String::new();
    for (plan, e) in zip(&circuit.nodes, &run.elements) {
        let _ = writeln!(
            text,
            "{},{},{},{},{},{},{},{},{},{},{},{},{}",
            run.run,
            quoted(&plan.name),
            plan.kind,
            e.entries,
            field(e.held_mean),
            field(e.backlog_mean),
            field(e.backlog_p95),
            e.backlog_peak,
            field(e.full_share),
            e.refused,
            e.spills,
            e.blockages,
            wheel_fields(e.wheel.as_ref()),
        );
    }
    text
}

/// The table of strikes of bells: when, which bell, by which marble.
pub fn strikes(of: &Strikes) -> String {
    let mut text = "run,time_s,element,marble\n".to_owned();
    let mut all = Vec::new();
    for bell in &of.bells {
        all.extend(bell.strikes.iter().map(|strike| (strike, &bell.name)));
    }
    all.sort();
    for (&(time, marble), name) in all {
        let _ = writeln!(
            text,
            "{},{},{},{marble}",
            of.run,
            seconds(time),
            quoted(name)
        );
    }
    text
}

fn wheel_fields(wheel: Option<&WheelFigures>) -> String {
    let Some(w) = wheel else {
        return ",,,,".to_owned();
    };
    format!(
        "{},{},{},{},{}",
        field(w.fill),
        w.empty_streak_max,
        w.missed,
        w.pinched,
        w.carried_over
    )
}

fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Ran => "ran",
        Outcome::Jammed => "jammed",
        Outcome::Gridlocked => "gridlocked",
        Outcome::RanDry => "ran-dry",
    }
}

pub(super) fn field(figure: Option<f64>) -> String {
    match figure {
        Some(x) => x.to_string(),
        None => String::new(),
    }
}

/// A name as a field of RFC 4180: quoted where it holds a comma, quote or line break.
pub(super) fn quoted(name: &str) -> String {
    if name.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", name.replace('"', "\"\""))
    } else {
        name.to_owned()
    }
}
