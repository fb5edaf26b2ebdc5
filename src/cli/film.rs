//! `film`: a stretch of one run as moving pictures.

use std::io::Write;
use std::ops::Bound;
use std::path::PathBuf;

use clap::Args;

use super::Answer;
use super::args::{ChangeArgs, OutputArgs, UnitsArgs, number_in};
use super::failure::Failure;
use super::run::driven_rpm;
use super::source::Source;
use super::write::OutDir;
use crate::charts;
use crate::charts::film::{Shot, files, fits, stretch};
use crate::circuit;
use crate::circuit::draw::nanos;
use crate::contact::place::WheelPlace;
use crate::findings::replay::{Replay, RunId};
use crate::findings::words::{count, setting};
use crate::machine::Machine;
use crate::machine::limits;
use crate::study::close_up::{CloseUp, Deed, close_up, place};

/// Machine time watched beyond the film, so that marbles on their way are known to arrive.
const BEYOND_S: f64 = 120.0;
/// How long a film goes on after the end of a run, seconds.
const STANDSTILL_S: f64 = 2.0;
/// The longest film, seconds.
const LONGEST_S: f64 = 60.0;

/// The options of `film`.
#[derive(Args, Debug)]
pub struct FilmArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// Show single pockets of this wheel from near, many times slower: one that takes a marble, one that misses, one that stalls
    #[arg(long, value_name = "ELEMENT", conflicts_with_all = ["from", "seconds", "seed", "run"])]
    pub close_up: Option<String>,
    /// Machine time at which the film begins: seconds, M:SS or H:MM:SS
    #[arg(long, value_name = "TIME", default_value = "0", allow_negative_numbers = true, value_parser = clock_time)]
    pub from: f64,
    /// Seconds that it lasts
    #[arg(long, value_name = "S", default_value = "20", allow_negative_numbers = true, value_parser = length)]
    pub seconds: f64,
    /// Seed of the luck
    #[arg(long, value_name = "S", default_value = "1")]
    pub seed: u64,
    /// Number of the run
    #[arg(long, value_name = "K", default_value = "0")]
    pub run: u64,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
    /// How lengths are shown, where there are any
    #[command(flatten)]
    pub units: UnitsArgs,
}

/// What `--json` prints.
#[derive(serde::Serialize)]
struct FilmJson<'a> {
    format: u32,
    title: &'a str,
    seed: u64,
    run: u64,
    from_s: f64,
    seconds: f64,
    files: Vec<&'a str>,
}

/// Films one run of a machine.
pub fn film(args: &FilmArgs) -> Result<Answer, Failure> {
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    if let Some(element) = &args.close_up {
        return from_near(args, &source, &machine, element);
    }
    let circuit = circuit::circuit(&machine);
    if !fits(&circuit) {
        let what = format!(
            "a circuit of {} elements is too large for a film",
            circuit.nodes.len()
        );
        return Err(Failure::asked(
            what,
            "follow a run with `why`, or film a machine with fewer elements or ways",
        ));
    }
    let (from, end) = (nanos(args.from), nanos(args.from + args.seconds));
    let (seed, run, horizon) = (args.seed, args.run, end + nanos(BEYOND_S));
    let replay = Replay::of(&circuit, RunId { seed, run, horizon });
    let ended = replay.result.end;
    if ended <= from {
        return Err(ended_before(args, ended as f64 * 1e-9));
    }
    let out = OutDir::of(&args.output, &source)?;
    let repeat = format!(
        "{}, seed {}, run {}",
        setting(circuit.marbles, driven_rpm(&machine)),
        args.seed,
        args.run
    );
    // Where the run ends first, the film shows a little of the standstill.
    let length = end.min(ended + nanos(STANDSTILL_S)) - from;
    let shot = Shot {
        circuit: &circuit,
        replay: &replay,
        title: &machine.title,
        repeat: &repeat,
        from,
        length,
    };
    let files = if out.is_some() {
        files(&shot)
    } else {
        Vec::new()
    };
    let json = FilmJson {
        format: 1,
        title: &machine.title,
        seed: args.seed,
        run: args.run,
        from_s: args.from,
        seconds: length as f64 * 1e-9,
        files: files.iter().map(|(name, _)| name.as_str()).collect(),
    };
    let line = format!("{}: {}, {repeat}", machine.title, stretch(&shot));
    write_and_print(&args.output, out, &files, &json, &line)
}

/// Writes the files, then prints what was asked for: the JSON, or the line that says what is shown.
fn write_and_print(
    output: &OutputArgs,
    out: Option<OutDir>,
    files: &[(String, Vec<u8>)],
    json: &impl serde::Serialize,
    line: &str,
) -> Result<Answer, Failure> {
    let written = out.map(|out| out.write_all(files)).transpose()?;
    let mut stdout = super::print::out();
    if output.json {
        let json = serde_json::to_string_pretty(json).unwrap_or_default();
        writeln!(stdout, "{json}")?;
        return Ok(Answer::Given);
    }
    writeln!(stdout, "{line}")?;
    if let Some(written) = written.filter(|_| !output.quiet) {
        writeln!(stdout, "\n{written}")?;
    }
    Ok(Answer::Given)
}

