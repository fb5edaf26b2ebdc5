//! Rulings in a maker's words, and the run to look at for each.

use super::figures::RunFigures;
use super::judge::{Criterion, Ruling};
use super::words::{figure, percent};
use crate::circuit::Circuit;
use crate::engine::Outcome;

/// What goes wrong where `ruling` is broken.
pub fn tell(circuit: &Circuit, ruling: &Ruling) -> String {
    let name = |n: usize| &circuit.nodes[n].name;
    let value = ruling.figure.value;
    let share = value.map_or("an unknown share".to_owned(), percent);
    let number = value.map_or("an unknown number of".to_owned(), figure);
    match ruling.criterion {
        Criterion::Gridlock => format!("it locks up for good in {share} of runs"),
        Criterion::RanDry => format!("in {share} of runs every marble comes to rest"),
        Criterion::Jams if !ruling.of_runs => {
            format!("{number} jams in 8 h, where {} is good enough", figure(ruling.limit))
        }
        Criterion::Jams => format!("it jams in {share} of runs"),
        Criterion::Spills if !ruling.of_runs => {
            format!("{number} marbles lost over the side in a run, where {} is good enough", figure(ruling.limit))
        }
        Criterion::Spills => format!("marbles go over the side in {share} of runs"),
        Criterion::PouredIn => format!("in {share} of runs there is no room to pour all marbles in"),
        Criterion::Fill(wheel) => {
            let (share, limit) = told_apart(value, ruling.limit);
            let name = name(wheel);
            format!("`{name}` is starved: {share} of its pockets carry a marble, where {limit} is good enough")
        }
        Criterion::Backlog(node) => format!(
            "the backlog at `{}` reaches {number} for 5 % of the time, where {} is good enough",
            name(node),
            figure(ruling.limit)
        ),
    }
}

/// A share and its limit, with as many decimals as it takes to tell them apart.
fn told_apart(share: Option<f64>, limit: f64) -> (String, String) {
    let Some(share) = share else { return ("an unknown share".to_owned(), percent(limit)) };
    let with = |decimals: usize| {
        let text = |x: f64| format!("{:.decimals$} %", 100.0 * x);
        (text(share), text(limit))
    };
    match percent(share) == percent(limit) {
        true => (1..=3).map(with).find(|(share, limit)| share != limit).unwrap_or(with(3)),
        false => (percent(share), percent(limit)),
    }
}

/// What is judged, in a few words: the heading of a panel or a row.
pub fn heading(circuit: &Circuit, ruling: &Ruling) -> String {
    let name = |n: usize| &circuit.nodes[n].name;
    match ruling.criterion {
        Criterion::Gridlock => "runs that lock up for good".to_owned(),
        Criterion::RanDry => "runs in which every marble comes to rest".to_owned(),
        Criterion::Jams if ruling.of_runs => "runs with a jam".to_owned(),
        Criterion::Jams => "jams in 8 h".to_owned(),
        Criterion::Spills if ruling.of_runs => "runs that lose marbles".to_owned(),
        Criterion::Spills => "marbles lost in a run".to_owned(),
        Criterion::PouredIn => "runs without room for all marbles".to_owned(),
        Criterion::Fill(wheel) => format!("fill of {}", name(wheel)),
        Criterion::Backlog(node) => format!("backlog of {}, 95 % below", name(node)),
    }
}

/// Whether the figure is a share, of runs or of pockets.
pub fn is_share(ruling: &Ruling) -> bool {
    ruling.of_runs || matches!(ruling.criterion, Criterion::Fill(_))
}

/// The number of the run that shows best how the criterion is broken.
pub fn example(ruling: &Ruling, runs: &[RunFigures]) -> Option<u64> {
    let first = |is: &dyn Fn(&RunFigures) -> bool| runs.iter().find(|run| is(run)).map(|run| run.run);
    let largest = |figure: &dyn Fn(&RunFigures) -> Option<f64>| {
        let known = runs.iter().filter_map(|run| Some((run.run, figure(run)?)));
        // Of equal runs the first.
        known.reduce(|best, next| if next.1 > best.1 { next } else { best }).map(|(run, _)| run)
    };
    match ruling.criterion {
        Criterion::Gridlock => first(&RunFigures::locks_up),
        Criterion::RanDry => first(&|run| run.outcome == Outcome::RanDry),
        Criterion::Jams => largest(&|run| run.first_jam_s().map(|time_s| -time_s)),
        Criterion::Spills => first(&|run| run.spills() > 0),
        Criterion::PouredIn => first(&|run| run.left_in_hand > 0),
        Criterion::Fill(n) => largest(&|run| run.elements[n].wheel?.fill.map(|fill| -fill)),
        Criterion::Backlog(n) => largest(&|run| run.elements[n].backlog_p95),
    }
}
