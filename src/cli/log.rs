//! `log`: a build-log page with its pictures.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;

use super::args::{ChangeArgs, OutputArgs, StudyArgs, WarningArgs};
use super::command_line::CommandLine;
use super::compare::{self, VariantArgs};
use super::failure::Failure;
use super::run::{RunOptions, Studied, studied};
use super::source::Source;
use super::threads::on_threads_if;
use super::tolerance::tolerance_study;
use super::write::OutDir;
use super::{Answer, map, mend, terminal, tolerance, warn, why, window};
use crate::circuit::Circuit;
use crate::findings::RunTotals;
use crate::findings::incidents::incidents;
use crate::findings::replay::Replay;
use crate::findings::story::{Story, story};
use crate::machine::{self, Machine};
use crate::report::log;
use crate::study::close_up::{self, CloseUp};
use crate::study::mend::MendFound;
use crate::study::tolerance::{Plans, Tolerance};

/// The options of `log`.
#[derive(Args, Debug)]
pub struct LogArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// Add the least and the most marbles with which it works
    #[arg(long)]
    pub window: bool,
    /// Add the map of load by speed; may take minutes
    #[arg(long)]
    pub map: bool,
    /// Add what would mend it, or what would break it first; may take minutes
    #[arg(long)]
    pub mend: bool,
    /// Add how many makers have a machine that works, and what must be exact; may take minutes
    #[arg(long)]
    pub tolerance: bool,
    /// Tell the story of a run also where nothing went wrong that needs mending
    #[arg(long)]
    pub why: bool,
    /// Add a comparison with other designs
    #[command(flatten)]
    pub variants: VariantArgs,
    /// Do not look how the answer hangs on what the file leaves to be assumed
    #[arg(long)]
    pub no_assumptions: bool,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// How much to simulate
    #[command(flatten)]
    pub study: StudyArgs,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
    /// How warnings are shown
    #[command(flatten)]
    pub warnings: WarningArgs,
}

/// Makes the page of one machine.
pub fn log(args: &LogArgs) -> Result<Answer, Failure> {
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    let sources = (args.variants).sources(args.machine.as_deref(), &args.change)?;
    let designs = compare::designs(&sources)?;
    let long = args.why.then(|| why::not_too_long(&args.study));
    long.transpose()?;
    let out = OutDir::of(&args.output, &source)?;
    if !args.output.quiet {
        warn::print_lines(&source, &machine, &args.warnings);
    }
    let (threads, quiet) = (args.study.threads, args.output.answer_alone());
    let how = RunOptions {
        study: &args.study,
        precision: None,
        every_run: false,
        until: None,
        assumptions: !args.no_assumptions,
        quiet,
    };
    let studied = studied(&machine, &how, |_, _| {}, |_| {})?;
    let circuit = &studied.circuit;
    let search = window::whole(&args.study, circuit);
    // Without a page to write, nobody would see what these find.
    let page = out.is_some();
    let story = on_threads_if(page, threads, || {
        story_of_a_run(args, &machine, circuit, &studied.runs.totals)
    })?;
    let story = story.flatten();
    let found = on_threads_if(page && args.window, threads, || {
        window::run(&search, circuit, &machine, quiet)
    })?;
    let comparison = on_threads_if(page && !args.variants.is_empty(), threads, || {
        compare::simulate(&args.study, &designs, quiet)
    })?;
    let map = (page && args.map)
        .then(|| map::usual(&source, &machine, &args.study, quiet))
        .transpose()?;
    let asked = asked(args, (&source, &machine), page)?;
    let written = machine::written_keys(&source.text, &source.settings);
    let (command, file) = (command_to_repeat(args), file_name(args));
    let log = log::Log {
        machine: &machine,
        written: &written,
        circuit,
        study: args.study.study(),
        runs: &studied.runs,
        summary: &studied.summary,
        findings: &studied.findings,
        judgement: &studied.judgement,
        strikes: studied.strikes.as_ref(),
        sensitivity: studied.sensitivity.as_ref(),
        watched: story.as_ref().map(|story| &story.replay),
        near: story.as_ref().and_then(|story| story.near.as_ref()),
        tale: story.as_ref().and_then(RunStory::tale),
        window: found
            .as_ref()
            .map(|found| window::window_study(&machine, circuit, &search, found)),
        comparison: comparison
            .as_ref()
            .map(|found| compare::compare_study(&machine.title, &args.study, &designs, found)),
        map: map.as_ref(),
        mend: (asked.mended.as_ref())
            .map(|found| mend::mend_report(&machine, circuit, &args.study, found)),
        tolerance: (asked.made.as_ref())
            .map(|(plans, found)| tolerance_study(&machine, (plans, found), machine.units)),
        reproduction: reproduction(&source, &command, file.as_deref()),
    };
    write(args, out.as_ref(), &log, &studied)
}

