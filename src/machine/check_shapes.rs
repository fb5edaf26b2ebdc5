//! Dimensions that do not go together, or not with the marbles: what an element's kind is given to find them.

use super::check::Check;
use super::description::Description;
use super::kind::each_kind;
use super::model::{Element, Machine};
use super::units::LENGTH;

impl Check<'_> {
    /// Dimensions mean nothing without the size of the marbles.
    pub fn marbles(&self) {
        let marbles = &self.machine.marbles;
        if marbles.diameter_m.is_some()
            || self.written("marbles.diameter")
            || !self.written("marbles.count")
        {
            return;
        }
        let mut names = self
            .machine
            .elements
            .iter()
            .filter(|e| each_kind!(&e.kind, of => of.has_dimensions()))
            .map(|e| &e.name);
        if let Some(first) = names.next() {
            let others = match names.count() {
                0 => String::new(),
                1 => " and one more element".to_owned(),
                n => format!(" and {n} more elements"),
            };
            let what = format!(
                "the dimensions of `{first}`{others} mean nothing without the size of the marbles"
            );
            self.wrong(
                "marbles.diameter",
                what,
                "add `diameter: 16 mm` to `marbles`",
            );
        }
    }

    /// Whether the dimensions of one element go together, and with the marbles.
    pub fn dimensions(&self, element: &Element) {
        let at = ElementCheck {
            check: self,
            base: format!("circuit.{}.{}", element.name, element.kind.name()),
            ways: element.to.len(),
            diameter_m: self.machine.marbles.diameter_m,
        };
        each_kind!(&element.kind, of => of.check(&at));
    }
}

/// One element while its dimensions are checked.
pub struct ElementCheck<'c> {
    check: &'c Check<'c>,
    /// The key of its dimensions.
    base: String,
    /// How many ways lead out of it.
    pub ways: usize,
    /// Diameter of the marbles, metres; `None` where it is not known.
    pub diameter_m: Option<f64>,
}

impl ElementCheck<'_> {
    /// The machine it is part of.
    pub fn machine(&self) -> &Machine {
        self.check.machine
    }

    /// Notes a problem with one of its keys.
    pub fn wrong(&self, key: &str, what: impl Into<String>, help: impl Into<String>) {
        self.check
            .wrong(&format!("{}.{key}", self.base), what, help);
    }

    /// Notes that a marble does not pass an opening, where it does not.
    pub fn passes(&self, key: &str, opening: &str, opening_m: f64) {
        let Some(diameter_m) = self.diameter_m else {
            return;
        };
        if opening_m <= diameter_m {
            let (marble, wide) = (LENGTH.show(diameter_m), LENGTH.show(opening_m));
            let what = format!("a {marble} marble does not pass a {opening} of {wide}");
            let help = format!("make it {} or wider", LENGTH.show(diameter_m * 1.1));
            self.wrong(key, what, help);
        }
    }
}
