//! `mend`: what to change so that the machine works, the cheapest first; or what would break it first.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use indicatif::ProgressBar;

use super::answer::StudyAnswer;
use super::args::{ChangeArgs, OutputArgs, StudyArgs, UnitsArgs};
use super::failure::Failure;
use super::rewrite::{Rewrite, can_write, same};
use super::run::driven_rpm;
use super::source::Source;
use super::threads::on_threads;
use super::write::OutDir;
use super::{Answer, interrupt, progress};
use crate::charts::canvas::Format;
use crate::circuit::{self, Circuit};
use crate::machine::suggest::did_you_mean;
use crate::machine::{self, Machine};
use crate::report::mend::{MendReport, says};
use crate::study::mend::change::names;
use crate::study::mend::{
    Changeable, Mend, MendFollower, MendFound, MendStopped, MendTrials, Touchable, changeables,
    mend as search,
};
use crate::study::repeat::PARTS;

/// The options of `mend`.
#[derive(Args, Debug)]
pub struct MendArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// Change nothing but these: keys, elements, or the last words of keys
    #[arg(long, value_name = "KEY", num_args = 1..)]
    pub only: Vec<String>,
    /// Leave these as they are: keys, elements, or the last words of keys
    #[arg(long, value_name = "KEY", num_args = 1..)]
    pub not: Vec<String>,
    /// Write the first mend, or the one of that number, into the machine file; the old file is kept with `.before` behind its name
    #[arg(long, value_name = "N", num_args = 0..=1, default_missing_value = "1", allow_negative_numbers = true, value_parser = number)]
    pub write: Option<usize>,
    /// What to change in the machine before all else
    #[command(flatten)]
    pub change: ChangeArgs,
    /// How much to simulate; --runs is for the test of each change
    #[command(flatten)]
    pub study: StudyArgs,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
    /// How lengths are shown, where there are any
    #[command(flatten)]
    pub units: UnitsArgs,
}

fn number(text: &str) -> Result<usize, String> {
    let help = "write the number of a mend, 1 for the first";
    super::args::number_in(text, 1..=crate::study::mend::SHOWN, help)
}

/// Searches for what mends a machine.
pub fn mend(args: &MendArgs) -> Result<Answer, Failure> {
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    if args.write.is_some() {
        can_write(&source)?;
    }
    let machine = source.machine()?;
    let keys = keys(args, &source, &machine)?;
    let out = OutDir::of(&args.output, &source)?;
    interrupt::finish_runs();
    let quiet = args.output.answer_alone();
    let found = on_threads(args.study.threads, || {
        run(&source, (&machine, &keys), &args.study, quiet)
    })?;
    let Ok(found) = found else {
        writeln!(
            super::print::err(),
            "Stopped. Nothing is known yet of the machine as it is."
        )?;
        return Ok(Answer::Interrupted);
    };
    answer(args, &source, (&machine, &found), out.as_ref())
}

/// Searches, and shows how far it is unless `quiet`.
fn run(
    source: &Source,
    (machine, keys): (&Machine, &[Changeable]),
    study: &StudyArgs,
    quiet: bool,
) -> Result<MendFound, MendStopped> {
    let desk = MendDesk {
        bar: progress::bar(0, quiet),
    };
    let trials = MendTrials {
        text: &source.text,
        settings: &source.settings,
        study: study.study(),
        runs: study.runs,
        follower: &desk,
        made: Default::default(),
    };
    let found = search(&trials, keys, &machine.mend_order);
    desk.bar.finish_and_clear();
    found
}

/// The search that is made where nobody says what may be touched; none where it is stopped.
pub fn whole(
    source: &Source,
    machine: &Machine,
    study: &StudyArgs,
    quiet: bool,
) -> Option<MendFound> {
    let written = machine::written_keys(&source.text, &source.settings);
    let keys = changeables(machine, &written, &Touchable::default());
    run(source, (machine, &keys), study, quiet).ok()
}

/// What was found, to be reported.
pub fn mend_report<'a>(
    machine: &'a Machine,
    circuit: &'a Circuit,
    study: &StudyArgs,
    found: &'a MendFound,
) -> MendReport<'a> {
    MendReport {
        title: &machine.title,
        circuit,
        rpm: driven_rpm(machine),
        hours: study.hours,
        study: study.study(),
        runs_each: study.runs,
        workable: &machine.workable,
        found,
    }
}

