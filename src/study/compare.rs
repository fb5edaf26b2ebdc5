//! Several designs with common random numbers: the same seed, runs and, for elements of the same name, the same draws.
//!
//! Every figure of every pair of designs gets a paired t interval; all of them hold together at the stated level
//! (Bonferroni over figures and pairs). A design is named the winner of a figure only where it differs from every other.

use rayon::prelude::*;

use super::compared_figures::{
    FigureSamples, element_figures, index, machine_figures, splitter_figures, splitters,
};
use super::first_jams::{self, Apart, FirstJams};
use super::repeat::{Study, run_watched};
use crate::circuit::Circuit;
use crate::findings::RunFigures;
use crate::findings::ways::{Split, Ways};
use crate::findings::workable::{Judgement, judge};
use crate::machine::model::Workable;
use crate::stats::Estimate;
use crate::stats::compare::runs_to_settle;
use crate::stats::describe::{mean, sd};
use crate::stats::estimate::mean_interval;
use crate::stats::simultaneous::{
    Correction, DesignPair, all_pairs, bonferroni_level, clear_highest, clear_lowest,
};

/// Chance with which the runs said to settle a tie do so, if the difference is as it looks.
pub const POWER: f64 = 0.9;

/// One design.
#[derive(Clone, Debug)]
pub struct Design {
    /// What the answer calls it.
    pub name: String,
    /// Its circuit.
    pub circuit: Circuit,
    /// What is good enough of it.
    pub workable: Workable,
}

/// The runs of one design.
#[derive(Clone, Debug, PartialEq)]
pub struct DesignRuns {
    /// The figures of each run.
    pub runs: Vec<RunFigures>,
    /// How its splitters shared the marbles in each run.
    pub splits: Vec<Vec<Split>>,
}

/// Which of two figures a maker wants.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Better {
    /// The larger.
    More,
    /// The smaller.
    Less,
}

/// One figure in every design.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// What it is.
    pub name: String,
    /// Whether it is a share.
    pub share: bool,
    /// Which is better.
    pub better: Better,
    /// The figure of each design, with its own interval.
    pub values: Vec<Estimate>,
    /// Every pair of designs, first minus second; empty where the figure does not exist in some run.
    pub pairs: Vec<DesignPair>,
    /// Runs in all that would settle each pair, if the difference is as it looks; `None` for equals.
    pub settled_by: Vec<Option<u64>>,
    /// The design that beats every other.
    pub winner: Option<usize>,
    /// The design that every other beats.
    pub loser: Option<usize>,
}

/// One splitter that all designs have.
#[derive(Clone, Debug, PartialEq)]
pub struct Shared {
    /// Its name.
    pub name: String,
    /// By design: the element each way leads to, and its share of the marbles.
    pub ways: Vec<Vec<(String, Estimate)>>,
    /// By design: most marbles on end that took the same way, mean over runs.
    pub longest: Vec<Estimate>,
}

/// What a comparison found.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// The names of the designs.
    pub designs: Vec<String>,
    /// What the runs of each show against what is good enough, at `level` for each design by itself.
    pub judgements: Vec<Judgement>,
    /// Runs of each.
    pub runs: usize,
    /// Level at which all intervals of differences hold together.
    pub level: f64,
    /// The figures.
    pub figures: Vec<Compared>,
    /// The splitters.
    pub splitters: Vec<Shared>,
    /// How long the runs of each design go without a jam.
    pub first_jams: Vec<FirstJams>,
    /// The pairs in which a run jammed.
    pub jams_apart: Vec<Apart>,
}

impl Comparison {
    /// The designs that beat every other, each with the number of figures in which it does: `flip-gate in 2`.
    pub fn winners(&self) -> Vec<String> {
        let mut winners = Vec::new();
        for (k, design) in self.designs.iter().enumerate() {
            let wins = self.figures.iter().filter(|f| f.winner == Some(k)).count();
            if wins > 0 {
                winners.push(format!("{design} in {wins}"));
            }
        }
        winners
    }

    /// Number of differences that hold together.
    pub fn differences(&self) -> usize {
        let pairs = self.designs.len() * (self.designs.len() - 1) / 2;
        pairs * self.figures.len()
    }
}

