//! `run`: what happens at this load and speed, over many runs.

use std::io::Write;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use clap::Args;

use super::Answer;
use super::args::{ChangeArgs, OutputArgs, StudyArgs, WarningArgs, number_in};
use super::command_line::CommandLine;
use super::failure::Failure;
use super::simulate::{StudyEnd, simulate};
use super::source::Source;
use super::threads::{on_threads, on_threads_if};
use super::write::{OutDir, Unfinished};
use super::{tables, terminal, warn, watch, why};
use crate::charts::canvas::Format;
use crate::circuit::{self, Circuit};
use crate::findings::sentences::{Finding, FindingWriter};
use crate::findings::strikes::Strikes;
use crate::findings::workable::{Judgement, Verdict};
use crate::findings::{RunFigures, Runs, StudyScope, Summary, summarize};
use crate::machine::Machine;
use crate::machine::units::{DURATION, quantity};
use crate::report::{self, rows};
use crate::study::assumptions::{self, Sensitivity, SensitivityEffort};
use crate::study::bottleneck::{self, causes};
use crate::study::motor_stop::{self, motor_stop};

/// The options of `run`.
#[derive(Args, Debug)]
pub struct RunArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// How much to simulate
    #[command(flatten)]
    pub study: StudyArgs,
    /// Stop as soon as marbles a minute and every fill are known this well, --runs at the latest: --precision 2%
    #[arg(long, value_name = "P", allow_hyphen_values = true, value_parser = precision)]
    pub precision: Option<f64>,
    /// The best answer within a time: --budget 10s; looks not how the answer hangs on what is assumed
    #[arg(long, value_name = "TIME", value_parser = budget, conflicts_with = "precision")]
    pub budget: Option<Duration>,
    /// Make all --runs, even once they show whether the machine works
    #[arg(long, conflicts_with_all = ["precision", "budget"])]
    pub every_run: bool,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
    /// How warnings are shown
    #[command(flatten)]
    pub warnings: WarningArgs,
    /// Exit with code 1 unless the runs show that the machine works
    #[arg(long)]
    pub require_workable: bool,
    /// Do not look how the answer hangs on what the file leaves to be assumed
    #[arg(long)]
    pub no_assumptions: bool,
    /// Answer again whenever the machine file is saved, until Ctrl-C; writes no files
    #[arg(long, conflicts_with_all = ["json", "quiet", "precision", "require_workable", "full"])]
    pub watch: bool,
    /// Print all that is known: every finding, every element, every wheel
    #[arg(long)]
    pub full: bool,
}

/// Findings that are answers by themselves: does it work, does the load overflow where it is poured in.
const ANSWERS: usize = 2;

/// The longest time to answer in, seconds.
const LONGEST_BUDGET_S: f64 = 86_400.0;

/// What many runs of one machine tell, and what stands behind it.
pub struct Studied {
    /// The machine ready to run.
    pub circuit: Circuit,
    /// The runs.
    pub runs: Runs,
    /// What they mean together.
    pub summary: Summary,
    /// When its bells rang, if it has any.
    pub strikes: Option<Strikes>,
    /// How that hangs on what the file leaves to be assumed, where it was asked.
    pub sensitivity: Option<Sensitivity>,
    /// The sentences, the answer first.
    pub findings: Vec<Finding>,
    /// The answer in two or three of them.
    pub brief: Vec<Finding>,
    /// What the runs show against what the maker calls good enough.
    pub judgement: Judgement,
    /// What ended it, where that was not the last of its runs.
    ended: Option<StudyEnd>,
}

impl Studied {
    /// All sentences, or the answer in brief.
    fn sentences(&self, full: bool) -> &[Finding] {
        if full { &self.findings } else { &self.brief }
    }
}

/// How a machine is to be studied.
pub struct RunOptions<'a> {
    /// How much to simulate.
    pub study: &'a StudyArgs,
    /// How well the figures are to be known, as a share, before the runs are spent.
    pub precision: Option<f64>,
    /// Whether all runs are made, even once they show whether the machine works.
    pub every_run: bool,
    /// No run is begun after that.
    pub until: Option<Instant>,
    /// Whether to look how the answer hangs on what the file leaves to be assumed.
    pub assumptions: bool,
    /// Whether progress is not shown.
    pub quiet: bool,
}

