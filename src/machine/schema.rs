//! The machine file's JSON Schema (draft 2020-12), for editors: made from what the file's reader asks for.
//!
//! Keys, bounds, units and words come from the reader itself (see `outline`); the few shapes that take more than one form,
//! each read by hand, are written out here. A schema sees neither names of elements nor how dimensions go together: what it
//! lets pass may still be refused, but what it refuses is wrong.

use std::ops::RangeInclusive;

use serde_json::{Map, Value, json};

use super::about::about;
use super::limits;
use super::model::KINDS;
use super::outline::{Group, Shape};
use super::units::{ANGLE, DURATION, QuantityKind, one_letter_fractions};
use super::{kind, read, read_circuit, read_law, read_lines, read_supply};

/// The number of a quantity: decimal or fraction.
const NUMBER: &str = r"(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?";

/// The schema.
pub fn schema() -> Value {
    let mut whole = object("", &read::outline());
    let head = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "marblewright machine file",
        "description": "A marble machine: its marbles, what turns its wheels, and the circuit the marbles run.",
    });
    let mut all = head.as_object().cloned().unwrap_or_default();
    all.append(whole.as_object_mut().unwrap_or(&mut Map::new()));
    all.insert("$defs".to_owned(), Value::Object(shared()));
    Value::Object(all)
}

/// The shapes that several keys share.
fn shared() -> Map<String, Value> {
    let mut all = Map::new();
    for of in QuantityKind::ALL {
        all.insert(of.name.to_owned(), quantity(of, false));
        all.insert(format!("{} of either sign", of.name), quantity(of, true));
    }
    // A number may stand in quotes, and may be a fraction.
    let fraction = format!("^{}$", mixed(false));
    all.insert(
        "number".to_owned(),
        json!({ "type": ["number", "string"], "pattern": fraction }),
    );
    all.insert(
        "count".to_owned(),
        json!({ "type": ["integer", "string"], "pattern": fraction }),
    );
    let law = one_key(&object("time-law", &read_law::outline()));
    let grooves = one_key(&object("channel", &read_lines::groove_outline()));
    let segments: Vec<Value> = read_lines::segment_outlines()
        .iter()
        .map(|group| object("segment", group))
        .collect();
    let (time, angle, length) = (
        reference(DURATION.name),
        reference(ANGLE.name),
        "length of either sign",
    );
    let landing = object("landing", &read_circuit::landing_outline());
    let spot = json!({ "type": "object", "additionalProperties": landing, "minProperties": 1, "maxProperties": 1 });
    let exit = json!({ "anyOf": [{ "type": "string" }, spot] });
    let clear = format!("^(?:stop|clear after {})$", bare(&DURATION, false));
    let places = json!({ "type": "integer", "minimum": 0, "maximum": limits::PLACES });
    let teeth = json!({ "type": "integer", "minimum": 4, "maximum": 1000 });
    let ways = json!({ "type": "array", "minItems": 1, "maxItems": limits::WAYS, "items": exit });
    for (name, shape) in [
        ("time-law", json!({ "anyOf": [time, law] })),
        ("samples", list(&time, 1..=limits::SAMPLES)),
        (
            "channel",
            json!({ "anyOf": [{ "const": "plane" }, grooves] }),
        ),
        (
            "segments",
            list(&json!({ "oneOf": segments }), 1..=limits::SEGMENTS),
        ),
        (
            "room",
            json!({ "anyOf": [{ "type": "integer", "minimum": 1, "maximum": limits::PLACES }, { "const": "unlimited" }] }),
        ),
        ("lift", json!({ "anyOf": [angle, time] })),
        ("tending", json!({ "type": "string", "pattern": clear })),
        ("teeth", list(&teeth, 2..=2)),
        ("cells", cells()),
        (
            "backlog",
            json!({ "type": ["object", "null"], "additionalProperties": places }),
        ),
        ("spot", list(&reference(length), 2..=2)),
        ("to", json!({ "anyOf": [exit, ways] })),
        ("circuit", circuit()),
    ] {
        all.insert(name.to_owned(), shape);
    }
    for kind in KINDS {
        all.insert(kind.to_owned(), object(kind, &kind::outline(kind)));
    }
    all
}

/// What a motor runs on.
fn cells() -> Value {
    let most = read_supply::MOST_CELLS;
    let some = json!({ "$ref": "#/$defs/count", "minimum": 1, "maximum": most });
    let [cells, adapter] = read_supply::outlines().map(|group| object("cells", &group));
    json!({ "anyOf": [some, cells, adapter] })
}

