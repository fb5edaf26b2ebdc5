//! What may be typed: the commands, and the options that several of them share. The rest of a command's options stand in its file.

use std::ops::RangeBounds;
use std::path::PathBuf;
use std::str::FromStr;

use clap::{Args, Parser, Subcommand};
use clap_complete::engine::ArgValueCompleter;

use super::check::CheckArgs;
use super::compare::CompareArgs;
use super::complete;
use super::completions::CompletionsArgs;
use super::diagnose::DiagnoseArgs;
use super::film::FilmArgs;
use super::fit::FitArgs;
use super::gather::GatherArgs;
use super::handbook::HandbookArgs;
use super::log::LogArgs;
use super::map::MapArgs;
use super::mend::MendArgs;
use super::new::NewArgs;
use super::run::RunArgs;
use super::sheet::SheetArgs;
use super::tolerance::ToleranceArgs;
use super::why::WhyArgs;
use super::window::WindowArgs;
use crate::circuit::draw::{Nanos, nanos};
use crate::findings::replay::RunId;
use crate::machine::Setting;
use crate::machine::allow::Warning;
use crate::machine::limits;
use crate::machine::units::System;
use crate::study::repeat::Study;

/// The command line.
#[derive(Parser, Debug)]
#[command(
    name = "marblewright",
    version,
    about = "Will this marble machine run by itself for an afternoon?",
    long_about = "Simulates the marbles of a motor-driven wooden marble machine over many runs, from one machine file, and \
                  says in plain words where it jams, starves, backs up or spills, and with how many marbles and at what \
                  speed it works. Without a command it runs the built-in demo machine.",
    after_help = "Example: marblewright run lantern.yaml --marbles 40 --rpm 12\n\
                  Exit codes: 0 answered; 1 not workable (only with --require-workable); 2 bad input or usage; \
                  3 a file of the answer could not be written; 130 interrupted.",
    args_conflicts_with_subcommands = true
)]
pub struct Cli {
    /// The command; without one, `run`.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// Look at every wheel anew, and keep nothing of it in the cache folder; the answers are the same
    #[arg(long, global = true)]
    pub no_cache: bool,
    /// The options of `run`.
    #[command(flatten)]
    pub run: RunArgs,
}

