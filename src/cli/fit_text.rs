//! What `fit` prints of an element.

use super::fit::Found;
use super::tables::{finish, table};
use super::terminal;
use crate::findings::words::{count, figure};
use crate::machine::write_law;
use crate::stats::fit::FEWEST;
use crate::study::fit::{FEW, TriedLaw};

/// What was found of one element; only the law taken where `quiet`.
pub fn element(of: &Found, quiet: bool) -> String {
    if quiet {
        let law = match &of.taken {
            Some(law) => write_law::law(law),
            None => "no law".to_owned(),
        };
        return format!("{}: {law}", of.of.element);
    }
    let cut = match of.readings.over.len() {
        0 => String::new(),
        n => format!(", {n} of them cut short"),
    };
    let head = format!(
        "{}: {}{cut}",
        of.of.element,
        count(of.readings.count() as u64, "reading")
    );
    let laws = if of.tried.is_empty() {
        String::new()
    } else {
        format!("\n\n{}", laws(&of.tried))
    };
    let says: Vec<String> = verdict(of)
        .iter()
        .map(|(good, text)| terminal::sentence(*good, text))
        .collect();
    format!("{head}{laws}\n\n{}\n", says.join("\n"))
}

fn laws(tried: &[TriedLaw]) -> String {
    let mut best = f64::INFINITY;
    for aicc in tried.iter().map(|tried| tried.fit.aicc) {
        best = best.min(aicc.unwrap_or(best));
    }
    let mut rows = table(&["law", "p", "AICc behind", ""]);
    for tried in tried {
        let behind = tried.fit.aicc.map(|aicc| aicc - best);
        let refused = if tried.refused() { "refused" } else { "" };
        rows.add_row([
            tried.fit.name.to_owned(),
            figure_or_unknown(tried.p),
            figure_or_unknown(behind),
            refused.to_owned(),
        ]);
    }
    finish(rows)
}

fn figure_or_unknown(x: Option<f64>) -> String {
    match x {
        Some(x) => figure(x),
        None => "unknown".to_owned(),
    }
}

/// What to make of it; false where the maker may want to act.
fn verdict(of: &Found) -> Vec<(bool, String)> {
    let (timed, name) = (of.readings.timed.len(), of.name.unwrap_or_default());
    let as_they_are = match of.readings.over.is_empty() {
        true => "take the readings as they are with `--law samples`",
        false => "time to their end those cut short, and take all as they are with `--law samples`",
    };
    let mut says = vec![match (&of.taken, name) {
        (Some(_), "samples") => (true, "Taken: the readings as they are.".to_owned()),
        (Some(_), "fixed") => (false, ALIKE.to_owned()),
        (Some(_), _)
            if of
                .tried
                .iter()
                .any(|tried| tried.fit.name == name && tried.refused()) =>
        {
            (
                false,
                format!("The {name} law was asked for, and the readings speak against it."),
            )
        }
        (Some(_), _) => (
            true,
            format!("Taken: {name}. Nothing in these readings speaks against it."),
        ),
        (None, _) => (false, none_taken(of, as_they_are)),
    }];
    if (FEWEST..FEW).contains(&timed) && name != "samples" {
        let says_few = "seldom tell one law from another";
        says.push((
            false,
            format!("Few readings: {timed} {says_few}; take {FEW} or more, or {as_they_are}."),
        ));
    }
    says
}

const ALIKE: &str = "Every reading is the same: taken as a fixed time. State the stopwatch's error with `--reading-error` \
                     to have it fitted.";

fn none_taken(of: &Found, as_they_are: &str) -> String {
    if of.tried.is_empty() {
        let timed = count(of.readings.timed.len() as u64, "reading");
        return format!(
            "{timed} timed to the end: under {FEWEST} nothing is fitted. Take more, or {as_they_are}."
        );
    }
    match of
        .tried
        .iter()
        .find(|tried| !tried.open_ended() && tried.p.is_some() && !tried.refused())
    {
        Some(TriedLaw { fit, .. }) => format!(
            "No law was taken: only the {0} one is not refused, and no time beyond its ends could ever come. Take more \
             readings, take it with `--law {0}`, or {as_they_are}.",
            fit.name
        ),
        None => format!(
            "No law was taken: every one is refused. Look in the picture for two kinds of run in one, or {as_they_are}."
        ),
    }
}

/// The lines to paste into the machine file.
pub fn to_paste(all: &[Found]) -> String {
    let mut lines = Vec::new();
    for found in all {
        if let Some(law) = &found.taken {
            let (element, law) = (&found.of.element, write_law::law(law));
            lines.push(format!("  {element}:  time: {law}"));
        }
    }
    if lines.is_empty() {
        return "Nothing to write into a machine file.".to_owned();
    }
    format!(
        "For the machine file (in a bowl the key is `swirl`), or written there by `--into MACHINE`:\n{}",
        lines.join("\n")
    )
}
