//! A comparison of designs in sentences, as a table and as JSON.

use serde::Serialize;

use super::judged::JudgementJson;
use super::rows::TextTable;
use crate::findings::RunTotals;
use crate::findings::sentences::Finding;
use crate::findings::verdict_text::{Judged, tolerance};
use crate::findings::words::{
    count, difference as difference_text, duration, estimate, figure, percent,
};
use crate::findings::workable::Judgement;
use crate::stats::Estimate;
use crate::stats::simultaneous::DesignPair;
use crate::study::compare::{Better, Compared, Comparison, Design, POWER, Shared};
use crate::study::first_jams::{Apart, FirstJams};

/// A comparison and what it was about.
#[derive(Clone, Copy, Debug)]
pub struct CompareStudy<'a> {
    /// The first machine's title.
    pub title: &'a str,
    /// The seed.
    pub seed: u64,
    /// Hours of each run.
    pub hours: f64,
    /// The designs.
    pub designs: &'a [Design],
    /// What was found.
    pub comparison: &'a Comparison,
}

impl CompareStudy<'_> {
    /// How to repeat it.
    pub fn repeat(&self) -> String {
        let runs = count(self.comparison.runs as u64, "run");
        format!(
            "seed {}, {runs} of {} each",
            self.seed,
            duration(self.hours * 3600.0)
        )
    }

    /// The answer, then what each design is best at, what is undecided, and how it was judged.
    pub fn findings(&self) -> Vec<Finding> {
        let of = self.comparison;
        let mut all = vec![say(self.answer())];
        all.extend(
            self.designs
                .iter()
                .zip(&of.judgements)
                .map(|(design, judgement)| self.works(design, judgement)),
        );
        for (k, design) in of.designs.iter().enumerate() {
            let best: Vec<String> = of
                .figures
                .iter()
                .filter(|f| f.winner == Some(k))
                .map(|f| lead(of, f, k))
                .collect();
            if !best.is_empty() {
                all.push(say(format!("{design} is best at {}.", best.join("; "))));
            }
        }
        for (k, design) in of
            .designs
            .iter()
            .enumerate()
            .filter(|_| of.designs.len() > 2)
        {
            let worst: Vec<String> = of
                .figures
                .iter()
                .filter(|f| f.loser == Some(k))
                .map(|f| lead(of, f, k))
                .collect();
            if !worst.is_empty() {
                all.push(say(format!("{design} is worst at {}.", worst.join("; "))));
            }
        }
        all.extend(
            of.figures
                .iter()
                .filter(|f| undecided(f))
                .map(|f| say(tie(of, f))),
        );
        all.extend(jams_apart(of).map(say));
        let alike: Vec<&str> = of
            .figures
            .iter()
            .filter(|f| is_alike(f))
            .map(|f| f.name.as_str())
            .collect();
        if !alike.is_empty() {
            all.push(say(format!("Alike in every run: {}.", alike.join("; "))));
        }
        let unknown: Vec<&str> = of
            .figures
            .iter()
            .filter(|f| f.pairs.is_empty())
            .map(|f| f.name.as_str())
            .collect();
        if !unknown.is_empty() {
            all.push(say(format!(
                "Unknown, because some run has no such figure: {}.",
                unknown.join("; ")
            )));
        }
        all.push(say(format!(
            "Compared on the same luck, {}; a difference counts where its interval leaves out zero, and all {} intervals hold together in at least {} of such studies (Bonferroni).",
            self.repeat(),
            of.differences(),
            percent(of.level)
        )));
        all
    }

    fn answer(&self) -> String {
        let of = self.comparison;
        let text = of.winners();
        if text.is_empty() {
            return format!(
                "No design is shown to be better than all others in any of {} figures.",
                of.figures.len()
            );
        }
        format!(
            "Of {} figures, better than all others: {}.",
            of.figures.len(),
            text.join(", ")
        )
    }

    /// Whether a design works.
    fn works(&self, design: &Design, judgement: &Judgement) -> Finding {
        let Design {
            name,
            circuit,
            workable,
        } = design;
        let (runs, error) = (self.comparison.runs, 1.0 - self.comparison.level);
        let judged = Judged {
            circuit,
            workable,
            judgement,
            runs,
            hours: self.hours,
            error,
        };
        let load = count(u64::from(circuit.marbles), "marble");
        let tolerated = if judgement.works() {
            format!(" ({})", tolerance(workable))
        } else {
            String::new()
        };
        let text = format!("{name}, with {load}, {}{tolerated}.", judged.says());
        Finding {
            good: judgement.works(),
            ..say(text)
        }
    }

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
            works: self
                .designs
                .iter()
                .zip(&of.judgements)
                .map(|(design, judgement)| works_json(design, judgement))
                .collect(),
            figures: of
                .figures
                .iter()
                .map(|figure| figure_json(of, figure))
                .collect(),
            splitters: of
                .splitters
                .iter()
                .map(|shared| splitter_json(of, shared))
                .collect(),
            first_jam: of
                .designs
                .iter()
                .zip(&of.first_jams)
                .map(|(name, jams)| first_jam_json(name, jams))
                .collect(),
            first_jam_log_rank: of
                .jams_apart
                .iter()
                .map(|pair| log_rank_json(of, pair))
                .collect(),
        };
        serde_json::to_string_pretty(&all).unwrap_or_default()
    }
}

