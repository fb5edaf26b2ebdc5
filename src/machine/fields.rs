//! Typed access to a map of the file: every key read is remembered, every problem goes to the report.
//!
//! A value that is missing or wrong reads as `None` after the problem has been noted, so that reading goes on and
//! all problems are found; whoever turns the parts into a machine does so only when the report is empty.

use std::ops::RangeInclusive;

use super::outline::{Group, Noted, Shape};
use super::problem::{Place, Report};
use super::suggest::{did_you_mean, nearest};
use super::units::{self, LENGTH, Misread, QuantityKind, System, system_of};
use super::yaml::{MapEntry, Value, YamlNode};

/// An inch in metres.
const INCH_M: f64 = 0.0254;

/// One map of the file while it is being read.
pub struct Fields<'t> {
    entries: &'t [MapEntry],
    /// Where the map stands: its key, or its own place where it has none.
    pub place: Place,
    /// Its dotted path.
    pub path: String,
    asked: Vec<&'static str>,
    missing: Vec<(&'static str, String)>,
    report: &'t Report,
    noted: Option<Noted>,
}

impl<'t> Fields<'t> {
    /// Opens `node`, named by the key at `place`, as a map; nothing written counts as an empty map.
    pub fn open(node: &'t YamlNode, place: Place, path: &str, report: &'t Report) -> Option<Self> {
        let entries: &[MapEntry] = match &node.value {
            Value::Map(entries) => entries,
            Value::Null => &[],
            other => {
                let what = format!(
                    "{} is {}, where keys and values are due",
                    called(path),
                    other.kind()
                );
                let help = match last(path) {
                    "" => {
                        "write `format: 1`, and below it `marbles`, `drive`, `start` and `circuit`"
                            .to_owned()
                    }
                    name => format!(
                        "write `{name}: {{ key: value }}`, or the keys indented on the lines below it"
                    ),
                };
                report.add(Some(node.place), path, what, help);
                return None;
            }
        };
        let path = path.to_owned();
        Some(Fields {
            entries,
            place,
            path,
            asked: Vec::new(),
            missing: Vec::new(),
            report,
            noted: None,
        })
    }

    /// A map with nothing in it, whose reader's questions are noted; problems found in it mean nothing.
    pub fn outline(report: &'t Report) -> Self {
        let (asked, missing) = (Vec::new(), Vec::new());
        let (place, path) = (Place::Setting(0), String::new());
        Fields {
            entries: &[],
            place,
            path,
            asked,
            missing,
            report,
            noted: Some(Noted::default()),
        }
    }

    /// Whether questions are noted and nothing is there to read.
    pub fn outlining(&self) -> bool {
        self.noted.is_some()
    }

    /// Notes what may stand at `key`, where questions are noted.
    pub fn note(&self, key: &'static str, shape: impl FnOnce() -> Shape) {
        if let Some(noted) = &self.noted {
            noted.borrow_mut().note(key, shape());
        }
    }

    /// Notes that this map can be written in several ways, each with the keys it needs; what was noted first holds.
    pub fn ways(&self, ways: &[&[&'static str]]) {
        if let Some(mut noted) = self
            .noted
            .as_ref()
            .map(|noted| noted.borrow_mut())
            .filter(|n| n.ways.is_empty())
        {
            noted.ways = ways.iter().map(|way| way.to_vec()).collect();
        }
    }

    /// Notes that none of these keys stands without all the others.
    pub fn together(&self, keys: &[&'static str]) {
        if let Some(noted) = &self.noted {
            noted.borrow_mut().together = keys.to_vec();
        }
    }

    /// What was noted.
    pub fn into_group(self) -> Group {
        self.noted
            .map(|noted| noted.borrow().clone())
            .unwrap_or_default()
    }

    /// The report that problems of this map go to.
    pub fn report(&self) -> &'t Report {
        self.report
    }

    /// The path of a key in this map.
    pub fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// All keys and values of this map.
    pub fn entries(&self) -> &'t [MapEntry] {
        self.entries
    }

    /// The value of `key`, if it is there.
    pub fn get(&mut self, key: &'static str) -> Option<&'t YamlNode> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        self.entries
            .iter()
            .find(|entry| entry.key == key)
            .map(|entry| &entry.node)
    }

    /// Notes a problem with the value of `key`.
    pub fn wrong(
        &self,
        key: &str,
        node: &YamlNode,
        what: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.report
            .add(Some(node.place), &self.path_of(key), what, help);
    }

    /// Notes that `key` is missing when `value` is `None` and the key was not written.
    pub fn required<T>(&mut self, key: &'static str, example: &str, value: Option<T>) -> Option<T> {
        if let Some(noted) = &self.noted {
            noted.borrow_mut().require(key);
        }
        if value.is_none() && self.get(key).is_none() {
            self.missing.push((key, example.to_owned()));
        }
        value
    }

    /// Whether a key that nobody asked for is most likely `key` misspelt.
    pub fn misspelt(&self, key: &str) -> bool {
        let written = |key: &str| self.entries.iter().any(|entry| entry.key == key);
        let known: Vec<&str> = self
            .asked
            .iter()
            .copied()
            .filter(|key| !written(key))
            .collect();
        self.unknown()
            .any(|entry| nearest(&entry.key, known.iter().copied()) == Some(key))
    }

    /// The key that is really what stands behind a decimal comma: in `{ speed: 5,5 rpm }` the comma ends the value of `speed`.
    fn decimals_after(&self, key: &str) -> Option<&'t MapEntry> {
        let at = self.entries.iter().position(|entry| entry.key == key)?;
        let next = self.entries.get(at + 1)?;
        let decimals =
            next.key.starts_with(|c: char| c.is_ascii_digit()) && next.node.value == Value::Null;
        (decimals && matches!(self.entries[at].node.value, Value::Number(_))).then_some(next)
    }

