//! How sure is the answer, in sentences: what moves when each assumed constant goes over its range.

use crate::findings::sentences::Finding;
use crate::findings::words::{count, figure, percent};
use crate::study::assumptions::{Sensitivity, VariantResult};

fn say(good: bool, text: String) -> Finding {
    Finding {
        about: "machine".to_owned(),
        good,
        text: format!("How sure? {text}"),
    }
}

/// The sentences for a maker; `works` is what the study of the machine itself says, where there is one.
pub fn finding(of: &Sensitivity, works: Option<bool>) -> Finding {
    sentences(of, works, false)
}

/// The same without figures.
pub fn brief(of: &Sensitivity, works: bool) -> Finding {
    sentences(of, Some(works), true)
}

fn sentences(of: &Sensitivity, works: Option<bool>, brief: bool) -> Finding {
    if of.constants.is_empty() {
        let text = "The file leaves no dimension or constant to be assumed.";
        return say(true, text.to_owned());
    }
    let open = count(of.constants.len() as u64, "constant");
    let mut constants = of.constants.iter();
    let Some(most) = constants.find(|moved| Some(moved.name) == of.matters_most) else {
        return say(
            true,
            format!(
                "The file leaves {open} to be assumed; none moves the answer noticeably over its range."
            ),
        );
    };
    let agrees = works.unwrap_or(of.as_assumed.works) == of.as_assumed.works;
    let turning = if agrees { turning(of) } else { Vec::new() };
    let ends = most
        .ends()
        .map(|end| format!("{} marbles a minute at {}", flow(&end.outcome), end.value))
        .join(", ");
    let verdict = match (turning.is_empty(), of.as_assumed.works) {
        _ if !agrees => "these are too few runs to tell whether it would work".to_owned(),
        (true, true) => "it works at either end of each".to_owned(),
        (true, false) => "it works at no end of any".to_owned(),
        (false, true) => format!("it does not work with {}", turning.join(", nor with ")),
        (false, false) => format!("it would work with {}", turning.join(", or with ")),
    };
    let begin = format!(
        "The file leaves {open} to be assumed. Over their ranges, one at a time, {verdict}."
    );
    let text = if brief {
        format!(
            "{begin} Most hangs on {}: measure `{}`.",
            most.name, most.key
        )
    } else {
        format!(
            "{begin}{} Most hangs on {}: {ends}. `{}` settles it.",
            spans(of),
            most.name,
            most.key
        )
    };
    say(turning.is_empty(), text)
}

/// The ends of ranges at which the verdict is another.
fn turning(of: &Sensitivity) -> Vec<String> {
    let mut turning = Vec::new();
    for moved in &of.constants {
        for end in moved.ends() {
            if end.outcome.works != of.as_assumed.works {
                turning.push(format!("{} {}", moved.name, end.value));
            }
        }
    }
    turning
}

fn flow(outcome: &VariantResult) -> String {
    match outcome.throughput_per_min {
        Some(flow) => figure(flow),
        None => "an unknown number".to_owned(),
    }
}

/// Between what flow and least fill lie at all the ends.
fn spans(of: &Sensitivity) -> String {
    let mut spans = String::new();
    if let Some((low, high)) = extremes(of, |outcome| outcome.throughput_per_min) {
        let flow = span(figure(low), figure(high));
        spans = format!(" It carries {flow} marbles a minute");
    }
    if let Some((low, high)) = extremes(of, |outcome| outcome.least_fill) {
        let fill = span(percent(low), percent(high));
        let begin = if spans.is_empty() { " The" } else { ", the" };
        spans += &format!("{begin} emptiest wheel {fill} full");
    }
    if !spans.is_empty() {
        spans += ".";
    }
    spans
}

fn span(low: String, high: String) -> String {
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

/// The least and the most of a figure as assumed and at all the ends.
fn extremes(
    of: &Sensitivity,
    figure: impl Fn(&VariantResult) -> Option<f64>,
) -> Option<(f64, f64)> {
    let mut all: Vec<f64> = figure(&of.as_assumed).into_iter().collect();
    for moved in &of.constants {
        all.extend(figure(&moved.low.outcome));
        all.extend(figure(&moved.high.outcome));
    }
    let mut all = all.into_iter();
    let first = all.next()?;
    Some(all.fold((first, first), |(low, high), x| (low.min(x), high.max(x))))
}
