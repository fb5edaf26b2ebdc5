//! The values that a map of the file may hold: quantities, numbers, words, and lists of them.

use std::ops::RangeInclusive;

use super::fields::Fields;
use super::outline::Shape;
use super::suggest::did_you_mean;
use super::units::{self, LENGTH, Misread, QuantityKind, System, system_of};
use super::yaml::{Value, YamlNode};

/// An inch in metres.
const INCH_M: f64 = 0.0254;

impl<'t> Fields<'t> {
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
        self.note(key, || Shape::Choice(names(choices).collect()));
        let word = self.text(key)?;
        let found = choices.iter().find(|(name, _)| *name == word);
        if found.is_none() {
            let node = self.get(key)?;
            let help = did_you_mean(word, names(choices));
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
        self.note(key, || Shape::Choices(names(choices).collect()));
        let node = self.get(key)?;
        let Value::List(items) = &node.value else {
            let example = names(choices).next().unwrap_or_default();
            let help = format!("write it as a list, as in `{key}: [{example}]`");
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
        let (what, help) = match &item.value {
            Value::Text(word) => match choices.iter().find(|(name, _)| name == word) {
                Some(&(_, value)) => return Some(value),
                None => (
                    format!("`{key}` has `{word}`, which is none of the words known here"),
                    did_you_mean(word, names(choices)),
                ),
            },
            other => (
                format!("`{key}` has {} in it, where a word is due", other.kind()),
                did_you_mean("", names(choices)),
            ),
        };
        self.wrong(key, item, what, help);
        None
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
}

fn names<'c, T>(
    choices: &'c [(&'static str, T)],
) -> impl Iterator<Item = &'static str> + Clone + 'c {
    choices.iter().map(|(name, _)| *name)
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
