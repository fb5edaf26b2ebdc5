//! `run`: what happens at this load and speed, over many runs.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::Answer;
use super::args::{ChangeArgs, OutputArgs, StudyArgs, WarningArgs};
use super::failure::Failure;
use super::source::Source;
use super::threads::on_threads;
use super::write::{OutDir, Unfinished};
use super::{progress, tables, terminal, warn, why};
use crate::circuit::{self, Circuit};
use crate::findings::sentences::{Finding, findings};
use crate::findings::summary::LEVEL;
use crate::findings::words::{count, figure, percent};
use crate::findings::workable::{Judgement, judge_all};
use crate::findings::{RunFigures, Runs, StudyScope, Summary, summarize};
use crate::machine::Machine;
use crate::machine::model::{Kind, TurnedBy};
use crate::report::{self, rows};
use crate::study::assumptions::{self, Sensitivity};
use crate::study::causes::{self, causes};
use crate::study::motor_stop::{self, motor_stop};
use crate::study::precision::{Stopped, run_until};
use crate::study::repeat::{Study, each};

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
}

/// Findings that are answers by themselves: does it work, does the load overflow where it is poured in.
const ANSWERS: usize = 2;

/// What many runs of one machine tell, and what stands behind it.
pub struct Studied {
    /// The machine ready to run.
    pub circuit: Circuit,
    /// The runs.
    pub runs: Runs,
    /// What they mean together.
    pub summary: Summary,
    /// How that hangs on what the file leaves to be assumed, where it was asked.
    pub sensitivity: Option<Sensitivity>,
    /// The sentences, the answer first.
    pub findings: Vec<Finding>,
    /// What the runs show against what the maker calls good enough.
    pub judgement: Judgement,
    /// What ended a study that was to reach a precision.
    ended: Option<String>,
}

/// How a machine is to be studied.
pub struct RunOptions<'a> {
    /// How much to simulate.
    pub study: &'a StudyArgs,
    /// How well the figures are to be known, as a share, before the runs are spent.
    pub precision: Option<f64>,
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
    answer: impl FnOnce(&Summary, &[Finding]),
) -> Result<Studied, Failure> {
    let circuit = on_threads(how.study.threads, || circuit::circuit(machine))?;
    let mut runs = Runs::new(circuit.start);
    let take = |run| {
        take(&circuit, &run);
        runs.push(run);
    };
    let Stopped { precise, short } =
        on_threads(how.study.threads, || simulate(how, &circuit, take))?;
    let question = StudyScope {
        title: machine.title.clone(),
        rpm: driven(machine).then(|| circuit::drive::drive_rpm(machine)),
        seed: how.study.seed,
        hours: how.study.hours,
    };
    let mut summary = summarize(&question, &circuit, &runs);
    summary.stopped_by = how
        .precision
        .map(|_| if precise { "precision" } else { "budget" });
    let tries = |runs: u32| assumptions::SensitivityEffort {
        runs,
        ..assumptions::SensitivityEffort::short(how.study.seed, how.study.horizon())
    };
    let tried = || {
        (
            motor_stop(&circuit, &tries(motor_stop::RUNS)),
            causes(machine, &circuit, &summary, &tries(causes::RUNS)),
        )
    };
    let (stop, causes) = on_threads(how.study.threads, tried)?;
    (summary.motor_stop, summary.causes) = (stop, causes);
    let ended = how
        .precision
        .map(|precision| ended(precision, runs.count(), precise, &short));
    let mut findings = findings(machine, &circuit, &summary, &runs);
    findings.retain(|finding| !finding.text.is_empty());
    let judgement = judge_all(&circuit, &machine.workable, &runs, LEVEL);
    answer(&summary, &findings);
    let briefly = assumptions::SensitivityEffort::short(how.study.seed, how.study.horizon());
    let hangs = || {
        how.assumptions
            .then(|| assumptions::sensitivity(machine, &briefly))
    };
    let sensitivity = on_threads(how.study.threads, hangs)?;
    let likely = judgement.likely();
    findings.extend(
        sensitivity
            .as_ref()
            .map(|sensitivity| assumptions::finding(sensitivity, Some(likely))),
    );
    Ok(Studied {
        circuit,
        runs,
        summary,
        sensitivity,
        findings,
        judgement,
        ended,
    })
}

/// Answers for one machine.
pub fn run(args: &RunArgs) -> Result<Answer, Failure> {
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    let out = OutDir::of(&args.output, &source)?;
    if !args.output.quiet {
        warn::print_lines(&source, &machine, &args.warnings);
    }
    let how = RunOptions {
        study: &args.study,
        precision: args.precision,
        assumptions: !args.no_assumptions,
        quiet: args.output.quiet || args.output.json,
    };
    let mut tables = out.as_ref().map(Tables::begin).transpose()?;
    let take = |circuit: &Circuit, run: &RunFigures| {
        if let Some(tables) = &mut tables {
            tables.write(circuit, run);
        }
    };
    let mut answered = Ok(0);
    let studied = studied(&machine, &how, take, |summary, findings| {
        answered = print_answer(args, summary, findings)
    })?;
    let Studied {
        circuit,
        runs,
        summary,
        sensitivity,
        judgement,
        ..
    } = &studied;
    // Files are written even where nobody reads the answer to its end.
    let printed = answered
        .map_err(Failure::from)
        .and_then(|sentences| print_rest(args, &studied, sentences));
    if let Some(out) = &out {
        let study = Study {
            seed: args.study.seed,
            horizon: args.study.horizon(),
        };
        let charts = || {
            on_threads(args.study.threads, || {
                report::run_charts(circuit, &study, summary, runs)
            })
        };
        let json = report::json(
            circuit,
            (summary, judgement, sensitivity.as_ref()),
            &runs.totals,
        ) + "\n";
        let tables = tables.map_or(Vec::new(), |tables| vec![tables.runs, tables.elements]);
        let written = out.finish_before(&[("results.json", json)], tables, charts)?;
        if printed.is_ok() && !args.output.json && !args.output.quiet {
            writeln!(super::print::out(), "\n{written}")?;
        }
    }
    printed?;
    let wrong = runs
        .totals
        .went_wrong
        .first
        .filter(|_| args.study.hours <= why::LONGEST_H);
    if let Some(wrong) = wrong.filter(|_| !args.output.json && !args.output.quiet) {
        let command = why::command(args.machine.as_deref(), &args.change, &args.study, wrong);
        writeln!(
            super::print::out(),
            "\nThe story of a run in which something went wrong: {command}"
        )?;
    }
    Ok(if args.require_workable && !judgement.works() {
        Answer::NotWorkable
    } else {
        Answer::Given
    })
}