/// One row a figure: its value in each design, and which is better than all others.
pub fn rows(comparison: &Comparison) -> TextTable {
    let row = |f: &Compared| {
        let mut row = vec![f.name.clone()];
        row.extend(f.values.iter().map(estimate));
        row.push(match f.winner {
            Some(k) => comparison.designs[k].clone(),
            None if f.pairs.is_empty() => "unknown".to_owned(),
            None if is_alike(f) => "alike".to_owned(),
            None => "undecided".to_owned(),
        });
        row
    };
    let ways = |shared: &Shared| {
        let names = shared
            .ways
            .first()
            .cloned()
            .unwrap_or_default()
            .into_iter()
            .map(|(to, _)| to);
        let share = |k: usize, to: &str| {
            let way = shared.ways[k].iter().find(|(name, _)| name == to);
            way.map_or("no such way".to_owned(), |(_, share)| estimate(share))
        };
        let row = |to: String| {
            let mut row = vec![format!("{}: share to {to}", shared.name)];
            row.extend((0..comparison.designs.len()).map(|k| share(k, &to)));
            row.push(String::new());
            row
        };
        names.map(row).collect::<Vec<_>>()
    };
    let half = comparison
        .first_jams
        .iter()
        .any(|jams| jams.jammed > 0)
        .then(|| {
            let mut row = vec!["h by which half have jammed".to_owned()];
            row.extend(
                comparison
                    .first_jams
                    .iter()
                    .map(|jams| estimate(&jams.median_h)),
            );
            row.push(String::new());
            row
        });
    let ways = comparison.splitters.iter().flat_map(ways);
    let designs = comparison.designs.iter().map(String::as_str);
    let header: Vec<&str> = ["figure"]
        .into_iter()
        .chain(designs)
        .chain(["better"])
        .collect();
    TextTable::named(
        &header,
        comparison
            .figures
            .iter()
            .map(row)
            .chain(half)
            .chain(ways)
            .collect(),
    )
}

/// Which designs differ in how long they run before they jam; nothing where none jams.
fn jams_apart(of: &Comparison) -> Option<String> {
    let smallest = of
        .jams_apart
        .iter()
        .map(|pair| pair.adjusted_p)
        .min_by(f64::total_cmp)?;
    let how = match of.jams_apart.len() {
        1 => "log-rank".to_owned(),
        pairs => format!("log-rank, corrected for {pairs} pairs by Holm"),
    };
    let apart: Vec<String> = of
        .jams_apart
        .iter()
        .filter(|pair| pair.distinct)
        .map(|pair| {
            format!(
                "{} and {} (p {})",
                of.designs[pair.first],
                of.designs[pair.second],
                chance(pair.adjusted_p)
            )
        })
        .collect();
    Some(if apart.is_empty() {
        format!(
            "How long runs go before they jam tells no two designs apart ({how}: p {}).",
            chance(smallest)
        )
    } else {
        format!(
            "How long runs go before they jam differs between {} ({how}).",
            apart.join(", ")
        )
    })
}

/// A p-value as one would write it.
fn chance(p: f64) -> String {
    if p < 0.001 {
        "under 0.001".to_owned()
    } else {
        figure(p)
    }
}

fn is_alike(f: &Compared) -> bool {
    !f.pairs.is_empty() && f.pairs.iter().all(|pair| pair.test.p >= 1.0)
}

fn undecided(f: &Compared) -> bool {
    f.winner.is_none() && !f.pairs.is_empty() && !is_alike(f)
}

