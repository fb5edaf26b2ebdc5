//! `sheet`: what the dimensions mean.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Answer;
use super::args::{ChangeArgs, OutputArgs};
use super::failure::Failure;
use super::source::Source;
use super::write::OutDir;
use crate::charts::canvas::Format;
use crate::charts::template::Paper;
use crate::machine::units::System;
use crate::report::bench::{Bench, lap_profile, templates, wheel_faces};
use crate::sheet::{Units, sheet};
use crate::study::assumptions::{SensitivityEffort, sensitivity};
use crate::study::repeat::Study;

/// The options of `sheet`.
#[derive(Args, Debug)]
pub struct SheetArgs {
    /// The machine file; without one, the built-in demo machine
    pub machine: Option<PathBuf>,
    /// What to change in the machine
    #[command(flatten)]
    pub change: ChangeArgs,
    /// Show figures in mm, in inches as on a tape, or in both [default: as the file gives them]
    #[arg(long, value_name = "UNITS")]
    pub units: Option<Shown>,
    /// Write each wheel's face at its own size too, to print, lay on the wood and drill by
    #[arg(long, value_name = "PAPER")]
    pub template: Option<PaperSize>,
    /// Do not look how the answer hangs on what the file leaves to be assumed
    #[arg(long)]
    pub no_assumptions: bool,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
}

/// Units as they are typed.
#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum Shown {
    /// Millimetres
    Mm,
    /// Inches
    In,
    /// Both
    Both,
}

/// Paper as it is typed.
#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum PaperSize {
    /// 210 mm by 297 mm
    A4,
    /// 8 1/2 in by 11 in
    Letter,
}

impl PaperSize {
    fn paper(self) -> Paper {
        match self {
            PaperSize::A4 => Paper::A4,
            PaperSize::Letter => Paper::Letter,
        }
    }
}

/// Seed of the few runs behind the sheet, and no bound on their length but their own.
const SEED: u64 = 1;
const NO_END: u64 = u64::MAX;

/// Prints the bench sheet of a machine and writes it with the faces of its wheels.
pub fn print(args: &SheetArgs) -> Result<Answer, Failure> {
    let source = Source::open(args.machine.as_deref(), args.change.settings())?;
    let machine = source.machine()?;
    let out = OutDir::of(&args.output, &source)?;
    let units = match (args.units, machine.units) {
        (Some(Shown::Both), _) => Units::Both,
        (Some(Shown::In), _) | (None, System::Inches) => Units::Inches,
        (Some(Shown::Mm), _) | (None, System::Millimetres) => Units::Millimetres,
    };
    let assumptions = match args.no_assumptions {
        true => None,
        false => {
            let effort = SensitivityEffort::short(&Study {
                seed: SEED,
                horizon: NO_END,
            });
            Some(sensitivity(&machine, &effort))
        }
    };
    let bench = Bench {
        format: 1,
        title: machine.title.clone(),
        sections: sheet(&machine, units),
        assumptions,
    };
    let written = out.map(|out| {
        out.write_before(&bench.files(), || {
            let mut pictures: Vec<(String, Vec<u8>)> = Vec::new();
            pictures.extend(lap_profile(&machine, Format::Wide));
            pictures.extend(wheel_faces(&machine).into_iter().map(|(_, file)| file));
            let paper = args.template.map(PaperSize::paper);
            pictures.extend(
                paper
                    .into_iter()
                    .flat_map(|paper| templates(&machine, paper)),
            );
            Ok(pictures)
        })
    });
    let mut stdout = super::print::out();
    match (args.output.json, args.output.quiet) {
        (true, _) => writeln!(stdout, "{}", bench.json())?,
        (false, true) => writeln!(stdout, "{}", bench.worries())?,
        (false, false) => writeln!(stdout, "{}", bench.text())?,
    }
    if let Some(written) = written.transpose()?.filter(|_| !args.output.answer_alone()) {
        writeln!(stdout, "\n{written}")?;
    }
    Ok(Answer::Given)
}
