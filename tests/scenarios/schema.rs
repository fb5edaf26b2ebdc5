//! The JSON Schema of the machine file, held to the reader it was made from, by an independent validator.
//!
//! After a change to a key: `cargo run -- schema > scenarios/machine.schema.json`.

use std::path::{Path, PathBuf};

use boon::{Compiler, SchemaIndex, Schemas};
use marblewright::machine::{self, Problem, schema::schema};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed, TestRunner};
use serde_json::{Map, Value, json};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// An independent reader of schemas, with one that it has found to be a schema.
struct Validator(Schemas, SchemaIndex);

impl Validator {
    fn new(schema: Value) -> Self {
        let (mut schemas, mut compiler) = (Schemas::new(), Compiler::new());
        let name = "https://marblewright.example/machine.schema.json";
        compiler.add_resource(name, schema).expect("a resource");
        let index = compiler
            .compile(name, &mut schemas)
            .unwrap_or_else(|error| panic!("no schema: {error:#}"));
        Validator(schemas, index)
    }

    fn is_valid(&self, value: &Value) -> bool {
        self.0.validate(value, self.1).is_ok()
    }
}

fn validator() -> Validator {
    Validator::new(schema())
}

/// The YAML files of a folder, in order.
fn files(folder: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(root().join(folder))
        .expect("a folder")
        .map(|entry| entry.expect("an entry").path());
    let mut all: Vec<_> = entries
        .filter(|path| path.extension().is_some_and(|ending| ending == "yaml"))
        .collect();
    all.sort();
    all
}

/// A file as an editor sees it; `None` where it is not YAML.
fn as_json(text: &str) -> Option<Value> {
    json_of(serde_yaml::from_str(text).ok()?)
}

fn json_of(value: serde_yaml::Value) -> Option<Value> {
    Some(match value {
        serde_yaml::Value::Mapping(map) => {
            let name = |key: serde_yaml::Value| match key {
                serde_yaml::Value::String(text) => Some(text),
                serde_yaml::Value::Number(number) => Some(number.to_string()),
                serde_yaml::Value::Bool(yes) => Some(yes.to_string()),
                _ => None,
            };
            let entries: Option<Map<_, _>> = map
                .into_iter()
                .map(|(key, inside)| Some((name(key)?, json_of(inside)?)))
                .collect();
            Value::Object(entries?)
        }
        serde_yaml::Value::Sequence(items) => {
            Value::Array(items.into_iter().map(json_of).collect::<Option<_>>()?)
        }
        serde_yaml::Value::Tagged(tagged) => json_of(tagged.value)?,
        other => serde_json::to_value(other).ok()?,
    })
}

/// Why a value does not fit; nothing where it does.
fn refusal(validator: &Validator, value: &Value) -> String {
    validator
        .0
        .validate(value, validator.1)
        .err()
        .map_or(String::new(), |error| format!("{error:#}"))
}

#[test]
fn the_committed_copy_is_not_stale() {
    let copy =
        std::fs::read_to_string(root().join("scenarios/machine.schema.json")).unwrap_or_default();
    let now = serde_json::to_string_pretty(&schema()).expect("JSON") + "\n";
    assert!(
        copy == now,
        "write it anew: cargo run -- schema > scenarios/machine.schema.json"
    );
}

#[test]
fn every_scenario_fits_and_names_the_schema_for_editors() {
    let validator = validator();
    for path in files("scenarios") {
        let text = std::fs::read_to_string(&path).expect("text");
        let wrong = refusal(&validator, &as_json(&text).expect("YAML"));
        assert!(wrong.is_empty(), "{}: {wrong}", path.display());
        let first = text.lines().next().unwrap_or_default();
        assert_eq!(
            first,
            "# yaml-language-server: $schema=machine.schema.json",
            "{}",
            path.display()
        );
    }
}

