//! `gather`: the parts of a map joined into the whole, to the same bytes.

use std::io::Read;
use std::path::{Path, PathBuf};

use clap::Args;

use super::Answer;
use super::args::{OutputArgs, UnitsArgs};
use super::failure::{Failure, shown};
use super::map::publish;
use super::write::{OutDir, folder_of};
use crate::report::map::{MapPart, difference};
use crate::study::map::{Cell, Grid, MapShare};

/// Largest part that is read, in bytes.
const LARGEST: u64 = 256 << 20;

/// The options of `gather`.
#[derive(Args, Debug)]
pub struct GatherArgs {
    /// Files of parts, or directories that hold them
    #[arg(required = true)]
    pub parts: Vec<PathBuf>,
    /// Directory for charts and tables [default: where the first part is]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print the results as one JSON object, and nothing else
    #[arg(long)]
    pub json: bool,
    /// Print only the answer
    #[arg(long)]
    pub quiet: bool,
    /// Write no charts and tables
    #[arg(long)]
    pub no_files: bool,
    /// How lengths are shown, where there are any
    #[command(flatten)]
    pub units: UnitsArgs,
}

/// A part of a map, and the file that it was in.
struct PartFile {
    path: PathBuf,
    part: MapPart,
}

/// Joins parts.
pub fn gather(args: &GatherArgs) -> Result<Answer, Failure> {
    let mut parts = Vec::new();
    for path in files(&args.parts)? {
        let part = read(&path)?;
        parts.push(PartFile { path, part });
    }
    let Some(first) = parts.first() else {
        return Err(no_parts(&args.parts));
    };
    of_one_map(first, &parts[1..])?;
    all_there(first.part.parts, &parts)?;
    let grid = Grid::new(first.part.question.clone())
        .map_err(|_| damaged(&first.path, "the machine in it is not sound"))?;
    let cells = joined(&grid, first.part.parts, &parts)?;
    let out = match args.no_files {
        true => None,
        false => {
            let beside = folder_of(&first.path);
            Some(OutDir::make(args.out.as_deref().unwrap_or(beside))?)
        }
    };
    let output = OutputArgs {
        out: None,
        json: args.json,
        quiet: args.quiet,
        no_files: args.no_files,
    };
    publish(&grid.map(&cells), out.as_ref(), &output)?;
    Ok(Answer::Given)
}

/// Checks that all parts answer the question of the first, divided alike.
fn of_one_map(first: &PartFile, rest: &[PartFile]) -> Result<(), Failure> {
    let one = &first.part;
    for PartFile { path, part } in rest {
        let other = match difference(&part.question, &one.question) {
            Some(other) => other,
            None if part.parts != one.parts => {
                format!("{} parts there, {} here", part.parts, one.parts)
            }
            None => continue,
        };
        let (path, first) = (shown(path), shown(&first.path));
        return Err(Failure::asked(
            format!("{path} and {first} are not of one map: {other}"),
            "name the parts of one map only",
        ));
    }
    Ok(())
}

fn all_there(count: usize, parts: &[PartFile]) -> Result<(), Failure> {
    let missing: Vec<String> = (1..=count)
        .filter(|number| !parts.iter().any(|file| file.part.part == *number))
        .map(|number| format!("{number}/{count}"))
        .collect();
    if missing.is_empty() {
        return Ok(());
    }
    let (missing, which) = (missing.len(), missing.join(", "));
    Err(Failure::asked(
        format!("{missing} of {count} parts are missing: {which}"),
        "make them with --part, or name them too",
    ))
}

/// The cells of all parts in order, each part taken once.
fn joined(grid: &Grid, count: usize, parts: &[PartFile]) -> Result<Vec<Cell>, Failure> {
    let mut cells = Vec::new();
    for number in 1..=count {
        let Some(PartFile { path, part }) = parts.iter().find(|file| file.part.part == number)
        else {
            continue;
        };
        let share = MapShare {
            part: number,
            parts: count,
        };
        let columns = share.columns(grid.question.across.count);
        let mut own = part.cells.iter();
        if !own.all(|cell| columns.contains(&cell.column)) || !grid.complete(&columns, &part.cells)
        {
            return Err(damaged(path, "its cells are not those of this part"));
        }
        cells.extend(part.cells.iter().cloned());
    }
    Ok(cells)
}

fn damaged(path: &Path, why: impl Into<String>) -> Failure {
    Failure::cannot("gather", path, why, "make that part again with --part")
}

/// The files named, and those of parts in the directories named, each directory's in order.
fn files(named: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    for path in named {
        if !path.is_dir() {
            files.push(path.clone());
            continue;
        }
        let entries =
            std::fs::read_dir(path).map_err(|error| Failure::file("read", path, &error))?;
        let mut names: Vec<String> = Vec::new();
        for entry in entries.flatten() {
            names.extend(entry.file_name().into_string());
        }
        names.retain(|name| {
            name.starts_with("part-") && name.contains("-of-") && name.ends_with(".json")
        });
        names.sort();
        files.extend(names.into_iter().map(|name| path.join(name)));
    }
    Ok(files)
}

fn no_parts(named: &[PathBuf]) -> Failure {
    let named: Vec<String> = named.iter().map(|path| shown(path)).collect();
    let help = "make them first, as in marblewright map lantern.yaml --part 1/4 --out parts";
    Failure::asked(
        format!("there are no parts of a map in {}", named.join(", ")),
        help,
    )
}

fn read(path: &Path) -> Result<MapPart, Failure> {
    let failed = |error| Failure::file("read", path, &error);
    if !std::fs::metadata(path).map_err(failed)?.is_file() {
        let why = "it is not a plain file";
        return Err(Failure::cannot("read", path, why, "name parts of a map"));
    }
    let mut text = String::new();
    std::fs::File::open(path)
        .map_err(failed)?
        .take(LARGEST)
        .read_to_string(&mut text)
        .map_err(failed)?;
    MapPart::read(&text).map_err(|why| damaged(path, why))
}
