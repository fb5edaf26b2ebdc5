//! The bounds on everything a machine file or a command line may ask for.
//!
//! They are far above any wooden machine and far below what would exhaust a computer.

use std::f64::consts::PI;
use std::ops::RangeInclusive;

/// Largest machine file, in bytes.
pub const FILE_BYTES: u64 = 1 << 20;
/// Deepest nesting of lists and maps in a machine file.
pub const NESTING: usize = 24;
/// Most elements in one circuit.
pub const ELEMENTS: usize = 256;
/// Longest name of an element, in letters.
pub const NAME: usize = 40;
/// Most ways out of one splitter.
pub const WAYS: usize = 16;
/// Most marbles in one machine.
pub const MARBLES: u32 = 10_000;
/// Most places in one element.
pub const PLACES: u32 = 100_000;
/// Most pockets in one wheel.
pub const POCKETS: u32 = 400;
/// Most segments in one slide or track.
pub const SEGMENTS: usize = 64;
/// Most stopwatch readings in one `samples` law.
pub const SAMPLES: usize = 10_000;
/// Shortest time in which a loop may bring a marble round, in seconds: a loop of no time at all would never end.
pub const SHORTEST_LOOP_S: f64 = 1e-3;
/// Longest single time in a file, in seconds: a day.
pub const LONGEST_TIME_S: f64 = 86_400.0;
/// Longest length in a file, in metres.
pub const LONGEST_LENGTH_M: f64 = 100.0;
/// Fastest wheel, in turns a minute.
pub const FASTEST_RPM: f64 = 1_000.0;
/// Most hours of machine time in one run.
pub const HOURS: f64 = 10_000.0;
/// Most runs in one study.
pub const RUNS: u32 = 1_000_000;
/// Most threads of one study.
pub const THREADS: usize = 256;
/// Most values in a machine file, each written out wherever an alias repeats it.
pub const VALUES: usize = 50_000;
/// Most problems shown of one file.
pub const PROBLEMS: usize = 40;
/// Lengths of parts of a machine, metres.
pub const LENGTHS: RangeInclusive<f64> = 0.001..=LONGEST_LENGTH_M;
/// Slopes a marble may meet, radians.
pub const SLOPES: RangeInclusive<f64> = -PI / 3.0..=PI / 3.0;
