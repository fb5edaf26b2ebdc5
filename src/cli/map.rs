//! `map`: load by speed, or any two keys: where it works, and what breaks elsewhere.

use std::io::Write;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};

use clap::Args;
use indicatif::ProgressBar;

use super::args::{ChangeArgs, OutputArgs, StudyArgs, UnitsArgs};
use super::command_line::quoted;
use super::failure::{Failure, shown};
use super::journal::OpenJournal;
use super::source::Source;
use super::terminal;
use super::threads::on_threads;
use super::write::OutDir;
use super::{Answer, interrupt, progress, tables};
use crate::charts::scale::round_step;
use crate::circuit::drive::drive_rpm;
use crate::machine::{Machine, Place, Problem, Setting};
use crate::report::map::{MapPart, map_files, map_json, map_picture};
use crate::report::rows;
use crate::study::axis::VALUES;
use crate::study::map::{self, Axis, Cell, CellPlace, Follower, Grid, Map, MapShare, Question};
use crate::study::repeat::PARTS;

/// Values of the load, and of the speed, where nobody says which.
const USUAL: (usize, usize) = (16, 12);

/// The options of `map`.
#[derive(Args, Debug)]
pub struct MapArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// A key and its values, given twice: the columns are the values of the second [default: the load by the speed]
    #[arg(long, value_name = "KEY=FROM..TO/STEP", value_parser = Axis::parse, allow_hyphen_values = true)]
    pub over: Vec<Axis>,
    /// Simulate every cell, also those between cells that are alike
    #[arg(long)]
    pub every_cell: bool,
    /// Go on with a map that was interrupted; the files come out the same to the last byte
    #[arg(long, conflicts_with = "no_files")]
    pub resume: bool,
    /// Make one share of the columns only, to be joined by `gather`
    #[arg(long, value_name = "K/N", value_parser = part)]
    pub part: Option<MapShare>,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// How much to simulate; the runs are the most for one cell
    #[command(flatten)]
    pub study: StudyArgs,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
    /// How lengths are shown, where there are any
    #[command(flatten)]
    pub units: UnitsArgs,
}

fn part(text: &str) -> Result<MapShare, String> {
    if let Some((k, n)) = text.split_once('/')
        && let (Ok(part), Ok(parts)) = (k.parse(), n.parse())
        && (1..=parts).contains(&part)
        && parts <= VALUES
    {
        return Ok(MapShare { part, parts });
    }
    Err(format!(
        "write it as K/N, part K of N from 1/1 to {0}/{0}, as in 2/4",
        VALUES
    ))
}

/// Makes a map, or a part of one.
pub fn map(args: &MapArgs) -> Result<Answer, Failure> {
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    let question = Question {
        every_cell: args.every_cell,
        ..question(&source, axes(&args.over, &machine)?, &args.study)
    };
    let grid = grid(&source, &question, args.study.threads)?;
    interrupt::finish_runs();
    let out = OutDir::of(&args.output, &source)?;
    let name = match args.part {
        Some(share) => MapPart::file_name(share).replace(".json", ".journal"),
        None => "map.journal".to_owned(),
    };
    let journal = out
        .as_ref()
        .map(|out| OpenJournal::open(out, &name, &question, args.resume))
        .transpose()?;
    let quiet = args.output.answer_alone();
    let share = args.part.unwrap_or(MapShare::WHOLE);
    let cells = on_threads(args.study.threads, || {
        simulate(&grid, share, journal.as_ref(), quiet)
    })?;
    let Some(cells) = cells else {
        return interrupted(journal);
    };
    match args.part {
        Some(share) => print_part(args, out.as_ref(), &MapPart::new(share, &question, cells))?,
        None => publish(&grid.map(&cells), out.as_ref(), &args.output)?,
    }
    if let Some(journal) = journal {
        journal.remove()?;
    }
    Ok(Answer::Given)
}

/// The map of the load by the speed that is made where nobody says more; nothing is kept of one that is interrupted.
pub fn usual(
    source: &Source,
    machine: &Machine,
    study: &StudyArgs,
    quiet: bool,
) -> Result<Map, Failure> {
    let question = question(source, axes(&[], machine)?, study);
    let grid = grid(source, &question, study.threads)?;
    let cells = on_threads(study.threads, || {
        simulate(&grid, MapShare::WHOLE, None, quiet)
    })?;
    Ok(grid.map(&cells.unwrap_or_default()))
}

