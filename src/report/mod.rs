//! Answers as bytes: JSON, CSV and pictures. Nothing here opens a file.

pub mod compare;
mod csv;
mod why;
pub mod window;
pub mod map;

pub use csv::{elements_csv, runs_csv};
pub use why::{events, why_json};

use crate::circuit::Circuit;
use crate::circuit::draw::Nanos;
use crate::findings::{RunFigures, Summary};
use crate::{charts, study};

/// Runs that are watched again for the charts.
const WATCHED: u32 = 40;
/// Steps of time in a chart.
const STEPS: usize = 240;

/// What is needed to watch a study's runs again.
#[derive(Clone, Copy, Debug)]
pub struct Study {
    /// The seed.
    pub seed: u64,
    /// Machine time of each run.
    pub horizon: Nanos,
}

/// The summary as JSON.
pub fn json(summary: &Summary) -> String {
    serde_json::to_string_pretty(summary).unwrap_or_default()
}

/// Every file of a `run`: name and bytes.
pub fn files(circuit: &Circuit, study: &Study, summary: &Summary, runs: &[RunFigures]) -> Vec<(String, Vec<u8>)> {
    let watched = WATCHED.min(runs.len() as u32);
    let courses = study::repeat::courses(circuit, study.seed, watched, study.horizon, STEPS);
    let mut files = vec![
        ("results.json".to_owned(), (json(summary) + "\n").into_bytes()),
        ("runs.csv".to_owned(), runs_csv(runs).into_bytes()),
        ("elements.csv".to_owned(), elements_csv(circuit, runs).into_bytes()),
    ];
    files.extend(charts::of_run(circuit, summary, runs, &courses));
    files
}
