//! The machine file: YAML text in, a checked [`Machine`] in SI units out, or every problem found in it.

pub mod about;
pub mod allow;
pub mod assumed;
pub mod build_error;
mod check;
pub mod check_shapes;
pub mod description;
pub mod edit;
pub mod fields;
pub mod keys;
pub mod kind;
pub mod knobs;
pub mod law;
mod left_open;
pub mod limits;
pub mod model;
mod model_lift;
mod model_parts;
mod model_supply;
mod model_wheel;
pub mod outline;
mod positions;
pub mod problem;
mod read;
mod read_circuit;
mod read_law;
mod read_lift;
mod read_lines;
pub mod read_parts;
mod read_supply;
pub mod schema;
mod set;
pub mod starter;
mod starter_heights;
pub mod starter_lifts;
mod starter_parts;
pub mod starter_shows;
pub mod suggest;
mod syntax;
pub mod text;
pub mod units;
mod values;
pub mod workmanship;
pub mod write_law;
pub mod yaml;

pub use model::Machine;
pub use problem::{Place, Problem};

use std::collections::BTreeSet;

use problem::Report;

/// One `--set KEY=VALUE` (or the shorthand that stands for one).
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Setting {
    /// The dotted key.
    pub key: String,
    /// The value, as YAML.
    pub value: String,
}

/// Reads a machine from the text of its file, with `settings` laid over it in order.
///
/// # Errors
/// Every problem found, in the order of the file; never an empty list.
pub fn read(text: &str, settings: &[Setting]) -> Result<Machine, Vec<Problem>> {
    let report = Report::default();
    let tree = tree(text, settings, &report)?;
    let draft = read::machine(&tree, &report);
    if let Some(draft) = &draft {
        check::check(draft, &tree, &report);
    }
    match draft {
        Some(draft) if report.is_empty() => {
            let assumed = left_open::assumptions(&draft.machine, &tree);
            let diameter = set::get(&tree, "marbles.diameter").unwrap_or_default();
            Ok(Machine {
                assumed,
                units: units::system_of(&diameter),
                ..draft.machine
            })
        }
        _ => Err(report.into_problems()),
    }
}

/// The single value at a dotted key, as it is written in the file or laid over it: `20 mm`. None where there is none.
pub fn written(text: &str, settings: &[Setting], key: &str) -> Option<String> {
    let mut tree = yaml::parse(text).ok()?;
    for (n, setting) in settings.iter().enumerate() {
        set::set(&mut tree, &setting.key, &setting.value, n).ok()?;
    }
    set::get(&tree, key)
}

/// Every dotted key that is written in the file or laid over it, groups included: `circuit.lift.pocket-wheel.bore`,
/// `circuit.track.track.segments.0.length`. None where it is no YAML.
pub fn written_keys(text: &str, settings: &[Setting]) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    if let Ok(tree) = tree(text, settings, &Report::default()) {
        collect(&tree, String::new(), &mut all);
    }
    all
}

fn collect(node: &yaml::YamlNode, path: String, all: &mut BTreeSet<String>) {
    match &node.value {
        yaml::Value::Map(entries) => {
            for entry in entries {
                collect(&entry.node, fields::below(&path, &entry.key), all);
            }
        }
        yaml::Value::List(items) => {
            for (n, item) in items.iter().enumerate() {
                collect(item, fields::below(&path, &n.to_string()), all);
            }
        }
        _ => {}
    }
    all.insert(path);
}

/// The file's tree with the settings laid over it; settings that lead nowhere go to `report`.
fn tree(text: &str, settings: &[Setting], report: &Report) -> Result<yaml::YamlNode, Vec<Problem>> {
    let mut tree = yaml::parse(text)?;
    for (n, setting) in settings.iter().enumerate() {
        if let Err((what, help)) = set::set(&mut tree, &setting.key, &setting.value, n) {
            report.add(Some(Place::Setting(n)), &setting.key, what, help);
        }
    }
    Ok(tree)
}

/// Where a dotted key of the file, or the nearest outer one that was written, stands; `None` where it is no YAML.
pub fn place(text: &str, settings: &[Setting], key: &str) -> Option<Place> {
    tree(text, settings, &Report::default())
        .ok()
        .map(|tree| check::find(&tree, key).0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_found_as_it_was_written() {
        let text = "marbles: { count: 12 }\ncircuit: { lift: { pocket-wheel: { bore: 5/8 in } } }";
        let set = [Setting {
            key: "rpm".to_owned(),
            value: "9".to_owned(),
        }];
        let found = |key| written(text, &set, key);
        assert_eq!(found("marbles").as_deref(), Some("12"));
        assert_eq!(found("rpm").as_deref(), Some("9 rpm"));
        assert_eq!(found("circuit.lift.bore").as_deref(), Some("5/8 in"));
        assert_eq!(
            found("circuit.lift.pocket-wheel.bore").as_deref(),
            Some("5/8 in")
        );
        assert_eq!(found("circuit.lift"), None);
        assert_eq!(found("circuit.lift.depth"), None);
    }
}
