//! `new`: a first machine file, from a few answers.

use std::io::{IsTerminal, Write};
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use clap::Args;

use super::args::number_in;
use super::command_line::quoted;
use super::failure::{Failure, shown};
use super::prompt::Asker;
use super::scenarios::ALL;
use super::{Answer, progress, write};
use crate::findings::words::{count, figure};
use crate::machine::starter::{Choices, RETURNS, SPLITTERS, Splitter, bounds};
use crate::machine::starter_lifts::{LIFTS, LiftChoice};
use crate::machine::starter_shows::SHOWS;
use crate::machine::suggest::did_you_mean;
use crate::machine::units::{LENGTH, System, quantity, system_of};
use crate::study;

/// The options of `new`.
#[derive(Args, Debug)]
pub struct NewArgs {
    /// The file to write [default: machine.yaml, or NAME.yaml with --from]
    pub file: Option<PathBuf>,
    /// What the machine is called
    #[arg(long, value_name = "TITLE")]
    pub title: Option<String>,
    /// Diameter of the marbles: 16mm, '5/8 in'
    #[arg(long, value_name = "DIAMETER")]
    pub marble: Option<String>,
    /// What lifts the marbles: pocket-wheel, chain-lift, screw-lift, stair-lift, stroke-lift or swing-arm
    #[arg(long, value_name = "KIND")]
    pub lift: Option<String>,
    /// Pocket wheels, one above the other: 1 to 3
    #[arg(long, value_name = "N")]
    pub wheels: Option<String>,
    /// Pockets in each wheel: 10 to 36
    #[arg(long, value_name = "N")]
    pub pockets: Option<String>,
    /// Module tracks: 1 to 4
    #[arg(long, value_name = "N")]
    pub modules: Option<String>,
    /// What shares the marbles among the modules: none, bowl, flip-gate, peg, weir or see-saw
    #[arg(long, value_name = "KIND")]
    pub splitter: Option<String>,
    /// What there is to look at behind the first module: none, bell, funnel, loop or jump
    #[arg(long, value_name = "KIND")]
    pub part: Option<String>,
    /// How marbles come home: floor or slide
    #[arg(long = "return", value_name = "WAY")]
    pub home: Option<String>,
    /// Write the file in mm or in inches [default: as the marbles are given]
    #[arg(long, value_name = "UNITS", value_parser = ["mm", "in"])]
    pub units: Option<String>,
    /// Replace the file if it is there already
    #[arg(long)]
    pub force: bool,
    /// Ask nothing, not even on a terminal
    #[arg(long)]
    pub yes: bool,
    /// List the machines that come with the program
    #[arg(long, conflicts_with_all = ["file", "from"])]
    pub list: bool,
    /// Copy one of the machines that come with the program
    #[arg(long, value_name = "NAME", conflicts_with_all = ["title", "marble", "lift", "wheels", "pockets", "modules", "splitter", "part", "home"])]
    pub from: Option<String>,
}

/// Writes a machine file, or lists those that could be copied.
pub fn new(args: &NewArgs) -> Result<Answer, Failure> {
    let mut out = super::print::out();
    if args.list {
        for scenario in &ALL {
            writeln!(out, "{:14} {}", scenario.name, scenario.says())?;
        }
        return Ok(Answer::Given);
    }
    if let Some(name) = &args.from {
        return copy(args, name);
    }
    let file = args.file.clone().unwrap_or(PathBuf::from("machine.yaml"));
    write::is_free(&file, args.force)?;
    let terminal = !args.yes && std::io::stdin().is_terminal() && std::io::stdout().is_terminal();
    let choices = choices(args, &mut Asker::new(terminal))?;
    let trying =
        progress::waiting("Looking for a load that works, by trial runs: up to some minutes.");
    let settled = study::starter::settled(&choices);
    trying.finish_and_clear();
    let Some((choices, load)) = settled else {
        let why = "no load from 8 to 80 marbles works with these choices";
        let help = "take more pockets, fewer wheels, another splitter, lift or part";
        return Err(Failure::cannot("make", file, why, help));
    };
    write::create(&file, choices.text(load).as_bytes(), args.force)?;
    let name = shown(&file);
    writeln!(
        out,
        "Written {name}: {} of {} at {} rpm.",
        count(load.into(), "marble"),
        choices.length(choices.marble_m),
        figure(choices.rpm(load))
    )?;
    next(&file)
}

fn copy(args: &NewArgs, name: &str) -> Result<Answer, Failure> {
    let Some(scenario) = ALL.iter().find(|scenario| scenario.name == name) else {
        let why = "no machine of that name comes with the program";
        let help = did_you_mean(name, ALL.iter().map(|scenario| scenario.name));
        return Err(Failure::cannot("copy", name, why, help));
    };
    let file = args
        .file
        .clone()
        .unwrap_or(PathBuf::from(format!("{name}.yaml")));
    write::create(&file, scenario.text.as_bytes(), args.force)?;
    writeln!(
        super::print::out(),
        "Written {}: {}.",
        shown(&file),
        scenario.says()
    )?;
    next(&file)
}

