//! `sheet`: what the dimensions mean.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::Answer;
use super::args::ChangeArgs;
use super::failure::Failure;
use super::source::Source;
use crate::sheet::{Section, Units, Verdict, sheet};

/// The options of `sheet`.
#[derive(Args, Debug)]
pub struct SheetArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// Show lengths in mm or in inches
    #[arg(long, value_name = "UNITS", default_value = "mm", value_parser = ["mm", "in"])]
    pub units: String,
    /// Print the sheet as one JSON list, and nothing else
    #[arg(long)]
    pub json: bool,
}

/// Prints the bench sheet of a machine.
pub fn print(args: &SheetArgs) -> Result<Answer, Failure> {
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    let units = if args.units == "in" { Units::Inches } else { Units::Millimetres };
    let sections = sheet(&machine, units);
    let mut out = std::io::stdout().lock();
    if args.json {
        writeln!(out, "{}", serde_json::to_string_pretty(&sections).unwrap_or_default())?;
        return Ok(Answer::Given);
    }
    writeln!(out, "{}: bench sheet", machine.title)?;
    for section in &sections {
        writeln!(out, "\n{}", text(section))?;
    }
    writeln!(out, "\nRolling resistance, restitution and friction are assumed where the file does not give them.")?;
    writeln!(out, "Marbles are small parts; turning wheels pinch fingers.")?;
    Ok(Answer::Given)
}

fn text(section: &Section) -> String {
    let mut lines = vec![section.title.clone()];
    for row in &section.rows {
        let (mark, mend) = match row.verdict {
            Verdict::Fine => (' ', String::new()),
            Verdict::Tight => ('~', format!("\n{:31}tight: {}", "", row.mend)),
            Verdict::WontWork => ('!', format!("\n{:31}won't work: {}", "", row.mend)),
        };
        lines.push(format!("{mark} {:28} {}{mend}", row.label, row.value));
    }
    lines.join("\n")
}
