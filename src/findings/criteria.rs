//! What the runs show of each criterion: its figure between the bounds that decide, and whether it keeps to the limit.

use super::figures::RunFigures;
use super::looked::{Counted, jams_widened, widened};
use super::totals::{RunTotals, Times};
use super::workable::{Criterion, CriterionResult, TOLERATED, Verdict};
use crate::circuit::Circuit;
use crate::stats::Estimate;
use crate::stats::estimate::{mean_interval, weighted_mean_interval};
use crate::stats::proportion::clopper_pearson;
use crate::stats::significance::student_critical;
use crate::stats::survival::event_rate;

/// The runs, and the two-sided levels whose ends are the one-sided bounds that show a criterion met or broken.
pub(super) struct Evaluator<'a> {
    pub(super) circuit: &'a Circuit,
    pub(super) runs: &'a [RunFigures],
    pub(super) totals: &'a RunTotals,
    pub(super) met: f64,
    pub(super) broken: f64,
}

impl Evaluator<'_> {
    /// At most [`TOLERATED`] of runs are such.
    pub(super) fn never(&self, criterion: Criterion, such: Times) -> CriterionResult {
        let result = self.at_most(criterion, TOLERATED, |level| {
            clopper_pearson(such.runs, self.totals.runs, level)
        });
        CriterionResult {
            of_runs: true,
            ..result
        }
    }

    pub(super) fn jams(&self, allowed: f64) -> CriterionResult {
        if allowed <= 0.0 {
            let result = self.at_most(Criterion::Jams, TOLERATED, |level| {
                let share = clopper_pearson(self.totals.jammed.runs, self.totals.runs, level);
                jams_widened(share, self.circuit, self.runs, level).within(0.0, 1.0)
            });
            return CriterionResult {
                of_runs: true,
                ..result
            };
        }
        if self.runs.iter().any(|run| run.end_s > 0.0) {
            return self.at_most(Criterion::Jams, allowed, |level| {
                let rate = self.jams_per_8h(allowed, level);
                jams_widened(rate, self.circuit, self.runs, level).within(0.0, f64::INFINITY)
            });
        }
        // Every run jams before any time has passed: no rate, but no doubt either.
        let at_once = self.never(Criterion::Jams, self.totals.jammed);
        CriterionResult {
            figure: Estimate::unknown(),
            of_runs: false,
            limit: allowed,
            ..at_once
        }
    }

    /// The exact Poisson bounds hold for jams that come singly and steadily, and are sure of nothing too early; the t bounds,
    /// of jams over what so much running allows, see them come in clusters: the wider of both.
    fn jams_per_8h(&self, allowed: f64, level: f64) -> Estimate {
        let (mut jams, mut time, mut over) = (0.0, 0.0, Vec::new());
        for run in self.runs {
            let (here, eights) = (run.jam_count() as f64, run.end_s / (8.0 * 3600.0));
            jams += here;
            time += eights;
            over.push(here - allowed * eights);
        }
        let poisson = event_rate(jams as u64, time, level);
        let over = mean_interval(&over, level);
        let per_8h = |end: f64| allowed + end * self.runs.len() as f64 / time;
        let low = over.low.map(per_8h).zip(poisson.low);
        let high = over.high.map(per_8h).zip(poisson.high);
        Estimate::from_parts(
            poisson.value,
            low.map(|(a, b)| a.min(b)),
            high.map(|(a, b)| a.max(b)),
        )
    }

    pub(super) fn spills(&self, allowed: u32) -> CriterionResult {
        if allowed == 0 {
            return self.never(Criterion::Spills, self.totals.spilled);
        }
        self.at_most(Criterion::Spills, f64::from(allowed), |level| {
            self.mean_of_counts(|batch| batch.spills() as f64 / f64::from(batch.runs), level)
        })
    }

    /// The mean fill of a wheel over runs, with what close looks leave unsure of it.
    fn mean_fill(&self, wheel: usize, level: f64) -> Estimate {
        let fills = self.by_run(|batch| batch.elements[wheel].of_runs().fill);
        let mean = weighted_mean_interval(&fills, level);
        widened(mean, &self.circuit.nodes[wheel], Counted::Taken, level)
    }

    pub(super) fn fill(&self, wheel: usize, least: f64) -> CriterionResult {
        let met = self.mean_fill(wheel, self.met);
        let broken = self.mean_fill(wheel, self.broken);
        let figure = Estimate::from_parts(met.value, met.low, broken.high).within(0.0, 1.0);
        let verdict = match (figure.low, figure.high) {
            _ if least <= 0.0 => Verdict::Met,
            (Some(low), _) if low >= least => Verdict::Met,
            (_, Some(high)) if high < least => Verdict::Broken,
            _ => Verdict::Unsure,
        };
        CriterionResult {
            criterion: Criterion::Fill(wheel),
            verdict,
            figure,
            of_runs: false,
            limit: least,
            by_default: false,
            likely: figure.value >= Some(least),
        }
    }

    pub(super) fn backlog(&self, node: usize, allowed: u32) -> CriterionResult {
        self.at_most(Criterion::Backlog(node), f64::from(allowed), |level| {
            self.mean_of_counts(|batch| batch.elements[node].of_runs().backlog_p95, level)
        })
    }

    /// The mean of a figure in whole marbles. Runs that all show the same number prove little: the spread is taken to be at
    /// least what it would be if one more run had differed by one marble.
    fn mean_of_counts(&self, figure: impl Fn(&RunFigures) -> f64, level: f64) -> Estimate {
        let n = self.totals.runs as f64;
        let seen = weighted_mean_interval(&self.by_run(figure), level);
        let (Some(mean), Some(t)) = (seen.value, student_critical(level, n - 1.0)) else {
            return seen.within(0.0, f64::INFINITY);
        };
        let least = t * (1.0 / (n + 1.0)).sqrt() / n.sqrt();
        let low = seen.low.map(|low| low.min(mean - least));
        let high = seen.high.map(|high| high.max(mean + least));
        Estimate::from_parts(seen.value, low, high).within(0.0, f64::INFINITY)
    }

    /// A mean over the runs of each batch, with their number.
    fn by_run(&self, figure: impl Fn(&RunFigures) -> f64) -> Vec<(f64, f64)> {
        self.runs
            .iter()
            .map(|batch| (figure(batch), f64::from(batch.runs)))
            .collect()
    }

    /// A figure that may be at most `limit`, with its two-sided interval at any level.
    fn at_most(
        &self,
        criterion: Criterion,
        limit: f64,
        interval: impl Fn(f64) -> Estimate,
    ) -> CriterionResult {
        let (met, broken) = (interval(self.met), interval(self.broken));
        let figure = Estimate::from_parts(met.value, broken.low, met.high);
        let verdict = match (figure.low, figure.high) {
            (_, Some(high)) if high <= limit => Verdict::Met,
            (Some(low), _) if low > limit => Verdict::Broken,
            _ => Verdict::Unsure,
        };
        CriterionResult {
            criterion,
            verdict,
            figure,
            of_runs: false,
            limit,
            by_default: false,
            likely: matches!(figure.value, Some(value) if value <= limit),
        }
    }
}