/// What `--json` prints of single pockets.
#[derive(serde::Serialize)]
struct CloseUpJson<'a> {
    format: u32,
    title: &'a str,
    element: &'a str,
    scenes: Vec<Deed>,
    pockets: usize,
    files: Vec<&'a str>,
}

/// Shows single pockets of a wheel.
fn from_near(
    args: &FilmArgs,
    source: &Source,
    machine: &Machine,
    element: &str,
) -> Result<Answer, Failure> {
    let place = place_of(machine, element)?;
    let out = OutDir::of(&args.output, source)?;
    let close_up = close_up(place);
    let files = if out.is_some() {
        charts::close_up::files(&close_up, element, &machine.title)
    } else {
        Vec::new()
    };
    let json = CloseUpJson {
        format: 1,
        title: &machine.title,
        element,
        scenes: close_up.scenes.iter().map(|scene| scene.deed).collect(),
        pockets: close_up.pockets,
        files: files.iter().map(|(name, _)| name.as_str()).collect(),
    };
    let line = format!("{}: {}", machine.title, says(&close_up, element));
    write_and_print(&args.output, out, &files, &json, &line)
}

/// What is shown, and what no pocket did.
fn says(close_up: &CloseUp, element: &str) -> String {
    let deeds = [
        (Deed::Takes, "takes a marble"),
        (Deed::Misses, "misses one"),
        (Deed::Stalls, "stalls the drive"),
    ];
    let (mut seen, mut unseen) = (Vec::new(), Vec::new());
    for (deed, does) in deeds {
        if close_up.scenes.iter().any(|scene| scene.deed == deed) {
            seen.push(format!("one {does}"));
        } else {
            unseen.push(format!("none {does}"));
        }
    }
    let all = [seen, unseen].concat().join(", ");
    format!(
        "of {} followed at `{element}` {all}",
        count(close_up.pockets as u64, "pocket")
    )
}

/// The place of the wheel called `element`.
fn place_of(machine: &Machine, element: &str) -> Result<WheelPlace, Failure> {
    let mut names = Vec::new();
    let mut found = None;
    for (n, other) in machine.elements.iter().enumerate() {
        if other.kind.wheel().is_some() {
            names.push(other.name.as_str());
            if other.name == element {
                found = Some(n);
            }
        }
    }
    let Some(n) = found else {
        let help = match names.len() {
            0 => "the machine has none".to_owned(),
            _ => format!("name one of its wheels: {}", names.join(", ")),
        };
        return Err(Failure::asked(
            format!("no pocket wheel is called `{element}`"),
            help,
        ));
    };
    place(machine, n).ok_or_else(|| {
        let what = format!("there is nothing to see from near at `{element}`");
        let help = "give its pitch-radius, bore, depth and tilt, the marbles' diameter and a drive that turns, and no measured pick-up";
        Failure::asked(what, help)
    })
}

fn ended_before(args: &FilmArgs, end_s: f64) -> Failure {
    Failure::Usage {
        what: format!(
            "run {} ended after {end_s:.1} s, before the film begins",
            args.run
        ),
        help: format!(
            "begin earlier, as with --from {:.0}, or choose another --run",
            (end_s - args.seconds).max(0.0)
        ),
    }
}

/// Seconds from `90`, `1:30` or `1:02:30`.
fn clock_time(text: &str) -> Result<f64, String> {
    let help = "write seconds, minutes:seconds or hours:minutes:seconds, as in 90, 1:30 or 1:02:30";
    let parts: Vec<&str> = text.split(':').collect();
    if parts.len() > 3 {
        return Err(help.to_owned());
    }
    let first: f64 = number_in(parts[0], 0.0.., help)?;
    let mut seconds = first.abs();
    for part in &parts[1..] {
        seconds = seconds * 60.0 + number_in(part, 0.0..60.0, help)?;
    }
    let longest = limits::HOURS * 3600.0;
    if seconds <= longest {
        Ok(seconds)
    } else {
        Err(format!(
            "a film can begin up to {} h into a run",
            limits::HOURS
        ))
    }
}

fn length(text: &str) -> Result<f64, String> {
    let above_0 = (Bound::Excluded(0.0), Bound::Included(LONGEST_S));
    let help = format!("write a number of seconds above 0 and up to {LONGEST_S}");
    number_in(text, above_0, help)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_as_a_clock_shows_them() {
        assert_eq!(clock_time("90"), Ok(90.0));
        assert_eq!(clock_time("1:30.5"), Ok(90.5));
        assert_eq!(clock_time("1:02:30"), Ok(3750.0));
        for wrong in ["", "1:75", "-3", "1:2:3:4", "soon", "inf", "nan"] {
            assert!(clock_time(wrong).is_err(), "{wrong}");
        }
    }
}
