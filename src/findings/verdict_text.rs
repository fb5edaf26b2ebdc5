//! What the runs show against what is good enough, in a maker's words, and the run to look at for each.

use super::totals::RunTotals;
use super::words::{count, duration, figure, percent};
use super::workable::{Criterion, CriterionResult, Judgement, TOLERATED, Verdict, runs_needed};
use crate::circuit::Circuit;
use crate::machine::model::Workable;

/// What was judged, and by what.
#[derive(Clone, Copy, Debug)]
pub struct Judged<'a> {
    /// The circuit.
    pub circuit: &'a Circuit,
    /// What is good enough.
    pub workable: &'a Workable,
    /// What the runs show.
    pub judgement: &'a Judgement,
    /// Number of runs.
    pub runs: usize,
    /// Hours of each.
    pub hours: f64,
    /// The chance of error of `judgement`.
    pub error: f64,
}

impl Judged<'_> {
    /// Whether it works, to be said after what is judged: `works`, `does not work: ...`, or `seems to work, but ...`.
    pub fn says(&self) -> String {
        let text = |results: &mut dyn Iterator<Item = &CriterionResult>| {
            results
                .map(|result| tell(self.circuit, result))
                .collect::<Vec<_>>()
                .join("; ")
        };
        let doubtful = || {
            self.judgement
                .results
                .iter()
                .filter(|result| result.verdict == Verdict::Unsure)
        };
        match self.judgement.verdict() {
            Verdict::Met => "works".to_owned(),
            Verdict::Broken => format!("does not work: {}", text(&mut self.judgement.broken())),
            Verdict::Unsure if self.judgement.likely() && self.needed().is_some() => {
                format!("seems to work, but {} to show it", self.too_few())
            }
            Verdict::Unsure if self.judgement.likely() => {
                let open: Vec<String> = doubtful()
                    .map(|result| standing(self.circuit, result))
                    .collect();
                format!(
                    "seems to work, but {} to show it ({})",
                    self.too_few(),
                    open.join("; ")
                )
            }
            Verdict::Unsure => {
                let wrong = text(&mut doubtful().filter(|result| !result.likely));
                format!(
                    "seems not to work, but {} to be sure: {wrong}",
                    self.too_few()
                )
            }
        }
    }

    fn too_few(&self) -> String {
        let runs = format!(
            "{} of {} are too few",
            count(self.runs as u64, "run"),
            duration(self.hours * 3600.0)
        );
        self.needed().map_or(runs.clone(), |needed| {
            format!("{runs} (take {needed} or more: --runs)")
        })
    }

    /// The fewest runs that can show anything, where these are fewer.
    fn needed(&self) -> Option<u32> {
        let needed = runs_needed(self.workable, self.hours, self.error);
        Some(needed).filter(|needed| (self.runs as u64) < u64::from(*needed))
    }
}

/// The share of runs in which what must not happen is put up with: `up to 5 % of runs may lock up, ...`.
pub fn tolerance(workable: &Workable) -> String {
    let jams = (workable.jams_per_8h == 0.0).then_some("jam");
    let spills = (workable.spills == 0).then_some("lose marbles");
    let may: Vec<&str> = [Some("lock up for good"), Some("come to rest"), jams, spills]
        .into_iter()
        .flatten()
        .collect();
    format!(
        "up to {} of runs may {} or lack room",
        percent(TOLERATED),
        may.join(", ")
    )
}

/// What is good enough: what a machine has to do to work. Limits that the file is silent about are marked as defaults.
pub fn conditions(circuit: &Circuit, workable: &Workable) -> Vec<String> {
    let default = |unset: bool| if unset { " (the default)" } else { "" };
    let mut never = vec!["marbles never stop for good".to_owned()];
    if workable.jams_per_8h == 0.0 {
        never.push("it never jams".to_owned());
    }
    if workable.spills == 0 {
        never.push(format!(
            "no marble goes over a side{}",
            default(workable.unset.spills)
        ));
    }
    let mut all = vec![format!(
        "in at least {} of runs {} and all find room",
        percent(1.0 - TOLERATED),
        never.join(", ")
    )];
    if circuit.nodes.iter().any(|plan| plan.wheel().is_some()) {
        let (least, default) = (
            percent(workable.least_fill),
            default(workable.unset.least_fill),
        );
        all.push(format!(
            "on average at least {least}{default} of the pockets of every wheel carry a marble"
        ));
    }
    let jams = default(workable.unset.jams_per_8h);
    all.extend(match figure(workable.jams_per_8h).as_str() {
        "0" => None,
        "1" => Some(format!("it jams no more than once in 8 h{jams} on average")),
        often => Some(format!(
            "it jams no more than {often} times in 8 h{jams} on average"
        )),
    });
    if workable.spills > 0 {
        let most = count(u64::from(workable.spills), "marble");
        all.push(format!(
            "no more than {most} a run go over a side on average"
        ));
    }
    let deepest = |&(n, most): &(usize, u32)| {
        let name = &circuit.nodes[n].name;
        format!(
            "no more than {} wait at `{name}` for 95 % of the time",
            count(u64::from(most), "marble")
        )
    };
    all.extend(workable.backlog.iter().map(deepest));
    all
}