/// Runs 0 to `runs - 1` of every design, in that order whatever the number of threads; `done` is called once a run.
pub fn run_all(
    designs: &[Design],
    study: &Study,
    runs: u32,
    done: impl Fn() + Sync,
) -> Vec<DesignRuns> {
    let each = runs as usize;
    let all: Vec<(RunFigures, Vec<Split>)> = (0..designs.len() * each)
        .into_par_iter()
        .map(|k| {
            let circuit = &designs[k / each].circuit;
            let mut ways = Ways::new(circuit);
            let figures = run_watched(circuit, study, (k % each) as u32, &mut ways);
            done();
            (figures, ways.splits)
        })
        .collect();
    let mut all = all.into_iter();
    let mut by_design = Vec::new();
    for _ in designs {
        let (runs, splits) = all.by_ref().take(each).unzip();
        by_design.push(DesignRuns { runs, splits });
    }
    by_design
}

/// Compares designs by their runs, so that all differences hold together at `level`.
pub fn compare(designs: &[Design], all: &[DesignRuns], horizon_s: f64, level: f64) -> Comparison {
    let mut drafts = splitter_figures(designs, all);
    drafts.extend(element_figures(designs, all));
    drafts.extend(machine_figures(all, horizon_s));
    let each = bonferroni_level(level, drafts.len()).unwrap_or(level);
    let runs: Vec<&[RunFigures]> = all.iter().map(|design| design.runs.as_slice()).collect();
    let (first_jams, jams_apart) = first_jams::compare(&runs, level);
    let judgements = (designs.iter().zip(&runs))
        .map(|(design, runs)| judge(&design.circuit, &design.workable, runs, level))
        .collect();
    Comparison {
        designs: designs.iter().map(|design| design.name.clone()).collect(),
        judgements,
        runs: runs.first().map(|runs| runs.len()).unwrap_or(0),
        level,
        figures: drafts
            .into_iter()
            .map(|draft| draft.compared(each, level))
            .collect(),
        splitters: splitters(designs)
            .iter()
            .map(|name| shared(name, designs, all, level))
            .collect(),
        first_jams,
        jams_apart,
    }
}

impl FigureSamples {
    fn compared(self, each: f64, level: f64) -> Compared {
        let most = if self.share { 1.0 } else { f64::INFINITY };
        let values = (self.by_design.iter())
            .map(|runs| estimate(runs.as_deref(), level).within(0.0, most))
            .collect();
        let known: Option<Vec<Vec<f64>>> = self.by_design.into_iter().collect();
        let rows = known.unwrap_or_default();
        let pairs = all_pairs(&rows, each, Correction::Bonferroni).unwrap_or_default();
        let pair_level = bonferroni_level(each, pairs.len()).unwrap_or(each);
        let settled_by = (pairs.iter())
            .map(|pair| settled_by(&rows[pair.first], &rows[pair.second], pair_level))
            .collect();
        let (winner, loser) = match self.better {
            Better::More => (clear_highest(&pairs), clear_lowest(&pairs)),
            Better::Less => (clear_lowest(&pairs), clear_highest(&pairs)),
        };
        Compared {
            name: self.name,
            share: self.share,
            better: self.better,
            values,
            pairs,
            settled_by,
            winner,
            loser,
        }
    }
}

/// The mean over runs; unknown where the figure does not exist in one of them.
fn estimate(runs: Option<&[f64]>, level: f64) -> Estimate {
    match runs {
        Some(runs) => mean_interval(runs, level),
        None => Estimate::unknown(),
    }
}

/// Runs in all that would settle which of two designs has more, if the difference is as it looks.
fn settled_by(first: &[f64], second: &[f64], level: f64) -> Option<u64> {
    let gaps: Vec<f64> = first.iter().zip(second).map(|(a, b)| a - b).collect();
    runs_to_settle(mean(&gaps)?, sd(&gaps)?, level, POWER)
}

