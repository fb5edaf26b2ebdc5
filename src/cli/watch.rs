//! `run --watch`: answers again whenever the machine file is saved, first from a few runs and then from all.
//!
//! The answer keeps its place on a terminal: it is drawn over the one before, line by line, so that whatever ends the
//! program leaves a terminal as it was. Where the output is no terminal, each save has its answer once, one under the other.

use std::fmt::Write as _;
use std::io::{IsTerminal, Write};
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use super::failure::{Failure, shown};
use super::run::{RunArgs, driven_rpm};
use super::source::{Source, Stamp, stamp};
use super::threads::on_threads;
use super::{Answer, print, tables, terminal};
use crate::circuit::{self, Circuit};
use crate::findings::sentences::FindingWriter;
use crate::findings::summary::LEVEL;
use crate::findings::verdict_text::heading;
use crate::findings::words::count;
use crate::findings::workable::{Criterion, judge_all};
use crate::findings::{Runs, StudyScope, Summary, summarize};
use crate::machine::Machine;
use crate::report::rows::{Alignment, criteria};
use crate::stats::Estimate;
use crate::study::repeat::each;

/// How often it is looked whether the file was saved.
const LOOK: Duration = Duration::from_millis(100);
/// A file that stays as it is for so long is saved to its end: editors empty it before they write.
const SETTLED: Duration = Duration::from_millis(30);
/// The runs of the first answer; each answer after it has so many times the runs of the one before.
const FIRST: u32 = 8;
const TIMES: u32 = 5;

/// Answers until it is ended.
pub fn watch(args: &RunArgs) -> Result<Answer, Failure> {
    let Some(path) = &args.machine else {
        let help = "name the file, as in `marblewright run machine.yaml --watch`";
        return Err(Failure::asked("there is no file to watch", help));
    };
    let mut screen = Screen {
        lines: 0,
        in_place: std::io::stdout().is_terminal(),
    };
    let mut before = Vec::new();
    loop {
        let saved = settled(path);
        match answers(args, path, saved, &before, &mut screen) {
            Ok(figures) => before = figures.unwrap_or(before),
            Err(Failure::ClosedPipe) => return Err(Failure::ClosedPipe),
            Err(failure) => screen.show(&failure.to_string())?,
        }
        while stamp(path) == saved {
            sleep(LOOK);
        }
    }
}

/// How the file stands once nobody is writing it.
fn settled(path: &Path) -> Stamp {
    let mut seen = stamp(path);
    loop {
        sleep(SETTLED);
        let now = stamp(path);
        if now == seen {
            return now;
        }
        seen = now;
    }
}

/// A figure of the answer: what it is, how much, and whether more of it is better.
struct WatchedFigure {
    what: String,
    figure: Estimate,
    more_is_better: bool,
    /// As the table shows it.
    shown: String,
}

/// The answers to one save, sharpened until all runs are done; `None` where the file was saved again before that.
fn answers(
    args: &RunArgs,
    path: &Path,
    saved: Stamp,
    before: &[WatchedFigure],
    screen: &mut Screen,
) -> Result<Option<Vec<WatchedFigure>>, Failure> {
    let source = Source::open(Some(path), args.change.settings())?;
    let machine = source.machine()?;
    let circuit = on_threads(args.study.threads, || circuit::circuit(&machine))?;
    let mut runs = Runs::new(circuit.start);
    let scope = StudyScope {
        title: machine.title.clone(),
        rpm: driven_rpm(&machine),
        seed: args.study.seed,
        hours: args.study.hours,
    };
    let (all, mut done, mut next) = (args.study.runs, 0, FIRST.min(args.study.runs));
    loop {
        on_threads(args.study.threads, || {
            let study = args.study.study();
            each(&circuit, &study, done..next, |_| {}, |run| runs.push(run));
        })?;
        done = next;
        next = next.saturating_mul(TIMES).min(all);
        let answer = WatchedAnswer {
            machine: &machine,
            circuit: &circuit,
            runs: &runs,
        };
        let (mut text, figures) = answer.text(&summarize(&scope, &circuit, &runs), before);
        let so_far = match done < all {
            true => format!("{} of {}", done, count(u64::from(all), "run")),
            false => count(u64::from(all), "run"),
        };
        let _ = write!(text, "{so_far}; watching {}, Ctrl-C ends it.", shown(path));
        if done == all || screen.in_place {
            screen.show(&text)?;
        }
        if done == all {
            return Ok(Some(figures));
        }
        if stamp(path) != saved {
            return Ok(None);
        }
    }
}

