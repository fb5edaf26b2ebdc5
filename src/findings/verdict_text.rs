//! What the runs show against what is good enough, in a maker's words, and the run to look at for each.

use super::totals::RunTotals;
use super::words::{capital, count, duration, figure, percent, two_figures};
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
        match self.judgement.verdict() {
            Verdict::Met => "works".to_owned(),
            Verdict::Broken => {
                let broken: Vec<String> = (self.judgement.broken())
                    .map(|result| tell(self.circuit, result))
                    .collect();
                format!("does not work: {}", in_sentences(&broken))
            }
            Verdict::Unsure => self.says_unsure(),
        }
    }

    fn says_unsure(&self) -> String {
        let too_few = self.too_few();
        let likely = self.judgement.likely();
        if likely && self.needed().is_some() {
            return format!("seems to work, but {too_few} to show it");
        }
        let mut open = Vec::new();
        for result in &self.judgement.results {
            match result.verdict {
                Verdict::Unsure if likely => open.push(standing(self.circuit, result)),
                Verdict::Unsure if !result.likely => open.push(tell(self.circuit, result)),
                _ => {}
            }
        }
        if likely {
            format!(
                "seems to work, but {too_few} to show it ({})",
                open.join("; ")
            )
        } else {
            let open = in_sentences(&open);
            format!("seems not to work, but {too_few} to be sure: {open}")
        }
    }

    fn too_few(&self) -> String {
        let runs = format!(
            "{} of {} are too few",
            count(self.runs as u64, "run"),
            duration(self.hours * 3600.0)
        );
        match self.needed() {
            Some(needed) => format!("{runs} (take {needed} or more: --runs)"),
            None => runs,
        }
    }

    /// The fewest runs that can show anything, where these are fewer.
    fn needed(&self) -> Option<u32> {
        let needed = runs_needed(self.workable, self.hours, self.error);
        Some(needed).filter(|needed| (self.runs as u64) < u64::from(*needed))
    }
}

/// All of these, each in a sentence of its own: the first goes on with one that is begun, the last is left open.
fn in_sentences(all: &[String]) -> String {
    let mut text = String::new();
    for (n, one) in all.iter().enumerate() {
        if n == 0 {
            text += one;
        } else {
            text += ". ";
            text += &capital(one);
        }
    }
    text
}

/// The share of runs in which what must not happen is put up with: `up to 5 % of runs may lock up, ...`.
pub fn tolerance(workable: &Workable) -> String {
    let mut may = vec!["lock up for good", "come to rest"];
    if workable.jams_per_8h == 0.0 {
        may.push("jam");
    }
    if workable.spills == 0 {
        may.push("lose marbles");
    }
    format!(
        "up to {} of runs may {} or lack room",
        percent(TOLERATED),
        may.join(", ")
    )
}

