//! Typed access to a map of the file: every key read is remembered, every problem goes to the report.
//!
//! A value that is missing or wrong reads as `None` after the problem has been noted, so that reading goes on and
//! all problems are found; whoever turns the parts into a machine does so only when the report is empty.

use std::ops::RangeInclusive;

use super::problem::{Place, Report};
use super::suggest::did_you_mean;
use super::units::{self, Dimension, Misread};
use super::yaml::{Entry, Node, Value};

/// One map of the file while it is being read.
pub struct Fields<'t> {
    entries: &'t [Entry],
    /// Where the map stands.
    pub place: Place,
    /// Its dotted path.
    pub path: String,
    asked: Vec<&'static str>,
    report: &'t Report,
}

impl<'t> Fields<'t> {
    /// Opens `node` as a map; nothing written counts as an empty map.
    pub fn open(node: &'t Node, path: &str, report: &'t Report) -> Option<Self> {
        let entries: &[Entry] = match &node.value {
            Value::Map(entries) => entries,
            Value::Null => &[],
            other => {
                report.add(
                    Some(node.place),
                    path,
                    format!("`{}` is {}, where a map of keys is due", last(path), other.kind()),
                    "write its keys in braces, `{ key: value }`, or indented on the lines below",
                );
                return None;
            }
        };
        Some(Fields { entries, place: node.place, path: path.to_owned(), asked: Vec::new(), report })
    }

