//! `why`: the story of one run.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::Answer;
use super::args::{ChangeArgs, OutputArgs, StudyArgs};
use super::failure::Failure;
use super::source::Source;
use super::threads::on_threads;
use super::write::OutDir;
use super::{progress, run};
use crate::charts::string_line;
use crate::circuit::draw::nanos;
use crate::circuit::{self, Circuit};
use crate::findings::incidents::{Incident, incidents};
use crate::findings::replay::{Replay, Which};
use crate::findings::story::{Story, story};

use crate::machine::{Machine, limits};
use crate::{report, study};

/// The options of `why`.
#[derive(Args, Debug)]
pub struct WhyArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// The run to tell of; without it, the first in which something went wrong
    #[arg(long, value_name = "K", allow_negative_numbers = true, value_parser = run_number)]
    pub run: Option<u32>,
    /// The incident to tell of, by its number in the run's list
    #[arg(long, value_name = "I", default_value = "1", allow_negative_numbers = true, value_parser = incident_number)]
    pub incident: usize,
    /// Print every event of the run with its cause, one JSON object a line, and nothing else
    #[arg(long, conflicts_with = "json")]
    pub events: bool,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// How much to simulate
    #[command(flatten)]
    pub study: StudyArgs,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
}

/// Incidents listed under a story; `--json` has all.
const LISTED: usize = 12;
/// Longest run that is kept whole, hours: about a gigabyte.
const LONGEST_H: f64 = 48.0;

fn run_number(text: &str) -> Result<u32, String> {
    let within = |run: &u32| *run < limits::RUNS;
    text.parse().ok().filter(within).ok_or(format!("runs are numbered from 0 to {}", limits::RUNS - 1))
}

fn incident_number(text: &str) -> Result<usize, String> {
    text.parse().ok().filter(|n| *n > 0).ok_or("incidents are numbered from 1, the gravest first".to_owned())
}

/// Tells why something went wrong in a run.
pub fn why(args: &WhyArgs) -> Result<Answer, Failure> {
    if args.study.hours > LONGEST_H {
        let why = format!("every event of the run is kept, which takes too much memory beyond {LONGEST_H} h");
        let mend = format!("ask with --hours {LONGEST_H} or less: the run is the same up to there");
        return Err(Failure::File { doing: "replay", path: format!("{} h", args.study.hours).into(), why, mend });
    }
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    let out = if args.events { None } else { OutDir::of(&args.output, &source)? };
    let circuit = circuit::circuit(&machine);
    let horizon = nanos(args.study.hours * 3600.0);
    let run = match args.run {
        Some(run) => u64::from(run),
        None => on_threads(args.study.threads, || first_grave(args, &circuit))?.unwrap_or(0),
    };
    let which = Which { seed: args.study.seed, run, horizon };
    let replay = Replay::of(&circuit, which);
    if args.events {
        let mut out = std::io::BufWriter::new(std::io::stdout().lock());
        for line in report::events(&circuit, &replay.trace) {
            writeln!(out, "{line}")?;
        }
        out.flush()?;
        return Ok(Answer::Given);
    }
    let all = incidents(&circuit, &replay);
    let told = match all.get(args.incident - 1) {
        Some(incident) => Some(story(&circuit, which, &replay, incident)),
        None if all.is_empty() && args.incident == 1 => None,
        None => return Err(no_such_incident(args.incident, run, all.len())),
    };
    print(args, &machine, &circuit, &replay, which, &all, told.as_ref())?;
    let (Some(out), Some(told)) = (&out, &told) else { return Ok(Answer::Given) };
    let setting = run::setting(&machine, &circuit);
    let drawn = string_line::Drawn {
        title: &machine.title,
        setting: &setting,
        circuit: &circuit,
        which,
        replay: &replay,
        story: told,
    };
    out.write("why.png", &string_line::picture(&drawn).png)?;
    if !args.output.json && !args.output.quiet {
        writeln!(std::io::stdout(), "\nWritten to {}: why.png", out.path().display())?;
    }
    Ok(Answer::Given)
}

/// The first run in which something went wrong that a maker has to mend.
fn first_grave(args: &WhyArgs, circuit: &Circuit) -> Option<u64> {
    let bar = progress::bar(u64::from(args.study.runs), args.output.quiet || args.output.json || args.events);
    let horizon = nanos(args.study.hours * 3600.0);
    let runs = study::repeat(circuit, args.study.seed, args.study.runs, horizon, || bar.inc(1));
    bar.finish_and_clear();
    runs.iter().find(|figures| figures.went_wrong(circuit.start)).map(|figures| figures.run)
}

fn no_such_incident(incident: usize, run: u64, there: usize) -> Failure {
    let why = match there {
        0 => format!("nothing went wrong in run {run}"),
        1 => format!("run {run} has one incident"),
        n => format!("run {run} has {n} incidents"),
    };
    let mend = match there {
        0 => "name another run with --run, or none to find the first with an incident".to_owned(),
        n => format!("choose one from 1 to {n}; without --incident the gravest is told"),
    };
    Failure::File { doing: "tell of", path: format!("incident {incident}").into(), why, mend }
}

fn print(
    args: &WhyArgs,
    machine: &Machine,
    circuit: &Circuit,
    replay: &Replay,
    which: Which,
    all: &[Incident],
    told: Option<&Story>,
) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    let number = args.incident - 1;
    if args.output.json {
        let story = told.map(|story| (number, story));
        writeln!(out, "{}", report::why_json(&machine.title, circuit, which, replay, all, story))?;
        return Ok(());
    }
    let Some(story) = told else {
        writeln!(out, "Nothing went wrong in run {} of seed {}.", which.run, which.seed)?;
        return Ok(());
    };
    if args.output.quiet {
        if let Some(first) = story.sentences.first() {
            writeln!(out, "{}", first.text)?;
        }
        return Ok(());
    }
    let incident = &all[number];
    writeln!(out, "{}: seed {}, run {}, incident {}\n", machine.title, which.seed, which.run, args.incident)?;
    writeln!(out, "{}\n", incident.line(circuit))?;
    for sentence in &story.sentences {
        writeln!(out, "   {}", sentence.text)?;
    }
    writeln!(out, "\nIncidents of this run, the gravest first:")?;
    for (n, incident) in all.iter().enumerate().take(LISTED) {
        writeln!(out, "{:>4}  {}", n + 1, incident.line(circuit))?;
    }
    if all.len() > LISTED {
        writeln!(out, "      and {} more (--json lists all)", all.len() - LISTED)?;
    }
    Ok(())
}