/// What a design is best at, and against what.
fn lead(of: &Comparison, f: &Compared, k: usize) -> String {
    let value = |k: usize| {
        f.values[k]
            .value
            .map_or("unknown".to_owned(), |x| number(f, x))
    };
    let others: Vec<String> = (0..of.designs.len())
        .filter(|&other| other != k)
        .map(|other| format!("{} with {}", value(other), of.designs[other]))
        .collect();
    format!("{} ({} against {})", f.name, value(k), others.join(", "))
}

fn number(f: &Compared, x: f64) -> String {
    if f.share { percent(x) } else { figure(x) }
}

/// The two best, and what would tell them apart.
fn tie(of: &Comparison, f: &Compared) -> String {
    let open = f
        .pairs
        .iter()
        .zip(&f.settled_by)
        .filter(|(pair, _)| !pair.distinct);
    let rank = |k: usize| {
        f.values[k].value.map_or(
            f64::INFINITY,
            |x| if f.better == Better::More { -x } else { x },
        )
    };
    let closest = open.min_by(|a, b| {
        let best = |pair: &DesignPair| rank(pair.first).min(rank(pair.second));
        best(a.0).total_cmp(&best(b.0))
    });
    let Some((pair, settled)) = closest else {
        return format!("{}: no design beats all others.", f.name);
    };
    let (first, second) = (&of.designs[pair.first], &of.designs[pair.second]);
    if pair.test.p >= 1.0 {
        return format!("{}: {first} and {second} are alike in every run.", f.name);
    }
    let difference = difference_text(&pair.test.difference);
    let more = match settled {
        Some(runs) if *runs <= 1_000_000 => format!("{} in all would settle it", about(*runs)),
        _ => "no number of runs worth making would settle it".to_owned(),
    };
    format!("{}: {first} less {second} is {difference}; {more}.", f.name)
}

/// A number of runs to two figures: more would claim too much.
fn about(runs: u64) -> String {
    let step = 10u64.pow(runs.max(1).ilog10().saturating_sub(1));
    let word = if step > 1 { "about " } else { "" };
    format!("{word}{}", count(runs.div_ceil(step) * step, "run"))
}

fn say(text: String) -> Finding {
    Finding {
        about: "machine".to_owned(),
        good: true,
        text,
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

fn works_json<'a>(design: &'a Design, judgement: &Judgement) -> WorksJson<'a> {
    WorksJson {
        design: &design.name,
        judged: JudgementJson::new(
            &design.circuit,
            judgement,
            &RunTotals::new(design.circuit.start),
        ),
    }
}

fn figure_json<'a>(of: &'a Comparison, f: &'a Compared) -> FigureJson<'a> {
    let difference = |(pair, settled): (&DesignPair, &Option<u64>)| DifferenceJson {
        first: &of.designs[pair.first],
        second: &of.designs[pair.second],
        difference: pair.test.difference,
        distinct: pair.distinct,
        power: POWER,
        runs_to_settle: *settled,
    };
    FigureJson {
        name: &f.name,
        better: f.better,
        values: &f.values,
        differences: f.pairs.iter().zip(&f.settled_by).map(difference).collect(),
        winner: f.winner.map(|k| of.designs[k].as_str()),
        loser: f.loser.map(|k| of.designs[k].as_str()),
    }
}

fn splitter_json<'a>(of: &'a Comparison, shared: &'a Shared) -> SplitterJson<'a> {
    let way = |(to, share): &'a (String, Estimate)| WayJson { to, share: *share };
    let design = |k: usize| SplitJson {
        design: &of.designs[k],
        longest_run: shared.longest[k],
        ways: shared.ways[k].iter().map(way).collect(),
    };
    SplitterJson {
        name: &shared.name,
        designs: (0..of.designs.len()).map(design).collect(),
    }
}

fn first_jam_json<'a>(design: &'a str, jams: &FirstJams) -> FirstJamJson<'a> {
    FirstJamJson {
        design,
        jammed: jams.jammed,
        median_h: jams.median_h,
    }
}

fn log_rank_json<'a>(of: &'a Comparison, pair: &Apart) -> LogRankJson<'a> {
    let (first, second) = (
        of.designs[pair.first].as_str(),
        of.designs[pair.second].as_str(),
    );
    LogRankJson {
        first,
        second,
        statistic: pair.statistic,
        adjusted_p: pair.adjusted_p,
        distinct: pair.distinct,
    }
}
