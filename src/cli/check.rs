//! `check`: is the machine file sound, and is there anything its maker would regret?

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::args::{ChangeArgs, WarningArgs};
use super::failure::Failure;
use super::source::Source;
use super::{Answer, warn};
use crate::findings::words::count;
use crate::machine::{self, Place, Problem};

/// The options of `check`.
#[derive(Args, Debug)]
pub struct CheckArgs {
    /// The machine file
    pub machine: PathBuf,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// How warnings are shown
    #[command(flatten)]
    pub warnings: WarningArgs,
    /// Print problems and warnings as one JSON object, and nothing else
    #[arg(long)]
    pub json: bool,
    /// Say nothing if it is sound
    #[arg(long)]
    pub quiet: bool,
}

/// Reads the file and says that it is sound, or every problem in it.
pub fn check(args: &CheckArgs) -> Result<Answer, Failure> {
    let source = Source::open(Some(&args.machine), args.change.settings())?;
    if args.json {
        return print_json(args, &source);
    }
    let machine = source.machine()?;
    if args.quiet {
        return Ok(Answer::Given);
    }
    let warnings = warn::of(&source, &machine, &args.warnings);
    warn::print(&source, &warnings);
    let elements = machine.elements.len();
    let mut text = format!(
        "{} is sound: {} with {elements} elements",
        source.name, machine.title
    );
    text += &format!(" and {}", count(u64::from(machine.marbles.count), "marble"));
    if !warnings.is_empty() {
        text += &format!("; {}", count(warnings.len() as u64, "warning"));
    }
    writeln!(super::print::out(), "{text}.")?;
    Ok(Answer::Given)
}

/// Problems and warnings as JSON; the exit code still tells whether the file is sound.
fn print_json(args: &CheckArgs, source: &Source) -> Result<Answer, Failure> {
    let read = machine::read(&source.text, &source.settings);
    let (mut problems, mut warnings) = (Vec::new(), Vec::new());
    match &read {
        Ok(machine) => {
            for (warned, at) in warn::of(source, machine, &args.warnings) {
                let (code, at) = (warned.warning.code(), place(at));
                warnings.push(json!({ "code": code, "key": warned.key, "place": at, "what": warned.what, "help": warned.help }));
            }
        }
        Err(found) => {
            for Problem {
                key,
                place: at,
                what,
                help,
            } in found
            {
                problems
                    .push(json!({ "key": key, "place": place(*at), "what": what, "help": help }));
            }
        }
    }
    let all = json!({
        "format": 1,
        "file": source.name,
        "sound": read.is_ok(),
        "problems": problems,
        "warnings": warnings,
    });
    writeln!(
        super::print::out(),
        "{}",
        serde_json::to_string_pretty(&all).unwrap_or_default()
    )?;
    if read.is_ok() {
        Ok(Answer::Given)
    } else {
        Err(Failure::InAnswer)
    }
}

fn place(place: Option<Place>) -> Value {
    match place {
        Some(Place::File { line, column, .. }) => json!({ "line": line, "column": column }),
        Some(Place::Setting(n)) => json!({ "setting": n }),
        None => Value::Null,
    }
}