fn next(file: &Path) -> Result<Answer, Failure> {
    let name = quoted(&file.display().to_string());
    writeln!(
        super::print::out(),
        "Next: marblewright sheet {name}, then marblewright run {name}"
    )?;
    Ok(Answer::Given)
}

/// What was typed, asked or left to the defaults.
fn choices(args: &NewArgs, asker: &mut Asker) -> Result<Choices, Failure> {
    let asked = args.units.as_deref().map(|units| units == "in");
    let title = asker.ask(
        &args.title,
        "--title",
        "What is it called?",
        "First machine",
        title,
    )?;
    let size = if asked == Some(true) {
        "5/8 in"
    } else {
        "16 mm"
    };
    let (marble_m, typed) = asker.ask(
        &args.marble,
        "--marble",
        "How large are the marbles?",
        size,
        marble,
    )?;
    // Who measures marbles in inches measures wood in inches.
    let inches = asked.unwrap_or(typed == System::Inches);
    let (lift, wheels, pockets) = lifts(args, asker)?;
    let (modules, splitter) = branches(args, asker)?;
    let show = asker.ask(
        &args.part,
        "--part",
        "What is there to look at behind the first: none, bell, funnel, loop or jump?",
        "none",
        |text| named(text, &SHOWS),
    )?;
    let home = asker.ask(
        &args.home,
        "--return",
        "How do they come home: floor or slide?",
        "floor",
        |text| named(text, &RETURNS),
    )?;
    let choices = Choices {
        title,
        inches,
        marble_m,
        lift,
        wheels,
        pockets,
        splitter,
        modules,
        show,
        home,
        pace: 1.0,
    };
    match choices.clash() {
        None => Ok(choices),
        Some((what, help)) => Err(Failure::asked(what, help)),
    }
}

/// What lifts the marbles; of pocket wheels how many there are, with how many pockets.
fn lifts(args: &NewArgs, asker: &mut Asker) -> Result<(LiftChoice, u32, u32), Failure> {
    let lift = asker.ask(
        &args.lift,
        "--lift",
        "What lifts them: pocket-wheel, chain-lift, screw-lift, stair-lift, stroke-lift or swing-arm?",
        "pocket-wheel",
        |text| named(text, &LIFTS),
    )?;
    if lift != LiftChoice::Wheels && args.pockets.is_some() {
        let help = "leave --pockets out, or choose --lift pocket-wheel";
        return Err(Failure::asked("this lift has no pockets".to_owned(), help));
    }
    if lift != LiftChoice::Wheels && args.wheels.is_none() {
        return Ok((lift, 1, *bounds::POCKETS.start()));
    }
    let wheels = asker.ask(
        &args.wheels,
        "--wheels",
        "How many pocket wheels, one above the other?",
        "1",
        |text| whole(text, bounds::WHEELS),
    )?;
    let pockets = asker.ask(
        &args.pockets,
        "--pockets",
        "How many pockets in each?",
        "18",
        |text| whole(text, bounds::POCKETS),
    )?;
    Ok((lift, wheels, pockets))
}

/// How many module tracks there are, and what shares the marbles among them.
fn branches(args: &NewArgs, asker: &mut Asker) -> Result<(u32, Splitter), Failure> {
    let usual = match args.splitter.as_deref() {
        Some("none") => "1",
        Some("flip-gate" | "weir" | "see-saw") => "2",
        _ => "3",
    };
    let modules = asker.ask(
        &args.modules,
        "--modules",
        "How many module tracks?",
        usual,
        |text| whole(text, bounds::MODULES),
    )?;
    if args.splitter.is_none() && modules == 1 {
        return Ok((modules, Splitter::None));
    }
    let splitter = asker.ask(
        &args.splitter,
        "--splitter",
        "What shares the marbles among them: bowl, flip-gate, peg, weir or see-saw?",
        "bowl",
        |text| named(text, &SPLITTERS),
    )?;
    Ok((modules, splitter))
}

fn whole(text: &str, range: RangeInclusive<u32>) -> Result<u32, String> {
    let (least, most) = (range.start(), range.end());
    let help = format!("write a whole number from {least} to {most}");
    number_in(text, range, help)
}

fn named<T: Copy>(text: &str, known: &[(&str, T)]) -> Result<T, String> {
    match known.iter().find(|(name, _)| *name == text) {
        Some((_, value)) => Ok(*value),
        None => {
            let names: Vec<&str> = known.iter().map(|(name, _)| *name).collect();
            Err(did_you_mean(text, names))
        }
    }
}

fn title(text: &str) -> Result<String, String> {
    let fits =
        !text.trim().is_empty() && text.chars().count() <= 80 && !text.contains(char::is_control);
    if fits {
        Ok(text.trim().to_owned())
    } else {
        Err("write a name of up to 80 letters".to_owned())
    }
}

/// The diameter, and in which system it was typed.
fn marble(text: &str) -> Result<(f64, System), String> {
    match quantity(text, &LENGTH) {
        Ok(metres) if bounds::MARBLE_M.contains(&metres) => Ok((metres, system_of(text))),
        _ => Err(
            "write a diameter from 8 mm to 30 mm with its unit, as in `16 mm` or `5/8 in`"
                .to_owned(),
        ),
    }
}