fn question(source: &Source, [along, across]: [Axis; 2], study: &StudyArgs) -> Question {
    Question {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        machine: source.text.clone(),
        settings: source.settings.clone(),
        along,
        across,
        seed: study.seed,
        runs: study.runs,
        hours: study.hours,
        every_cell: false,
    }
}

fn grid(source: &Source, question: &Question, threads: usize) -> Result<Grid, Failure> {
    let grid = on_threads(threads, || Grid::new(question.clone()))?;
    grid.map_err(|problems| none_can_be_built(source, question, problems))
}

/// The two keys as asked for; the load runs along the columns wherever it is one of them.
fn axes(over: &[Axis], machine: &Machine) -> Result<[Axis; 2], Failure> {
    let [along, across] = match over {
        [] => [usual_load(machine), usual_speed(machine)?],
        [one] if one.is_load() => [one.clone(), usual_speed(machine)?],
        [one] => [usual_load(machine), one.clone()],
        [first, second] if second.is_load() => [second.clone(), first.clone()],
        [first, second] => [first.clone(), second.clone()],
        _ => {
            return Err(Failure::asked(
                "a map has two sides: --over was given more than twice",
                "leave out the others",
            ));
        }
    };
    let alike = along.key == across.key
        || (along.is_load() && across.is_load())
        || (along.is_speed() && across.is_speed());
    if alike {
        return Err(Failure::asked(
            format!("both sides of the map are `{}`", along.key),
            "give --over two unlike keys",
        ));
    }
    if along.count * across.count > map::CELLS {
        let what = format!(
            "this map has {} cells, and {} are allowed",
            along.count * across.count,
            map::CELLS
        );
        return Err(Failure::asked(what, "widen the steps"));
    }
    Ok([along, across])
}

fn usual_load(machine: &Machine) -> Axis {
    let step = round_step(f64::from(machine.marbles.count), USUAL.0 / 2).max(1.0);
    Axis::plain("marbles", step, step, USUAL.0)
}

fn usual_speed(machine: &Machine) -> Result<Axis, Failure> {
    let rpm = drive_rpm(machine);
    if rpm <= 0.0 {
        let help = "say what to vary, as in --over circuit.lift.speed=4rpm..24rpm/2rpm";
        return Err(Failure::asked(
            "this machine has no drive whose speed could be varied",
            help,
        ));
    }
    let step = round_step(rpm, USUAL.1 / 3);
    Ok(Axis::plain("rpm", step, step, USUAL.1))
}

/// Says what is wrong with the first cell, at the option that asked for it.
fn none_can_be_built(source: &Source, question: &Question, problems: Vec<Problem>) -> Failure {
    let axes = [&question.across, &question.along];
    unsound_over(
        source,
        &axes,
        question.laid_over(CellPlace::FIRST),
        &problems,
    )
}

/// The failure that no value of these axes makes a machine. The `problems` are those of the first values, which are the last of
/// `settings`.
pub fn unsound_over(
    source: &Source,
    axes: &[&Axis],
    settings: Vec<Setting>,
    problems: &[Problem],
) -> Failure {
    let first = settings.len() - axes.len();
    for problem in problems {
        let Some(Place::Setting(n)) = problem.place else {
            continue;
        };
        let Some(axis) = n.checked_sub(first).and_then(|n| axes.get(n)) else {
            continue;
        };
        let (from, to) = (axis.said(axis.from), axis.said(axis.last()));
        let given = format!("--over {}={from}..{to}/{}", axis.key, axis.step);
        return Failure::asked(
            format!("{} [{}]\n  in {given}", problem.what, problem.key),
            problem.help.clone(),
        );
    }
    let source = source.clone();
    Source { settings, ..source }.unsound(problems)
}

/// Follows the work with a bar and the journal.
struct Desk<'a> {
    bar: ProgressBar,
    /// Runs that a column takes at a guess.
    guess: u64,
    journal: Option<&'a OpenJournal>,
    broken: AtomicBool,
}

