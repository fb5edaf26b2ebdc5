//! `compare`: which design is better, with common random numbers.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Answer;
use super::answer::StudyAnswer;
use super::args::{ChangeArgs, OutputArgs, StudyArgs, UnitsArgs, setting};
use super::failure::Failure;
use super::source::Source;
use super::threads::on_threads;
use super::write::OutDir;
use super::{progress, tables};
use crate::circuit;
use crate::findings::summary::LEVEL;
use crate::machine::Setting;
use crate::machine::kind::{KINDS, swapped_in};
use crate::report::compare::CompareStudy;
use crate::study::compare::{Comparison, Design, compare as compared, run_all};
use crate::study::repeat::PARTS;
use crate::{charts, report};

/// The options of `compare`.
#[derive(Args, Debug)]
pub struct CompareArgs {
    /// The machine files; one, or none for the built-in demo machine, where --swap or --variant says what else to try
    pub machines: Vec<PathBuf>,
    /// What else to try
    #[command(flatten)]
    pub variants: VariantArgs,
    /// What to change in every design
    #[command(flatten)]
    pub change: ChangeArgs,
    /// How much to simulate, of each design
    #[command(flatten)]
    pub study: StudyArgs,
    /// What to put out
    #[command(flatten)]
    pub output: OutputArgs,
    /// How lengths are shown, where there are any
    #[command(flatten)]
    pub units: UnitsArgs,
}

/// Designs that differ from a file.
#[derive(Args, Debug)]
pub struct VariantArgs {
    /// Another kind in place of an element's own: --swap splitter=flip-gate, or with its dimensions, --swap 'splitter=bowl: { swirl: 2 s }'
    #[arg(long, value_name = "ELEMENT=KIND", value_parser = swap)]
    pub swap: Vec<DesignVariant>,
    /// The same machine with other values: --variant marbles=40,rpm=9
    #[arg(long, value_name = "KEY=VALUE,...", value_parser = variant)]
    pub variant: Vec<DesignVariant>,
}

/// A design that differs from the file: what to call it, and what to set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DesignVariant {
    /// As it was typed.
    pub typed: String,
    name: String,
    settings: Vec<Setting>,
}

fn swap(text: &str) -> Result<DesignVariant, String> {
    let form = "write it as ELEMENT=KIND, as in splitter=flip-gate";
    let (element, kind) = text.split_once('=').ok_or(form)?;
    let kind = kind.trim().trim_start_matches('{').trim_end();
    let (kind, value) = match kind.split_once(':') {
        Some((kind, value)) if text.contains("={") => {
            (kind.trim(), value.trim().strip_suffix('}').unwrap_or(value))
        }
        Some((kind, value)) => (kind.trim(), value.trim()),
        None => {
            let value = swapped_in(kind).ok_or_else(|| {
                let mut names = KINDS.to_vec();
                names.retain(|name| swapped_in(name).is_some());
                let names = names.join(", ");
                format!(
                    "`{kind}` needs its dimensions, as in 'splitter=bowl: {{ swirl: 2 s }}'; by name alone: {names}"
                )
            })?;
            (kind, value)
        }
    };
    if element.trim().is_empty() || kind.is_empty() {
        return Err(form.to_owned());
    }
    let setting = Setting {
        key: format!("circuit.{}.{kind}", element.trim()),
        value: value.trim().to_owned(),
    };
    Ok(DesignVariant {
        typed: text.to_owned(),
        name: kind.to_owned(),
        settings: vec![setting],
    })
}

fn variant(text: &str) -> Result<DesignVariant, String> {
    let settings = parts(text)
        .into_iter()
        .map(setting)
        .collect::<Result<_, _>>()?;
    Ok(DesignVariant {
        typed: text.to_owned(),
        name: text.to_owned(),
        settings,
    })
}

/// The parts of a text between its commas, but for those inside brackets.
fn parts(text: &str) -> Vec<&str> {
    let (mut all, mut depth, mut from) = (Vec::new(), 0, 0);
    for (at, letter) in text.char_indices() {
        match letter {
            '{' | '[' => depth += 1,
            '}' | ']' => depth -= 1,
            ',' if depth == 0 => {
                all.push(&text[from..at]);
                from = at + 1;
            }
            _ => {}
        }
    }
    all.push(&text[from..]);
    all
}

/// Compares the designs that were asked for.
pub fn compare(args: &CompareArgs) -> Result<Answer, Failure> {
    let sources = sources(args)?;
    let designs = designs(&sources)?;
    let title = sources[0].1.machine()?.title;
    let out = OutDir::of(&args.output, &sources[0].1)?;
    let comparison = on_threads(args.study.threads, || {
        simulate(&args.study, &designs, args.output.answer_alone())
    })?;
    let study = compare_study(&title, &args.study, &designs, &comparison);
    let answer = StudyAnswer {
        output: &args.output,
        title: study.title,
        json: study.json(),
        findings: study.findings(),
        table: Some(tables::of(&report::compare::rows(study.comparison))),
    };
    let repeat = study.repeat();
    answer.publish(out.as_ref(), "compare", || {
        charts::compare::of_comparison(&comparison, &title, &repeat)
    })?;
    Ok(Answer::Given)
}

