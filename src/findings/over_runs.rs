//! One figure over all runs, with an interval that holds also where runs end early, or hardly differ.
//!
//! Runs are weighed by their time: an average over time is that of all runs together, and what is counted is counted by
//! the hour. A mean of the runs' own averages would take a run that jams after a minute for as good as a whole one.

use super::figures::RunFigures;
use super::summary::LEVEL;
use crate::circuit::Circuit;
use crate::stats::Estimate;
use crate::stats::estimate::{weighted_mean_interval, with_unseen_runs};
use crate::stats::proportion::clopper_pearson;
use crate::stats::survival::event_rate;

/// Runs of one circuit, as figures are estimated from them.
#[derive(Clone, Copy, Debug)]
pub struct OverRuns<'r> {
    runs: &'r [RunFigures],
    /// Whether runs can differ at all: where nothing is drawn, every figure is a constant and known exactly.
    random: bool,
}

impl<'r> OverRuns<'r> {
    /// These runs of `circuit`.
    pub fn new(circuit: &Circuit, runs: &'r [RunFigures]) -> Self {
        OverRuns {
            runs,
            random: circuit.is_random(),
        }
    }

    /// A share of the time, 0 to 1, over all runs together.
    pub fn share(&self, figure: impl Fn(&RunFigures) -> Option<f64>) -> Estimate {
        let share = self.average(figure, 1.0).within(0.0, 1.0);
        let alike = self.random && share.low == share.high;
        // Were it 1 in all that were seen, it may be less in as many others as it may be more where it was 0.
        let low = share.low.map(|low| {
            if alike && low == 1.0 {
                1.0 - self.unseen().unwrap_or(0.0)
            } else {
                low
            }
        });
        Estimate { low, ..share }
    }

    /// An average over the time of all runs together, never negative and, in a run, at most `most`.
    ///
    /// Where it is 0 in every run, it is more in at most so many others as the exact binomial bound allows.
    pub fn average(&self, figure: impl Fn(&RunFigures) -> Option<f64>, most: f64) -> Estimate {
        let average = weighted_mean_interval(&self.by(figure, |run| run.end_s), LEVEL)
            .within(0.0, f64::INFINITY);
        match average.high {
            Some(0.0) if self.random => Estimate::from_parts(
                average.value,
                average.low,
                self.unseen().map(|share| share * most),
            ),
            _ => average,
        }
    }

    /// Seconds a lap, over the laps of all runs; runs without one say nothing.
    pub fn lap_s(&self) -> Estimate {
        weighted_mean_interval(&self.by(|run| run.lap_s, |run| run.laps as f64), LEVEL)
            .within(0.0, f64::INFINITY)
    }

    /// Marbles a minute over the time of all runs together.
    pub fn throughput_per_min(&self) -> Estimate {
        let rate = self.average(|run| run.throughput_per_min, f64::INFINITY);
        let none = event_rate(0, self.runs.iter().map(|run| run.end_s / 60.0).sum(), LEVEL);
        if self.random && rate.value == Some(0.0) && rate.low.is_some() {
            none
        } else {
            rate
        }
    }

    /// The mean over runs of what happens once in each; unknown as soon as it does not happen in one of them.
    pub fn mean(&self, figure: impl Fn(&RunFigures) -> Option<f64>) -> Estimate {
        let all: Option<Vec<(f64, f64)>> = self
            .runs
            .iter()
            .map(|run| Some((figure(run)?, f64::from(run.runs))))
            .collect();
        match all {
            Some(all) => weighted_mean_interval(&all, LEVEL).within(0.0, f64::INFINITY),
            None => Estimate::unknown(),
        }
    }

    /// What goes on all the time, counted in so many hours of running.
    pub fn flow(&self, hours: f64, count: impl Fn(&RunFigures) -> u64) -> Estimate {
        let values = self.in_hours(hours, count);
        let mean = weighted_mean_interval(&values, LEVEL).value.unwrap_or(0.0);
        self.whole_numbers(&values, (mean - 1.0, mean + 1.0))
    }