    /// The report that problems of this map go to.
    pub fn report(&self) -> &'t Report {
        self.report
    }

    /// The path of a key in this map.
    pub fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// All keys and values of this map.
    pub fn entries(&self) -> &'t [Entry] {
        self.entries
    }

    /// The value of `key`, if it is there.
    pub fn get(&mut self, key: &'static str) -> Option<&'t Node> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        self.entries.iter().find(|entry| entry.key == key).map(|entry| &entry.node)
    }

    /// Notes a problem with the value of `key`.
    pub fn wrong(&self, key: &str, node: &Node, what: impl Into<String>, mend: impl Into<String>) {
        self.report.add(Some(node.place), &self.path_of(key), what, mend);
    }

    /// Notes that `key` is missing when `value` is `None` and the key was not written.
    pub fn required<T>(&mut self, key: &'static str, example: &str, value: Option<T>) -> Option<T> {
        if value.is_none() && self.get(key).is_none() {
            let what = format!("`{key}` is missing from `{}`", last(&self.path));
            self.report.add(Some(self.place), &self.path_of(key), what, format!("add `{key}: {example}`"));
        }
        value
    }

    /// A quantity with its unit, in SI, within `range`.
    pub fn quantity(&mut self, key: &'static str, of: &Dimension, range: RangeInclusive<f64>) -> Option<f64> {
        let node = self.get(key)?;
        let value = self.read_quantity(key, node, of)?;
        self.within(key, node, value, &range, &|x| show(x, of))
    }

    fn read_quantity(&self, key: &str, node: &Node, of: &Dimension) -> Option<f64> {
        let (text, bare) = match &node.value {
            Value::Number(n) => (n.to_string(), true),
            Value::Text(text) => (text.clone(), false),
            other => {
                let what = format!("`{key}` is {}, where a {} is due", other.kind(), of.name);
                self.wrong(key, node, what, format!("write it as {}", of.examples));
                return None;
            }
        };
        let misread = match if bare { Err(Misread::Bare) } else { units::quantity(&text, of) } {
            Ok(value) => return Some(value),
            Err(misread) => misread,
        };
        let (what, mend) = match misread {
            Misread::Bare => (
                format!("`{key}: {text}` has no unit, and a {} needs one", of.name),
                format!("write the unit, as in {}", of.examples),
            ),
            Misread::Unit => (
                format!("`{key}: {text}` has a unit that is not one of {}", of.name),
                format!("a {} is written {}; units known: {}", of.name, of.examples, of.unit_names()),
            ),
            Misread::Number => (
                format!("`{key}: {text}` is not a {}", of.name),
                format!("write a number and its unit, as in {}", of.examples),
            ),
        };
        self.wrong(key, node, what, mend);
        None
    }

    /// A number without unit within `range`.
    pub fn number(&mut self, key: &'static str, range: RangeInclusive<f64>) -> Option<f64> {
        let node = self.get(key)?;
        let value = match &node.value {
            Value::Number(value) => Some(*value),
            Value::Text(text) => units::number(text),
            _ => None,
        };
        let Some(value) = value.filter(|x| x.is_finite()) else {
            self.wrong(key, node, format!("`{key}` is not a number"), "write a plain number without a unit");
            return None;
        };
        self.within(key, node, value, &range, &|x| format!("{x}"))
    }

    /// A whole number within `range`.
    pub fn count(&mut self, key: &'static str, range: RangeInclusive<u32>) -> Option<u32> {
        let (low, high) = (f64::from(*range.start()), f64::from(*range.end()));
        let value = self.number(key, low..=high)?;
        if value.fract() != 0.0 {
            let node = self.get(key)?;
            self.wrong(key, node, format!("`{key}: {value}` is not a whole number"), "write a whole number");
            return None;
        }
        Some(value as u32)
    }

    fn within(
        &self,
        key: &str,
        node: &Node,
        value: f64,
        range: &RangeInclusive<f64>,
        show: &dyn Fn(f64) -> String,
    ) -> Option<f64> {
        if range.contains(&value) {
            return Some(value);
        }
        let what = if value < 0.0 && *range.start() >= 0.0 {
            format!("`{key}` is negative: {}", show(value))
        } else {
            format!("`{key}` is out of bounds: {}", show(value))
        };
        let mend = format!("it can be from {} to {}", show(*range.start()), show(*range.end()));
        self.wrong(key, node, what, mend);
        None
    }

    /// A word or other text.
    pub fn text(&mut self, key: &'static str) -> Option<&'t str> {
        let node = self.get(key)?;
        match &node.value {
            Value::Text(text) => Some(text),
            other => {
                self.wrong(
                    key,
                    node,
                    format!("`{key}` is {}, where text is due", other.kind()),
                    "write a word, or quote it",
                );
                None
            }
        }
    }

    /// One of a few words, each standing for a value.
    pub fn choice<T: Copy>(&mut self, key: &'static str, choices: &[(&'static str, T)]) -> Option<T> {
        let word = self.text(key)?;
        let found = choices.iter().find(|(name, _)| *name == word);
        if found.is_none() {
            let node = self.get(key)?;
            let mend = did_you_mean(word, choices.iter().map(|(name, _)| *name));
            self.wrong(key, node, format!("`{key}: {word}` is none of the words known here"), mend);
        }
        found.map(|&(_, value)| value)
    }

    /// A map inside this one.
    pub fn map(&mut self, key: &'static str) -> Option<Fields<'t>> {
        let node = self.get(key)?;
        Fields::open(node, &self.path_of(key), self.report)
    }

    /// A list of numbers, each within `range`.
    pub fn numbers(&mut self, key: &'static str, range: RangeInclusive<f64>) -> Option<Vec<f64>> {
        let node = self.get(key)?;
        let Value::List(items) = &node.value else {
            self.wrong(key, node, format!("`{key}` is not a list"), "write a list of numbers, as in `[1, 1, 2]`");
            return None;
        };
        let mut all = Vec::new();
        for item in items {
            match item.value {
                Value::Number(x) if range.contains(&x) => all.push(x),
                _ => {
                    let what =
                        format!("`{key}` has an item that is not a number from {} to {}", range.start(), range.end());
                    self.wrong(key, item, what, "write plain numbers, as in `[1, 1, 2]`");
                    return None;
                }
            }
        }
        Some(all)
    }

    /// Notes every key that nobody asked for.
    pub fn finish(self) {
        for entry in self.entries.iter().filter(|entry| !self.asked.contains(&entry.key.as_str())) {
            let what = format!("`{}` does not know a key `{}`", last(&self.path), entry.key);
            let mend = did_you_mean(&entry.key, self.asked.iter().copied());
            self.report.add(Some(entry.key_place), &self.path_of(&entry.key), what, mend);
        }
    }
}

/// The last part of a dotted path, or the file itself.
pub fn last(path: &str) -> &str {
    match path.rsplit('.').next() {
        None | Some("") => "the machine file",
        Some(name) => name,
    }
}

/// An SI number in the unit a workshop uses.
pub fn show(value: f64, of: &Dimension) -> String {
    let (scale, unit) = of.shown;
    let x = value / scale;
    let rounded = (x * 1000.0).round() / 1000.0;
    format!("{rounded} {unit}")
}
