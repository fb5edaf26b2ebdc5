//! What the tests of maps share: a small machine with measured times, quick to simulate.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::program;

/// Few marbles starve its wheel, many pile up on its ramp.
pub const MACHINE: &str = "
format: 1
title: Two ways home
marbles: { count: 16 }
drive: { speed: 9 rpm }
start: ramp
circuit:
  ramp:
    ramp: { time: 1 s, places: 60 }
    to: lift
  lift:
    pocket-wheel: { pockets: 16, lift: 180 deg }
    to: bowl
  bowl:
    bowl: { swirl: { lognormal: { mean: 2 s, cv: 0.4 } }, shares: [1, 1] }
    to: [bells, stairs]
  bells:
    track: { time: { normal: { mean: 5 s, sd: 0.2 s } } }
    to: ramp
  stairs:
    track: { time: 7 s }
    to: ramp
workable: { least-fill: 0.5, jams-per-8h: 1, spills: 0, backlog: { ramp: 10 } }
";

/// A map of 14 loads by 3 speeds.
pub const OVER: &[&str] = &[
    "--over",
    "marbles=4..56/4",
    "--over",
    "rpm=8..12/2",
    "--hours",
    "0.05",
    "--runs",
    "20",
];

/// The words of a `map` of the machine.
pub fn args(machine: &str, more: &[&str]) -> Vec<String> {
    ["map", machine]
        .iter()
        .chain(more)
        .map(|word| (*word).to_owned())
        .collect()
}

/// Every file of a directory and its bytes.
pub fn files(directory: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(directory)
        .expect("a directory")
        .map(|entry| entry.expect("an entry").path());
    let name = |path: &Path| {
        path.file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned()
    };
    entries
        .map(|path| (name(&path), fs::read(&path).expect("readable")))
        .collect()
}

/// A directory with the machine in it, and the path of its file.
pub fn workshop() -> (tempfile::TempDir, String) {
    program::workshop(MACHINE)
}