/// The commands.
#[derive(Subcommand, Debug)]
pub enum Command {
    /// Begin here: a first machine file, from a few answers
    #[command(
        after_help = "Example: marblewright new lantern.yaml --marble 14mm --wheels 2 --splitter bowl"
    )]
    New(NewArgs),
    /// Does it run by itself? What happens at this load and speed, over many runs
    #[command(
        after_help = "Example: marblewright run lantern.yaml --marbles 40 --rpm 12 --out reports/forty"
    )]
    Run(RunArgs),
    /// With how many marbles? The least and the most with which it works, or values of any other key
    #[command(
        after_help = "Example: marblewright window lantern.yaml --rpm 9 --from 20 --to 60\n\
                            At what speed? marblewright window lantern.yaml --marbles 30 --over rpm=3..15/0.5"
    )]
    Window(WindowArgs),
    /// What do I change? What mends it, the cheapest first; or what would break it first
    #[command(after_help = "Example: marblewright mend lantern.yaml --not marbles --write")]
    Mend(MendArgs),
    /// Which design is better? Two or more on the same luck
    #[command(
        after_help = "Example: marblewright compare lantern.yaml --swap bowl=flip-gate --swap bowl=peg"
    )]
    Compare(CompareArgs),
    /// The bench sheet: what the dimensions mean
    #[command(after_help = "Example: marblewright sheet lantern.yaml --rpm 9 --units in")]
    Sheet(SheetArgs),
    /// Is the machine file sound?
    #[command(after_help = "Example: marblewright check lantern.yaml")]
    Check(CheckArgs),
    /// The story of one run: what went wrong, and back along its causes
    #[command(after_help = "Example: marblewright why lantern.yaml --seed 1 --run 62")]
    Why(WhyArgs),
    /// A build-log page with its pictures, as Markdown and as one HTML file
    #[command(after_help = "Example: marblewright log lantern.yaml --window --out reports/lantern")]
    Log(LogArgs),
    /// A stretch of one run as a film: an animated PNG, also for telephones, and a strip of stills
    #[command(
        after_help = "Example: marblewright film lantern.yaml --from 1:30 --seconds 20 --seed 1 --run 4"
    )]
    Film(FilmArgs),
    /// Where it works and what breaks elsewhere: load by speed, or any two keys
    #[command(
        after_help = "Example: marblewright map lantern.yaml --over marbles=5..80/5 --over rpm=4..24/2\n\
                            One of four parts: marblewright map lantern.yaml --part 1/4 --out parts; \
                            all of them joined: marblewright gather parts"
    )]
    Map(MapArgs),
    /// Of so many makers who build this plan, how many have a machine that works, and what must be exact
    #[command(after_help = "Example: marblewright tolerance lantern.yaml --makers 100 --rpm 9")]
    Tolerance(ToleranceArgs),
    /// What was counted at the real machine: which cause explains it, and what to measure next
    #[command(
        after_help = "Example: marblewright diagnose lantern.yaml --seen lower-wheel.misses=12/100 --seen floor.jams=3/2h"
    )]
    Diagnose(DiagnoseArgs),
    /// Stopwatch readings become time laws for the machine file
    #[command(
        after_help = "Example: marblewright fit times.csv --reading-error 0.1s --into lantern.yaml"
    )]
    Fit(FitArgs),
    /// Join the parts of a map into the whole
    #[command(after_help = "Example: marblewright gather reports/lantern --out reports/lantern")]
    Gather(GatherArgs),
    /// The handbook, page by page
    #[command(after_help = "Example: marblewright handbook commands")]
    Handbook(HandbookArgs),
    /// The JSON Schema of the machine file, for editors
    #[command(after_help = "Example: marblewright schema")]
    Schema,
    /// Completions for a shell, or the manual pages
    #[command(after_help = "Example: marblewright completions bash\n\
                            Example: marblewright completions man --out man1")]
    Completions(CompletionsArgs),
}

/// Changes to the machine file from the command line.
#[derive(Args, Debug)]
pub struct ChangeArgs {
    /// The load: number of marbles
    #[arg(long, value_name = "N", allow_negative_numbers = true)]
    pub marbles: Option<String>,
    /// Speed of the drive, turns a minute
    #[arg(long, value_name = "X", allow_negative_numbers = true)]
    pub rpm: Option<String>,
    /// Any key of the file: --set circuit.lift.pockets=24
    #[arg(long, value_name = "KEY=VALUE", value_parser = setting, add = ArgValueCompleter::new(complete::keys))]
    pub set: Vec<Setting>,
}

/// How warnings are shown, and which are not.
#[derive(Args, Debug)]
pub struct WarningArgs {
    /// A warning that need not be shown, by its code
    #[arg(long, value_name = "CODE", value_parser = Warning::ALL.map(Warning::code))]
    pub allow: Vec<String>,
    /// How to show lengths
    #[command(flatten)]
    pub units: UnitsArgs,
}

/// How lengths are shown.
#[derive(Args, Debug)]
pub struct UnitsArgs {
    /// Show lengths, where there are any, in mm or in inches [default: as the file gives them]
    #[arg(long, value_name = "UNITS", value_parser = ["mm", "in"])]
    units: Option<String>,
}

impl UnitsArgs {
    /// In which units lengths are shown of a file written in `file`.
    pub fn system(&self, file: System) -> System {
        match self.units.as_deref() {
            Some("in") => System::Inches,
            Some(_) => System::Millimetres,
            None => file,
        }
    }
}

