//! Answers as bytes: JSON, CSV and pictures. Nothing here opens a file.

pub mod bench;
pub mod compare;
mod csv;
pub mod fit;
mod judged;
pub mod log;
pub mod map;
pub mod rows;
mod why;
pub mod window;

pub use csv::{elements_csv, runs_csv};
use judged::JudgementJson;
pub use why::{events, why_json};

use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, nanos};
use crate::findings::judge::Judgement;
use crate::findings::{RunFigures, Summary};
use crate::study::assumptions::Sensitivity;
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

/// What `--json` prints: the summary, whether that is good enough, and how it hangs on what the file leaves open.
#[derive(serde::Serialize)]
struct Results<'a> {
    #[serde(flatten)]
    summary: &'a Summary,
    works: JudgementJson<'a>,
    /// Null where nobody asked.
    assumptions: Option<&'a Sensitivity>,
}

/// The results as JSON.
pub fn json(
    circuit: &Circuit,
    (summary, judgement, assumptions): (&Summary, &Judgement, Option<&Sensitivity>),
    runs: &[RunFigures],
) -> String {
    let works = JudgementJson::new(circuit, judgement, runs);
    serde_json::to_string_pretty(&Results { summary, works, assumptions }).unwrap_or_default()
}

/// The results of a `run`: name and bytes.
pub fn results(
    circuit: &Circuit,
    told: (&Summary, &Judgement, Option<&Sensitivity>),
    runs: &[RunFigures],
) -> Vec<(String, Vec<u8>)> {
    vec![
        ("results.json".to_owned(), (json(circuit, told, runs) + "\n").into_bytes()),
        ("runs.csv".to_owned(), runs_csv(runs).into_bytes()),
        ("elements.csv".to_owned(), elements_csv(circuit, runs).into_bytes()),
    ]
}

/// The charts of a `run`: name and bytes.
pub fn run_charts(circuit: &Circuit, study: &Study, summary: &Summary, runs: &[RunFigures]) -> Vec<(String, Vec<u8>)> {
    let watched = WATCHED.min(runs.len() as u32);
    let horizon = longest(runs.iter().take(watched as usize).map(|run| run.end_s), study.horizon);
    let courses = study::repeat::courses(circuit, study.seed, watched, horizon, STEPS);
    charts::of_run(circuit, summary, runs, &courses)
}

/// When the last of the runs ends: runs that all end early would else leave most of a chart empty, and draw what happened
/// in a few steps of time.
fn longest(ends_s: impl Iterator<Item = f64>, horizon: Nanos) -> Nanos {
    nanos(ends_s.fold(0.0, f64::max)).clamp(1, horizon.max(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn charts_reach_as_far_as_the_longest_run() {
        let horizon = nanos(7200.0);
        assert_eq!(longest([3.0, 5.0].into_iter(), horizon), nanos(5.0));
        assert_eq!(longest([3.0, 7200.0].into_iter(), horizon), horizon);
        assert_eq!(longest([0.0].into_iter(), horizon), 1, "no step of time is nothing");
    }
}
