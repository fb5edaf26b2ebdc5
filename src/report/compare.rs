//! A comparison of designs in sentences, as a table and as JSON.

use std::iter::zip;

use super::rows::TextTable;
use crate::findings::sentences::Finding;
use crate::findings::verdict_text::{Judged, tolerance};
use crate::findings::words::{
    count, difference as difference_text, duration, estimate, figure, percent,
};
use crate::findings::workable::Judgement;
use crate::stats::Estimate;
use crate::stats::simultaneous::DesignPair;
use crate::study::compare::{Better, Compared, Comparison, Design, Shared};

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
        for (design, judgement) in zip(self.designs, &of.judgements) {
            all.push(self.works(design, judgement));
        }
        let mut texts = extremes(of, "best", |f| f.winner);
        if of.designs.len() > 2 {
            texts.extend(extremes(of, "worst", |f| f.loser));
        }
        for f in of.figures.iter().filter(|f| undecided(f)) {
            texts.push(tie(of, f));
        }
        texts.extend(jams_apart(of));
        let alike = names(of, is_alike);
        if !alike.is_empty() {
            texts.push(format!("Alike in every run: {alike}."));
        }
        let unknown = names(of, |f| f.pairs.is_empty());
        if !unknown.is_empty() {
            texts.push(format!(
                "Unknown, because some run has no such figure: {unknown}."
            ));
        }
        texts.push(format!(
            "Compared on the same luck, {}; a difference counts where its interval leaves out zero, and all {} intervals hold together in at least {} of such studies (Bonferroni).",
            self.repeat(),
            of.differences(),
            percent(of.level)
        ));
        all.extend(texts.into_iter().map(say));
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
}

/// One row a figure: its value in each design, and which is better than all others.
pub fn rows(comparison: &Comparison) -> TextTable {
    let mut header = vec!["figure"];
    header.extend(comparison.designs.iter().map(String::as_str));
    header.push("better");
    let mut rows = Vec::new();
    for f in &comparison.figures {
        rows.push(row(&f.name, &f.values, &better(comparison, f)));
    }
    if comparison.first_jams.iter().any(|jams| jams.jammed > 0) {
        let medians = comparison.first_jams.iter().map(|jams| &jams.median_h);
        rows.push(row("h by which half have jammed", medians, ""));
    }
    for shared in &comparison.splitters {
        rows.extend(way_rows(shared));
    }
    TextTable::named(&header, rows)
}

fn row<'a>(
    name: &str,
    values: impl IntoIterator<Item = &'a Estimate>,
    better: &str,
) -> Vec<String> {
    let mut row = vec![name.to_owned()];
    row.extend(values.into_iter().map(estimate));
    row.push(better.to_owned());
    row
}

fn better(of: &Comparison, f: &Compared) -> String {
    match f.winner {
        Some(k) => of.designs[k].clone(),
        None if f.pairs.is_empty() => "unknown".to_owned(),
        None if is_alike(f) => "alike".to_owned(),
        None => "undecided".to_owned(),
    }
}

/// One row a way that a splitter has in the first design.
fn way_rows(shared: &Shared) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for (to, _) in shared.ways.iter().take(1).flatten() {
        let mut row = vec![format!("{}: share to {to}", shared.name)];
        row.extend(shared.ways.iter().map(|ways| share_to(ways, to)));
        row.push(String::new());
        rows.push(row);
    }
    rows
}

fn share_to(ways: &[(String, Estimate)], to: &str) -> String {
    match ways.iter().find(|(name, _)| name == to) {
        Some((_, share)) => estimate(share),
        None => "no such way".to_owned(),
    }
}

/// What each design that is `which` at anything is it at.
fn extremes(of: &Comparison, which: &str, place: fn(&Compared) -> Option<usize>) -> Vec<String> {
    let mut texts = Vec::new();
    for (k, design) in of.designs.iter().enumerate() {
        let at: Vec<String> = of
            .figures
            .iter()
            .filter(|f| place(f) == Some(k))
            .map(|f| lead(of, f, k))
            .collect();
        if !at.is_empty() {
            texts.push(format!("{design} is {which} at {}.", at.join("; ")));
        }
    }
    texts
}

/// The names of the figures of which that holds.
fn names(of: &Comparison, holds: fn(&Compared) -> bool) -> String {
    let held = of.figures.iter().filter(|f| holds(f));
    let names: Vec<&str> = held.map(|f| f.name.as_str()).collect();
    names.join("; ")
}

/// Which designs differ in how long they run before they jam; nothing where none jams.
fn jams_apart(of: &Comparison) -> Option<String> {
    let chances = of.jams_apart.iter().map(|pair| pair.adjusted_p);
    let smallest = chances.min_by(f64::total_cmp)?;
    let how = match of.jams_apart.len() {
        1 => "log-rank".to_owned(),
        pairs => format!("log-rank, corrected for {pairs} pairs by Holm"),
    };
    let mut apart = Vec::new();
    for pair in of.jams_apart.iter().filter(|pair| pair.distinct) {
        let (first, second) = (&of.designs[pair.first], &of.designs[pair.second]);
        let p = chance(pair.adjusted_p);
        apart.push(format!("{first} and {second} (p {p})"));
    }
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
    let others: Vec<String> = (0..of.designs.len())
        .filter(|&other| other != k)
        .map(|other| format!("{} with {}", value(f, other), of.designs[other]))
        .collect();
    format!("{} ({} against {})", f.name, value(f, k), others.join(", "))
}

/// A figure in design `k`.
fn value(f: &Compared, k: usize) -> String {
    match f.values[k].value {
        None => "unknown".to_owned(),
        Some(x) if f.share => percent(x),
        Some(x) => figure(x),
    }
}

/// The two best, and what would tell them apart.
fn tie(of: &Comparison, f: &Compared) -> String {
    let open = zip(&f.pairs, &f.settled_by).filter(|(pair, _)| !pair.distinct);
    let closest = open.min_by(|a, b| best_rank(f, a.0).total_cmp(&best_rank(f, b.0)));
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

/// The lower, the better the better design of a pair.
fn best_rank(f: &Compared, pair: &DesignPair) -> f64 {
    rank(f, pair.first).min(rank(f, pair.second))
}

fn rank(f: &Compared, k: usize) -> f64 {
    match f.values[k].value {
        None => f64::INFINITY,
        Some(x) if f.better == Better::More => -x,
        Some(x) => x,
    }
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