    fn unknown(&self) -> impl Iterator<Item = &'t MapEntry> {
        self.entries
            .iter()
            .filter(|entry| !self.asked.contains(&entry.key.as_str()))
    }

    /// A quantity with its unit, in SI, within `range`.
    pub fn quantity(
        &mut self,
        key: &'static str,
        of: &'static QuantityKind,
        range: RangeInclusive<f64>,
    ) -> Option<f64> {
        self.note(key, || Shape::Quantity(of, *range.start(), *range.end()));
        let node = self.get(key)?;
        self.quantity_at(key, node, of, &range)
    }

    /// The quantity that `node` is, for one item of the list at `key`.
    pub fn quantity_at(
        &self,
        key: &str,
        node: &YamlNode,
        of: &QuantityKind,
        range: &RangeInclusive<f64>,
    ) -> Option<f64> {
        let value = self.read_quantity(key, node, of)?;
        match &node.value {
            // Whoever measures in inches is answered in inches.
            Value::Text(text) if of.name == LENGTH.name && system_of(text) == System::Inches => {
                self.within(key, node, value, range, &|x| {
                    format!("{} in", units::plain(x / INCH_M))
                })
            }
            _ => self.within(key, node, value, range, &|x| of.show(x)),
        }
    }

    fn read_quantity(&self, key: &str, node: &YamlNode, of: &QuantityKind) -> Option<f64> {
        let (text, bare) = match &node.value {
            Value::Number(n) => (units::plain(*n), true),
            Value::Text(text) => (text.clone(), false),
            other => {
                let what = format!("`{key}` is {}, where {} is due", other.kind(), of.one());
                self.wrong(key, node, what, format!("write it as {}", of.examples));
                return None;
            }
        };
        match if bare {
            Err(Misread::Bare)
        } else {
            units::quantity(&text, of)
        } {
            Ok(value) => Some(value),
            // What stands behind the comma is reported as a stray key.
            Err(_) if bare && self.decimals_after(key).is_some() => None,
            Err(misread) => {
                let (what, help) = misread_quantity(&format!("{key}: {text}"), misread, of);
                self.wrong(key, node, what, help);
                None
            }
        }
    }

    /// A number without unit within `range`.
    pub fn number(&mut self, key: &'static str, range: RangeInclusive<f64>) -> Option<f64> {
        self.note(key, || Shape::Number(*range.start(), *range.end()));
        let node = self.get(key)?;
        let value = match &node.value {
            Value::Number(value) => Some(*value),
            Value::Text(text) => units::number(text),
            _ => None,
        };
        let Some(value) = value.filter(|x| x.is_finite()) else {
            self.not_a_number(key, node);
            return None;
        };
        self.within(key, node, value, &range, &units::plain)
    }

    fn not_a_number(&self, key: &str, node: &YamlNode) {
        let what = match &node.value {
            Value::Text(text) => format!("`{key}: {text}` is not a plain number"),
            Value::Number(_) => format!("`{key}` is not a finite number"),
            other => format!("`{key}` is {}, where a plain number is due", other.kind()),
        };
        let help = match &node.value {
            Value::Text(text) if text.trim_end().ends_with('%') => {
                "write the share as a number, `0.9` for 90 %"
            }
            _ => "write digits only, without a unit",
        };
        self.wrong(key, node, what, help);
    }

    /// A whole number within `range`.
    pub fn count(&mut self, key: &'static str, range: RangeInclusive<u32>) -> Option<u32> {
        let (low, high) = (f64::from(*range.start()), f64::from(*range.end()));
        self.note(key, || Shape::Count(low, high));
        let value = self.number(key, low..=high)?;
        if value.fract() != 0.0 {
            let node = self.get(key)?;
            let help = format!(
                "write `{key}: {}` or `{key}: {}`",
                value.floor(),
                value.ceil()
            );
            self.wrong(
                key,
                node,
                format!("`{key}: {value}` is not a whole number"),
                help,
            );
            return None;
        }
        Some(value as u32)
    }

    fn within(
        &self,
        key: &str,
        node: &YamlNode,
        value: f64,
        range: &RangeInclusive<f64>,
        show: &dyn Fn(f64) -> String,
    ) -> Option<f64> {
        if range.contains(&value) {
            return Some(value);
        }
        // A bound as it is printed is rounded: what reads the same is meant to be within.
        let bound = value.clamp(*range.start(), *range.end());
        if value.is_finite() && show(value) == show(bound) {
            return Some(bound);
        }
        let side = match value {
            _ if value < 0.0 && *range.start() >= 0.0 => "negative",
            _ if value < *range.start() => "too small",
            _ => "too large",
        };
        let what = format!("`{key}` is {side}: {}", show(value));
        let help = format!(
            "it can be from {} to {}",
            show(*range.start()),
            show(*range.end())
        );
        self.wrong(key, node, what, help);
        None
    }

    /// A word or other text.
    pub fn text(&mut self, key: &'static str) -> Option<&'t str> {
        self.note(key, || Shape::Text);
        let node = self.get(key)?;
        match &node.value {
            Value::Text(text) => Some(text),
            other => {
                let what = format!("`{key}` is {}, where a word or a name is due", other.kind());
                self.wrong(
                    key,
                    node,
                    what,
                    format!("write words after `{key}:`, a number in quotes"),
                );
                None
            }
        }
    }

    /// One of a few words, each standing for a value.
    pub fn choice<T: Copy>(
        &mut self,
        key: &'static str,
        choices: &[(&'static str, T)],
    ) -> Option<T> {
        self.note(key, || {
            Shape::Choice(choices.iter().map(|(name, _)| *name).collect())
        });
        let word = self.text(key)?;
        let found = choices.iter().find(|(name, _)| *name == word);
        if found.is_none() {
            let node = self.get(key)?;
            let help = did_you_mean(word, choices.iter().map(|(name, _)| *name));
            self.wrong(
                key,
                node,
                format!("`{key}: {word}` is none of the words known here"),
                help,
            );
        }
        found.map(|&(_, value)| value)
    }

    /// A list of such words.
    pub fn choices<T: Copy>(
        &mut self,
        key: &'static str,
        choices: &[(&'static str, T)],
    ) -> Option<Vec<T>> {
        self.note(key, || {
            Shape::Choices(choices.iter().map(|(name, _)| *name).collect())
        });
        let node = self.get(key)?;
        let Value::List(items) = &node.value else {
            let help = format!(
                "write it as a list, as in `{key}: [{}]`",
                choices.first().map_or("", |(name, _)| *name)
            );
            self.wrong(
                key,
                node,
                format!(
                    "`{key}` is {}, where a list of words is due",
                    node.value.kind()
                ),
                help,
            );
            return None;
        };
        let all: Vec<_> = items
            .iter()
            .map(|item| self.one_of(key, item, choices))
            .collect();
        all.into_iter().collect()
    }

    fn one_of<T: Copy>(
        &self,
        key: &str,
        item: &YamlNode,
        choices: &[(&'static str, T)],
    ) -> Option<T> {
        let names = || choices.iter().map(|(name, _)| *name);
        let (what, help) = match &item.value {
            Value::Text(word) => match choices.iter().find(|(name, _)| name == word) {
                Some(&(_, value)) => return Some(value),
                None => (
                    format!("`{key}` has `{word}`, which is none of the words known here"),
                    did_you_mean(word, names()),
                ),
            },
            other => (
                format!("`{key}` has {} in it, where a word is due", other.kind()),
                did_you_mean("", names()),
            ),
        };
        self.wrong(key, item, what, help);
        None
    }

    /// A map inside this one.
    pub fn map(&mut self, key: &'static str) -> Option<Fields<'t>> {
        if self.outlining() {
            let inside = Fields::outline(self.report);
            self.note(key, || {
                Shape::Group(inside.noted.clone().unwrap_or_default())
            });
            return Some(inside);
        }
        let node = self.get(key)?;
        let place = self
            .entries
            .iter()
            .find(|entry| entry.key == key)
            .map_or(node.place, |entry| entry.key_place);
        Fields::open(node, place, &self.path_of(key), self.report)
    }

    /// A list of numbers, each within `range`.
    pub fn numbers(&mut self, key: &'static str, range: RangeInclusive<f64>) -> Option<Vec<f64>> {
        self.note(key, || Shape::Numbers(*range.start(), *range.end()));
        let node = self.get(key)?;
        let Value::List(items) = &node.value else {
            self.wrong(
                key,
                node,
                format!("`{key}` is not a list"),
                "write a list of numbers, as in `[1, 1, 2]`",
            );
            return None;
        };
        let all: Vec<_> = items
            .iter()
            .map(|item| self.item(key, item, &range))
            .collect();
        all.into_iter().collect()
    }

    fn item(&self, key: &str, item: &YamlNode, range: &RangeInclusive<f64>) -> Option<f64> {
        let what = match &item.value {
            Value::Number(x) if range.contains(x) => return Some(*x),
            Value::Number(x) => format!("`{key}` has {}, which is out of bounds", units::plain(*x)),
            Value::Text(text) => format!("`{key}` has `{text}`, which is not a plain number"),
            other => format!("`{key}` has {} in it, where a number is due", other.kind()),
        };
        let help = format!(
            "each can be from {} to {}, as in `{key}: [1, 2]`",
            range.start(),
            range.end()
        );
        self.wrong(key, item, what, help);
        None
    }

    /// Notes every key that is missing and not merely misspelt.
    pub fn note_missing(&self) {
        for (key, example) in self.missing.iter().filter(|(key, _)| !self.misspelt(key)) {
            let what = format!("`{key}` is missing from {}", called(&self.path));
            self.report.add(
                Some(self.place),
                &self.path_of(key),
                what,
                format!("add `{key}: {example}`"),
            );
        }
    }

    /// Notes every key that is missing and every one that nobody asked for.
    pub fn finish(self) {
        self.note_missing();
        for entry in self.unknown() {
            let before = self
                .entries
                .iter()
                .find(|before| self.decimals_after(&before.key) == Some(entry));
            if let Some((before, Value::Number(whole))) =
                before.map(|before| (before, &before.node.value))
            {
                let (whole, decimals) = (units::plain(*whole), &entry.key);
                let what = format!(
                    "`{}: {whole},{decimals}` has a comma in its number",
                    before.key
                );
                let help = format!(
                    "write decimals with a point, as in `{}: {whole}.{decimals}`",
                    before.key
                );
                self.report.add(
                    Some(entry.key_place),
                    &self.path_of(&before.key),
                    what,
                    help,
                );
                continue;
            }
            let what = format!("{} does not know a key `{}`", called(&self.path), entry.key);
            let help = match entry.key.as_str() {
                "<<" => "write the keys out: merging them in from elsewhere is not known here"
                    .to_owned(),
                key => did_you_mean(key, self.asked.iter().copied()),
            };
            self.report
                .add(Some(entry.key_place), &self.path_of(&entry.key), what, help);
        }
    }
}

/// What is wrong with the quantity `typed`, and how to fix it.
fn misread_quantity(typed: &str, misread: Misread, of: &QuantityKind) -> (String, String) {
    let examples = of.examples;
    match misread {
        Misread::Bare => (
            format!("`{typed}` has no unit, and {} needs one", of.one()),
            format!("write the unit, as in {examples}"),
        ),
        Misread::Unit => (
            format!("`{typed}` does not have a unit of {}", of.name),
            format!(
                "write it as {examples}; units known here: {}",
                of.unit_names()
            ),
        ),
        Misread::Comma => (
            format!("`{typed}` has a comma in its number"),
            "write decimals with a point, as in `1.5`".to_owned(),
        ),
        Misread::Number => (
            format!("`{typed}` is not {}", of.one()),
            format!("write a number and its unit, as in {examples}"),
        ),
    }
}

/// The last part of a dotted path; nothing for the file itself.
fn last(path: &str) -> &str {
    path.rsplit('.').next().unwrap_or_default()
}

/// What a message calls the map at `path`.
pub fn called(path: &str) -> String {
    match last(path) {
        "" => "the machine file".to_owned(),
        name => format!("`{name}`"),
    }
}
