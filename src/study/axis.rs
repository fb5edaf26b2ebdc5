//! A key of the machine file and the values that a search or one side of a map gives it, `KEY=FROM..TO/STEP`.

use std::ops::RangeInclusive;

use serde::{Deserialize, Serialize};

use crate::machine::Setting;
use crate::machine::units::{number, plain};

/// Most values of one key that can be typed.
pub const VALUES: usize = 500;
/// Shows how a range is written.
const SHAPE: &str =
    "write it as KEY=FROM..TO/STEP, as in marbles=5..80/5 or circuit.lift.bore=16mm..24mm/1mm";

/// A key and its values, the low ones first.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Axis {
    /// The dotted key.
    pub key: String,
    /// The lowest value, in `unit`.
    pub from: f64,
    /// From one value to the next.
    pub step: f64,
    /// Number of values.
    pub count: usize,
    /// The unit as it was typed; empty where the key takes a bare number.
    pub unit: String,
}

impl Axis {
    /// The axis of a key that takes bare numbers.
    pub fn plain(key: &str, from: f64, step: f64, count: usize) -> Self {
        Axis {
            key: key.to_owned(),
            from,
            step,
            count,
            unit: String::new(),
        }
    }

    /// Every load of a range.
    pub fn loads(range: RangeInclusive<u32>) -> Self {
        let count = range.end().saturating_sub(*range.start()) as usize + 1;
        Axis::plain("marbles", f64::from(*range.start()), 1.0, count)
    }

    /// Reads `KEY=FROM..TO/STEP`; a unit may stand behind any of the three numbers, and is the same for all. The step of the
    /// load may be left out: it is one marble.
    ///
    /// # Errors
    /// What is wrong, in one sentence.
    pub fn parse(text: &str) -> Result<Self, String> {
        let (key, range) = text.split_once('=').ok_or(SHAPE)?;
        let (from, rest) = range.split_once("..").ok_or(SHAPE)?;
        let every_load = format!("{rest}/1");
        let rest = if names_load(key.trim()) && !rest.contains('/') {
            &every_load
        } else {
            rest
        };
        // A unit may hold a slash too, but no number stands behind that one.
        let starts_number = |at: &usize| {
            rest[at + 1..]
                .trim_start()
                .starts_with(|c: char| c.is_ascii_digit() || c == '.')
        };
        let slash = rest
            .match_indices('/')
            .map(|(at, _)| at)
            .rfind(starts_number);
        let slash = slash.ok_or(if rest.contains('/') {
            "the step is a number above 0"
        } else {
            SHAPE
        })?;
        let [from, to, step] = [from, &rest[..slash], &rest[slash + 1..]].map(amount);
        let ((from, unit_a), (to, unit_b), (step, unit_c)) = (from?, to?, step?);
        let unit = [unit_a, unit_b, unit_c]
            .into_iter()
            .find(|unit| !unit.is_empty())
            .unwrap_or_default();
        if [unit_a, unit_b, unit_c]
            .iter()
            .any(|other| !other.is_empty() && *other != unit)
        {
            return Err(format!(
                "write all three numbers in one unit, as in 16{unit}..24{unit}/1{unit}"
            ));
        }
        if key.trim().is_empty() {
            return Err("the key before `=` is missing".to_owned());
        }
        if step <= 0.0 {
            return Err("the step is a number above 0".to_owned());
        }
        if to < from {
            return Err("the range runs from the low value to the high one".to_owned());
        }
        let steps = ((to - from) / step + 1e-9).floor();
        if steps >= VALUES as f64 {
            return Err(format!(
                "these are {} values, and up to {VALUES} can be tried: widen the step",
                steps + 1.0
            ));
        }
        let (key, unit) = (key.trim().to_owned(), unit.to_owned());
        Ok(Axis {
            key,
            from,
            step,
            count: steps as usize + 1,
            unit,
        })
    }

    /// The `n`-th value, without what adding steps leaves behind the ninth decimal.
    pub fn value(&self, n: usize) -> f64 {
        ((self.from + n as f64 * self.step) * 1e9).round() / 1e9
    }

    /// The `n`-th value laid over the file.
    pub fn setting(&self, n: usize) -> Setting {
        let space = if self.unit.is_empty() { "" } else { " " };
        Setting {
            key: self.key.clone(),
            value: format!("{}{space}{}", self.value(n), self.unit),
        }
    }

    /// Whether this is the load.
    pub fn is_load(&self) -> bool {
        names_load(&self.key)
    }

    /// Whether these are all loads of a range.
    pub fn is_every_load(&self) -> bool {
        self.is_load() && self.step == 1.0
    }

    /// The highest value.
    pub fn last(&self) -> f64 {
        self.value(self.count - 1)
    }

    /// Whether this is the speed of the drive.
    pub fn is_speed(&self) -> bool {
        matches!(self.key.as_str(), "rpm" | "drive.speed")
    }

    /// What stands behind a value: `marbles`, `rpm`, `mm`; empty for a bare number.
    pub fn unit_word(&self) -> &str {
        match () {
            () if self.is_load() => "marbles",
            () if self.is_speed() => "rpm",
            () => &self.unit,
        }
    }

