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
use crate::machine::law::TimeLaw;
use crate::machine::units::{DURATION, LENGTH, quantity};
use crate::machine::{Machine, write_law};
use crate::report;
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
    pub marble: Option<f64>,
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
    let into = args
        .into
        .as_deref()
        .map(|path| Source::open(Some(path), Vec::new()))
        .transpose()?;
    let machine = into.as_ref().map(Source::machine).transpose()?;
    match read {
        Table::Slopes(rolls) => {
            fit_rolling::fit(args, &table, &rolls, into.as_ref().zip(machine.as_ref()))
        }
        Table::Elements(all) => elements(args, &table, all, into.as_ref().zip(machine.as_ref())),
    }
}

fn elements(
    args: &FitArgs,
    table: &Source,
    all: Vec<Timed>,
    into: Option<(&Source, &Machine)>,
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
    let range = of.timed.iter().copied().fold(0.0, f64::max)
        - of.timed.iter().copied().fold(f64::INFINITY, f64::min);
    let same = of
        .timed
        .first()
        .is_some_and(|first| range <= 10.0 * ALIKE * first);
    let alike = error_s == 0.0 && of.over.is_empty() && tried.is_empty() && same;
    let law = |name: &str| tried.iter().find(|tried| tried.fit.name == name);
    let (name, taken) = match args.law {
        Some("samples") if of.over.is_empty() => (
            Some("samples"),
            Some(TimeLaw::Samples {
                times_s: of.timed.clone(),
            }),
        ),
        Some(name) => (
            law(name).map(|_| name),
            law(name).map(|tried| tried.fit.law.clone()),
        ),
        None if alike && of.timed.len() > 2 => (
            Some("fixed"),
            Some(TimeLaw::Fixed {
                time_s: of.timed[0],
            }),
        ),
        None => (
            chosen(&tried).map(|t| t.fit.name),
            chosen(&tried).map(|t| t.fit.law.clone()),
        ),
    };
    Found {
        of,
        readings,
        tried,
        taken,
        name,
    }
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
    let error = args.reading_error.map_or(String::new(), |e| {
        format!(
            ", reading error {} s either way",
            write_law::law(&TimeLaw::Fixed { time_s: e }).trim_end_matches(" s")
        )
    });
    let repeat = format!("seed {}{error}", args.seed);
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for found in all.iter().filter(|found| !found.tried.is_empty()) {
        let picture = charts::fit::picture(&charts::fit::FitPicture {
            element: &found.of.element,
            readings: &found.readings,
            tried: &found.tried,
            taken: found.name,
            repeat: &repeat,
        });
        let Some(picture) = picture else { continue };
        let plain: String = found
            .of
            .element
            .chars()
            .take(40)
            .map(|c| if c.is_alphanumeric() { c } else { '-' })
            .collect();
        let mut name = format!("fit-{plain}.png");
        if files.iter().any(|(other, _)| *other == name) {
            name = format!("fit-{plain}-{}.png", files.len() + 1);
        }
        files.push((name, picture.png));
    }
    files
}

fn reading_error(text: &str) -> Result<f64, String> {
    let read = quantity(text, &DURATION)
        .ok()
        .filter(|error| (0.0..=60.0).contains(error));
    read.ok_or("write a time from 0 s to 60 s, as in 0.2s".to_owned())
}

fn diameter(text: &str) -> Result<f64, String> {
    let read = quantity(text, &LENGTH)
        .ok()
        .filter(|d| (0.002..=0.2).contains(d));
    read.ok_or("write a diameter with its unit, as in 16mm or '5/8 in'".to_owned())
}

fn law_name(text: &str) -> Result<&'static str, String> {
    let known = FITTED.into_iter().chain(["samples"]);
    known
        .clone()
        .find(|name| *name == text)
        .ok_or_else(|| crate::machine::suggest::did_you_mean(text, known))
}
