//! YAML text to a tree whose every value knows its place: the only file that knows `serde_yaml`.
//!
//! `serde_yaml` gives the values (and with them YAML's rules for scalars and aliases); it loses the places, so another
//! reading, in `places`, supplies those, and the two are laid over each other.

use super::positions::ValuePlaces;
use super::problem::{Place, Problem};

/// A value and where it was written.
#[derive(Clone, Debug, PartialEq)]
pub struct YamlNode {
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
    List(Vec<YamlNode>),
    /// A map, in the order of the file.
    Map(Vec<MapEntry>),
}

/// One key and value of a map.
#[derive(Clone, Debug, PartialEq)]
pub struct MapEntry {
    /// The key.
    pub key: String,
    /// The place of the key itself.
    pub key_place: Place,
    /// Its value.
    pub node: YamlNode,
}

impl Value {
    /// What a message calls this kind of value.
    pub fn kind(&self) -> &'static str {
        match self {
            Value::Null => "empty",
            Value::Bool(_) => "a yes or no",
            Value::Number(_) => "a bare number",
            Value::Text(_) => "a text",
            Value::List(_) => "a list",
            Value::Map(_) => "a group of keys",
        }
    }
}

/// Reads a whole machine file.
///
/// # Errors
/// Problems with their places: the first fault of syntax, nesting or aliases, or every duplicate key.
pub fn parse(text: &str) -> Result<YamlNode, Vec<Problem>> {
    let places = ValuePlaces::read(text)?;
    let value = serde_yaml::from_str(text).map_err(|error| vec![fault(text, &error)])?;
    Ok(lay(value, Some(&places), places.place))
}

/// Reads the value of a `--set`, a single YAML value, as written on the command line.
///
/// # Errors
/// What is wrong with it, and how to fix it.
pub fn parse_setting(text: &str, place: Place) -> Result<YamlNode, (String, String)> {
    if ValuePlaces::read(text).is_ok()
        && let Ok(value) = serde_yaml::from_str(text)
    {
        return Ok(lay(value, None, place));
    }
    let help = "close its brackets and quotes, and put a text with a colon in quotes";
    Err((
        format!("`{text}` cannot be read as a value"),
        help.to_owned(),
    ))
}

/// What only the second reading finds.
fn fault(text: &str, error: &serde_yaml::Error) -> Problem {
    let place = error.location().map(|at| {
        // The location's index counts characters or bytes as its reader pleases; lines and columns are sure.
        let line = text
            .split_inclusive('\n')
            .take(at.line().saturating_sub(1))
            .map(str::len)
            .sum::<usize>();
        let column = text[line..]
            .chars()
            .take(at.column().saturating_sub(1))
            .map(char::len_utf8)
            .sum::<usize>();
        let start = line + column;
        Place::File {
            start,
            end: start,
            line: at.line(),
            column: at.column(),
        }
    });
    let what = error.to_string();
    let what = what.split(" at line ").next().unwrap_or(&what);
    Problem {
        place,
        key: String::new(),
        what: format!("this cannot be read as YAML: {what}"),
        help: "look at the indentation, colons, quotes and brackets just before this place"
            .to_owned(),
    }
}

/// Lays values over their places; inside an alias all places are the alias's own.
fn lay(value: serde_yaml::Value, places: Option<&ValuePlaces>, outer: Place) -> YamlNode {
    let place = places.map_or(outer, |p| p.place);
    let child = |n: usize| places.and_then(|p| p.inside.get(n));
    let value = match value {
        serde_yaml::Value::Null => Value::Null,
        serde_yaml::Value::Bool(b) => Value::Bool(b),
        serde_yaml::Value::Number(n) => Value::Number(n.as_f64().unwrap_or(f64::NAN)),
        serde_yaml::Value::String(s) => Value::Text(s),
        serde_yaml::Value::Tagged(tagged) => return lay(tagged.value, places, outer),
        serde_yaml::Value::Sequence(items) => Value::List(
            items
                .into_iter()
                .enumerate()
                .map(|(n, item)| lay(item, child(n), place))
                .collect(),
        ),
        serde_yaml::Value::Mapping(map) => Value::Map(
            map.into_iter()
                .enumerate()
                .map(|(n, (key, value))| MapEntry {
                    key: key_text(&key),
                    key_place: child(2 * n).map_or(place, |p| p.place),
                    node: lay(value, child(2 * n + 1), place),
                })
                .collect(),
        ),
    };
    YamlNode { value, place }
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
        let Value::Map(top) = &tree.value else {
            panic!("a map")
        };
        let Value::List(items) = &top[1].node.value else {
            panic!("a list")
        };
        let Value::Map(inner) = &items[1].value else {
            panic!("a map")
        };
        assert!(matches!(
            inner[0].node.place,
            Place::File {
                line: 4,
                column: 9,
                ..
            }
        ));
        assert!(matches!(
            top[1].key_place,
            Place::File {
                line: 2,
                column: 1,
                ..
            }
        ));
    }

    #[test]
    fn places_hold_after_letters_of_several_bytes() {
        let text = "titel: Gänge ü\nb: x\n";
        let tree = parse(text).expect("sound");
        let Value::Map(top) = &tree.value else {
            panic!("a map")
        };
        let Place::File { start, end, .. } = top[1].node.place else {
            panic!("in the file")
        };
        assert_eq!(&text[start..end], "x");
    }

    #[test]
    fn unsound_yaml_says_where() {
        for text in ["a: [1, 2", "a: 1\na: 2\n", "a: b: c", "\t- x", "a: 'x"] {
            let problems = parse(text).expect_err(text);
            assert!(
                matches!(problems[0].place, Some(Place::File { .. })),
                "{text}: {problems:?}"
            );
        }
    }

    #[test]
    fn nesting_and_aliases_have_bounds() {
        let deep = format!("{}{}", "[".repeat(30), "]".repeat(30));
        assert!(parse(&deep).expect_err("deep")[0].what.contains("nested"));
        let mut bomb = "a0: &a0 [x,x,x,x,x,x,x,x,x]\n".to_owned();
        for n in 1..12 {
            bomb += &format!(
                "a{n}: &a{n} [{}]\n",
                vec![format!("*a{}", n - 1); 9].join(",")
            );
        }
        assert!(parse(&bomb).is_err());
    }
}
