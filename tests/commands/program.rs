//! The program from outside, as the tests of the commands start it.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

pub const PROGRAM: &str = env!("CARGO_BIN_EXE_marblewright");

/// What the program answers, started where the tests are.
pub fn program(args: &[&str]) -> Output {
    program_in(args, Path::new("."))
}

/// What the program answers, started in `folder`.
pub fn program_in(args: &[&str], folder: &Path) -> Output {
    Command::new(PROGRAM)
        .args(args)
        .current_dir(folder)
        .output()
        .expect("the program starts")
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("text")
}

pub fn stdout(output: &Output) -> String {
    text(&output.stdout)
}

pub fn stderr(output: &Output) -> String {
    text(&output.stderr)
}

/// Asserts exit code 0 and gives standard output.
pub fn answer(args: &[&str]) -> String {
    answer_in(args, Path::new("."))
}

/// Asserts exit code 0 of the program started in `folder`, and gives standard output.
pub fn answer_in(args: &[&str], folder: &Path) -> String {
    let output = program_in(args, folder);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{args:?}:\n{}",
        stderr(&output)
    );
    stdout(&output)
}

/// A directory with `machine.yaml` of this text in it, and the path of that file.
pub fn workshop(machine: &str) -> (tempfile::TempDir, String) {
    let directory = tempfile::tempdir().expect("a directory");
    let file = directory.path().join("machine.yaml");
    fs::write(&file, machine).expect("the machine file");
    let file = file.display().to_string();
    (directory, file)
}

/// One wheel that is looked at, quick enough that a look from nothing takes no time to speak of.
pub const QUICK_WHEEL: &str = "format: 1
marbles: { count: 6, diameter: 15 mm, material: glass }
drive: { speed: 12 rpm }
start: ramp
circuit:
  ramp: { ramp: { length: 300 mm, slope: 5 deg }, to: wheel }
  wheel:
    pocket-wheel: { pockets: 12, pitch-radius: 90 mm, bore: 20 mm, depth: 15 mm, tilt: 8 deg, guide: 140 deg, wall: relieved, guide-edge: lead-in }
    to: back
  back: { track: { time: 4 s }, to: ramp }
";

/// Constants of the starter loop and the storm wheel given as they are assumed: the same machine with few variants to look at.
pub const GIVEN: [(&str, &str); 8] = [
    ("assume.rolling-resistance", "0.04 mm"),
    ("assume.restitution", "0.5"),
    ("assume.drilling-resistance", "0.01 mm"),
    ("assume.hit-grip", "0.8"),
    ("assume.marble-friction", "0.15"),
    ("assume.marble-restitution", "0.85"),
    ("circuit.wheel.pocket-wheel.slope-error", "0.2 deg"),
    ("circuit.wheel.pocket-wheel.torque", "0.5 N m"),
];

/// The same as options.
pub fn given() -> [String; 8] {
    GIVEN.map(|(key, value)| format!("--set={key}={value}"))
}
