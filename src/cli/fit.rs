//! `fit`: stopwatch readings become time laws, or a rolling resistance, for the machine file.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::args::{OutputArgs, UnitsArgs};
use super::failure::Failure;
use super::source::Source;
use super::threads::on_threads;
use super::write::OutDir;
use super::{Answer, fit_into, fit_rolling, fit_text};
use crate::charts;
use crate::charts::canvas::{FOR_TELEPHONES, Format};
use crate::machine::law::TimeLaw;
use crate::machine::suggest::did_you_mean;
use crate::machine::units::{DURATION, LENGTH, System, quantity, system_of};
use crate::machine::{Machine, write_law};
use crate::report;
use crate::stats::describe::extremes;
use crate::stats::fit::FITTED;
use crate::stats::readings::{ALIKE, Readings};
use crate::study::fit::{TriedLaw, chosen, compare};
use crate::study::readings::{self, Table, Timed};

/// The options of `fit`.
#[derive(Args, Debug)]
pub struct FitArgs {
    /// The readings: CSV with the columns `element,seconds`, or `length,slope,seconds` for rolling resistance
    pub times: PathBuf,
    /// A reading is good to so much either way: --reading-error 0.2s
    #[arg(long, value_name = "TIME", value_parser = reading_error)]
    pub reading_error: Option<f64>,
    /// Take this law for every element, whatever fits better; `samples` for the readings as they are
    #[arg(long, value_name = "LAW", value_parser = law_name)]
    pub law: Option<&'static str>,
    /// Diameter of the marble that rolled down the slopes [default: that of the machine given with --into]
    #[arg(long, value_name = "DIAMETER", value_parser = diameter)]
    pub marble: Option<TypedLength>,
    /// Write the result into this machine file, and change nothing else in it
    #[arg(long, value_name = "MACHINE")]
    pub into: Option<PathBuf>,
    /// Seed of the luck in the p-values
    #[arg(long, value_name = "S", default_value = "1")]
    pub seed: u64,
    /// Number of threads; 0 for one a core
    #[arg(long, value_name = "N", default_value = "0")]
    pub threads: usize,
    /// How to show lengths
    #[command(flatten)]
    pub units: UnitsArgs,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
}

/// A length as it was typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TypedLength {
    /// How long it is.
    pub metres: f64,
    /// What it was measured in.
    pub system: System,
}

/// One element with what was found of it.
pub struct Found {
    /// The element, where it is first named in the table.
    pub of: Timed,
    /// Its readings.
    pub readings: Readings,
    /// The laws, most plausible first.
    pub tried: Vec<TriedLaw>,
    /// The law taken, and its name if it is one of those tried.
    pub taken: Option<TimeLaw>,
    /// The name of the law taken.
    pub name: Option<&'static str>,
}

/// Fits a table of readings.
pub fn fit(args: &FitArgs) -> Result<Answer, Failure> {
    let table = Source::open(Some(&args.times), Vec::new())?;
    let read = readings::read(&table.text).map_err(|problems| table.unsound(&problems))?;
    let into = match &args.into {
        Some(path) => {
            let source = Source::open(Some(path), Vec::new())?;
            let machine = source.machine()?;
            Some((source, machine))
        }
        None => None,
    };
    match read {
        Table::Slopes(rolls) => fit_rolling::fit(args, &table, &rolls, into.as_ref()),
        Table::Elements(all) => elements(args, &table, all, into.as_ref()),
    }
}

fn elements(
    args: &FitArgs,
    table: &Source,
    all: Vec<Timed>,
    into: Option<&(Source, Machine)>,
) -> Result<Answer, Failure> {
    if let Some((source, machine)) = into {
        fit_into::can_hold(table, &all, source, machine)?;
    }
    let out = OutDir::of(&args.output, table)?;
    let found: Vec<Found> = on_threads(args.threads, || {
        all.into_iter().map(|of| found(args, of)).collect()
    })?;
    let written = into
        .map(|(source, machine)| fit_into::times(source, machine, &found, &args.times))
        .transpose()?;
    let files = if out.is_some() {
        pictures(args, &found)
    } else {
        Vec::new()
    };
    let place = out.map(|out| out.write_all(&files)).transpose();
    let mut stdout = super::print::out();
    if args.output.json {
        let all: Vec<_> = found.iter().map(fitted).collect();
        writeln!(stdout, "{}", report::fit::elements_json(args.seed, &all))?;
        return place.map(|_| Answer::Given);
    }
    for one in &found {
        writeln!(stdout, "{}", fit_text::element(one, args.output.quiet))?;
    }
    match written {
        Some(changes) => writeln!(stdout, "{}", changes.join("\n"))?,
        None if !args.output.quiet => writeln!(stdout, "{}", fit_text::to_paste(&found))?,
        None => {}
    }
    if let Some(place) = place?.filter(|_| !files.is_empty() && !args.output.quiet) {
        writeln!(stdout, "\n{place}")?;
    }
    Ok(Answer::Given)
}

