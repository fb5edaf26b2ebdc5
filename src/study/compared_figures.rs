//! The figures in which designs are compared, run by run: of whole machines, and of elements that all designs have.

use super::compare::{Better, Design, DesignRuns};
use crate::circuit::plan::Plan;
use crate::engine::Outcome;
use crate::findings::RunFigures;
use crate::findings::ways::Split;
use crate::findings::words;

/// A figure run by run, `None` for a design in some run of which it does not exist.
pub(super) struct FigureSamples {
    pub(super) name: String,
    pub(super) share: bool,
    pub(super) better: Better,
    pub(super) by_design: Vec<Option<Vec<f64>>>,
}

/// The figures of whole machines.
pub(super) fn machine_figures(all: &[DesignRuns], horizon_s: f64) -> Vec<FigureSamples> {
    use Better::{Less, More};
    let hours = words::figure(horizon_s / 3600.0);
    vec![
        of_machine(all, "marbles a minute", More, |run| run.throughput_per_min),
        of_machine(all, "lap, s", Less, |run| run.lap_s),
        of_machine(all, "marbles waiting", Less, |run| {
            run.elements.iter().map(|e| e.backlog_mean).sum()
        }),
        of_machine(
            all,
            "spills in a run",
            Less,
            |run| Some(run.spills() as f64),
        ),
        FigureSamples {
            name: "jams in 8 h".to_owned(),
            share: false,
            better: Less,
            by_design: all.iter().map(|design| jam_rates(&design.runs)).collect(),
        },
        of_machine(
            all,
            &format!("h to the first jam, up to {hours}"),
            More,
            |run| time_to_jam_h(run, horizon_s),
        ),
        FigureSamples {
            share: true,
            ..of_machine(all, "runs that stop for good", Less, |run| {
                let stops = matches!(run.outcome, Outcome::Gridlocked | Outcome::RanDry);
                Some(f64::from(u8::from(stops)))
            })
        },
    ]
}

fn of_machine(
    all: &[DesignRuns],
    name: &str,
    better: Better,
    figure: impl Fn(&RunFigures) -> Option<f64>,
) -> FigureSamples {
    FigureSamples {
        name: name.to_owned(),
        share: false,
        better,
        by_design: (all.iter())
            .map(|design| design.runs.iter().map(&figure).collect())
            .collect(),
    }
}

/// Time to the first jam, or all the time there was; unknown for a run that stopped for another reason.
fn time_to_jam_h(run: &RunFigures, horizon_s: f64) -> Option<f64> {
    match run.first_jam_s() {
        Some(time_s) => Some(time_s / 3600.0),
        None if run.outcome == Outcome::Ran => Some(horizon_s / 3600.0),
        None => None,
    }
}

/// For every run a number whose mean is the rate of all runs together, jams over time, and whose spread gives that rate's
/// spread: runs that a jam cuts short count by their time.
///
/// Source: the linearised ratio estimator, Cochran, "Sampling Techniques", 3rd edition (1977), chapter 6 (from memory).
fn jam_rates(runs: &[RunFigures]) -> Option<Vec<f64>> {
    let times: Vec<f64> = runs.iter().map(|run| run.end_s / (8.0 * 3600.0)).collect();
    let all_time: f64 = times.iter().sum();
    if all_time <= 0.0 {
        return None;
    }
    let jams: u64 = runs.iter().map(RunFigures::jam_count).sum();
    let (rate, mean_time) = (jams as f64 / all_time, all_time / runs.len() as f64);
    let rates = (runs.iter().zip(times))
        .map(|(run, time)| rate + (run.jam_count() as f64 - rate * time) / mean_time);
    Some(rates.collect())
}

/// The names of elements that all designs have and that are such in each, in the order of the first.
fn common(designs: &[Design], is: impl Fn(&Plan) -> bool) -> Vec<String> {
    let mut names = Vec::new();
    let Some(first) = designs.first() else {
        return names;
    };
    for Plan { name, .. } in &first.circuit.nodes {
        let in_all = designs.iter().all(|design| {
            let mut plans = design.circuit.nodes.iter();
            plans.any(|plan| plan.name == *name && is(plan))
        });
        if in_all {
            names.push(name.clone());
        }
    }
    names
}

/// The names of splitters that all designs have.
pub(super) fn splitters(designs: &[Design]) -> Vec<String> {
    common(designs, |plan| plan.ways.len() > 1)
}