/// What may be changed.
fn keys(args: &MendArgs, source: &Source, machine: &Machine) -> Result<Vec<Changeable>, Failure> {
    let written = machine::written_keys(&source.text, &source.settings);
    let all = changeables(machine, &written, &Touchable::default());
    for typed in args.only.iter().chain(&args.not) {
        if all.iter().any(|one| names(typed, &one.key)) {
            continue;
        }
        let known = all.iter().flat_map(|one| {
            let last = one.key.rsplit('.').next();
            [Some(one.key.as_str()), last].into_iter().flatten()
        });
        return Err(Failure::asked(
            format!("`{typed}` names nothing of this machine that mend could change"),
            did_you_mean(typed, known),
        ));
    }
    let touchable = Touchable {
        only: args.only.clone(),
        not: args.not.clone(),
    };
    let mut all = all;
    all.retain(|one| touchable.allows(&one.key));
    if all.is_empty() {
        return Err(Failure::asked(
            "--only and --not leave nothing that could be changed",
            "name more after --only, or less after --not",
        ));
    }
    Ok(all)
}

/// Follows the search with a bar.
struct MendDesk {
    bar: ProgressBar,
}

impl MendFollower for MendDesk {
    fn go_on(&self) -> bool {
        !interrupt::asked()
    }

    fn planned(&self, runs: u64) {
        self.bar.inc_length(runs * PARTS);
    }

    fn ran(&self) {
        self.bar.inc(PARTS);
    }
}

/// Prints the answer, writes its files and, where that is wanted, the mend.
fn answer(
    args: &MendArgs,
    source: &Source,
    (machine, found): (&Machine, &MendFound),
    out: Option<&OutDir>,
) -> Result<Answer, Failure> {
    // Names and limits are all that is asked of it.
    let circuit = circuit::rooms(machine);
    let report = mend_report(machine, &circuit, &args.study, found);
    let answer = StudyAnswer {
        output: &args.output,
        title: report.title,
        json: report.json(),
        findings: report.findings(),
        table: None,
    };
    answer.publish(out, "mend", || {
        vec![("mend.png", report.picture(Format::Wide).png)]
    })?;
    if found.stopped {
        writeln!(
            super::print::err(),
            "Stopped: more might have been found. Nothing is written into the machine file."
        )?;
        return Ok(Answer::Interrupted);
    }
    if let Some(n) = args.write {
        let done = write(source, &report, n)?;
        if !args.output.json {
            writeln!(super::print::out(), "\n{done}")?;
        }
    }
    Ok(Answer::Given)
}

/// Writes the mend of that number into the file; says what was done.
fn write(source: &Source, report: &MendReport<'_>, n: usize) -> Result<String, Failure> {
    if report.works() {
        return Ok("The machine works as it is: nothing is written.".to_owned());
    }
    let Some(mend) = report.found.shown.get(n - 1) else {
        return Err(Failure::asked(
            format!(
                "there is no mend number {n} to write: {} found",
                report.found.shown.len()
            ),
            "choose another number, or change the machine by hand",
        ));
    };
    let kept = put(source, mend)?;
    Ok(format!(
        "Written into {}: {}. The file as it was is kept as {kept}.",
        source.name,
        says(&mend.changes)
    ))
}

/// Puts a mend into the file; the name under which the old one is kept.
fn put(source: &Source, mend: &Mend) -> Result<String, Failure> {
    let mut rewrite = Rewrite::new(source);
    for change in &mend.changes {
        let path: Vec<&str> = change.of.key.split('.').collect();
        match (change.of.swapped, path.as_slice()) {
            (Some(old), [before @ .., new]) => {
                let mut path = before.to_vec();
                path.push(old);
                rewrite.swap(&path, (new, &change.to))?;
            }
            _ => rewrite.put(&path, &change.to, &change.of.key)?,
        }
    }
    let settings: Vec<_> = mend.changes.iter().map(|one| one.setting()).collect();
    let meant = machine::read(&source.text, &settings);
    let meant = meant.map_err(|problems| source.unsound(&problems))?;
    let now = rewrite.reread()?;
    rewrite.replace_and_keep_if(same(&now, meant))
}
