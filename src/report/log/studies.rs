//! The chapters about runs and studies.

use super::chapters::bullets;
use super::page::{PagePart, PageTable, Text};
use super::{Log, Tale, pictures};
use crate::circuit::draw::seconds;
use crate::findings::words::{count, duration, setting};
use crate::report::{compare, rows};

/// All studies there are.
pub fn all(log: &Log, charts: Vec<PagePart>) -> Vec<PagePart> {
    let mut blocks = runs(log, charts);
    if let Some(tale) = &log.tale {
        blocks.extend(story(log, tale));
    }
    blocks.extend(mend(log));
    blocks.extend(tolerance(log));
    blocks.extend(window(log));
    blocks.extend(comparison(log));
    blocks.extend(map(log));
    blocks
}

fn runs(log: &Log, charts: Vec<PagePart>) -> Vec<PagePart> {
    let (hours, runs) = (
        duration(log.summary.hours * 3600.0),
        count(log.summary.runs as u64, "run"),
    );
    let key = format!(
        "Means over {runs} of {hours} with {}, each with half of its 95 % interval. `backlog`: marbles waiting at the \
         exit; `95 % below`: what is not exceeded for 95 % of the time; `full`: share of the time with every place taken.",
        setting(log.circuit.marbles, log.summary.rpm)
    );
    let mut blocks = vec![
        PagePart::Chapter(Text::plain("In the runs")),
        PagePart::Paragraph(Text::sentence(&key)),
    ];
    blocks.push(PagePart::Table(PageTable::of(
        "Each element over all runs",
        &rows::elements(log.summary),
    )));
    if !log.summary.wheels.0.is_empty() {
        blocks.push(PagePart::Table(PageTable::of(
            &format!("Each {} over all runs", log.circuit.carriers().1),
            &rows::wheels(log.summary, log.circuit),
        )));
    }
    blocks.extend(charts);
    blocks
}

fn story(log: &Log, tale: &Tale) -> Vec<PagePart> {
    let run = tale.replay.id.run;
    let mut blocks = vec![PagePart::Chapter(Text::plain(&format!(
        "The story of run {run}"
    )))];
    let Some(story) = tale.story else {
        blocks.push(PagePart::Paragraph(Text::plain(&format!(
            "Nothing went wrong in run {run}."
        ))));
        return blocks;
    };
    let line = format!(
        "The gravest that went wrong in it: {}. No cause is named that was not taken away: the run was replayed on \
         the same luck without it, and went another way.",
        story.incident.line(log.circuit)
    );
    blocks.push(PagePart::Paragraph(Text::sentence(&line)));
    blocks.push(PagePart::List(
        story
            .sentences
            .iter()
            .map(|sentence| Text::sentence(&sentence.text))
            .collect(),
    ));
    blocks.push(pictures::story(log, tale, story));
    blocks.extend(
        tale.wedged
            .map(|wedged| pictures::wedged(log, story, wedged)),
    );
    let end = duration(seconds(tale.replay.result.end));
    blocks.push(PagePart::Paragraph(Text::plain(&format!(
        "The run ended after {end}. To read it again:"
    ))));
    blocks.push(PagePart::Verbatim(tale.command.to_owned()));
    blocks
}

fn mend(log: &Log) -> Vec<PagePart> {
    let Some(report) = &log.mend else {
        return Vec::new();
    };
    let title = match report.works() {
        true => "What would break it",
        false => "What would mend it",
    };
    vec![
        PagePart::Chapter(Text::plain(title)),
        bullets(&report.findings()),
        pictures::mend(report),
    ]
}

fn tolerance(log: &Log) -> Vec<PagePart> {
    let Some(study) = &log.tolerance else {
        return Vec::new();
    };
    vec![
        PagePart::Chapter(Text::plain("How exact it must be")),
        bullets(&study.findings()),
        pictures::tolerance(study),
    ]
}

fn window(log: &Log) -> Vec<PagePart> {
    let Some(study) = &log.window else {
        return Vec::new();
    };
    vec![
        PagePart::Chapter(Text::plain("How many marbles")),
        bullets(&study.findings()),
        pictures::window(study),
    ]
}

fn comparison(log: &Log) -> Vec<PagePart> {
    let Some(study) = &log.comparison else {
        return Vec::new();
    };
    let mut blocks = vec![
        PagePart::Chapter(Text::plain("Which design")),
        bullets(&study.findings()),
    ];
    blocks.push(PagePart::Table(PageTable::of(
        "Each figure in each design",
        &compare::rows(study.comparison),
    )));
    blocks.extend(pictures::comparison(study));
    blocks
}

fn map(log: &Log) -> Vec<PagePart> {
    let Some(map) = log.map else {
        return Vec::new();
    };
    let mut sentences = vec![Text::sentence(&map.sentence())];
    if let Some(column) = map.main_column() {
        sentences.extend(map.around(column).map(|text| Text::sentence(&text)));
    }
    sentences.push(Text::sentence(&map.effort()));
    let mut blocks = vec![PagePart::Chapter(Text::plain("Where it works"))];
    blocks.push(PagePart::List(sentences));
    blocks.push(PagePart::Table(PageTable::of(
        "From how many to how many marbles it works",
        &rows::columns(map),
    )));
    blocks.push(pictures::map(map));
    blocks
}