/// The designs ready to run.
pub fn designs(sources: &[(String, Source)]) -> Result<Vec<Design>, Failure> {
    let mut designs = Vec::with_capacity(sources.len());
    for (name, source) in sources {
        let machine = source.machine()?;
        designs.push(Design {
            name: name.clone(),
            circuit: circuit::circuit(&machine),
            workable: machine.workable,
        });
    }
    Ok(designs)
}

/// What was found, to be reported.
pub fn compare_study<'a>(
    title: &'a str,
    study: &StudyArgs,
    designs: &'a [Design],
    comparison: &'a Comparison,
) -> CompareStudy<'a> {
    CompareStudy {
        title,
        seed: study.seed,
        hours: study.hours,
        designs,
        comparison,
    }
}

/// What to call each design, and where it comes from.
fn sources(args: &CompareArgs) -> Result<Vec<(String, Source)>, Failure> {
    let alone = args.variants.is_empty();
    match args.machines.as_slice() {
        [_, _, ..] if alone => named(args),
        [_, _, ..] => Err(Failure::asked(
            "several files, and --swap or --variant as well",
            "compare files, or variants of one file",
        )),
        _ if alone => Err(Failure::asked(
            "there is only one design to compare",
            "name a second file, or say what to try, as in --swap splitter=flip-gate or --variant rpm=9",
        )),
        one => args
            .variants
            .sources(one.first().map(PathBuf::as_path), &args.change),
    }
}

impl VariantArgs {
    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.swap.is_empty() && self.variant.is_empty()
    }

    /// The file, and each of its variants; what to call each.
    pub fn sources(
        &self,
        file: Option<&Path>,
        change: &ChangeArgs,
    ) -> Result<Vec<(String, Source)>, Failure> {
        let mut all = vec![(
            "the file".to_owned(),
            Source::open(file, change.settings())?,
        )];
        for variant in self.swap.iter().chain(&self.variant) {
            // Two bowls are distinguished by their dimensions.
            let alike = self.swap.iter().filter(|other| other.name == variant.name);
            let name = match variant.settings.as_slice() {
                [only] if alike.count() > 1 => format!(
                    "{}: {}",
                    only.key.trim_start_matches("circuit."),
                    only.value
                ),
                _ => variant.name.clone(),
            };
            let mut settings = change.settings();
            settings.extend(variant.settings.iter().cloned());
            all.push((name, Source::open(file, settings)?));
        }
        Ok(all)
    }
}

fn named(args: &CompareArgs) -> Result<Vec<(String, Source)>, Failure> {
    let mut all = Vec::new();
    for path in &args.machines {
        let source = Source::open(Some(path), args.change.settings())?;
        all.push((source.stem.clone(), source));
    }
    // Files of one name in several directories are distinguished by their paths.
    let stems: Vec<String> = all.iter().map(|(stem, _)| stem.clone()).collect();
    for (name, source) in &mut all {
        if stems.iter().filter(|stem| *stem == name).count() > 1 {
            *name = source.name.clone();
        }
    }
    Ok(all)
}

/// Runs every design with common random numbers.
pub fn simulate(study: &StudyArgs, designs: &[Design], quiet: bool) -> Comparison {
    let bar = progress::bar(u64::from(study.runs) * designs.len() as u64, quiet);
    let all = run_all(designs, &study.study(), study.runs, || bar.inc(PARTS));
    bar.finish_and_clear();
    compared(designs, &all, study.hours * 3600.0, LEVEL)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn swaps_are_read_with_and_without_dimensions() {
        let one = |text| {
            swap(text).map(|swap| (swap.settings[0].key.clone(), swap.settings[0].value.clone()))
        };
        let key = "circuit.split.flip-gate".to_owned();
        assert_eq!(
            one("split=flip-gate"),
            Ok((key.clone(), "{ drop: 40 mm, throw: 0.2 s }".to_owned()))
        );
        assert_eq!(
            one("split=flip-gate: { time: 1 s }"),
            Ok((key.clone(), "{ time: 1 s }".to_owned()))
        );
        assert_eq!(
            one("split={ flip-gate: { time: 1 s } }"),
            Ok((key, "{ time: 1 s }".to_owned()))
        );
        assert!(one("split").is_err() && one("split=track").is_err() && one("=peg").is_err());
    }

    #[test]
    fn variants_break_at_commas_outside_brackets() {
        let keys = |text| {
            variant(text).map(|v| {
                v.settings
                    .into_iter()
                    .map(|s| (s.key, s.value))
                    .collect::<Vec<_>>()
            })
        };
        let pair = |key: &str, value: &str| (key.to_owned(), value.to_owned());
        let expected = vec![pair("marbles", "40"), pair("circuit.a.shares", "[1, 2]")];
        assert_eq!(keys("marbles=40,circuit.a.shares=[1, 2]"), Ok(expected));
        assert!(keys("marbles").is_err());
    }
}
