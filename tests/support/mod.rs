//! Machines written as text, run through the same reader and engine as any other, and what tests read off them.
#![allow(dead_code, reason = "each test file uses its own part")]

pub mod bench;
pub mod broken_machines;
pub mod interval;
pub mod ledger;
pub mod legible;
pub mod mva;
pub mod random_circuits;
pub mod rows;
pub mod sound;
pub mod steady;

use std::path::PathBuf;

use marblewright::circuit::draw::{Nanos, nanos};
use marblewright::circuit::{self, Circuit};
use marblewright::engine::watch::{TraceEvent, TraceRecord};
use marblewright::engine::{self, Outcome, RunResult};
use marblewright::findings::trace::Trace;
use marblewright::machine::model::{Unset, Workable};
use marblewright::machine::{self, Machine, Setting};

/// How much of a long table to go through: `few`, or where `tests/slow.sh` asks for everything, `all`.
pub fn sampled(few: usize, all: usize) -> usize {
    if std::env::var_os("SLOW").is_some() {
        all
    } else {
        few
    }
}

/// The files of all scenarios, in the order of their names.
pub fn scenarios() -> Vec<PathBuf> {
    let folder =
        std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios")).expect("scenarios/");
    let paths = folder.map(|entry| entry.expect("an entry").path());
    let mut machines: Vec<_> = paths
        .filter(|path| path.extension().is_some_and(|end| end == "yaml"))
        .collect();
    machines.sort();
    machines
}

/// A machine file: `head` holds top-level lines, `elements` the lines of the circuit; the first element is the start.
pub fn file(marbles: u32, head: &str, elements: &str) -> String {
    let start = elements.trim_start().split(':').next().expect("an element");
    let lines: String = elements
        .lines()
        .map(|line| format!("  {}\n", line.trim()))
        .collect();
    format!("format: 1\nmarbles: {{ count: {marbles} }}\n{head}\nstart: {start}\ncircuit:\n{lines}")
}

/// The machine of a file with settings laid over it.
pub fn machine(text: &str, settings: &[(&str, &str)]) -> Machine {
    // One cache for all tests and for the program that they start.
    marblewright::cli::keep_looks(true);
    let setting = |&(key, value): &(&str, &str)| Setting {
        key: key.to_owned(),
        value: value.to_owned(),
    };
    machine::read(text, &settings.iter().map(setting).collect::<Vec<_>>())
        .unwrap_or_else(|problems| panic!("{problems:?}\nin\n{text}"))
}

/// The circuit of a machine file.
pub fn circuit_of(text: &str) -> Circuit {
    circuit::circuit(&machine(text, &[]))
}

/// The circuit of so many marbles in these elements, turned by a drive at 7.5 rpm.
pub fn circuit(marbles: u32, elements: &str) -> Circuit {
    circuit_of(&file(marbles, "drive: { speed: 7.5 rpm }", elements))
}

/// What any machine is good enough for.
pub fn workable() -> Workable {
    Workable {
        least_fill: 0.0,
        jams_per_8h: 1e6,
        spills: 1000,
        backlog: Vec::new(),
        unset: Unset::default(),
    }
}

/// One run of `circuit` for `time_s`, with everything that happened in it.
pub fn traced(circuit: &Circuit, time_s: f64) -> (RunResult, Trace) {
    let mut trace = Trace::default();
    let result = engine::simulate(circuit, 1, 0, nanos(time_s), &mut trace);
    (result, trace)
}

/// One run of `circuit` for `time_s`.
pub fn run(circuit: &Circuit, time_s: f64) -> RunResult {
    engine::simulate(circuit, 1, 0, nanos(time_s), &mut ())
}

/// The index of the element called `name`.
pub fn index(circuit: &Circuit, name: &str) -> usize {
    circuit
        .nodes
        .iter()
        .position(|plan| plan.name == name)
        .expect(name)
}

/// When marbles entered the element called `name`, in whole units of so many nanoseconds.
pub fn entered_at(circuit: &Circuit, trace: &Trace, name: &str, unit: Nanos) -> Vec<Nanos> {
    entries(circuit, trace, name)
        .iter()
        .map(|&(time, _)| time / unit)
        .collect()
}

/// Full elements have come to wait for each other for ever, at that time.
pub fn gridlocked_at(result: &RunResult, time: Nanos) {
    assert_eq!((result.outcome, result.end), (Outcome::Gridlocked, time));
}

/// When marbles entered the element called `name`, and which.
pub fn entries(circuit: &Circuit, trace: &Trace, name: &str) -> Vec<(Nanos, u32)> {
    let n = index(circuit, name);
    let entry = |seen: &TraceRecord| match seen.what {
        TraceEvent::Moved { marble, to, .. } if to == n => Some((seen.time, marble)),
        _ => None,
    };
    trace.seen.iter().filter_map(entry).collect()
}