fn found(args: &FitArgs, of: Timed) -> Found {
    let error_s = args.reading_error.unwrap_or(0.0);
    let readings = Readings {
        timed: of.timed.clone(),
        over: of.over.clone(),
        error_s,
    };
    let tried = compare(&of.element, &readings, args.seed);
    let whole = error_s == 0.0 && of.over.is_empty() && tried.is_empty();
    let (name, taken) = match (args.law, of.timed.as_slice()) {
        (Some("samples"), times) if of.over.is_empty() => {
            let times_s = times.to_vec();
            (Some("samples"), Some(TimeLaw::Samples { times_s }))
        }
        (None, times @ &[time_s, _, _, ..]) if whole && all_alike(times) => {
            (Some("fixed"), Some(TimeLaw::Fixed { time_s }))
        }
        (asked, _) => {
            let law = match asked {
                Some(name) => tried.iter().find(|tried| tried.fit.name == name),
                None => chosen(&tried),
            };
            let law = law.map(|tried| &tried.fit);
            (law.map(|fit| fit.name), law.map(|fit| fit.law.clone()))
        }
    };
    Found {
        of,
        readings,
        tried,
        taken,
        name,
    }
}

/// Whether no stopwatch tells these times apart.
fn all_alike(times: &[f64]) -> bool {
    let (least, most) = extremes(times);
    most - least <= 10.0 * ALIKE * times[0]
}

fn fitted(found: &Found) -> report::fit::Fitted<'_> {
    let taken = found.taken.as_ref();
    report::fit::Fitted {
        element: &found.of.element,
        readings: &found.readings,
        tried: &found.tried,
        taken,
    }
}

fn pictures(args: &FitArgs, all: &[Found]) -> Vec<(String, Vec<u8>)> {
    let mut repeat = format!("seed {}", args.seed);
    if let Some(time_s) = args.reading_error {
        let error = write_law::law(&TimeLaw::Fixed { time_s });
        let seconds = error.trim_end_matches(" s");
        repeat += &format!(", reading error {seconds} s either way");
    }
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for found in all.iter().filter(|found| !found.tried.is_empty()) {
        let shown = charts::fit::FitPicture {
            element: &found.of.element,
            readings: &found.readings,
            tried: &found.tried,
            taken: found.name,
            repeat: &repeat,
        };
        let drawn = [Format::Wide, Format::Narrow].map(|width| charts::fit::picture(&shown, width));
        let [Some(wide), Some(narrow)] = drawn else {
            continue;
        };
        let plain: String = found
            .of
            .element
            .chars()
            .take(40)
            .map(|c| if c.is_alphanumeric() { c } else { '-' })
            .collect();
        let mut name = format!("fit-{plain}");
        if files
            .iter()
            .any(|(other, _)| *other == format!("{name}.png"))
        {
            // Two files an element.
            name = format!("fit-{plain}-{}", files.len() / 2 + 1);
        }
        files.push((format!("{name}.png"), wide.png));
        files.push((format!("{name}{FOR_TELEPHONES}.png"), narrow.png));
    }
    files
}

fn reading_error(text: &str) -> Result<f64, String> {
    match quantity(text, &DURATION) {
        Ok(error) if (0.0..=60.0).contains(&error) => Ok(error),
        _ => Err("write a time from 0 s to 60 s, as in 0.2s".to_owned()),
    }
}

fn diameter(text: &str) -> Result<TypedLength, String> {
    match quantity(text, &LENGTH) {
        Ok(metres) if (0.002..=0.2).contains(&metres) => Ok(TypedLength {
            metres,
            system: system_of(text),
        }),
        _ => Err("write a diameter with its unit, as in 16mm or '5/8 in'".to_owned()),
    }
}

fn law_name(text: &str) -> Result<&'static str, String> {
    let known = [&FITTED[..], &["samples"]].concat();
    match known.iter().find(|name| **name == text) {
        Some(name) => Ok(name),
        None => Err(did_you_mean(text, known)),
    }
}
