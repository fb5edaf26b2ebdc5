//! `why`: the story of one run.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;

use super::Answer;
use super::args::{ChangeArgs, OutputArgs, StudyArgs, UnitsArgs, number_in};
use super::command_line::CommandLine;
use super::failure::Failure;
use super::source::Source;
use super::threads::on_threads;
use super::write::OutDir;
use super::{progress, run, terminal};
use crate::charts::canvas::Format;
use crate::charts::{self, time_distance};
use crate::circuit::{self, Circuit};
use crate::findings::incidents::{Incident, incidents};
use crate::findings::replay::{Replay, RunId};
use crate::findings::story::{Story, story};
use crate::findings::words::{count, setting};
use crate::machine::{Machine, limits};
use crate::report;
use crate::study::close_up;
use crate::study::repeat::each;

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
    /// How lengths are shown, where there are any
    #[command(flatten)]
    pub units: UnitsArgs,
}

/// Incidents listed under a story; `--json` has all.
const LISTED: usize = 12;
/// Longest run that is kept whole, hours: about a gigabyte.
pub const LONGEST_H: f64 = 48.0;

fn run_number(text: &str) -> Result<u32, String> {
    let help = format!("runs are numbered from 0 to {}", limits::RUNS - 1);
    number_in(text, ..limits::RUNS, help)
}

fn incident_number(text: &str) -> Result<usize, String> {
    number_in(
        text,
        1..,
        "incidents are numbered from 1, the gravest first",
    )
}

/// Tells why something went wrong in a run.
pub fn why(args: &WhyArgs) -> Result<Answer, Failure> {
    not_too_long(&args.study)?;
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    let out = if args.events {
        None
    } else {
        OutDir::of(&args.output, &source)?
    };
    let circuit = circuit::circuit(&machine);
    let grave = match args.run {
        Some(run) => Some(u64::from(run)),
        None => on_threads(args.study.threads, || first_grave(args, &circuit))?,
    };
    let run = grave.unwrap_or(0);
    let replay = Replay::of(&circuit, args.study.run_id(run));
    if args.events {
        return print_events(&circuit, &replay);
    }
    let all = incidents(&circuit, &replay);
    let text = match all.get(args.incident - 1) {
        Some(incident) => Some(story(&circuit, &replay, incident)),
        None if all.is_empty() && args.incident == 1 => None,
        None => return Err(no_such_incident(args, run, all.len())),
    };
    let answer = WhyAnswer {
        args,
        title: &machine.title,
        circuit: &circuit,
        replay: &replay,
        all: &all,
        story: text.as_ref(),
    };
    answer.print(grave.is_none())?;
    if let (Some(out), Some(story)) = (&out, &text) {
        let written = out.write_all(&answer.pictures(&machine, story))?;
        if !args.output.answer_alone() {
            writeln!(super::print::out(), "\n{written}")?;
        }
    }
    Ok(Answer::Given)
}

fn print_events(circuit: &Circuit, replay: &Replay) -> Result<Answer, Failure> {
    let mut out = super::print::out_buffered();
    for line in report::events(circuit, &replay.trace) {
        writeln!(out, "{line}")?;
    }
    out.flush()?;
    Ok(Answer::Given)
}

/// Whether a run can be kept whole.
pub fn not_too_long(study: &StudyArgs) -> Result<(), Failure> {
    if study.hours <= LONGEST_H {
        return Ok(());
    }
    let why =
        format!("every event of the run is kept, which takes too much memory beyond {LONGEST_H} h");
    let help = format!("ask with --hours {LONGEST_H} or less: the run is the same up to there");
    let asked = format!("{} h", study.hours);
    Err(Failure::cannot("replay", asked, why, help))
}

