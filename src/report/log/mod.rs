//! The build log: a page about one machine with its pictures, as Markdown with files beside it and as one HTML file.

mod chapters;
mod html;
mod markdown;
mod near;
pub mod page;
mod pictures;
pub mod player;
mod studies;

use std::collections::BTreeSet;

use super::compare::CompareStudy;
use super::mend::MendReport;
use super::tolerance::ToleranceStudy;
use super::window::WindowStudy;
use super::{JudgementJson, Results, Study};
use crate::circuit::Circuit;
use crate::findings::replay::Replay;
use crate::findings::sentences::Finding;
use crate::findings::story::Story;
use crate::findings::strikes::Strikes;
use crate::findings::workable::Judgement;
use crate::findings::{Runs, Summary};
use crate::machine::Machine;
use crate::study::assumptions::Sensitivity;
use crate::study::close_up::CloseUp;
use crate::study::map::Map;
use page::{Page, PagePart};

/// What a build log tells of: the runs of one machine, and the studies that were asked for beside them.
#[derive(Clone, Copy)]
pub struct Log<'a> {
    /// The machine.
    pub machine: &'a Machine,
    /// The dotted keys that its file or the command line gives.
    pub written: &'a BTreeSet<String>,
    /// It ready to run.
    pub circuit: &'a Circuit,
    /// How its runs can be watched again.
    pub study: Study,
    /// The figures of every run.
    pub runs: &'a Runs,
    /// What they mean together.
    pub summary: &'a Summary,
    /// The sentences, the answer first.
    pub findings: &'a [Finding],
    /// What the runs show against what is good enough.
    pub judgement: &'a Judgement,
    /// When its bells are struck, if it has any.
    pub strikes: Option<&'a Strikes>,
    /// How the answer hangs on what the file leaves to be assumed, where it was asked.
    pub sensitivity: Option<&'a Sensitivity>,
    /// A run to watch.
    pub watched: Option<&'a Replay>,
    /// The story of one run.
    pub tale: Option<Tale<'a>>,
    /// A wheel from near, by its number, to show beside the run.
    pub near: Option<&'a (usize, CloseUp)>,
    /// The workable window.
    pub window: Option<WindowStudy<'a>>,
    /// Other designs with common random numbers.
    pub comparison: Option<CompareStudy<'a>>,
    /// The map.
    pub map: Option<&'a Map>,
    /// What mends it, or would break it.
    pub mend: Option<MendReport<'a>>,
    /// How many makers have a machine that works, and what must be exact.
    pub tolerance: Option<ToleranceStudy<'a>>,
    /// How to get it all again.
    pub reproduction: Reproduction<'a>,
}

/// The story of one run.
#[derive(Clone, Copy)]
pub struct Tale<'a> {
    /// It with everything kept.
    pub replay: &'a Replay,
    /// The story of its gravest incident; `None` where nothing went wrong.
    pub story: Option<&'a Story>,
    /// How a marble wedges where that was the incident, from near.
    pub wedged: Option<&'a CloseUp>,
    /// The command that tells it.
    pub command: &'a str,
}

/// What it takes to get the page again.
#[derive(Clone, Copy)]
pub struct Reproduction<'a> {
    /// The program's version.
    pub version: &'a str,
    /// The command, with the name of the machine file but not its directory.
    pub command: &'a str,
    /// The name of the machine file; `None` for the built-in machine.
    pub file: Option<&'a str>,
    /// The text of the machine file.
    pub text: &'a str,
}

/// The page.
pub fn page(log: &Log) -> Page {
    let title = log.machine.title.trim();
    let title = if title.is_empty() {
        "Untitled machine"
    } else {
        title
    };
    let (circuit, mut charts) = pictures::of_runs(log);
    charts.extend(pictures::rhythm(log));
    let mut blocks = chapters::question(log);
    blocks.extend(chapters::answer(log));
    blocks.extend(player::player(log).map(PagePart::Player));
    blocks.extend(chapters::machine(log, circuit));
    blocks.extend(chapters::bench_sheet(log));
    blocks.extend(studies::all(log, charts));
    blocks.extend(chapters::assumptions(log));
    blocks.extend(chapters::cautions());
    blocks.extend(chapters::reproduction(log));
    Page {
        title: title.to_owned(),
        blocks,
    }
}

/// The files of the page: name and bytes, each picture once.
pub fn files(page: &Page) -> Vec<(String, Vec<u8>)> {
    let mut files = vec![
        ("log.md".to_owned(), markdown::markdown(page).into_bytes()),
        ("log.html".to_owned(), html::html(page).into_bytes()),
    ];
    for block in &page.blocks {
        if let PagePart::Figure(figure) = block {
            files.push((figure.name.clone(), figure.png.clone()));
        }
    }
    files
}

/// What was written, and the results that the page tells.
#[derive(serde::Serialize)]
struct Json<'a> {
    /// Version of this layout.
    format: u32,
    /// The directory; null where no files were wanted.
    directory: Option<&'a str>,
    files: &'a [&'a str],
    results: Results<'a>,
}

/// What was written and the results as JSON.
pub fn json(directory: Option<&str>, files: &[&str], log: &Log) -> String {
    let works = JudgementJson::new(log.circuit, log.judgement, &log.runs.totals);
    let results = Results {
        summary: log.summary,
        works,
        assumptions: log.sensitivity,
    };
    serde_json::to_string_pretty(&Json {
        format: 1,
        directory,
        files,
        results,
    })
    .unwrap_or_default()
}
