//! `check`: is the machine file sound?

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::Answer;
use super::args::ChangeArgs;
use super::failure::Failure;
use super::source::Source;

/// The options of `check`.
#[derive(Args, Debug)]
pub struct CheckArgs {
    /// The machine file
    pub machine: PathBuf,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// Say nothing if it is sound
    #[arg(long)]
    pub quiet: bool,
}

/// Reads the file and says that it is sound, or every problem in it.
pub fn check(args: &CheckArgs) -> Result<Answer, Failure> {
    let source = Source::open(Some(&args.machine), args.change.settings())?;
    let machine = source.machine()?;
    if !args.quiet {
        let elements = machine.elements.len();
        writeln!(
            std::io::stdout(),
            "{} is sound: {} with {elements} elements and {} marbles.",
            source.name,
            machine.title,
            machine.marbles.count
        )?;
    }
    Ok(Answer::Given)
}