/// What the reader says of a problem with a key or the form of its value, rather than with its meaning.
const FORM: [&str; 4] = [
    "does not know a key",
    "is not a kind of element",
    "is missing from",
    "has no unit",
];

#[test]
fn bad_files_whose_form_is_wrong_are_refused_by_the_schema_too() {
    let validator = validator();
    let (mut all, mut refused, mut let_pass) = (0, 0, Vec::new());
    for path in files("tests/bad_files") {
        let name = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        if path.with_extension("args").exists() {
            // What is wrong stands on the command line, not in the file.
            continue;
        }
        all += 1;
        let text = String::from_utf8_lossy(&std::fs::read(&path).expect("bytes")).into_owned();
        let fits = as_json(&text).is_some_and(|value| validator.is_valid(&value));
        refused += u32::from(!fits);
        if fits {
            let said =
                std::fs::read_to_string(path.with_extension("err")).expect("what is said of it");
            assert!(
                !FORM.iter().any(|words| said.contains(words)),
                "{name} fits the schema, and yet:\n{said}"
            );
            let_pass.push(name);
        }
    }
    println!(
        "the schema refuses {refused} of {all} bad files; it lets pass:\n{}",
        let_pass.join("\n")
    );
    assert!(all > 150 && refused > 0);
}

/// A random value that fits `shape`; `whole` is the schema that references lead into.
fn instance(whole: &Value, shape: &Value, depth: u32) -> BoxedStrategy<Value> {
    if let Some(words) = shape["enum"].as_array() {
        return proptest::sample::select(words.clone()).boxed();
    }
    if let Some(only) = shape.get("const") {
        return Just(only.clone()).boxed();
    }
    if let Some(examples) = shape["examples"].as_array() {
        return proptest::sample::select(examples.clone()).boxed();
    }
    if shape["$ref"] == "#/$defs/count" {
        return whole_number(shape);
    }
    if shape["$ref"] == "#/$defs/number" {
        let end = |key: &str| shape[key].as_f64().expect("bounds");
        return (end("minimum")..=end("maximum"))
            .prop_map(Value::from)
            .boxed();
    }
    if let Some(name) = shape["$ref"].as_str() {
        return of_reference(whole, &name.replace("%20", " "), depth);
    }
    let choices = shape["anyOf"].as_array().or(shape["oneOf"].as_array());
    if let Some(choices) = choices.filter(|_| shape.get("properties").is_none()) {
        let all: Vec<_> = choices
            .iter()
            .map(|choice| instance(whole, choice, depth + 1))
            .collect();
        return proptest::strategy::Union::new(all).boxed();
    }
    let kind = shape["type"]
        .as_str()
        .or(shape["type"][0].as_str())
        .unwrap_or("string");
    match kind {
        "object" => object(whole, shape, depth),
        "array" => {
            let (least, most) = (
                shape["minItems"].as_u64().unwrap_or(0),
                shape["maxItems"].as_u64().unwrap_or(3),
            );
            let count = least as usize..=(most.min(3).max(least)) as usize;
            proptest::collection::vec(instance(whole, &shape["items"], depth + 1), count)
                .prop_map(Value::from)
                .boxed()
        }
        "integer" => whole_number(shape),
        "number" => (shape["minimum"].as_f64().unwrap()..=shape["maximum"].as_f64().unwrap())
            .prop_map(Value::from)
            .boxed(),
        _ => Just(json!("some words")).boxed(),
    }
}

fn whole_number(shape: &Value) -> BoxedStrategy<Value> {
    let end = |key: &str| shape[key].as_f64().expect("bounds") as u64;
    (end("minimum")..=end("maximum"))
        .prop_map(Value::from)
        .boxed()
}