    /// Jams that needed somebody, in so many hours of running.
    ///
    /// One run has an interval as well: Poisson's needs no second.
    pub fn jams(&self, hours: f64) -> Estimate {
        let poisson = self.poisson(hours, RunFigures::jam_count);
        let mean = self.mishaps(hours, RunFigures::jam_count);
        Estimate {
            low: wider(mean.low, poisson.low, f64::min),
            high: wider(mean.high, poisson.high, f64::max),
            ..poisson
        }
    }

    /// The rate in so many hours, as what comes singly and steadily has it.
    fn poisson(&self, hours: f64, count: impl Fn(&RunFigures) -> u64) -> Estimate {
        let units = (self.runs.iter())
            .map(|run| run.end_s / (hours * 3600.0))
            .sum();
        event_rate(self.runs.iter().map(count).sum(), units, LEVEL)
    }

    /// What happens now and then, counted in so many hours of running: the wider of Student's t, which sees what comes
    /// in bursts, and the exact Poisson interval, which holds for what is rare.
    pub fn mishaps(&self, hours: f64, count: impl Fn(&RunFigures) -> u64) -> Estimate {
        let mean = weighted_mean_interval(&self.in_hours(hours, &count), LEVEL);
        let (Some(low), Some(high), true) = (mean.low, mean.high, self.random) else {
            return mean;
        };
        let poisson = self.poisson(hours, count);
        Estimate {
            value: mean.value,
            low: Some(poisson.low.unwrap_or(low).min(low).max(0.0)),
            high: poisson.high.map(|other| other.max(high)),
        }
    }

    /// The mean over runs of a whole number that is the extreme of its run.
    pub fn extreme(&self, figure: impl Fn(&RunFigures) -> f64) -> Estimate {
        self.level(|run| Some(figure(run)), |run| f64::from(run.runs))
    }

    /// The mean over runs, weighed by their time, of a whole number that stands for the whole run.
    pub fn level_over_time(&self, figure: impl Fn(&RunFigures) -> Option<f64>) -> Estimate {
        self.level(figure, |run| run.end_s)
    }

    fn level(
        &self,
        figure: impl Fn(&RunFigures) -> Option<f64>,
        weight: impl Fn(&RunFigures) -> f64,
    ) -> Estimate {
        let values = self.by(figure, weight);
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for (value, _) in &values {
            least = least.min(*value);
            most = most.max(*value);
        }
        self.whole_numbers(&values, (least - 1.0, most + 1.0))
    }

    /// Whole numbers that agree in all runs seen may be one more or less in others.
    fn whole_numbers(&self, values: &[(f64, f64)], unseen: (f64, f64)) -> Estimate {
        let interval = if self.random {
            with_unseen_runs
        } else {
            |values: &_, _, level| weighted_mean_interval(values, level)
        };
        interval(values, unseen, LEVEL).within(0.0, f64::INFINITY)
    }

    /// Values with their weights; a run in which the figure does not exist weighs nothing.
    fn by(
        &self,
        figure: impl Fn(&RunFigures) -> Option<f64>,
        weight: impl Fn(&RunFigures) -> f64,
    ) -> Vec<(f64, f64)> {
        self.runs
            .iter()
            .filter_map(|run| Some((figure(run)?, weight(run))))
            .filter(|(_, weight)| *weight > 0.0)
            .collect()
    }

    fn in_hours(&self, hours: f64, count: impl Fn(&RunFigures) -> u64) -> Vec<(f64, f64)> {
        self.by(
            |run| Some(in_hours(run, hours, count(run))),
            |run| run.end_s,
        )
    }

    /// The share of runs that may be other than all those seen.
    fn unseen(&self) -> Option<f64> {
        clopper_pearson(
            0,
            self.runs.iter().map(|run| u64::from(run.runs)).sum(),
            LEVEL,
        )
        .high
    }
}

