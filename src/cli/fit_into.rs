//! Writing what was fitted into a machine file, and nothing else.
//!
//! The new text is read as a machine before it replaces the file, and has to be the old machine but for the values meant.
//! No backup is kept: the old values are printed, and the file is replaced whole or not at all.

use std::path::Path;

use super::failure::Failure;
use super::fit::Found;
use super::source::Source;
use super::write;
use crate::machine::kind::time_key;
use crate::machine::law::TimeLaw;
use crate::machine::model::Assume;
use crate::machine::problem::Problem;
use crate::machine::suggest::did_you_mean;
use crate::machine::{self, Machine, edit, write_law};
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
    let (mut text, mut expected, mut changes) = (source.text.clone(), machine.clone(), Vec::new());
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
        text = edit::put(&text, &path, &law)
            .ok_or_else(|| by_hand(source, element, &format!("{key}: {law}")))?;
        let old = match take_time(&mut expected, element) {
            Some(old) => write_law::law(&old),
            None => "computed".to_owned(),
        };
        changes.push(format!(
            "{}: {element}: {key} was {old}, is now {law}",
            source.name
        ));
    }
    let mut now = reread(source, &text)?;
    for found in all.iter().filter(|found| found.taken.is_some()) {
        let law = take_time(&mut now, &found.of.element).map(|law| write_law::law(&law));
        if law != found.taken.as_ref().map(write_law::law) {
            return Err(by_hand(source, &found.of.element, "its new time"));
        }
    }
    replace_if(source, &text, same(&now, expected))?;
    Ok(changes)
}

/// Writes the lever arm of rolling resistance into the machine file; returns what was changed.
///
/// # Errors
/// As [`times`].
pub fn rolling(source: &Source, machine: &Machine, lever_m: f64) -> Result<String, Failure> {
    let value = write_law::millimetres(lever_m);
    let text = edit::put(&source.text, &["assume", "rolling-resistance"], &value)
        .ok_or_else(|| by_hand(source, "assume", &format!("rolling-resistance: {value}")))?;
    let now = reread(source, &text)?;
    let assume = Assume {
        rolling_m: now.assume.rolling_m,
        ..machine.assume
    };
    let meant = Machine {
        assume,
        ..machine.clone()
    };
    let written = write_law::millimetres(now.assume.rolling_m) == value;
    replace_if(source, &text, written && same(&now, meant))?;
    let old = write_law::millimetres(machine.assume.rolling_m);
    Ok(format!(
        "{}: assume: rolling-resistance was {old}, is now {value}",
        source.name
    ))
}

fn reread(source: &Source, text: &str) -> Result<Machine, Failure> {
    machine::read(text, &[]).map_err(|_| by_hand(source, "it", "the new value"))
}

/// Whether a machine is the one that was meant; what it leaves to be assumed follows from the rest.
fn same(now: &Machine, meant: Machine) -> bool {
    *now == Machine {
        assumed: now.assumed.clone(),
        ..meant
    }
}

fn replace_if(source: &Source, text: &str, sound: bool) -> Result<(), Failure> {
    if !sound {
        return Err(by_hand(source, "it", "the new value"));
    }
    write::replace(
        source.path.as_deref().unwrap_or(Path::new("machine.yaml")),
        &source.text,
        text,
    )
}

/// The file is laid out in a way that a careful edit does not reach.
fn by_hand(source: &Source, what: &str, line: &str) -> Failure {
    Failure::cannot(
        "change",
        &source.name,
        format!("`{what}` is written in a way that cannot be changed without harm to the rest"),
        format!(
            "write {line} there by hand, or without alias, anchor and comments inside the value"
        ),
    )
}
