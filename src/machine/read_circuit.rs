//! The circuit of a machine file: its elements, what each is, and where its ways out lead.

use std::f64::consts::{PI, TAU};

use super::fields::Fields;
use super::kind;
use super::limits;
use super::model::*;
use super::outline::{Group, Shape};
use super::problem::{Place, Report};
use super::suggest::{did_you_mean, nearest, nearest_kind};
use super::units::{ANGLE, LENGTH};
use super::yaml::{MapEntry, Value, YamlNode};

/// The index of the element called `name`, or a problem at `place`; without any names the circuit itself is the problem.
pub fn index_of(
    name: &str,
    names: &[String],
    key: &str,
    place: Place,
    report: &Report,
) -> Option<usize> {
    let found = names.iter().position(|known| known == name);
    if found.is_none() && !names.is_empty() {
        let what = format!("there is no element called `{name}`");
        report.add(
            Some(place),
            key,
            what,
            did_you_mean(name, names.iter().map(String::as_str)),
        );
    }
    found
}

/// What an element is, and where its ways out lead, as far as either could be read.
pub type Parts = (Option<Kind>, Option<Vec<Exit>>);

/// Reads all elements; `None` where there are none or too many.
pub fn elements(circuit: &Fields, names: &[String], report: &Report) -> Option<Vec<Parts>> {
    let help = match names.len() {
        0 => "write its elements below it, as in `start-ramp: { ramp: { length: 400 mm, slope: 4 deg }, to: lift }`"
            .to_owned(),
        1..=limits::ELEMENTS => return Some(circuit.entries().iter().map(|e| element(e, names, report)).collect()),
        _ => format!("a circuit can have up to {} elements", limits::ELEMENTS),
    };
    report.add(
        Some(circuit.place),
        "circuit",
        format!("the circuit has {} elements", names.len()),
        help,
    );
    None
}

fn element(entry: &MapEntry, names: &[String], report: &Report) -> Parts {
    let path = format!("circuit.{}", entry.key);
    name_is_fit(entry, &path, report);
    let Some(mut of) = Fields::open(&entry.node, entry.key_place, &path, report) else {
        return (None, None);
    };
    let to = exits(&mut of, names);
    let kind = kind_key(&of, &entry.key).and_then(|name| {
        let mut dimensions = of.map(name)?;
        let kind = kind::read(name, &mut dimensions);
        dimensions.finish();
        kind
    });
    of.note_missing();
    (kind, to)
}

/// The one key of an element that says what it is.
fn kind_key(of: &Fields, name: &str) -> Option<&'static str> {
    let (kinds, others): (Vec<&MapEntry>, Vec<&MapEntry>) = of
        .entries()
        .iter()
        .filter(|entry| entry.key != "to")
        .partition(|entry| KINDS.contains(&entry.key.as_str()));
    let to_is_misspelt = of.misspelt("to");
    let (misspelt, others): (Vec<&MapEntry>, Vec<&MapEntry>) = others
        .into_iter()
        .partition(|entry| to_is_misspelt && nearest(&entry.key, ["to"]).is_some());
    for stray in misspelt {
        let what = format!("`{name}` does not know a key `{}`", stray.key);
        of.report().add(
            Some(stray.key_place),
            &of.path_of(&stray.key),
            what,
            did_you_mean(&stray.key, ["to"]),
        );
    }
    match kinds.as_slice() {
        [] => no_kind(of, name, &others),
        [kind] => {
            for stray in others {
                let what = format!("`{}` stands beside `{}`, not in it", stray.key, kind.key);
                let help = format!(
                    "move it into the braces of `{}`, or indent it below",
                    kind.key
                );
                of.report()
                    .add(Some(stray.key_place), &of.path_of(&stray.key), what, help);
            }
        }
        [first, second, ..] => {
            let what = format!(
                "`{name}` is two things at once, a `{}` and a `{}`",
                first.key, second.key
            );
            let help = "make two elements of it, each with its own name and `to`";
            of.report()
                .add(Some(second.key_place), &of.path, what, help);
        }
    }
    KINDS
        .into_iter()
        .find(|kind| matches!(kinds.as_slice(), [only] if only.key == *kind))
}

fn no_kind(of: &Fields, name: &str, others: &[&MapEntry]) {
    match others.first() {
        Some(typed) => {
            let what = format!("`{}` is not a kind of element", typed.key);
            of.report().add(
                Some(typed.key_place),
                &of.path_of(&typed.key),
                what,
                nearest_kind(&typed.key, &KINDS),
            );
        }
        None => {
            let help = format!(
                "add one of {}",
                KINDS.map(|kind| format!("`{kind}`")).join(", ")
            );
            of.report().add(
                Some(of.place),
                &of.path,
                format!("`{name}` does not say what it is"),
                help,
            );
        }
    }
}

