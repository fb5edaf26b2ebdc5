//! YAML text to a tree whose every value knows its place: the only file that knows YAML.
//!
//! `serde_yaml` gives the values (and with them YAML's rules for scalars, anchors and duplicate keys);
//! it loses the places, so a second reading by `saphyr-parser` supplies those, and the two are laid over each other.

use saphyr_parser::{Event, Parser, Span};

use super::limits;
use super::problem::{Place, Problem};

/// A value and where it was written.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// The value.
    pub value: Value,
    /// Its place.
    pub place: Place,
}

/// A YAML value.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Nothing written.
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A number without a unit.
    Number(f64),
    /// Any other scalar.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// A map, in the order of the file.
    Map(Vec<Entry>),
}

/// One key and value of a map.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The key.
    pub key: String,
    /// The place of the key itself.
    pub key_place: Place,
    /// Its value.
    pub node: Node,
}

impl Value {
    /// What a message calls this kind of value.
    pub fn kind(&self) -> &'static str {
        match self {
            Value::Null => "nothing",
            Value::Bool(_) => "a yes or no",
            Value::Number(_) => "a bare number",
            Value::Text(_) => "text",
            Value::List(_) => "a list",
            Value::Map(_) => "a map of keys",
        }
    }
}

/// Reads a whole machine file.
///
/// # Errors
/// One problem, with its place where YAML gives one: syntax, duplicate keys, nesting or aliases out of bounds.
pub fn parse(text: &str) -> Result<Node, Problem> {
    let places = Places::read(text)?;
    let value = serde_yaml::from_str(text).map_err(|error| syntax(text, &error))?;
    Ok(lay(value, Some(&places), places.place))
}

/// Reads the value of a `--set`, a single YAML value, as written on the command line.
///
/// # Errors
/// A sentence that says what is wrong with it.
pub fn parse_setting(text: &str, place: Place) -> Result<Node, String> {
    Places::read(text).map_err(|problem| problem.what)?;
    let value = serde_yaml::from_str(text).map_err(|error| format!("not a YAML value: {error}"))?;
    Ok(lay(value, None, place))
}

fn syntax(text: &str, error: &serde_yaml::Error) -> Problem {
    let place = error.location().map(|at| Place::File {
        start: at.index().min(text.len()),
        end: at.index().min(text.len()),
        line: at.line(),
        column: at.column(),
    });
    let what = error.to_string();
    let what = what.split(" at line ").next().unwrap_or(&what);
    unreadable(place, what)
}

fn unreadable(place: Option<Place>, what: &str) -> Problem {
    Problem {
        place,
        key: String::new(),
        what: format!("this is not sound YAML: {what}"),
        mend: "look at the indentation, colons, quotes and brackets just before this place".to_owned(),
    }
}

/// The places of a value and of what is inside it.
struct Places {
    place: Place,
    /// For a map, keys and values in turn; for a list, its items.
    inside: Vec<Places>,
}

impl Places {
    fn read(text: &str) -> Result<Places, Problem> {
        let index = ByteIndex::new(text);
        let mut open: Vec<Places> = vec![Places { place: index.whole(), inside: Vec::new() }];
        let mut documents = 0;
        for event in Parser::new_from_str(text) {
            let (event, span) = event.map_err(|error| {
                let at = error.marker();
                let span = Span::new(*at, *at);
                unreadable(Some(index.place(&span)), error.info())
            })?;
            let place = index.place(&span);
            match event {
                Event::DocumentStart(_) => documents += 1,
                Event::Scalar(..) | Event::Alias(_) => {
                    if let Some(outer) = open.last_mut() {
                        outer.inside.push(Places { place, inside: Vec::new() });
                    }
                }
                Event::SequenceStart(..) | Event::MappingStart(..) => {
                    open.push(Places { place, inside: Vec::new() });
                    if open.len() > limits::NESTING + 1 {
                        return Err(too_deep(place));
                    }
                }
                Event::SequenceEnd | Event::MappingEnd => {
                    if let Some(done) = open.pop()
                        && let Some(outer) = open.last_mut()
                    {
                        outer.inside.push(done);
                    }
                }
                _ => {}
            }
            if documents > 1 {
                return Err(unreadable(Some(place), "a second document starts here"));
            }
        }
        let mut all = open.swap_remove(0);
        Ok(if all.inside.is_empty() { all } else { all.inside.swap_remove(0) })
    }
}

