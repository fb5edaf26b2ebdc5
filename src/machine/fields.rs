//! Typed access to a map of the file: every key read is remembered, every problem goes to the report.
//!
//! A value that is missing or wrong reads as `None` after the problem has been noted, so that reading goes on and
//! all problems are found; whoever turns the parts into a machine does so only when the report is empty.

use super::outline::{Group, Noted, Shape};
use super::problem::{Place, Report};
use super::suggest::{did_you_mean, nearest};
use super::units;
use super::yaml::{MapEntry, Value, YamlNode};

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
        if let Some(noted) = &self.noted {
            let mut noted = noted.borrow_mut();
            if noted.ways.is_empty() {
                noted.ways = ways.iter().map(|way| way.to_vec()).collect();
            }
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
        below(&self.path, key)
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
        let mut known = self.asked.clone();
        known.retain(|key| !self.entries.iter().any(|entry| entry.key == *key));
        self.unknown()
            .any(|entry| nearest(&entry.key, known.iter().copied()) == Some(key))
    }

    /// The key that is really what stands behind a decimal comma: in `{ speed: 5,5 rpm }` the comma ends the value of `speed`.
    pub(super) fn decimals_after(&self, key: &str) -> Option<&'t MapEntry> {
        let at = self.entries.iter().position(|entry| entry.key == key)?;
        let next = self.entries.get(at + 1)?;
        let decimals =
            next.key.starts_with(|c: char| c.is_ascii_digit()) && next.node.value == Value::Null;
        let number = matches!(self.entries[at].node.value, Value::Number(_));
        Some(next).filter(|_| decimals && number)
    }

    fn unknown(&self) -> impl Iterator<Item = &'t MapEntry> {
        self.entries
            .iter()
            .filter(|entry| !self.asked.contains(&entry.key.as_str()))
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
        let entry = self.entries.iter().find(|entry| entry.key == key)?;
        Fields::open(node, entry.key_place, &self.path_of(key), self.report)
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

/// The dotted path of a key in the map at `path`.
pub fn below(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
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