/// Runs a machine and says what it means; `take` gets the figures of each run, in order, and `answer` the sentences as soon
/// as they are known: how the answer hangs on what is assumed takes longer.
pub fn studied(
    machine: &Machine,
    how: &RunOptions,
    mut take: impl FnMut(&Circuit, &RunFigures) + Send,
    answer: impl FnOnce(&Studied),
) -> Result<Studied, Failure> {
    let threads = how.study.threads;
    let circuit = on_threads(threads, || circuit::circuit(machine))?;
    let simulated = on_threads(threads, || {
        simulate(how, (&circuit, &machine.workable), |run| {
            take(&circuit, run)
        })
    })?;
    let (runs, judgement) = (simulated.runs, simulated.judgement);
    let scope = StudyScope {
        title: machine.title.clone(),
        rpm: driven_rpm(machine),
        seed: how.study.seed,
        hours: how.study.hours,
    };
    let mut summary = summarize(&scope, &circuit, &runs);
    summary.stopped_by = simulated.ended.as_ref().map(StudyEnd::name);
    let effort = SensitivityEffort::short(&how.study.study());
    (summary.motor_stop, summary.causes) = on_threads(threads, || {
        let of = |runs| SensitivityEffort { runs, ..effort };
        let stop = motor_stop(&circuit, &of(motor_stop::RUNS));
        (
            stop,
            causes(machine, &circuit, &summary, &of(bottleneck::RUNS)),
        )
    })?;
    let writer = FindingWriter {
        machine,
        circuit: &circuit,
        summary: &summary,
        runs: &runs,
        judgement: &judgement,
    };
    let (findings, brief) = (writer.all(), writer.brief());
    let mut studied = Studied {
        strikes: Strikes::of(&circuit, how.study.run_id(0)),
        circuit,
        runs,
        summary,
        sensitivity: None,
        findings,
        brief,
        judgement,
        ended: simulated.ended,
    };
    tell_strikes(&mut studied);
    answer(&studied);
    studied.sensitivity = on_threads_if(how.assumptions, threads, || {
        assumptions::sensitivity(machine, &effort)
    })?;
    if let Some(sensitivity) = &studied.sensitivity {
        let likely = studied.judgement.likely();
        let how_sure = report::assumptions::finding(sensitivity, Some(likely));
        studied.findings.push(how_sure);
        let brief = report::assumptions::brief(sensitivity, likely);
        studied.brief.push(brief);
    }
    Ok(studied)
}

/// Says how often its bells rang, in the long answer and in the brief one.
fn tell_strikes(studied: &mut Studied) {
    if let Some(strikes) = &studied.strikes {
        studied.findings.extend(strikes.findings());
        studied.brief.extend(strikes.findings());
    }
}

/// Answers for one machine.
pub fn run(args: &RunArgs) -> Result<Answer, Failure> {
    if args.watch {
        return watch::watch(args);
    }
    let until = args.budget.map(|time| Instant::now() + time);
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    let out = OutDir::of(&args.output, &source)?;
    if !args.output.quiet {
        warn::print_lines(&source, &machine, &args.warnings);
    }
    let how = RunOptions {
        study: &args.study,
        precision: args.precision,
        every_run: args.every_run,
        until,
        assumptions: !args.no_assumptions && args.budget.is_none(),
        quiet: args.output.answer_alone(),
    };
    let mut files = out.map(RunFiles::begin).transpose()?;
    let take = |circuit: &Circuit, run: &RunFigures| {
        if let Some(files) = &mut files {
            files.write(circuit, run);
        }
    };
    let mut answered = Ok(0);
    let studied = studied(&machine, &how, take, |studied| {
        answered = print_answer(args, studied)
    })?;
    // Files are written even where nobody reads the answer to its end.
    let printed = match answered {
        Ok(sentences) => print_rest(args, &studied, sentences),
        Err(error) => Err(error.into()),
    };
    if let Some(files) = files {
        let place = format!("Pictures and tables: {}", files.out.place());
        let written = files.finish(&args.study, &studied)?;
        if printed.is_ok() && !args.output.answer_alone() {
            let where_to_look = if args.full { written } else { place };
            writeln!(super::print::out(), "{where_to_look}")?;
        }
    }
    printed?;
    if !args.output.answer_alone() {
        print_next(args, &studied)?;
    }
    if args.require_workable && !studied.judgement.works() {
        return Ok(Answer::NotWorkable);
    }
    Ok(Answer::Given)
}

/// Speed of the machine's drive, if that turns any wheel.
pub fn driven_rpm(machine: &Machine) -> Option<f64> {
    let mut elements = machine.elements.iter();
    let turns = elements.any(|element| element.kind.is_on_drive());
    Some(circuit::drive::drive_rpm(machine)).filter(|_| turns)
}

/// A precision as a share: `2%` or `2 %`.
fn precision(text: &str) -> Result<f64, String> {
    let help = "write it in percent, 0.01% to 50%, as in 2%";
    let number = text.trim().strip_suffix('%').ok_or(help)?;
    let percent: f64 = number_in(number.trim(), 0.01..=50.0, help)?;
    Ok(percent / 100.0)
}

/// How long an answer may take.
fn budget(text: &str) -> Result<Duration, String> {
    let seconds = match quantity(text, &DURATION) {
        Ok(seconds) if (0.0..=LONGEST_BUDGET_S).contains(&seconds) => seconds,
        _ => return Err("write a time up to 24 h with its unit, as in 10s".to_owned()),
    };
    Ok(Duration::from_secs_f64(seconds))
}