fn reproduction<'a>(
    source: &'a Source,
    command: &'a str,
    file: Option<&'a Path>,
) -> log::Reproduction<'a> {
    log::Reproduction {
        version: env!("CARGO_PKG_VERSION"),
        command,
        file: file.map(|name| name.to_str().unwrap_or("machine.yaml")),
        text: &source.text,
    }
}

/// What was asked beside runs, maps and comparisons.
struct AskedBeside {
    mended: Option<MendFound>,
    made: Option<(Plans, Tolerance)>,
}

/// What mends the machine and how many makers have one that works, where that is asked for and there is a page to say it on.
fn asked(
    args: &LogArgs,
    (source, machine): (&Source, &Machine),
    page: bool,
) -> Result<AskedBeside, Failure> {
    let (quiet, threads) = (args.output.answer_alone(), args.study.threads);
    let mended = on_threads_if(page && args.mend, threads, || {
        mend::whole(source, machine, &args.study, quiet)
    })?;
    let made = on_threads_if(page && args.tolerance, threads, || {
        tolerance::whole(machine, args.study.seed, quiet)
    })?;
    Ok(AskedBeside {
        mended: mended.flatten(),
        made: made.flatten(),
    })
}

/// Writes the page's files and prints the answer.
fn write(
    args: &LogArgs,
    out: Option<&OutDir>,
    log: &log::Log,
    studied: &Studied,
) -> Result<Answer, Failure> {
    let files = on_threads_if(out.is_some(), args.study.threads, || {
        log::files(&log::page(log))
    })?;
    let files = files.unwrap_or_default();
    let written = out.map(|out| out.write_all(&files)).transpose()?;
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    let mut stdout = super::print::out();
    if args.output.json {
        let directory = out.map(|out| out.path().display().to_string());
        writeln!(stdout, "{}", log::json(directory.as_deref(), &names, log))?;
        return Ok(Answer::Given);
    }
    let answer = match studied.findings.first() {
        Some(answer) => answer.text.as_str(),
        None => "",
    };
    if args.output.quiet {
        writeln!(stdout, "{answer}")?;
        return Ok(Answer::Given);
    }
    writeln!(
        stdout,
        "{}\n\n{}",
        log.machine.title,
        terminal::sentence(studied.judgement.works(), answer)
    )?;
    if let Some(written) = written {
        writeln!(stdout, "\n{written}")?;
    }
    Ok(Answer::Given)
}

/// The story of a run, kept.
struct RunStory {
    replay: Replay,
    story: Option<Story>,
    wedged: Option<CloseUp>,
    near: Option<(usize, CloseUp)>,
    command: String,
    /// Whether the page tells it, rather than only lets it be watched.
    has_story: bool,
}

impl RunStory {
    fn tale(&self) -> Option<log::Tale<'_>> {
        self.has_story.then_some(log::Tale {
            replay: &self.replay,
            story: self.story.as_ref(),
            wedged: self.wedged.as_ref(),
            command: &self.command,
        })
    }
}

/// The first run in which something went wrong that needs mending, or else the first, with its story where there is one to
/// tell or that was asked for; none where the runs are too long to be kept whole.
fn story_of_a_run(
    args: &LogArgs,
    machine: &Machine,
    circuit: &Circuit,
    totals: &RunTotals,
) -> Option<RunStory> {
    if args.study.hours > why::LONGEST_H {
        return None;
    }
    let wrong = totals.went_wrong.first;
    let (run, has_story) = (wrong.unwrap_or(0), wrong.is_some() || args.why);
    let replay = Replay::of(circuit, args.study.run_id(run));
    let story = match has_story {
        true => incidents(circuit, &replay)
            .first()
            .map(|incident| story(circuit, &replay, incident)),
        false => None,
    };
    let incident = story.as_ref().map(|story| &story.incident);
    let near = close_up::beside(machine, incident);
    let wedged = match (incident, &near) {
        (Some(incident), Some((n, near)))
            if *n == incident.node && close_up::is_pinch(incident) =>
        {
            near.clone().only(close_up::Deed::Stalls)
        }
        _ => None,
    };
    let file = file_name(args);
    let command = why::command(file.as_deref(), &args.change, &args.study, run);
    Some(RunStory {
        replay,
        story,
        wedged,
        near,
        command,
        has_story,
    })
}

/// The machine file without its directory, which is nobody else's.
fn file_name(args: &LogArgs) -> Option<PathBuf> {
    args.machine.as_deref()?.file_name().map(PathBuf::from)
}

/// The command that makes the same page.
fn command_to_repeat(args: &LogArgs) -> String {
    let LogArgs { variants, .. } = args;
    CommandLine::new("log", file_name(args).as_deref())
        .flag("window", args.window)
        .flag("map", args.map)
        .flag("mend", args.mend)
        .flag("tolerance", args.tolerance)
        .flag("why", args.why)
        .options("swap", variants.swap.iter().map(|swap| &swap.typed))
        .options(
            "variant",
            variants.variant.iter().map(|variant| &variant.typed),
        )
        .flag("no-assumptions", args.no_assumptions)
        .changed(&args.change)
        .studied(&args.study)
        .line()
}
