//! `gather`: the parts of a map joined into the whole, to the same bytes.

use std::io::Read;
use std::path::{Path, PathBuf};

use clap::Args;

use super::Answer;
use super::args::{OutputArgs, UnitsArgs};
use super::failure::{Failure, shown};
use super::map::publish;
use super::write::OutDir;
use crate::report::map::{MapPart, difference};
use crate::study::map::{Grid, share};

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

/// Joins parts.
pub fn gather(args: &GatherArgs) -> Result<Answer, Failure> {
    let files = files(&args.parts)?;
    let parts = files
        .iter()
        .map(|path| Ok((path, read(path)?)))
        .collect::<Result<Vec<_>, Failure>>()?;
    let Some(((first, one), rest)) = parts.split_first() else {
        return Err(no_parts(&args.parts));
    };
    for (path, part) in rest {
        let other = difference(&part.question, &one.question);
        let other = other.or((part.parts != one.parts)
            .then(|| format!("{} parts there, {} here", part.parts, one.parts)));
        if let Some(other) = other {
            let what = format!(
                "{} and {} are not of one map: {other}",
                shown(path),
                shown(first)
            );
            return Err(Failure::asked(what, "name the parts of one map only"));
        }
    }
    let missing: Vec<String> = (1..=one.parts)
        .filter(|number| !parts.iter().any(|(_, part)| part.part == *number))
        .map(|number| format!("{number}/{}", one.parts))
        .collect();
    if !missing.is_empty() {
        let what = format!(
            "{} of {} parts are missing: {}",
            missing.len(),
            one.parts,
            missing.join(", ")
        );
        return Err(Failure::asked(
            what,
            "make them with --part, or name them too",
        ));
    }
    let grid = Grid::new(one.question.clone());
    let damaged = |path: &Path, why: &str| Failure::File {
        doing: "gather",
        path: path.to_owned(),
        why: why.to_owned(),
        help: "make that part again with --part".to_owned(),
    };
    let grid = grid.map_err(|_| damaged(first, "the machine in it is not sound"))?;
    let mut cells = Vec::new();
    for number in 1..=one.parts {
        let columns = share(grid.question.across.count, number, one.parts);
        for (path, part) in parts.iter().filter(|(_, part)| part.part == number).take(1) {
            let inside = |cell: &&crate::study::map::Cell| columns.contains(&cell.column);
            if part.cells.iter().filter(inside).count() != part.cells.len()
                || !grid.complete(&columns, &part.cells)
            {
                return Err(damaged(path, "its cells are not those of this part"));
            }
            cells.extend(part.cells.iter().cloned());
        }
    }
    let beside = first.parent().unwrap_or(Path::new("."));
    let beside = if beside.as_os_str().is_empty() {
        Path::new(".")
    } else {
        beside
    };
    let out = match args.no_files {
        true => None,
        false => Some(OutDir::make(args.out.as_deref().unwrap_or(beside))?),
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
        let is_part = |name: &str| {
            name.starts_with("part-") && name.contains("-of-") && name.ends_with(".json")
        };
        let names = entries
            .flatten()
            .filter_map(|entry| entry.file_name().into_string().ok());
        let mut names: Vec<String> = names.filter(|name| is_part(name)).collect();
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
        let (why, help) = (
            "it is not a plain file".to_owned(),
            "name parts of a map".to_owned(),
        );
        return Err(Failure::File {
            doing: "read",
            path: path.to_owned(),
            why,
            help,
        });
    }
    let mut text = String::new();
    std::fs::File::open(path)
        .map_err(failed)?
        .take(LARGEST)
        .read_to_string(&mut text)
        .map_err(failed)?;
    let help = "make that part again with --part".to_owned();
    MapPart::read(&text).map_err(|why| Failure::File {
        doing: "gather",
        path: path.to_owned(),
        why,
        help,
    })
}
