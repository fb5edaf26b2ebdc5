//! Answers as bytes: JSON, CSV and pictures. Nothing here opens a file.

pub mod assumptions;
pub mod bench;
pub mod compare;
mod compare_json;
mod csv;
pub mod diagnose;
mod diagnose_json;
pub mod fit;
mod judged;
pub mod log;
pub mod map;
pub mod mend;
pub mod rows;
pub mod tolerance;
mod tolerance_json;
mod why;
pub mod window;
mod window_json;

pub use csv::{ELEMENTS_HEADER, RUNS_HEADER, element_rows, run_row, strikes};
use judged::JudgementJson;
pub use why::{events, why_json};

use crate::charts::ChartData;
use crate::charts::canvas::Format;
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, nanos};
use crate::findings::strikes::Strikes;
use crate::findings::timeline::Timeline;
use crate::findings::workable::Judgement;
use crate::findings::{RunTotals, Runs, Summary};
use crate::study::assumptions::Sensitivity;
pub use crate::study::repeat::Study;
use crate::{charts, study};

/// Steps of time in a chart.
const STEPS: usize = 240;

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
    totals: &RunTotals,
) -> String {
    let works = JudgementJson::new(circuit, judgement, totals);
    serde_json::to_string_pretty(&Results {
        summary,
        works,
        assumptions,
    })
    .unwrap_or_default()
}

/// The charts of a `run`: name and bytes.
pub fn run_charts(
    circuit: &Circuit,
    study: &Study,
    summary: &Summary,
    runs: &Runs,
) -> Vec<(String, Vec<u8>)> {
    let courses = courses(circuit, study, runs);
    let data = ChartData {
        circuit,
        summary,
        runs,
        courses: &courses,
        format: Format::Wide,
    };
    charts::of_run(&data)
}

/// The courses of the runs that charts follow.
pub fn courses(circuit: &Circuit, study: &Study, runs: &Runs) -> Vec<Timeline> {
    let first = &runs.totals.first;
    let watched = Study {
        horizon: longest(first.iter().map(|run| run.end_s), study.horizon),
        ..*study
    };
    study::repeat::courses(circuit, &watched, first.len() as u32, STEPS)
}

/// The chart of the bells' rhythm, where there are any: name and bytes.
pub fn rhythm_chart(
    strikes: Option<&Strikes>,
    summary: &Summary,
    format: Format,
) -> Option<(String, Vec<u8>)> {
    let picture = charts::rhythm::picture(strikes?, &summary.title, format)?;
    Some(("rhythm.png".to_owned(), picture.png))
}

/// When the last of the runs ends: runs that all end early would else leave most of a chart empty, and draw what happened
/// in a few steps of time.
fn longest(ends_s: impl Iterator<Item = f64>, horizon: Nanos) -> Nanos {
    nanos(charts::scale::largest(ends_s)).clamp(1, horizon.max(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn charts_reach_as_far_as_the_longest_run() {
        let horizon = nanos(7200.0);
        assert_eq!(longest([3.0, 5.0].into_iter(), horizon), nanos(5.0));
        assert_eq!(longest([3.0, 7200.0].into_iter(), horizon), horizon);
        assert_eq!(
            longest([0.0].into_iter(), horizon),
            1,
            "no step of time is nothing"
        );
    }
}