fn shared(name: &str, designs: &[Design], all: &[DesignRuns], level: f64) -> Shared {
    let mut shared = Shared {
        name: name.to_owned(),
        ways: Vec::new(),
        longest: Vec::new(),
    };
    for (design, runs) in designs.iter().zip(all) {
        let n = index(design, name);
        let of_all = runs.splits.iter().flatten();
        let splits: Vec<&Split> = of_all.filter(|split| Some(split.node) == n).collect();
        let mut ways = Vec::new();
        if let Some(first) = splits.first() {
            for (k, &to) in first.targets().iter().enumerate() {
                let shares: Option<Vec<f64>> = (splits.iter())
                    .map(|split| Some(split.shares()?[k]))
                    .collect();
                let share = estimate(shares.as_deref(), level).within(0.0, 1.0);
                ways.push((design.circuit.nodes[to].name.clone(), share));
            }
        }
        shared.ways.push(ways);
        let longest: Vec<f64> = splits.iter().map(|split| split.longest as f64).collect();
        shared.longest.push(mean_interval(&longest, level));
    }
    shared
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::made_up::{MadeUp, about, at_most, normal, random};

    /// Two designs of eight wheels whose fills scatter by 0.05 about 0.5, the second's by `more` on average, in so many runs.
    fn two(made_up: &MadeUp, more: f64, runs: u32, seed: u64) -> Comparison {
        let design = |name: &str| Design {
            name: name.to_owned(),
            circuit: made_up.circuit.clone(),
            workable: made_up.workable.clone(),
        };
        let mut random = random(seed);
        let mut runs_of = |mean: f64| {
            let mut run = |n| made_up.run(n, |_| mean + 0.05 * normal(&mut random));
            DesignRuns {
                runs: (0..runs).map(&mut run).collect(),
                splits: vec![Vec::new(); runs as usize],
            }
        };
        let all = [runs_of(0.5), runs_of(0.5 + more)];
        compare(&[design("one"), design("other")], &all, 3600.0, 0.95)
    }

    fn apart(figure: &Compared) -> bool {
        figure.pairs.iter().any(|pair| pair.distinct)
    }

    /// All intervals hold together: eight fills of the same designs, one study in three would tell some apart without.
    #[test]
    fn figures_share_the_error_of_a_comparison() {
        let made_up = MadeUp::new(8, "least-fill: 0.4");
        let (studies, runs) = (400, 8);
        let wrong = (0..studies)
            .filter(|&seed| two(&made_up, 0.0, runs, seed).figures.iter().any(apart))
            .count() as u64;
        println!("{wrong} of {studies} comparisons tell the same design apart");
        assert!(at_most(wrong, studies, 0.05), "{wrong} of {studies}");
    }

    /// As many runs as are said to settle a tie do so nine times in ten, where the difference is as it looked.
    #[test]
    fn the_runs_said_to_settle_a_tie_do() {
        let made_up = MadeUp::new(8, "least-fill: 0.4");
        let undecided = (0..).map(|seed| two(&made_up, 0.04, 8, 1_000 + seed));
        // One that happens to look as it is: then the promise is for the very designs.
        let sd = 0.05 * std::f64::consts::SQRT_2;
        let looks_right = |figure: &Compared| {
            let test = figure.pairs[0].test;
            let (Some(gap), Some(t)) = (test.difference.value, test.statistic) else {
                return false;
            };
            let scatter = gap / t * 8f64.sqrt();
            !apart(figure)
                && (gap / -0.04 - 1.0).abs() < 0.02
                && (scatter.abs() / sd - 1.0).abs() < 0.02
        };
        let runs = undecided
            .flat_map(|comparison| comparison.figures.into_iter().take(8))
            .find(looks_right)
            .and_then(|figure| figure.settled_by[0])
            .expect("some number settles it");
        let studies = 300;
        let found = |seed: u64| {
            let figures = two(&made_up, 0.04, runs as u32, seed).figures;
            figures
                .iter()
                .take(8)
                .filter(|figure| apart(figure))
                .count() as u64
        };
        let settled: u64 = (0..studies / 8 + 1).map(found).sum();
        let tries = 8 * (studies / 8 + 1);
        println!("{runs} runs settle {settled} of {tries}; {POWER} is promised");
        assert!(
            about(settled, tries, POWER),
            "{runs} runs: {settled} of {tries}"
        );
    }

    /// Differences that are the same in every run: the sign test decides, and how soon is known beforehand.
    #[test]
    fn a_difference_that_never_varies_is_settled_after_a_few_runs() {
        let made_up = MadeUp::new(1, "least-fill: 0.4");
        let with = |runs: u32| {
            let design = |name: &str| Design {
                name: name.to_owned(),
                circuit: made_up.circuit.clone(),
                workable: made_up.workable.clone(),
            };
            let of = |fill: f64| DesignRuns {
                runs: (0..runs).map(|n| made_up.run(n, |_| fill)).collect(),
                splits: vec![Vec::new(); runs as usize],
            };
            let comparison = compare(
                &[design("one"), design("other")],
                &[of(0.996), of(0.0)],
                3600.0,
                0.95,
            );
            (
                apart(&comparison.figures[0]),
                comparison.figures[0].settled_by[0],
            )
        };
        let (decided, settles) = with(8);
        let settles = settles.expect("a number");
        // 2^(1 - n) within 0.05 over 8 figures.
        assert_eq!((decided, settles), (false, 9));
        assert!(!with(settles as u32 - 1).0 && with(settles as u32).0);
    }
}
