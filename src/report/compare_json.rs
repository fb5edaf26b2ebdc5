//! A comparison of designs as JSON.

use std::iter::zip;

use serde::Serialize;

use super::compare::CompareStudy;
use super::judged::JudgementJson;
use crate::findings::RunTotals;
use crate::stats::Estimate;
use crate::study::compare::{Better, Compared, Comparison, POWER, Shared};

impl CompareStudy<'_> {
    /// The study as JSON.
    pub fn json(&self) -> String {
        let of = self.comparison;
        let all = CompareJson {
            format: 1,
            title: self.title,
            designs: &of.designs,
            seed: self.seed,
            runs: of.runs,
            hours: self.hours,
            level: of.level,
            differences: of.differences(),
            works: self.works_json(),
            figures: of.figures.iter().map(|f| figure_json(of, f)).collect(),
            splitters: of.splitters.iter().map(|s| splitter_json(of, s)).collect(),
            first_jam: first_jam_json(of),
            first_jam_log_rank: log_rank_json(of),
        };
        serde_json::to_string_pretty(&all).unwrap_or_default()
    }

    fn works_json(&self) -> Vec<WorksJson<'_>> {
        let mut all = Vec::new();
        for (design, judgement) in zip(self.designs, &self.comparison.judgements) {
            let totals = RunTotals::new(design.circuit.start);
            all.push(WorksJson {
                design: &design.name,
                judged: JudgementJson::new(&design.circuit, judgement, &totals),
            });
        }
        all
    }
}

#[derive(Serialize)]
struct CompareJson<'a> {
    format: u32,
    title: &'a str,
    designs: &'a [String],
    seed: u64,
    runs: usize,
    hours: f64,
    level: f64,
    differences: usize,
    works: Vec<WorksJson<'a>>,
    figures: Vec<FigureJson<'a>>,
    splitters: Vec<SplitterJson<'a>>,
    first_jam: Vec<FirstJamJson<'a>>,
    first_jam_log_rank: Vec<LogRankJson<'a>>,
}

#[derive(Serialize)]
struct WorksJson<'a> {
    design: &'a str,
    #[serde(flatten)]
    judged: JudgementJson<'a>,
}

#[derive(Serialize)]
struct FirstJamJson<'a> {
    design: &'a str,
    jammed: usize,
    median_h: Estimate,
}

#[derive(Serialize)]
struct LogRankJson<'a> {
    first: &'a str,
    second: &'a str,
    statistic: f64,
    adjusted_p: f64,
    distinct: bool,
}

#[derive(Serialize)]
struct FigureJson<'a> {
    name: &'a str,
    better: Better,
    values: &'a [Estimate],
    differences: Vec<DifferenceJson<'a>>,
    winner: Option<&'a str>,
    loser: Option<&'a str>,
}

#[derive(Serialize)]
struct DifferenceJson<'a> {
    first: &'a str,
    second: &'a str,
    difference: Estimate,
    distinct: bool,
    power: f64,
    runs_to_settle: Option<u64>,
}

#[derive(Serialize)]
struct SplitterJson<'a> {
    name: &'a str,
    designs: Vec<SplitJson<'a>>,
}

#[derive(Serialize)]
struct SplitJson<'a> {
    design: &'a str,
    longest_run: Estimate,
    ways: Vec<WayJson<'a>>,
}

#[derive(Serialize)]
struct WayJson<'a> {
    to: &'a str,
    share: Estimate,
}

fn figure_json<'a>(of: &'a Comparison, f: &'a Compared) -> FigureJson<'a> {
    let mut differences = Vec::new();
    for (pair, runs_to_settle) in zip(&f.pairs, &f.settled_by) {
        differences.push(DifferenceJson {
            first: &of.designs[pair.first],
            second: &of.designs[pair.second],
            difference: pair.test.difference,
            distinct: pair.distinct,
            power: POWER,
            runs_to_settle: *runs_to_settle,
        });
    }
    FigureJson {
        name: &f.name,
        better: f.better,
        values: &f.values,
        differences,
        winner: f.winner.map(|k| of.designs[k].as_str()),
        loser: f.loser.map(|k| of.designs[k].as_str()),
    }
}

fn splitter_json<'a>(of: &'a Comparison, shared: &'a Shared) -> SplitterJson<'a> {
    let mut designs = Vec::new();
    for (k, design) in of.designs.iter().enumerate() {
        let ways = shared.ways[k].iter();
        designs.push(SplitJson {
            design,
            longest_run: shared.longest[k],
            ways: ways
                .map(|(to, share)| WayJson { to, share: *share })
                .collect(),
        });
    }
    SplitterJson {
        name: &shared.name,
        designs,
    }
}

fn first_jam_json(of: &Comparison) -> Vec<FirstJamJson<'_>> {
    zip(&of.designs, &of.first_jams)
        .map(|(design, jams)| FirstJamJson {
            design,
            jammed: jams.jammed,
            median_h: jams.median_h,
        })
        .collect()
}

fn log_rank_json(of: &Comparison) -> Vec<LogRankJson<'_>> {
    of.jams_apart
        .iter()
        .map(|pair| LogRankJson {
            first: &of.designs[pair.first],
            second: &of.designs[pair.second],
            statistic: pair.statistic,
            adjusted_p: pair.adjusted_p,
            distinct: pair.distinct,
        })
        .collect()
}
