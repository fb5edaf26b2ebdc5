//! How long designs run before their first jam, compared by survival curves.

use crate::findings::RunFigures;
use crate::findings::summary::first_jams;
use crate::stats::Estimate;
use crate::stats::simultaneous::{Correction, adjusted_p};
use crate::stats::survival::{kaplan_meier, log_rank};

/// One design's runs up to their first jam.
#[derive(Clone, Debug, PartialEq)]
pub struct FirstJams {
    /// Runs that jammed.
    pub jammed: usize,
    /// Hours by which half of the runs have jammed; unknown where fewer do.
    pub median_h: Estimate,
}

/// Two designs whose runs may jam sooner or later.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Apart {
    /// Index of the first design.
    pub first: usize,
    /// Index of the second design.
    pub second: usize,
    /// Log-rank statistic, chi-square with one degree of freedom.
    pub statistic: f64,
    /// p-value, corrected for the number of pairs by Holm's rule.
    pub adjusted_p: f64,
    /// Whether the two differ at the stated level.
    pub distinct: bool,
}

/// The first jams of each design, and every pair in which a run jammed.
///
/// A run that ends without a jam, be it at its horizon or in gridlock, is counted as one that might yet have jammed
/// (censored). The test takes the runs of two designs as independent; on shared luck they are alike rather than
/// independent, which makes it slower to see a difference, not quicker.
pub fn compare(designs: &[&[RunFigures]], level: f64) -> (Vec<FirstJams>, Vec<Apart>) {
    let times: Vec<_> = designs.iter().map(|runs| first_jams(runs)).collect();
    let each = times.iter().map(|times| FirstJams {
        jammed: times.iter().filter(|time| time.event).count(),
        median_h: kaplan_meier(times).map_or(Estimate::unknown(), |curve| curve.median(level)),
    });
    let couples = (0..times.len()).flat_map(|first| (first + 1..times.len()).map(move |second| (first, second)));
    let tests: Vec<_> =
        couples.filter_map(|(first, second)| Some((first, second, log_rank(&times[first], &times[second])?))).collect();
    let corrected = adjusted_p(&tests.iter().map(|(_, _, test)| test.p).collect::<Vec<_>>(), Correction::Holm);
    let pairs = tests.iter().zip(corrected).map(|(&(first, second, test), adjusted_p)| Apart {
        first,
        second,
        statistic: test.statistic,
        adjusted_p,
        distinct: adjusted_p < 1.0 - level,
    });
    (each.collect(), pairs.collect())
}
