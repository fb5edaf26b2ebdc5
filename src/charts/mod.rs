//! Charts as PNG bytes, one file a chart. Nothing here opens a file.

pub mod backlog;
pub mod bands;
pub mod bitmap;
pub mod canvas;
pub mod circuit;
mod circuit_list;
pub mod close_up;
pub mod compare;
pub mod diagnose;
pub mod excerpt;
pub mod fill;
pub mod film;
pub mod fit;
pub mod frame;
pub mod jams;
pub mod labels;
pub mod layout;
pub mod map;
pub mod marbles;
pub mod mend;
pub mod outline;
pub mod profile;
pub mod rhythm;
pub mod scale;
pub mod signs;
pub mod style;
pub mod survival;
pub mod template;
pub mod text;
pub mod time_distance;
pub mod time_distance_rows;
pub mod time_series;
pub mod tolerance;
pub mod wheel_face;
pub mod window;

use crate::circuit::Circuit;
use crate::findings::sentences::lost_over;
use crate::findings::timeline::Timeline;
use crate::findings::words::{count, duration, setting};
use crate::findings::{Runs, Summary};
use canvas::Format;
use scale::largest;

/// What the charts of a `run` are drawn from.
#[derive(Clone, Copy, Debug)]
pub struct ChartData<'a> {
    /// The circuit.
    pub circuit: &'a Circuit,
    /// What the runs mean together.
    pub summary: &'a Summary,
    /// The runs.
    pub runs: &'a Runs,
    /// The courses of the first runs, in run order.
    pub courses: &'a [Timeline],
    /// How wide they are.
    pub format: Format,
}

/// The charts of a `run`: name and bytes of each. One that is about something the machine does not have is left out.
pub fn of_run(study: &ChartData) -> Vec<(String, Vec<u8>)> {
    let pictures = [
        ("circuit.png", Some(circuit::picture(study))),
        ("marbles.png", Some(marbles::picture(study))),
        ("backlog.png", Some(backlog::picture(study))),
        ("fill.png", fill::picture(study)),
        ("jams.png", Some(jams::picture(study))),
    ];
    let mut files = Vec::new();
    for (name, picture) in pictures {
        files.extend(picture.map(|picture| (name.to_owned(), picture.png)));
    }
    files
}

/// A mean number of marbles, to no more digits than a maker can use: `2.5`, `0.12`.
pub fn marbles_text(x: f64) -> String {
    match x {
        x if x >= 0.995 => format!("{x:.1}"),
        x if x > 0.0 && x < 0.005 => "under 0.01".to_owned(),
        x => format!("{x:.2}"),
    }
}

impl ChartData<'_> {
    /// Load, and speed where there is one: `36 marbles at 9 rpm`.
    pub fn setting(&self) -> String {
        setting(self.circuit.marbles, self.summary.rpm)
    }

    /// How many marbles go over the side of element `n`, and in what, where any do.
    pub fn lost(&self, n: usize) -> Option<(f64, String)> {
        if self.runs.totals.elements.get(n)?.spills == 0 {
            return None;
        }
        let lost = lost_over(self.summary, &self.runs.totals, n);
        Some((lost.mean?, lost.per))
    }

    /// The deepest backlog of element `n` in any run.
    pub fn peak(&self, n: usize) -> Option<f64> {
        let (peak, _) = self.runs.totals.elements.get(n)?.peak?;
        Some(peak)
    }

    /// How much was run: `200 runs of 2 h`.
    pub fn runs_of(&self) -> String {
        format!(
            "{} of {}",
            count(self.runs.count() as u64, "run"),
            duration(self.summary.hours * 3600.0)
        )
    }

    /// When the last of the watched runs ended, seconds.
    pub fn span_s(&self) -> f64 {
        largest(self.courses.iter().map(|course| course.end_s))
    }

    /// What the line and the shade of a course mean.
    pub fn key(&self) -> String {
        let early = self
            .courses
            .iter()
            .any(|course| course.end_s < self.span_s());
        let still = if early { ", of those still going" } else { "" };
        match self.courses.len() {
            1 => "Line: the one run watched.".to_owned(),
            n => format!("Line: median of {n} runs{still}; shade: where 9 in 10 of them are."),
        }
    }
}