fn too_deep(place: Place) -> Problem {
    Problem {
        place: Some(place),
        key: String::new(),
        what: format!("lists and maps are nested more than {} deep here", limits::NESTING),
        mend: "a machine file needs about six levels: look for a bracket too many".to_owned(),
    }
}

/// Turns the character counts of the parser into byte ranges.
struct ByteIndex {
    starts: Option<Vec<usize>>,
    len: usize,
}

impl ByteIndex {
    fn new(text: &str) -> Self {
        let starts = (!text.is_ascii()).then(|| text.char_indices().map(|(at, _)| at).collect());
        ByteIndex { starts, len: text.len() }
    }

    fn byte(&self, character: usize) -> usize {
        match &self.starts {
            Some(starts) => starts.get(character).copied().unwrap_or(self.len),
            None => character.min(self.len),
        }
    }

    fn place(&self, span: &Span) -> Place {
        let start = self.byte(span.start.index());
        Place::File {
            start,
            end: self.byte(span.end.index()).max(start),
            line: span.start.line(),
            column: span.start.col() + 1,
        }
    }

    fn whole(&self) -> Place {
        Place::File { start: 0, end: 0, line: 1, column: 1 }
    }
}

/// Lays values over their places; inside an alias all places are the alias's own.
fn lay(value: serde_yaml::Value, places: Option<&Places>, outer: Place) -> Node {
    let place = places.map_or(outer, |p| p.place);
    let child = |n: usize| places.and_then(|p| p.inside.get(n));
    let value = match value {
        serde_yaml::Value::Null => Value::Null,
        serde_yaml::Value::Bool(b) => Value::Bool(b),
        serde_yaml::Value::Number(n) => Value::Number(n.as_f64().unwrap_or(f64::NAN)),
        serde_yaml::Value::String(s) => Value::Text(s),
        serde_yaml::Value::Tagged(tagged) => return lay(tagged.value, places, outer),
        serde_yaml::Value::Sequence(items) => {
            Value::List(items.into_iter().enumerate().map(|(n, item)| lay(item, child(n), place)).collect())
        }
        serde_yaml::Value::Mapping(map) => Value::Map(
            map.into_iter()
                .enumerate()
                .map(|(n, (key, value))| Entry {
                    key: key_text(&key),
                    key_place: child(2 * n).map_or(place, |p| p.place),
                    node: lay(value, child(2 * n + 1), place),
                })
                .collect(),
        ),
    };
    Node { value, place }
}

fn key_text(key: &serde_yaml::Value) -> String {
    match key {
        serde_yaml::Value::String(s) => s.clone(),
        serde_yaml::Value::Number(n) => n.to_string(),
        serde_yaml::Value::Bool(b) => b.to_string(),
        _ => "?".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_value_knows_its_place() {
        let tree = parse("a: 1\nb:\n  - x\n  - {c: 5/8 in}\n").expect("sound");
        let Value::Map(top) = &tree.value else { panic!("a map") };
        let Value::List(items) = &top[1].node.value else { panic!("a list") };
        let Value::Map(inner) = &items[1].value else { panic!("a map") };
        assert!(matches!(inner[0].node.place, Place::File { line: 4, column: 9, .. }));
        assert!(matches!(top[1].key_place, Place::File { line: 2, column: 1, .. }));
    }

    #[test]
    fn places_hold_after_letters_of_several_bytes() {
        let text = "titel: Gänge ü\nb: x\n";
        let tree = parse(text).expect("sound");
        let Value::Map(top) = &tree.value else { panic!("a map") };
        let Place::File { start, end, .. } = top[1].node.place else { panic!("in the file") };
        assert_eq!(&text[start..end], "x");
    }

    #[test]
    fn unsound_yaml_says_where() {
        for text in ["a: [1, 2", "a: 1\na: 2\n", "a: b: c", "\t- x", "a: 'x"] {
            let problem = parse(text).expect_err(text);
            assert!(matches!(problem.place, Some(Place::File { .. })), "{text}: {problem:?}");
        }
    }

    #[test]
    fn nesting_and_aliases_have_bounds() {
        let deep = format!("{}{}", "[".repeat(30), "]".repeat(30));
        assert!(parse(&deep).expect_err("deep").what.contains("nested"));
        let mut bomb = "a0: &a0 [x,x,x,x,x,x,x,x,x]\n".to_owned();
        for n in 1..12 {
            bomb += &format!("a{n}: &a{n} [{}]\n", vec![format!("*a{}", n - 1); 9].join(","));
        }
        assert!(parse(&bomb).is_err());
    }
}