/// Names stand in dotted keys, tables and file names: they are kept to what reads well in all of them.
fn name_is_fit(entry: &MapEntry, path: &str, report: &Report) {
    let name = entry.key.as_str();
    let wrong = |what: String, help: &str| report.add(Some(entry.key_place), path, what, help);
    let fits = |c: char| c.is_alphanumeric() || "-_ ".contains(c);
    if name == "none" {
        wrong(
            "an element cannot be called `none`".to_owned(),
            "`to: none` already means a dead end: name it otherwise",
        );
    } else if name.trim().is_empty() || name.trim() != name {
        wrong(
            "an element's name is empty or begins or ends with a space".to_owned(),
            "write a name, as in `start-ramp`",
        );
    } else if name.chars().count() > limits::NAME {
        wrong(
            format!("an element's name is longer than {} letters", limits::NAME),
            "give it a shorter name",
        );
    } else if let Some(odd) = name.chars().find(|&c| !fits(c)) {
        let what = format!("the name `{name}` has `{odd}` in it");
        wrong(
            what,
            "make names of letters, digits, hyphens and spaces, as in `start-ramp`",
        );
    }
}

fn exits(of: &mut Fields, names: &[String]) -> Option<Vec<Exit>> {
    let node = of.get("to");
    let node = of.required(
        "to",
        "floor` with the name of the next element, or `to: none",
        node,
    )?;
    let path = of.path_of("to");
    match &node.value {
        // Where an element bears this name, which is refused, it is anybody's guess what is meant.
        Value::Text(word) if word == "none" => {
            Some(Vec::new()).filter(|_| names.iter().all(|name| name != "none"))
        }
        Value::List(items) if items.is_empty() || items.len() > limits::WAYS => {
            let what = format!("`to` names {} ways out", items.len());
            let help = format!(
                "name 1 to {} elements, or write `to: none` for a dead end",
                limits::WAYS
            );
            of.wrong("to", node, what, help);
            None
        }
        Value::List(items) => {
            let all: Vec<_> = items
                .iter()
                .map(|item| exit(item, names, &path, of.report()))
                .collect();
            all.into_iter().collect()
        }
        _ => exit(node, names, &path, of.report()).map(|exit| vec![exit]),
    }
}

fn exit(node: &YamlNode, names: &[String], path: &str, report: &Report) -> Option<Exit> {
    match &node.value {
        Value::Text(name) => {
            index_of(name, names, path, node.place, report).map(|to| Exit { to, landing: None })
        }
        Value::Map(entries) if entries.len() == 1 => {
            let entry = &entries[0];
            let landing = landing(entry, &format!("{path}.{}", entry.key), report);
            let to = index_of(&entry.key, names, path, entry.key_place, report)?;
            Some(Exit {
                to,
                landing: Some(landing?),
            })
        }
        other => {
            let what = format!(
                "a way out is {}, where the name of an element is due",
                other.kind()
            );
            let help = "write its name (in quotes if it is a number), or a floor and a spot, `{ floor: { at: [150 mm, 300 mm] } }`";
            report.add(Some(node.place), path, what, help);
            None
        }
    }
}

fn landing(entry: &MapEntry, path: &str, report: &Report) -> Option<Landing> {
    let mut of = Fields::open(&entry.node, entry.key_place, path, report)?;
    let landing = of.landing();
    of.finish();
    landing
}

/// What may be said of the spot where marbles land, as its reader asks for it.
pub fn landing_outline() -> Group {
    let report = Report::default();
    let mut of = Fields::outline(&report);
    of.landing();
    of.into_group()
}

impl Fields<'_> {
    fn landing(&mut self) -> Option<Landing> {
        let spread_m = self.quantity("spread", &LENGTH, 0.0..=2.0).unwrap_or(0.02);
        let heading_rad = self.quantity("heading", &ANGLE, -PI..=TAU);
        self.note("at", || Shape::Shared("spot"));
        let at = self.get("at");
        let at = self.required("at", "[150 mm, 300 mm]", at);
        let (x_m, y_m) = at.and_then(|node| self.spot(node))?;
        Some(Landing {
            x_m,
            y_m,
            spread_m,
            heading_rad: heading_rad.unwrap_or(Landing::AWAY_RAD),
        })
    }

    fn spot(&self, node: &YamlNode) -> Option<(f64, f64)> {
        let reach = -limits::LONGEST_LENGTH_M..=limits::LONGEST_LENGTH_M;
        if let Value::List(items) = &node.value
            && let [across, along] = items.as_slice()
        {
            let across = self.quantity_at("at", across, &LENGTH, &reach);
            return across.zip(self.quantity_at("at", along, &LENGTH, &reach));
        }
        let help = "write how far from the left edge and how far from the back edge, as in `at: [150 mm, 300 mm]`";
        self.wrong("at", node, "`at` is not a pair of lengths", help);
        None
    }
}