/// What is good enough: what a machine has to do to work. Limits that the file is silent about are marked as defaults.
pub fn conditions(circuit: &Circuit, workable: &Workable) -> Vec<String> {
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
    if circuit.wheels().next().is_some() {
        let least = percent(workable.least_fill);
        let default = default(workable.unset.least_fill);
        let (seats, lift) = circuit.carriers();
        all.push(format!(
            "on average at least {least}{default} of the {seats} of every {lift} carry a marble"
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
    for &(n, most) in &workable.backlog {
        all.push(format!(
            "no more than {} wait at `{}` for 95 % of the time",
            count(u64::from(most), "marble"),
            circuit.nodes[n].name
        ));
    }
    all
}

fn default(unset: bool) -> &'static str {
    if unset { " (the default)" } else { "" }
}

/// The conditions as sentences.
pub fn standard(circuit: &Circuit, workable: &Workable) -> String {
    format!(
        "To work means: {}.",
        in_sentences(&conditions(circuit, workable))
    )
}

/// How a figure stands to its limit, where the runs do not decide.
pub fn standing(circuit: &Circuit, result: &CriterionResult) -> String {
    let say = if is_share(result) { percent } else { figure };
    let value = match result.figure.value {
        Some(value) => say(value),
        None => "unknown".to_owned(),
    };
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

/// The limit of a figure in a table: `60 % or more`, `up to 1 (default)`.
pub fn limit_in_table(result: &CriterionResult) -> String {
    let say = if is_share(result) { percent } else { figure };
    let limit = say(result.limit);
    let default = if result.by_default { " (default)" } else { "" };
    match result.criterion {
        Criterion::Fill(_) => format!("{limit} or more{default}"),
        _ => format!("up to {limit}{default}"),
    }
}

/// What goes wrong where `result` is broken.
pub fn tell(circuit: &Circuit, result: &CriterionResult) -> String {
    let value = result.figure.value;
    let (share, number) = match value {
        Some(value) => (percent(value), two_figures(value)),
        None => (
            "an unknown share".to_owned(),
            "an unknown number of".to_owned(),
        ),
    };
    let say = if result.of_runs { percent } else { figure };
    let enough = limit(result, say(result.limit));
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
            let (name, enough) = (&circuit.nodes[wheel].name, limit(result, least));
            let seats = circuit.nodes[wheel].seats();
            format!("`{name}` is starved: {share} of its {seats} carry a marble, where {enough}")
        }
        Criterion::Backlog(node) => {
            let name = &circuit.nodes[node].name;
            format!("the backlog at `{name}` reaches {number} for 5 % of the time, where {enough}")
        }
    }
}

/// A share and its limit, with as many decimals as it takes to tell them apart.
fn distinguished(share: Option<f64>, limit: f64) -> (String, String) {
    let Some(share) = share else {
        return ("an unknown share".to_owned(), percent(limit));
    };
    let mut texts = (percent(share), percent(limit));
    for decimals in 1..=3 {
        if texts.0 == texts.1 {
            texts.0 = format!("{:.decimals$} %", 100.0 * share);
            texts.1 = format!("{:.decimals$} %", 100.0 * limit);
        }
    }
    texts
}

/// What is judged, in a few words: the heading of a panel or a row.
pub fn heading(circuit: &Circuit, result: &CriterionResult) -> String {
    match result.criterion {
        Criterion::Gridlock => "runs that lock up for good".to_owned(),
        Criterion::RanDry => "runs in which every marble comes to rest".to_owned(),
        Criterion::Jams if result.of_runs => "runs with a jam".to_owned(),
        Criterion::Jams => "jams in 8 h".to_owned(),
        Criterion::Spills if result.of_runs => "runs that lose marbles".to_owned(),
        Criterion::Spills => "marbles lost in a run".to_owned(),
        Criterion::PouredIn => "runs without room for all marbles".to_owned(),
        Criterion::Fill(wheel) => format!("fill of {}", circuit.nodes[wheel].name),
        Criterion::Backlog(node) => {
            format!("backlog of {}, 95 % below", circuit.nodes[node].name)
        }
    }
}

/// Whether the figure is a share, of runs or of pockets.
pub fn is_share(result: &CriterionResult) -> bool {
    result.of_runs || matches!(result.criterion, Criterion::Fill(_))
}

/// The number of the run that shows best how the criterion is broken.
pub fn example(result: &CriterionResult, totals: &RunTotals) -> Option<u64> {
    let (_, run) = match result.criterion {
        Criterion::Gridlock => return totals.locked_up.first,
        Criterion::RanDry => return totals.ran_dry.first,
        Criterion::Spills => return totals.spilled.first,
        Criterion::PouredIn => return totals.without_room.first,
        Criterion::Jams => totals.earliest_jam?,
        Criterion::Fill(n) => totals.elements.get(n)?.fill?,
        Criterion::Backlog(n) => totals.elements.get(n)?.backlog_p95?,
    };
    Some(run)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::made_up::MadeUp;
    use crate::findings::workable::Verdict;
    use crate::stats::Estimate;

    fn told(criterion: Criterion, of_runs: bool, by_default: bool) -> String {
        let result = CriterionResult {
            criterion,
            verdict: Verdict::Broken,
            figure: Estimate::point(0.5),
            of_runs,
            limit: 0.2,
            by_default,
            likely: false,
        };
        tell(&MadeUp::new(1, "least-fill: 0.5").circuit, &result)
    }

    /// A half, of runs or as a number, where a fifth is good enough by the file.
    #[test]
    fn what_is_broken_is_told_as_a_share_of_runs_or_a_number() {
        let lines = [
            (
                Criterion::Gridlock,
                true,
                false,
                "it locks up for good in 50 % of runs, where up to 20 % may",
            ),
            (
                Criterion::RanDry,
                true,
                false,
                "in 50 % of runs every marble comes to rest, where up to 20 % may",
            ),
            (
                Criterion::Jams,
                true,
                true,
                "it jams in 50 % of runs, where up to 20 % may",
            ),
            (
                Criterion::Jams,
                false,
                true,
                "0.5 jams in 8 h, where 0.2, the default, is good enough",
            ),
            (
                Criterion::Spills,
                true,
                false,
                "marbles go over the side in 50 % of runs, where up to 20 % may",
            ),
            (
                Criterion::Spills,
                false,
                false,
                "0.5 marbles lost over the side in a run, where 0.2 is good enough",
            ),
            (
                Criterion::PouredIn,
                true,
                false,
                "in 50 % of runs there is no room to pour all marbles in, where up to 20 % may",
            ),
            (
                Criterion::Fill(1),
                false,
                true,
                "`wheel-0` is starved: 50 % of its pockets carry a marble, where 20 %, the default, is good enough",
            ),
            (
                Criterion::Backlog(0),
                false,
                false,
                "the backlog at `ramp` reaches 0.5 for 5 % of the time, where 0.2 is good enough",
            ),
        ];
        for (criterion, of_runs, by_default, said) in lines {
            assert_eq!(told(criterion, of_runs, by_default), said);
        }
    }
}