/// Elements by name: each is one kind, and leads somewhere.
fn circuit() -> Value {
    let mut keys = Map::new();
    for kind in KINDS {
        keys.insert(
            kind.to_owned(),
            described(reference(kind), kind::about(kind)),
        );
    }
    keys.insert(
        "to".to_owned(),
        described(reference("to"), about("element", "to")),
    );
    json!({
        "type": "object",
        "minProperties": 1,
        "maxProperties": limits::ELEMENTS,
        "propertyNames": {
            "pattern": r"^[\p{L}\p{M}\p{N}_-](?:[\p{L}\p{M}\p{N}_ -]*[\p{L}\p{M}\p{N}_-])?$",
            "maxLength": limits::NAME,
            "not": { "const": "none" },
        },
        "additionalProperties": {
            "type": "object",
            "properties": keys,
            "required": ["to"],
            "minProperties": 2,
            "maxProperties": 2,
            "additionalProperties": false,
        },
    })
}

/// A map of keys; `name` is what `about` knows it by.
fn object(name: &str, group: &Group) -> Value {
    let (required, ways) = (group.always_required(), &group.ways);
    let empty_is_fit = required.is_empty() && ways.is_empty();
    let mut all = Map::new();
    all.insert(
        "type".to_owned(),
        if empty_is_fit {
            json!(["object", "null"])
        } else {
            json!("object")
        },
    );
    let keys = group.keys.iter().map(|(key, shape)| {
        (
            (*key).to_owned(),
            described(of(key, shape), about(name, key)),
        )
    });
    all.insert("properties".to_owned(), Value::Object(keys.collect()));
    if !required.is_empty() {
        all.insert("required".to_owned(), json!(required));
    }
    if !ways.is_empty() {
        let ways: Vec<Value> = ways
            .iter()
            .map(|keys| json!({ "required": keys }))
            .collect();
        all.insert("anyOf".to_owned(), json!(ways));
    }
    if !group.together.is_empty() {
        let mut all_of = Map::new();
        for key in &group.together {
            let mut others = group.together.clone();
            others.retain(|other| other != key);
            all_of.insert((*key).to_owned(), json!(others));
        }
        all.insert("dependentRequired".to_owned(), Value::Object(all_of));
    }
    all.insert("additionalProperties".to_owned(), json!(false));
    Value::Object(all)
}

fn of(key: &str, shape: &Shape) -> Value {
    match shape {
        Shape::Quantity(of, low, high) => {
            let mut value = reference(&if *low < 0.0 {
                format!("{} of either sign", of.name)
            } else {
                of.name.to_owned()
            });
            value["examples"] = json!([of.show(*low), of.show(*high)]);
            value
        }
        Shape::Number(low, high) => {
            json!({ "$ref": "#/$defs/number", "minimum": low, "maximum": high })
        }
        Shape::Count(low, high) => {
            json!({ "$ref": "#/$defs/count", "minimum": *low as u64, "maximum": *high as u64 })
        }
        Shape::Text => json!({ "type": "string" }),
        Shape::Choice(words) => json!({ "enum": words }),
        Shape::Choices(words) => json!({ "type": "array", "items": { "enum": words } }),
        Shape::Numbers(low, high) => {
            json!({ "type": "array", "items": { "type": "number", "minimum": low, "maximum": high } })
        }
        Shape::Group(inside) => object(key, &inside.borrow()),
        Shape::Shared(name) => reference(name),
    }
}

/// What an editor shows of a key: its meaning, and from where to where a quantity goes.
fn described(mut shape: Value, about: Option<&str>) -> Value {
    let Some(about) = about else { return shape };
    let range = match shape["examples"].as_array().map(Vec::as_slice) {
        Some([low, high]) => format!(
            " From {} to {}.",
            low.as_str().unwrap_or(""),
            high.as_str().unwrap_or("")
        ),
        _ => String::new(),
    };
    shape["description"] = json!(format!("{about}{range}"));
    shape
}

/// Of the keys of this map, exactly one.
fn one_key(map: &Value) -> Value {
    json!({
        "type": "object",
        "properties": map["properties"],
        "minProperties": 1,
        "maxProperties": 1,
        "additionalProperties": false,
    })
}

fn list(items: &Value, count: RangeInclusive<usize>) -> Value {
    let (least, most) = count.into_inner();
    json!({ "type": "array", "minItems": least, "maxItems": most, "items": items })
}

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{}", name.replace(' ', "%20")) })
}

fn quantity(of: &QuantityKind, signed: bool) -> Value {
    let mut pattern = bare(of, signed);
    if of.name == ANGLE.name {
        let number = mixed(signed);
        pattern = format!("(?:{pattern}|{number} in {}|{number}%\\s*)", mixed(false));
    }
    let description = format!(
        "{} with its unit, as in {}.",
        capital(&of.one()),
        of.examples
    );
    json!({ "type": "string", "pattern": format!("^{pattern}$"), "description": description })
}

