//! Writing what was fitted into a machine file, and nothing else.
//!
//! The new machine has to be the old one but for the values meant. No backup is kept: the old values are printed.

use std::path::Path;

use super::failure::Failure;
use super::fit::Found;
use super::rewrite::{Rewrite, same};
use super::source::Source;
use crate::machine::kind::time_key;
use crate::machine::law::TimeLaw;
use crate::machine::model::Assume;
use crate::machine::problem::Problem;
use crate::machine::suggest::did_you_mean;
use crate::machine::{Machine, write_law};
use crate::study::readings::Timed;

/// Checks that every element of the table is one of the machine's whose time follows a law.
///
/// # Errors
/// Every element that is not, with its place in the table.
pub fn can_hold(
    table: &Source,
    all: &[Timed],
    source: &Source,
    machine: &Machine,
) -> Result<(), Failure> {
    let names: Vec<&str> = machine
        .elements
        .iter()
        .map(|one| one.name.as_str())
        .collect();
    let mut problems = Vec::new();
    for timed in all {
        let (what, help) = match machine.elements.iter().find(|element| element.name == timed.element) {
            Some(element) if time_key(element.kind.name()).is_some() => continue,
            Some(element) => (
                format!("`{}` is a {}, whose times follow no law", timed.element, element.kind.name()),
                "take it out of the table, and write its measured time into the machine file by hand".to_owned(),
            ),
            None => {
                let what = format!("there is no element called `{}` in {}", timed.element, source.name);
                (what, did_you_mean(&timed.element, names.iter().copied()))
            }
        };
        problems.push(Problem {
            place: Some(timed.place),
            key: String::new(),
            what,
            help,
        });
    }
    if problems.is_empty() {
        Ok(())
    } else {
        Err(table.unsound(&problems))
    }
}

/// Takes the time of an element out of the machine; a place-holder stands in where it must have one.
fn take_time(machine: &mut Machine, element: &str) -> Option<TimeLaw> {
    let mut elements = machine.elements.iter_mut();
    elements.find(|one| one.name == element)?.kind.take_time()
}

/// Writes the laws taken into the machine file; returns what was changed, and which elements were left, a line each.
///
/// # Errors
/// Where no element has a law to write, where the file cannot be edited without harm, or cannot be written. Then it is
/// as it was.
pub fn times(
    source: &Source,
    machine: &Machine,
    all: &[Found],
    table: &Path,
) -> Result<Vec<String>, Failure> {
    let (mut expected, mut changes) = (machine.clone(), Vec::new());
    let mut rewrite = Rewrite::new(source);
    if let Some(first) = all.iter().find(|found| found.taken.is_none())
        && all.iter().all(|found| found.taken.is_none())
    {
        return Err(Failure::cannot(
            "write the times of",
            table,
            format!("no law was taken for `{}`", first.of.element),
            "see why with the same command without --into, or choose one with --law",
        ));
    }
    for found in all {
        let element = found.of.element.as_str();
        let Some(law) = found.taken.as_ref().map(write_law::law) else {
            let why = "no law was taken for it; see why without --into, or choose one with --law";
            changes.push(format!("{}: {element}: left as it is, {why}", source.name));
            continue;
        };
        let (kind, key) = match machine.elements.iter().find(|one| one.name == element) {
            Some(one) => (
                one.kind.name(),
                time_key(one.kind.name()).unwrap_or_default(),
            ),
            None => continue,
        };
        let path = ["circuit", element, kind, key];
        rewrite.put(&path, &law, element)?;
        let old = match take_time(&mut expected, element) {
            Some(old) => write_law::law(&old),
            None => "computed".to_owned(),
        };
        changes.push(format!(
            "{}: {element}: {key} was {old}, is now {law}",
            source.name
        ));
    }
    let mut now = rewrite.reread()?;
    for found in all.iter().filter(|found| found.taken.is_some()) {
        let law = take_time(&mut now, &found.of.element).map(|law| write_law::law(&law));
        if law != found.taken.as_ref().map(write_law::law) {
            return Err(rewrite.by_hand(&found.of.element, "its new time"));
        }
    }
    rewrite.replace_if(same(&now, expected))?;
    Ok(changes)
}

/// Writes the lever arm of rolling resistance into the machine file; returns what was changed.
///
/// # Errors
/// As [`times`].
pub fn rolling(source: &Source, machine: &Machine, lever_m: f64) -> Result<String, Failure> {
    let value = write_law::millimetres(lever_m);
    let mut rewrite = Rewrite::new(source);
    rewrite.put(&["assume", "rolling-resistance"], &value, "assume")?;
    let now = rewrite.reread()?;
    let assume = Assume {
        rolling_m: now.assume.rolling_m,
        ..machine.assume
    };
    let meant = Machine {
        assume,
        ..machine.clone()
    };
    let written = write_law::millimetres(now.assume.rolling_m) == value;
    rewrite.replace_if(written && same(&now, meant))?;
    let old = write_law::millimetres(machine.assume.rolling_m);
    Ok(format!(
        "{}: assume: rolling-resistance was {old}, is now {value}",
        source.name
    ))
}