/// How much to simulate.
#[derive(Args, Debug)]
pub struct StudyArgs {
    /// Hours of machine time in each run
    #[arg(long, value_name = "H", default_value_t = StudyArgs::HOURS, allow_negative_numbers = true, value_parser = hours)]
    pub hours: f64,
    /// Number of runs; of `run`, `log` and searches at most, where fewer show whether it works
    #[arg(long, value_name = "R", default_value_t = StudyArgs::RUNS, allow_negative_numbers = true, value_parser = runs)]
    pub runs: u32,
    /// Seed of the luck; the same seed gives the same answer to the last digit
    #[arg(long, value_name = "S", default_value = "1", allow_negative_numbers = true, value_parser = seed)]
    pub seed: u64,
    /// Number of threads; 0 for one a core
    #[arg(long, value_name = "N", default_value = "0", allow_negative_numbers = true, value_parser = threads)]
    pub threads: usize,
}

/// What to put out.
#[derive(Args, Debug)]
pub struct OutputArgs {
    /// Directory for charts and tables [default: reports/<machine>]
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
}

impl StudyArgs {
    /// Hours where nobody says how many.
    pub const HOURS: f64 = 2.0;
    /// Runs likewise.
    pub const RUNS: u32 = 200;

    /// Machine time of each run.
    pub fn horizon(&self) -> Nanos {
        nanos(self.hours * 3600.0)
    }

    /// What every run has in common.
    pub fn study(&self) -> Study {
        Study {
            seed: self.seed,
            horizon: self.horizon(),
        }
    }

    /// Its run of that number.
    pub fn run_id(&self, run: u64) -> RunId {
        RunId {
            seed: self.seed,
            run,
            horizon: self.horizon(),
        }
    }
}

impl OutputArgs {
    /// Whether the answer is printed without progress before it or the names of its files after it.
    pub fn answer_alone(&self) -> bool {
        self.quiet || self.json
    }
}

impl ChangeArgs {
    /// All changes in the order they apply.
    pub fn settings(&self) -> Vec<Setting> {
        let mut settings = self.set.clone();
        for (key, given) in [("marbles", &self.marbles), ("rpm", &self.rpm)] {
            settings.extend(given.iter().map(|value| Setting {
                key: key.to_owned(),
                value: value.clone(),
            }));
        }
        settings
    }
}

pub fn setting(text: &str) -> Result<Setting, String> {
    let (key, value) = text
        .split_once('=')
        .ok_or("write it as KEY=VALUE, as in circuit.lift.pockets=24")?;
    if key.is_empty() {
        return Err("the key before `=` is missing".to_owned());
    }
    Ok(Setting {
        key: key.trim().to_owned(),
        value: value.to_owned(),
    })
}

/// The number that a text is, or `help` where it is none within `range`.
pub fn number_in<T: FromStr + PartialOrd>(
    text: &str,
    range: impl RangeBounds<T>,
    help: impl Into<String>,
) -> Result<T, String> {
    match text.parse() {
        Ok(number) if range.contains(&number) => Ok(number),
        _ => Err(help.into()),
    }
}

fn hours(text: &str) -> Result<f64, String> {
    let hours: f64 = text
        .parse()
        .map_err(|_| "write a number of hours, as in 2 or 0.5".to_owned())?;
    if hours > 0.0 && hours <= limits::HOURS {
        Ok(hours)
    } else {
        Err(format!("hours can be above 0 and up to {}", limits::HOURS))
    }
}

fn runs(text: &str) -> Result<u32, String> {
    let help = format!("write a whole number of runs from 1 to {}", limits::RUNS);
    number_in(text, 1..=limits::RUNS, help)
}

/// Reads a seed.
pub fn seed(text: &str) -> Result<u64, String> {
    let help = format!("write a whole number from 0 to {}", u64::MAX);
    number_in(text, .., help)
}

/// Reads a number of threads.
pub fn threads(text: &str) -> Result<usize, String> {
    let help = format!("write a whole number of threads up to {}", limits::THREADS);
    number_in(text, ..=limits::THREADS, help)
}