impl Follower for Desk<'_> {
    fn go_on(&self) -> bool {
        !interrupt::asked() && !self.broken.load(Ordering::Relaxed)
    }

    fn ran(&self) {
        self.bar.inc(PARTS);
        if let Some(length) = self.bar.length()
            && self.bar.position() > length
        {
            self.bar
                .set_length(self.bar.position() + self.guess * PARTS);
        }
    }

    fn finished(&self, cell: &Cell) {
        if let Some(journal) = self.journal
            && !journal.add(cell)
        {
            self.broken.store(true, Ordering::Relaxed);
        }
    }
}

fn simulate(
    grid: &Grid,
    share: MapShare,
    journal: Option<&OpenJournal>,
    quiet: bool,
) -> Option<Vec<Cell>> {
    let columns = share.columns(grid.question.across.count);
    let guess = u64::from(grid.question.runs) * 2;
    let bar = progress::bar(guess * columns.len() as u64, quiet);
    let desk = Desk {
        bar,
        guess,
        journal,
        broken: AtomicBool::new(false),
    };
    let done: &[Cell] = match journal {
        Some(journal) => &journal.done,
        None => &[],
    };
    let cells = grid.simulate(&columns, done, &desk);
    desk.bar.finish_and_clear();
    cells
}

/// Says what is kept and how to go on.
fn interrupted(journal: Option<OpenJournal>) -> Result<Answer, Failure> {
    let Some(journal) = journal else {
        writeln!(
            super::print::err(),
            "Stopped. Nothing is kept, since no files were wanted."
        )?;
        return Ok(Answer::Interrupted);
    };
    if let Some(failure) = journal.failure() {
        return Err(failure);
    }
    let mut words: Vec<String> = std::env::args_os()
        .map(|word| quoted(&word.to_string_lossy()))
        .collect();
    if !words.iter().any(|word| word == "--resume") {
        words.push("--resume".to_owned());
    }
    let kept = shown(journal.path());
    writeln!(
        super::print::err(),
        "Stopped. What was finished is kept in {kept}. To go on:\n  {}",
        words.join(" ")
    )?;
    Ok(Answer::Interrupted)
}

fn print_part(args: &MapArgs, out: Option<&OutDir>, part: &MapPart) -> Result<(), Failure> {
    let name = MapPart::file_name(part.share());
    if let Some(out) = out {
        out.write(&name, (part.json() + "\n").as_bytes())?;
    }
    let mut stdout = super::print::out();
    if args.output.json {
        writeln!(stdout, "{}", part.json())?;
    } else if !args.output.quiet {
        writeln!(
            stdout,
            "Part {} of {} is done: {} cells simulated.",
            part.part,
            part.parts,
            part.cells.len()
        )?;
        if let Some(out) = out {
            let directory = quoted(&out.path().display().to_string());
            writeln!(
                stdout,
                "Written to {directory}: {name}\nWhen all parts are done: marblewright gather {directory}"
            )?;
        }
    }
    Ok(())
}

/// Writes a map's files and prints its answer.
pub fn publish(map: &Map, out: Option<&OutDir>, output: &OutputArgs) -> Result<(), Failure> {
    let written = out
        .map(|out| out.write_before(&map_files(map), || Ok(vec![map_picture(map)])))
        .transpose();
    let mut stdout = super::print::out();
    if output.json {
        writeln!(stdout, "{}", map_json(map))?;
        return written.map(|_| ());
    }
    if output.quiet {
        writeln!(stdout, "{}", map.sentence())?;
        return written.map(|_| ());
    }
    let answer = terminal::sentence(map.widest_column().is_some(), &map.sentence());
    writeln!(stdout, "{}\n\n{answer}", map.grid.title)?;
    if let Some(column) = map.main_column()
        && let Some(around) = map.around(column)
    {
        writeln!(stdout, "{}", terminal::sentence(true, &around))?;
    }
    writeln!(
        stdout,
        "{}",
        terminal::sentence(true, &map.grid.standard.sentence)
    )?;
    writeln!(
        stdout,
        "{}\n\n{}",
        terminal::sentence(true, &map.effort()),
        tables::of(&rows::columns(map))
    )?;
    if let Some(written) = written? {
        writeln!(stdout, "\n{written}")?;
    }
    Ok(())
}