/// The files of a study, its tables written run by run.
struct RunFiles {
    out: OutDir,
    runs: Unfinished,
    elements: Unfinished,
}

impl RunFiles {
    fn begin(out: OutDir) -> Result<Self, Failure> {
        let (mut runs, mut elements) = (out.begin("runs.csv")?, out.begin("elements.csv")?);
        runs.write(report::RUNS_HEADER);
        elements.write(report::ELEMENTS_HEADER);
        Ok(RunFiles {
            out,
            runs,
            elements,
        })
    }

    fn write(&mut self, circuit: &Circuit, run: &RunFigures) {
        self.runs.write(report::run_row(run));
        self.elements.write(report::element_rows(circuit, run));
    }

    /// Writes what is left, the pictures last, and says where all is.
    fn finish(self, study: &StudyArgs, studied: &Studied) -> Result<String, Failure> {
        let mut results = vec![("results.json", json(studied) + "\n")];
        results.extend(
            studied
                .strikes
                .iter()
                .map(|of| ("strikes.csv", report::strikes(of))),
        );
        let tables = vec![self.runs, self.elements];
        self.out.finish_before(&results, tables, || {
            on_threads(study.threads, || {
                let Studied {
                    circuit,
                    summary,
                    runs,
                    ..
                } = studied;
                let mut charts = report::run_charts(circuit, &study.study(), summary, runs);
                charts.extend(report::rhythm_chart(
                    studied.strikes.as_ref(),
                    summary,
                    Format::Wide,
                ));
                charts
            })
        })
    }
}

fn json(studied: &Studied) -> String {
    report::json(
        &studied.circuit,
        (
            &studied.summary,
            &studied.judgement,
            studied.sensitivity.as_ref(),
        ),
        &studied.runs.totals,
    )
}

/// Prints the sentences that are known first, and returns how many there were.
fn print_answer(args: &RunArgs, studied: &Studied) -> std::io::Result<usize> {
    let mut out = super::print::out();
    if args.output.json {
        return Ok(0);
    }
    if args.output.quiet {
        for answer in studied.findings.iter().take(ANSWERS) {
            writeln!(out, "{}", answer.text)?;
        }
        return Ok(0);
    }
    writeln!(out, "{}", studied.summary.title)?;
    let sentences = studied.sentences(args.full);
    for finding in sentences {
        writeln!(out, "{}", terminal::sentence(finding.good, &finding.text))?;
    }
    let criteria = rows::criteria(&studied.circuit, &studied.summary, &studied.judgement);
    writeln!(out, "\n{}\n", tables::of(&criteria))?;
    out.flush()?;
    Ok(sentences.len())
}

/// Prints what comes after the first so many sentences.
fn print_rest(args: &RunArgs, studied: &Studied, sentences: usize) -> Result<(), Failure> {
    let mut out = super::print::out();
    if args.output.json {
        writeln!(out, "{}", json(studied))?;
        return Ok(());
    }
    if args.output.quiet {
        return Ok(());
    }
    for finding in studied.sentences(args.full).iter().skip(sentences) {
        writeln!(out, "{}", terminal::sentence(finding.good, &finding.text))?;
    }
    if let Some(ended) = &studied.ended
        && (args.full || *ended != StudyEnd::Decided)
    {
        let says = ended.says(studied.runs.count());
        writeln!(out, "{}", terminal::sentence(true, &says))?;
    }
    if !args.full {
        return Ok(());
    }
    let summary = &studied.summary;
    writeln!(out, "\n{}", tables::of(&rows::elements(summary)))?;
    if !summary.wheels.0.is_empty() {
        let lifts = rows::wheels(summary, &studied.circuit);
        writeln!(out, "\n{}", tables::of(&lifts))?;
    }
    writeln!(out)?;
    Ok(())
}

/// Prints the commands that go on from here.
fn print_next(args: &RunArgs, studied: &Studied) -> std::io::Result<()> {
    let mut out = super::print::out();
    let mut next = Vec::new();
    if let Some(wrong) = studied.runs.totals.went_wrong.first
        && args.study.hours <= why::LONGEST_H
    {
        let command = why::command(args.machine.as_deref(), &args.change, &args.study, wrong);
        next.push(format!("Why a run went wrong: {command}"));
    }
    if studied.judgement.verdict() == Verdict::Broken {
        let mend = CommandLine::new("mend", args.machine.as_deref());
        next.push(format!(
            "What to change: {}",
            mend.changed(&args.change).line()
        ));
    }
    if !args.full {
        next.push("Everything that is known: add --full".to_owned());
    }
    if args.machine.is_none() {
        next.push("A machine of your own: marblewright new".to_owned());
    }
    for line in next {
        writeln!(out, "{line}")?;
    }
    Ok(())
}