/// The first run in which something went wrong that a maker has to fix.
fn first_grave(args: &WhyArgs, circuit: &Circuit) -> Option<u64> {
    let bar = progress::bar(
        u64::from(args.study.runs),
        args.output.answer_alone() || args.events,
    );
    let study = args.study.study();
    let mut first = None;
    each(
        circuit,
        &study,
        0..args.study.runs,
        |parts| bar.inc(parts),
        |run| {
            if first.is_none() && run.went_wrong(circuit.start) {
                first = Some(run.run);
            }
        },
    );
    bar.finish_and_clear();
    first
}

fn no_such_incident(args: &WhyArgs, run: u64, there: usize) -> Failure {
    let why = match there {
        0 => format!("nothing went wrong in run {run}"),
        1 => format!("run {run} has one incident"),
        n => format!("run {run} has {n} incidents"),
    };
    let help = match there {
        0 => "name another run with --run, or none to find the first with an incident".to_owned(),
        n => format!("choose one from 1 to {n}; without --incident the gravest is taken"),
    };
    Failure::cannot("tell of", format!("incident {}", args.incident), why, help)
}

/// The command that tells what went wrong in a run.
pub fn command(machine: Option<&Path>, change: &ChangeArgs, study: &StudyArgs, run: u64) -> String {
    CommandLine::new("why", machine)
        .changed(change)
        .long(study)
        .options("run", [run])
        .line()
}

/// What has been found out, to be printed.
struct WhyAnswer<'a> {
    args: &'a WhyArgs,
    title: &'a str,
    circuit: &'a Circuit,
    replay: &'a Replay,
    all: &'a [Incident],
    story: Option<&'a Story>,
}

impl WhyAnswer<'_> {
    /// The incident in its time and place, and from near where a marble wedged.
    fn pictures(&self, machine: &Machine, story: &Story) -> Vec<(&'static str, Vec<u8>)> {
        let drawn = time_distance::IncidentChart {
            title: self.title,
            setting: &setting(self.circuit.marbles, run::driven_rpm(machine)),
            circuit: self.circuit,
            replay: self.replay,
            story,
        };
        let mut files = vec![("why.png", time_distance::picture(&drawn, Format::Wide).png)];
        if let Some(wedged) = close_up::of_pinch(machine, &story.incident) {
            let wheel = &self.circuit.nodes[story.incident.node].name;
            let stills = charts::close_up::stills(&wedged, wheel, self.title);
            files.push(("why-close-up.png", stills));
        }
        files
    }

    /// Prints it; `searched` where no run had anything that needs mending.
    fn print(&self, searched: bool) -> Result<(), Failure> {
        let mut out = super::print::out();
        let RunId { seed, run, .. } = self.replay.id;
        if self.args.output.json {
            let story = self.story.map(|story| (self.args.incident - 1, story));
            let json = report::why_json(self.title, self.circuit, self.replay, self.all, story);
            writeln!(out, "{json}")?;
            return Ok(());
        }
        if searched && !self.args.output.quiet {
            let runs = count(u64::from(self.args.study.runs), "run");
            writeln!(
                out,
                "In none of {runs} did anything go wrong that needs mending; this is run {run}.\n"
            )?;
        }
        let Some(story) = self.story else {
            writeln!(out, "Nothing went wrong in run {run} of seed {seed}.")?;
            return Ok(());
        };
        if self.args.output.quiet {
            if let Some(first) = story.sentences.first() {
                writeln!(out, "{}", first.text)?;
            }
            return Ok(());
        }
        writeln!(
            out,
            "{}: seed {seed}, run {run}, incident {}\n",
            self.title, self.args.incident
        )?;
        writeln!(out, "{}\n", story.incident.line(self.circuit))?;
        for sentence in &story.sentences {
            writeln!(out, "{}", terminal::sentence(true, &sentence.text))?;
        }
        writeln!(out, "\nIncidents of this run, the gravest first:")?;
        for (n, incident) in self.all.iter().enumerate().take(LISTED) {
            writeln!(out, "{:>4}  {}", n + 1, incident.line(self.circuit))?;
        }
        if self.all.len() > LISTED {
            writeln!(
                out,
                "      and {} more (--json lists all)",
                self.all.len() - LISTED
            )?;
        }
        Ok(())
    }
}