/// The place of an element in a design.
pub(super) fn index(design: &Design, name: &str) -> Option<usize> {
    let mut plans = design.circuit.nodes.iter();
    plans.position(|plan| plan.name == name)
}

/// By design, a figure of the element of this name in each run.
fn samples<T>(
    designs: &[Design],
    name: &str,
    runs: &[&[T]],
    figure: impl Fn(&T, usize) -> Option<f64>,
) -> Vec<Option<Vec<f64>>> {
    (designs.iter().zip(runs))
        .map(|(design, runs)| {
            let n = index(design, name)?;
            runs.iter().map(|run| figure(run, n)).collect()
        })
        .collect()
}

/// The fills of wheels, and the backlogs where marbles of many ways come together, that all designs have.
pub(super) fn element_figures(designs: &[Design], all: &[DesignRuns]) -> Vec<FigureSamples> {
    let runs: Vec<&[RunFigures]> = all.iter().map(|design| &design.runs[..]).collect();
    let mut figures = Vec::new();
    for name in common(designs, |plan| plan.wheel().is_some()) {
        figures.push(FigureSamples {
            name: format!("fill of {name}"),
            share: true,
            better: Better::More,
            by_design: samples(designs, &name, &runs, RunFigures::fill),
        });
    }
    for name in common(designs, |plan| plan.collects) {
        figures.push(FigureSamples {
            name: format!("backlog of {name}, 95 % below"),
            share: false,
            better: Better::Less,
            by_design: samples(designs, &name, &runs, |run, n| run.elements[n].backlog_p95),
        });
    }
    figures
}

/// How evenly, and how long on one way, the splitters that all designs have send marbles.
pub(super) fn splitter_figures(designs: &[Design], all: &[DesignRuns]) -> Vec<FigureSamples> {
    let runs: Vec<&[Vec<Split>]> = all.iter().map(|design| &design.splits[..]).collect();
    let mut figures = Vec::new();
    for name in splitters(designs) {
        figures.push(FigureSamples {
            share: true,
            better: Better::Less,
            by_design: samples(designs, &name, &runs, |splits, n| {
                splits.iter().find(|split| split.node == n)?.unevenness()
            }),
            name: format!("{name}: busiest less quietest way"),
        });
        figures.push(FigureSamples {
            share: false,
            better: Better::Less,
            by_design: samples(designs, &name, &runs, |splits, n| {
                let split = splits.iter().find(|split| split.node == n)?;
                Some(split.longest as f64)
            }),
            name: format!("{name}: longest run on one way"),
        });
    }
    figures
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::plan::Cause;
    use crate::engine::outcome::Jam;
    use crate::findings::made_up::MadeUp;

    /// A run that ended then, with so many jams at the first element, the first of them half an hour before.
    fn run(outcome: Outcome, end_s: f64, jams: u64) -> RunFigures {
        let jam = Jam {
            node: 0,
            cause: Cause::Pinch,
            count: jams,
            first: crate::circuit::draw::nanos((end_s - 1800.0).max(0.0)),
        };
        RunFigures {
            outcome,
            end_s,
            jams: if jams > 0 { vec![jam] } else { Vec::new() },
            ..MadeUp::new(1, "least-fill: 0.5").run(0, |_| 0.5)
        }
    }

    /// Two jams in four hours and none in twelve: one in eight hours of all sixteen. Each run stands for what it has more or less
    /// than that rate asks of its time, over the mean time of a run, eight hours.
    #[test]
    fn jams_are_a_rate_of_all_time_together() {
        let hours = |hours: f64, jams| run(Outcome::Ran, hours * 3600.0, jams);
        let rates = jam_rates(&[hours(4.0, 2), hours(12.0, 0)]);
        assert_eq!(rates, Some(vec![2.5, -0.5]));
        assert_eq!(jam_rates(&[hours(0.0, 0)]), None);
        assert_eq!(jam_rates(&[]), None);
    }

    #[test]
    fn whoever_never_jams_is_known_for_as_long_as_it_ran() {
        let to_jam = |outcome, jams| time_to_jam_h(&run(outcome, 5400.0, jams), 7200.0);
        assert_eq!(to_jam(Outcome::Jammed, 1), Some(1.0));
        assert_eq!(to_jam(Outcome::Ran, 0), Some(2.0));
        assert_eq!(to_jam(Outcome::Gridlocked, 0), None);
    }
}