/// Whether the machine's drive turns any wheel.
pub fn driven(machine: &Machine) -> bool {
    let turned = |kind: &Kind| matches!(kind, Kind::PocketWheel(w) if matches!(w.turned_by, TurnedBy::Drive { .. }));
    machine.elements.iter().any(|element| turned(&element.kind))
}

/// Load, and speed where there is one: `36 marbles at 9 rpm`.
pub fn setting(machine: &Machine, circuit: &Circuit) -> String {
    let load = count(u64::from(circuit.marbles), "marble");
    if driven(machine) {
        format!(
            "{load} at {} rpm",
            figure(circuit::drive::drive_rpm(machine))
        )
    } else {
        load
    }
}

/// A precision as a share: `2%` or `2 %`.
fn precision(text: &str) -> Result<f64, String> {
    let number = text
        .trim()
        .strip_suffix('%')
        .and_then(|percent| percent.trim().parse::<f64>().ok());
    let within = |percent: &f64| (0.01..=50.0).contains(percent);
    number
        .filter(within)
        .map(|percent| percent / 100.0)
        .ok_or("write it in percent, 0.01% to 50%, as in 2%".to_owned())
}

/// The tables of a study's runs, written run by run.
struct Tables {
    runs: Unfinished,
    elements: Unfinished,
}

impl Tables {
    fn begin(out: &OutDir) -> Result<Self, Failure> {
        let (mut runs, mut elements) = (out.begin("runs.csv")?, out.begin("elements.csv")?);
        runs.write(report::RUNS_HEADER);
        elements.write(report::ELEMENTS_HEADER);
        Ok(Tables { runs, elements })
    }

    fn write(&mut self, circuit: &Circuit, run: &RunFigures) {
        self.runs.write(report::run_row(run));
        self.elements.write(report::element_rows(circuit, run));
    }
}

fn simulate(how: &RunOptions, circuit: &Circuit, take: impl FnMut(RunFigures)) -> Stopped {
    let most = how.study.runs;
    let bar = progress::bar(u64::from(most), how.quiet);
    let study = Study {
        seed: how.study.seed,
        horizon: how.study.horizon(),
    };
    let stopped = match how.precision {
        Some(precision) => run_until(
            circuit,
            &study,
            (precision, most),
            |parts| bar.inc(parts),
            take,
        ),
        None => {
            each(circuit, &study, 0..most, |parts| bar.inc(parts), take);
            Stopped {
                precise: false,
                short: Vec::new(),
            }
        }
    };
    bar.finish_and_clear();
    stopped
}

/// What ended a study that was to be so precise.
fn ended(precision: f64, runs: usize, precise: bool, short: &[String]) -> String {
    let (runs, precision) = (count(runs as u64, "run"), percent(precision));
    if precise {
        return format!(
            "Stopped after {runs}: marbles a minute and every fill are known to {precision}."
        );
    }
    format!(
        "Stopped by its budget of {runs}: {} not known to {precision} yet; give it more with --runs.",
        short.join(", ")
    )
}

/// Prints the sentences that are known first, and returns how many there were.
fn print_answer(args: &RunArgs, summary: &Summary, findings: &[Finding]) -> std::io::Result<usize> {
    let mut out = super::print::out();
    if args.output.json {
        return Ok(0);
    }
    if args.output.quiet {
        for answer in findings.iter().take(ANSWERS) {
            writeln!(out, "{}", answer.text)?;
        }
        return Ok(findings.len());
    }
    writeln!(out, "{}\n", summary.title)?;
    for finding in findings {
        writeln!(out, "{}", terminal::sentence(finding.good, &finding.text))?;
    }
    out.flush()?;
    Ok(findings.len())
}

/// Prints what comes after the first so many sentences.
fn print_rest(args: &RunArgs, studied: &Studied, sentences: usize) -> Result<(), Failure> {
    let Studied {
        circuit,
        runs,
        summary,
        judgement,
        findings,
        ended,
        ..
    } = studied;
    let mut out = super::print::out();
    if args.output.json {
        writeln!(
            out,
            "{}",
            report::json(
                circuit,
                (summary, judgement, studied.sensitivity.as_ref()),
                &runs.totals
            )
        )?;
        return Ok(());
    }
    if args.output.quiet {
        return Ok(());
    }
    for finding in findings.iter().skip(sentences) {
        writeln!(out, "{}", terminal::sentence(finding.good, &finding.text))?;
    }
    if let Some(ended) = ended {
        writeln!(out, "{}", terminal::sentence(true, ended))?;
    }
    writeln!(out, "\n{}", tables::of(&rows::elements(summary)))?;
    if !summary.wheels.0.is_empty() {
        writeln!(out, "\n{}", tables::of(&rows::wheels(summary)))?;
    }
    Ok(())
}