/// What is answered from the runs so far.
struct WatchedAnswer<'a> {
    machine: &'a Machine,
    circuit: &'a Circuit,
    runs: &'a Runs,
}

impl WatchedAnswer<'_> {
    /// The verdict and the table of what is judged, each figure with what it was at the last save.
    fn text(&self, summary: &Summary, before: &[WatchedFigure]) -> (String, Vec<WatchedFigure>) {
        let judgement = judge_all(self.circuit, &self.machine.workable, self.runs, LEVEL);
        let mut figures = vec![WatchedFigure {
            what: "marbles a minute".to_owned(),
            figure: summary.throughput_per_min,
            more_is_better: true,
            shown: String::new(),
        }];
        for result in &judgement.results {
            figures.push(WatchedFigure {
                what: heading(self.circuit, result),
                figure: result.figure,
                more_is_better: matches!(result.criterion, Criterion::Fill(_)),
                shown: String::new(),
            });
        }
        let writer = FindingWriter {
            machine: self.machine,
            circuit: self.circuit,
            summary,
            runs: self.runs,
            judgement: &judgement,
        };
        let mut text = format!("{}\n", summary.title);
        if let Some(verdict) = writer.brief().first() {
            let _ = writeln!(text, "{}", terminal::sentence(verdict.good, &verdict.text));
        }
        let mut table = criteria(self.circuit, summary, &judgement);
        table.header.push("last save".to_owned());
        table.sides.push(Alignment::Left);
        for row in &mut table.rows {
            let named = figures.iter_mut().find(|of| Some(&of.what) == row.get(1));
            let then = before.iter().find(|of| Some(&of.what) == row.get(1));
            let mut moved = String::new();
            if let (Some(now), Some(shown)) = (named, row.get(2)) {
                now.shown = shown.clone();
                moved = then.and_then(|then| since(now, then)).unwrap_or_default();
            }
            row.push(moved);
        }
        let _ = writeln!(text, "\n{}\n", tables::of(&table));
        (text, figures)
    }
}

/// What became of a figure since the last save: better or worse where its interval is apart from that before; `None` where
/// it shows the same.
fn since(now: &WatchedFigure, then: &WatchedFigure) -> Option<String> {
    if now.shown == then.shown {
        return None;
    }
    let was = &then.shown;
    let rose = now.figure.low? > then.figure.high?;
    let fell = now.figure.high? < then.figure.low?;
    Some(match (rose, fell) {
        (false, false) => format!("was {was}"),
        (rose, _) if rose == now.more_is_better => format!("better: was {was}"),
        _ => format!("worse: was {was}"),
    })
}

/// Where the answer stands.
struct Screen {
    /// Lines of the answer that is shown.
    lines: usize,
    /// Whether the next one is drawn over it.
    in_place: bool,
}

impl Screen {
    /// Shows an answer in the place of the one before, as much of it as the terminal has lines for.
    fn show(&mut self, text: &str) -> Result<(), Failure> {
        if !self.in_place {
            let mut out = print::out();
            writeln!(out, "{text}\n")?;
            return Ok(out.flush()?);
        }
        let (shown, lines) = terminal::fitted(text);
        print::redraw(self.lines, &shown)?;
        self.lines = lines;
        Ok(())
    }
}