/// Quantities without examples of their own, and the shapes that a walk over the schema cannot know how to fill.
fn of_reference(whole: &Value, name: &str, depth: u32) -> BoxedStrategy<Value> {
    let name = name.trim_start_matches("#/$defs/");
    match name {
        "time" => Just(json!("2.5 s")).boxed(),
        "angle" => Just(json!("1 in 2")).boxed(),
        "length of either sign" => Just(json!("5/8 in")).boxed(),
        "tending" => {
            proptest::sample::select(vec![json!("stop"), json!("clear after 2 min")]).boxed()
        }
        "to" => Just(json!("none")).boxed(),
        "circuit" => {
            let element = &whole["$defs"]["circuit"]["additionalProperties"]["properties"];
            let kinds = element
                .as_object()
                .expect("kinds")
                .keys()
                .filter(|key| *key != "to")
                .cloned();
            let kind = proptest::sample::select(kinds.collect::<Vec<_>>());
            let whole = whole.clone();
            kind.prop_flat_map(move |kind| {
                let inside = instance(&whole, &whole["$defs"][&kind], depth + 1);
                inside.prop_map(
                    move |inside| json!({ "one": { kind.clone(): inside, "to": "none" } }),
                )
            })
            .boxed()
        }
        _ => instance(whole, &whole["$defs"][name], depth),
    }
}

/// A map with the keys that have to be there, one way of those there are, and some of the others.
fn object(whole: &Value, shape: &Value, depth: u32) -> BoxedStrategy<Value> {
    let keys = shape["properties"].as_object().cloned().unwrap_or_default();
    let names = |list: &Value| -> Vec<String> {
        list.as_array()
            .into_iter()
            .flatten()
            .filter_map(|key| key.as_str().map(str::to_owned))
            .collect()
    };
    let required = names(&shape["required"]);
    let ways: Vec<Vec<String>> = shape["anyOf"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|way| names(&way["required"]))
        .collect();
    let together = shape["dependentRequired"].clone();
    let only_one = shape["maxProperties"] == 1;
    let filled: Vec<_> = keys
        .iter()
        .map(|(key, inside)| (key.clone(), instance(whole, inside, depth + 1)))
        .collect();
    let count = keys.len().max(1);
    let chosen = (
        proptest::collection::vec(any::<bool>(), count),
        0..count,
        0..ways.len().max(1),
    );
    let values: Vec<BoxedStrategy<(String, Value)>> = filled
        .into_iter()
        .map(|(key, value)| value.prop_map(move |value| (key.clone(), value)).boxed())
        .collect();
    (values, chosen)
        .prop_map(move |(values, (some, one, way))| {
            let mut wanted: Vec<String> = required.clone();
            if only_one {
                wanted.extend(values.get(one).map(|(key, _)| key.clone()));
            } else {
                let in_ways: Vec<&String> = ways.iter().flatten().collect();
                let free = values
                    .iter()
                    .zip(&some)
                    .filter(|((key, _), some)| **some && !in_ways.contains(&key));
                wanted.extend(free.map(|((key, _), _)| key.clone()));
                wanted.extend(ways.get(way).into_iter().flatten().cloned());
                let pulled: Vec<String> = wanted
                    .iter()
                    .flat_map(|key| names(&together[key]))
                    .collect();
                wanted.extend(pulled);
            }
            let kept = values.into_iter().filter(|(key, _)| wanted.contains(key));
            Value::Object(kept.collect())
        })
        .boxed()
}

/// What the reader says of the form of a file: keys and values rather than how they go together.
fn of_form(problems: &[Problem]) -> Vec<&Problem> {
    let words = [
        "does not know a key",
        "is missing",
        " is due",
        "has no unit",
        "is not a",
        "none of",
        "names ",
        " is too ",
        "negative",
    ];
    let whole = [
        "there is no element",
        "is not a return floor",
        "not between",
        "is not a pair of gears",
    ];
    let meant = |what: &str| whole.iter().any(|words| what.contains(words));
    problems
        .iter()
        .filter(|p| words.iter().any(|words| p.what.contains(words)) && !meant(&p.what))
        .collect()
}

fn runner(cases: u32) -> TestRunner {
    TestRunner::new(Config {
        cases,
        rng_seed: RngSeed::Fixed(7),
        failure_persistence: None,
        ..Config::default()
    })
}