    /// What the key is about, in a few words: `load`, `speed`, `bore of lift`.
    pub fn name(&self) -> String {
        if self.is_load() || self.is_speed() {
            return if self.is_load() { "load" } else { "speed" }.to_owned();
        }
        let parts: Vec<&str> = self.key.split('.').collect();
        match parts.as_slice() {
            ["circuit", element, .., last] => format!("{last} of {element}"),
            _ => self.key.clone(),
        }
    }

    /// What heads a list of its values: `rpm`, `bore of lift, mm`.
    pub fn heading(&self) -> String {
        match self.unit_word() {
            unit if self.is_load() || self.is_speed() => unit.to_owned(),
            "" => self.name(),
            unit => format!("{}, {unit}", self.name()),
        }
    }

    /// A value with its unit: `34 marbles`, `7 rpm`, `16 mm`.
    pub fn said(&self, value: f64) -> String {
        match (self.unit_word(), plain(value)) {
            ("", value) => value,
            ("marbles", value) if value == "1" => "1 marble".to_owned(),
            (unit, value) => format!("{value} {unit}"),
        }
    }

    /// From one value to another with their unit: `34 marbles`, `34 to 36 marbles`, `7 to 8.5 rpm`.
    pub fn said_range(&self, range: RangeInclusive<f64>) -> String {
        let (first, last) = range.into_inner();
        if first == last {
            self.said(first)
        } else {
            format!("{} to {}", plain(first), self.said(last))
        }
    }

    /// A value as the place where something holds: `at 7 rpm`, `with 34 marbles`, `with bore of lift 16 mm`.
    pub fn at(&self, value: f64) -> String {
        self.at_range(value..=value)
    }

    /// A range as the place where something holds: `at 7 to 8.5 rpm`, `with bore of lift 16 to 18 mm`.
    pub fn at_range(&self, range: RangeInclusive<f64>) -> String {
        let said = self.said_range(range);
        match () {
            () if self.is_speed() => format!("at {said}"),
            () if self.is_load() => format!("with {said}"),
            () => format!("with {} {said}", self.name()),
        }
    }
}

fn names_load(key: &str) -> bool {
    matches!(key, "marbles" | "marbles.count")
}

/// A number and the unit behind it.
pub fn amount(text: &str) -> Result<(f64, &str), String> {
    let text = text.trim();
    let numeric = |c: char| c.is_ascii_digit() || "+-.".contains(c);
    let (digits, unit) = text.split_at(text.find(|c| !numeric(c)).unwrap_or(text.len()));
    let value = number(digits).ok_or_else(|| format!("`{text}` is no decimal number; {SHAPE}"))?;
    Ok((value, unit.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_read_with_their_units() {
        let axis = Axis::parse("marbles=5..80/5").expect("a range");
        assert_eq!(
            (axis.count, axis.value(15), axis.setting(1).value.as_str()),
            (16, 80.0, "10")
        );
        let axis =
            Axis::parse("circuit.lift.pocket-wheel.bore=16mm..18 mm/0.1mm").expect("a range");
        assert_eq!(
            (axis.count, axis.value(3), axis.setting(3).value.as_str()),
            (21, 16.3, "16.3 mm")
        );
        assert_eq!(axis.at(16.3), "with bore of lift 16.3 mm");
        let axis = Axis::parse("circuit.bowl.entry-speed=0.2..0.6 m/s/0.1").expect("a range");
        assert_eq!((axis.count, axis.setting(4).value.as_str()), (5, "0.6 m/s"));
        assert_eq!(Axis::parse("rpm=4..25/2").expect("a range").value(10), 24.0);
        let loads = Axis::parse("marbles=20..60").expect("a range");
        assert_eq!(loads, Axis::loads(20..=60));
        assert_eq!(loads.at_range(20.0..=22.0), "with 20 to 22 marbles");
    }

    #[test]
    fn what_is_no_range_is_said() {
        for (text, said) in [
            ("marbles", "KEY=FROM..TO/STEP"),
            ("marbles=5", "KEY=FROM..TO/STEP"),
            ("rpm=5..80", "KEY=FROM..TO/STEP"),
            ("marbles=5..80/0", "above 0"),
            ("marbles=5..80/-1", "above 0"),
            ("marbles=80..5/5", "from the low value"),
            ("marbles=a..5/5", "`a` is no decimal number"),
            ("marbles=nan..5/5", "no decimal number"),
            ("x=1mm..2in/1", "in one unit"),
            ("=1..2/1", "key before"),
            ("marbles=1..1000000/1", "up to 500"),
        ] {
            let error = Axis::parse(text).expect_err(text);
            assert!(error.contains(said), "{text}: {error}");
        }
    }

    /// The step stands behind the last slash that a number follows, though it begin with a point.
    #[test]
    fn a_slash_of_a_unit_is_no_step() {
        let axis = Axis::parse("speed=0.5 m/s..2 m/s/.25 m/s").expect("a range");
        assert_eq!((axis.count, axis.setting(6).value.as_str()), (7, "2 m/s"));
        assert_eq!((axis.from, axis.step), (0.5, 0.25));
        let one = Axis::parse("rpm=5..5/1").expect("one value");
        assert_eq!((one.count, one.value(0)), (1, 5.0));
    }
}