/// A number and one of the units.
fn bare(of: &QuantityKind, signed: bool) -> String {
    format!(
        "{}(?:{})\\s*",
        mixed(signed),
        of.names().collect::<Vec<_>>().join("|")
    )
}

/// `14`, `0.5`, `5/8` or `1 1/2`, with spaces around.
fn mixed(signed: bool) -> String {
    let sign = if signed { "[+\u{2212}-]?" } else { r"\+?" };
    let (slash, signs) = ("[/\u{2044}\u{2215}]", one_letter_fractions());
    let one_letter = format!("[{signs}]");
    format!(
        r"\s*{sign}(?:{NUMBER}(?:\s+{NUMBER}{slash}{NUMBER}|\s*{slash}\s*{NUMBER}|\s*{one_letter})?|{one_letter})\s*"
    )
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// The keys that may follow `circuit.NAME.` of an element of this kind, one step deep.
pub fn keys_of_kind(kind: &str) -> Vec<&'static str> {
    kind::outline(kind)
        .keys
        .iter()
        .map(|(key, _)| *key)
        .collect()
}

/// The dotted keys that stand beside the circuit: `marbles.count`, `drive.speed`.
pub fn keys_beside_circuit() -> Vec<String> {
    let mut all = Vec::new();
    dotted("", &read::outline(), &mut all);
    all
}

fn dotted(before: &str, group: &Group, all: &mut Vec<String>) {
    for (key, shape) in group.keys.iter().filter(|(key, _)| *key != "circuit") {
        let path = format!("{before}{key}");
        match shape {
            Shape::Group(inside) => dotted(&format!("{path}."), &inside.borrow(), all),
            _ => all.push(path),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::about::sentences;
    use super::super::law::NAMES;
    use super::*;

    /// Every group of keys with the name that `about` knows it by.
    fn groups() -> Vec<(&'static str, Group)> {
        let mut all = vec![("", read::outline()), ("time-law", read_law::outline())];
        all.push(("channel", read_lines::groove_outline()));
        all.extend(
            read_lines::segment_outlines()
                .into_iter()
                .map(|group| ("segment", group)),
        );
        all.push(("landing", read_circuit::landing_outline()));
        all.extend(read_supply::outlines().map(|group| ("cells", group)));
        all.extend(KINDS.into_iter().map(|kind| (kind, kind::outline(kind))));
        let mut done = 0;
        while done < all.len() {
            let inside = all[done]
                .1
                .keys
                .iter()
                .filter_map(|(key, shape)| match shape {
                    Shape::Group(group) => Some((*key, group.borrow().clone())),
                    _ => None,
                });
            let inside: Vec<_> = inside.collect();
            all.extend(inside);
            done += 1;
        }
        all
    }

    #[test]
    fn every_key_is_described_and_nothing_else_is() {
        let mut used = Vec::new();
        for (name, group) in groups() {
            for (key, _) in &group.keys {
                assert!(
                    about(name, key).is_some(),
                    "describe `{key}` of `{name}` in machine/about.rs or the kind's file"
                );
                used.push(format!("{name}.{key}"));
            }
        }
        used.push("element.to".to_owned());
        for (place, _) in sentences() {
            let known = |used: &String| used == place || used.rsplit('.').next() == Some(place);
            assert!(
                used.iter().any(known),
                "`{place}` is described, but no reader asks for it"
            );
        }
    }

    #[test]
    fn what_has_to_be_there_is_what_the_reader_misses() {
        let of = |name: &str| {
            groups()
                .into_iter()
                .find(|(known, _)| *known == name)
                .expect(name)
                .1
        };
        assert_eq!(
            of("").always_required(),
            ["format", "marbles", "circuit", "start"]
        );
        assert_eq!(of("pocket-wheel").always_required(), ["pockets"]);
        assert_eq!(
            of("pocket-wheel").together,
            ["pitch-radius", "bore", "depth", "tilt"]
        );
        assert!(of("drive").always_required().is_empty() && of("drive").ways.len() == 2);
        assert_eq!(of("gamma").ways.len(), 3);
        assert_eq!(NAMES.len(), of("time-law").keys.len());
    }

    #[test]
    fn keys_for_the_command_line_are_dotted() {
        let keys = keys_beside_circuit();
        assert!(
            keys.iter().any(|key| key == "marbles.count")
                && keys.iter().any(|key| key == "drive.motor.cells")
        );
        assert!(keys_of_kind("pocket-wheel").contains(&"pockets"));
    }
}