#[test]
fn files_made_from_the_schema_have_no_keys_or_values_that_the_reader_does_not_take() {
    let (whole, validator) = (schema(), validator());
    let files = instance(&whole, &whole, 0);
    let result = runner(300).run(&files, |file| {
        let wrong = refusal(&validator, &file);
        prop_assert!(wrong.is_empty(), "the maker of files is wrong: {wrong}");
        let text = serde_yaml::to_string(&file).expect("YAML");
        if let Err(problems) = machine::read(&text, &[]) {
            let wrong = of_form(&problems);
            prop_assert!(wrong.is_empty(), "{text}\n{wrong:#?}");
        }
        Ok(())
    });
    result.expect("every file is read");
}

/// Puts a key that nobody knows into the `nth` map of `value` whose keys are fixed.
fn spoil(value: &mut Value, nth: &mut usize, free: bool) -> bool {
    match value {
        Value::Object(map) => {
            if !free && *nth == 0 {
                map.insert("wobble".to_owned(), json!("3 mm"));
                return true;
            }
            *nth -= usize::from(!free);
            map.iter_mut().any(|(key, inside)| {
                let names = !free && ["circuit", "backlog", "to"].contains(&key.as_str());
                spoil(inside, nth, names)
            })
        }
        Value::Array(items) => items.iter_mut().any(|item| spoil(item, nth, false)),
        _ => false,
    }
}

#[test]
fn a_key_that_nobody_knows_is_refused_by_schema_and_reader_wherever_it_stands() {
    let validator = validator();
    let mut spoiled = 0;
    for path in files("scenarios") {
        let sound = as_json(&std::fs::read_to_string(&path).expect("text")).expect("YAML");
        for n in 0.. {
            let mut file = sound.clone();
            if !spoil(&mut file, &mut { n }, false) {
                break;
            }
            spoiled += 1;
            let text = serde_yaml::to_string(&file).expect("YAML");
            assert!(!validator.is_valid(&file), "the schema takes:\n{text}");
            assert!(
                machine::read(&text, &[]).is_err(),
                "the reader takes:\n{text}"
            );
        }
    }
    assert!(spoiled > 100, "{spoiled}");
}

/// Quantities in every spelling: what the reader takes, the schema takes.
#[test]
fn what_the_reader_takes_as_a_quantity_the_schema_takes() {
    let whole = schema();
    let length = json!({ "$ref": "#/$defs/length", "$defs": whole["$defs"] });
    let slope = json!({ "$ref": "#/$defs/angle%20of%20either%20sign", "$defs": whole["$defs"] });
    let validators = [length, slope].map(Validator::new);
    let units = [&machine::units::LENGTH, &machine::units::ANGLE];
    let texts = r#"[ ]{0,2}[+-]?([0-9]{1,2}|[0-9]?\.[0-9]?|[0-9]e[0-9])( ?/ ?[0-9]| [0-9]/[0-9])?[ ]{0,2}(mm|in|"|deg|°|%| in [0-9]{1,2}|kg|)[ ]?"#;
    let result = runner(4000).run(&texts, |text| {
        for (validator, of) in validators.iter().zip(units) {
            let read = machine::units::quantity(&text, of)
                .ok()
                .filter(|x| *x > 0.0 || of.name == "angle");
            let taken = validator.is_valid(&json!(text));
            prop_assert!(
                read.is_none() || taken,
                "the reader takes `{text}` as {read:?}, the schema does not"
            );
        }
        Ok(())
    });
    result.expect("the patterns are no stricter than the reader");
    for wrong in ["14", "14 kg", "wide", "", "1,4 mm"] {
        assert!(!validators[0].is_valid(&json!(wrong)), "{wrong}");
    }
    assert!(
        !validators[0].is_valid(&json!("-3 mm")),
        "a length below zero"
    );
}