/// The conditions as one sentence.
pub fn standard(circuit: &Circuit, workable: &Workable) -> String {
    format!(
        "To work means: {}.",
        conditions(circuit, workable).join("; ")
    )
}

/// How a figure stands to its limit, where the runs do not decide.
pub fn standing(circuit: &Circuit, result: &CriterionResult) -> String {
    let say = |x: f64| {
        if is_share(result) {
            percent(x)
        } else {
            figure(x)
        }
    };
    let value = result.figure.value.map_or("unknown".to_owned(), say);
    let limit = limit(result, say(result.limit));
    format!("{}: {value}, where {limit}", heading(circuit, result))
}

/// `80 % is good enough`, and whether the file says so.
fn limit(result: &CriterionResult, limit: String) -> String {
    if result.of_runs {
        return format!("up to {limit} may");
    }
    let default = if result.by_default {
        ", the default,"
    } else {
        ""
    };
    format!("{limit}{default} is good enough")
}

/// What goes wrong where `result` is broken.
pub fn tell(circuit: &Circuit, result: &CriterionResult) -> String {
    let name = |n: usize| &circuit.nodes[n].name;
    let value = result.figure.value;
    let share = value.map_or("an unknown share".to_owned(), percent);
    let number = value.map_or("an unknown number of".to_owned(), figure);
    let enough = limit(
        result,
        if result.of_runs {
            percent(result.limit)
        } else {
            figure(result.limit)
        },
    );
    match result.criterion {
        Criterion::Gridlock => format!("it locks up for good in {share} of runs, where {enough}"),
        Criterion::RanDry => {
            format!("in {share} of runs every marble comes to rest, where {enough}")
        }
        Criterion::Jams if !result.of_runs => format!("{number} jams in 8 h, where {enough}"),
        Criterion::Jams => format!("it jams in {share} of runs, where {enough}"),
        Criterion::Spills if !result.of_runs => {
            format!("{number} marbles lost over the side in a run, where {enough}")
        }
        Criterion::Spills => format!("marbles go over the side in {share} of runs, where {enough}"),
        Criterion::PouredIn => {
            format!("in {share} of runs there is no room to pour all marbles in, where {enough}")
        }
        Criterion::Fill(wheel) => {
            let (share, least) = distinguished(value, result.limit);
            let (name, enough) = (name(wheel), limit(result, least));
            format!("`{name}` is starved: {share} of its pockets carry a marble, where {enough}")
        }
        Criterion::Backlog(node) => {
            format!(
                "the backlog at `{}` reaches {number} for 5 % of the time, where {enough}",
                name(node)
            )
        }
    }
}

/// A share and its limit, with as many decimals as it takes to tell them apart.
fn distinguished(share: Option<f64>, limit: f64) -> (String, String) {
    let Some(share) = share else {
        return ("an unknown share".to_owned(), percent(limit));
    };
    let with = |decimals: usize| {
        let text = |x: f64| format!("{:.decimals$} %", 100.0 * x);
        (text(share), text(limit))
    };
    match percent(share) == percent(limit) {
        true => (1..=3)
            .map(with)
            .find(|(share, limit)| share != limit)
            .unwrap_or(with(3)),
        false => (percent(share), percent(limit)),
    }
}

/// What is judged, in a few words: the heading of a panel or a row.
pub fn heading(circuit: &Circuit, result: &CriterionResult) -> String {
    let name = |n: usize| &circuit.nodes[n].name;
    match result.criterion {
        Criterion::Gridlock => "runs that lock up for good".to_owned(),
        Criterion::RanDry => "runs in which every marble comes to rest".to_owned(),
        Criterion::Jams if result.of_runs => "runs with a jam".to_owned(),
        Criterion::Jams => "jams in 8 h".to_owned(),
        Criterion::Spills if result.of_runs => "runs that lose marbles".to_owned(),
        Criterion::Spills => "marbles lost in a run".to_owned(),
        Criterion::PouredIn => "runs without room for all marbles".to_owned(),
        Criterion::Fill(wheel) => format!("fill of {}", name(wheel)),
        Criterion::Backlog(node) => format!("backlog of {}, 95 % below", name(node)),
    }
}

/// Whether the figure is a share, of runs or of pockets.
pub fn is_share(result: &CriterionResult) -> bool {
    result.of_runs || matches!(result.criterion, Criterion::Fill(_))
}

/// The number of the run that shows best how the criterion is broken.
pub fn example(result: &CriterionResult, totals: &RunTotals) -> Option<u64> {
    let run = |extreme: Option<(f64, u64)>| extreme.map(|(_, run)| run);
    match result.criterion {
        Criterion::Gridlock => totals.locked_up.first,
        Criterion::RanDry => totals.ran_dry.first,
        Criterion::Jams => run(totals.earliest_jam),
        Criterion::Spills => totals.spilled.first,
        Criterion::PouredIn => totals.without_room.first,
        Criterion::Fill(n) => run(totals.elements.get(n)?.fill),
        Criterion::Backlog(n) => run(totals.elements.get(n)?.backlog_p95),
    }
}