/// The further end of two intervals; unknown where the second's is.
fn wider(one: Option<f64>, other: Option<f64>, pick: fn(f64, f64) -> f64) -> Option<f64> {
    match (one, other) {
        (Some(one), Some(other)) => Some(pick(one, other)),
        _ => other,
    }
}

/// What is counted of a run, in so many hours; a run of the full time is taken as it is.
fn in_hours(run: &RunFigures, hours: f64, count: u64) -> f64 {
    let share = run.end_s / (hours * 3600.0);
    let whole = (share - 1.0).abs() < 1e-9;
    if whole {
        count as f64
    } else {
        count as f64 / share
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::pick_up::PickUpOdds;
    use crate::circuit::plan::{Cause, Role};
    use crate::engine::outcome::Jam;
    use crate::findings::made_up::MadeUp;

    /// A machine whose wheel misses one marble in ten, and ten runs of eight hours, changed.
    fn ten(change: impl Fn(u32, &mut RunFigures)) -> (Circuit, Vec<RunFigures>) {
        let mut circuit = MadeUp::new(1, "least-fill: 0.5");
        let runs = (0..10).map(|n| {
            let mut run = circuit.run(n, |_| 1.0);
            run.end_s = 8.0 * 3600.0;
            change(n, &mut run);
            run
        });
        let runs = runs.collect();
        let Role::Carousel(wheel) = &mut circuit.circuit.nodes[1].role else {
            panic!("no wheel")
        };
        wheel.pick_up = PickUpOdds::alike(0.9, 0.0);
        assert!(circuit.circuit.is_random());
        (circuit.circuit, runs)
    }

    /// Of ten runs with all pockets full, or none with a marble waiting, one in so many others may be otherwise:
    /// 1 - 0.025^(1/10) of them (Clopper & Pearson).
    #[test]
    fn what_is_alike_in_ten_runs_may_be_otherwise_in_others() {
        let (circuit, runs) = ten(|_, _| {});
        let over_runs = OverRuns::new(&circuit, &runs);
        let unseen = 1.0 - libm::pow(0.025, 0.1);
        let near = |end: Option<f64>, is: f64| {
            assert!((end.expect("an end") - is).abs() < 1e-9, "{end:?} {is}")
        };
        let full = over_runs.share(|_| Some(1.0));
        near(full.low, 1.0 - unseen);
        near(full.high, 1.0);
        let none = over_runs.average(|_| Some(0.0), 5.0);
        near(none.low, 0.0);
        near(none.high, 5.0 * unseen);
    }

    /// Twenty jams in one run of ten: 2 +- 2.262 * 2 by Student's t with 9 degrees of freedom, whose arm is longer than
    /// Poisson's, 1.22 to 3.09 for 20 in ten stretches.
    #[test]
    fn jams_that_come_together_have_the_wider_interval_of_two() {
        let jams = Jam {
            node: 1,
            cause: Cause::Pinch,
            first: 0,
            count: 20,
        };
        let (circuit, runs) = ten(|n, run| run.jams.extend((n == 3).then_some(jams)));
        let rate = OverRuns::new(&circuit, &runs).jams(8.0);
        assert_eq!((rate.value, rate.low), (Some(2.0), Some(0.0)));
        let high = rate.high.expect("an end");
        assert!((high - (2.0 + 2.0 * 2.262157)).abs() < 1e-5, "{high}");
    }

    #[test]
    fn a_run_of_no_time_weighs_nothing() {
        let (circuit, mut runs) = ten(|_, run| run.elements[0].backlog_p95 = Some(3.0));
        let level = |runs: &[RunFigures]| {
            OverRuns::new(&circuit, runs).level_over_time(|run| run.elements[0].backlog_p95)
        };
        let without = level(&runs);
        let mut none = runs[0].clone();
        (none.end_s, none.elements[0].backlog_p95) = (0.0, Some(50.0));
        runs.push(none);
        assert_eq!(level(&runs), without);
    }
}
