//! Every key of a machine file that `--set` can change, dotted: for completion while a command is typed.

use super::model::KINDS;
use super::schema;
use super::set::SHORT;
use super::yaml::{self, MapEntry, Value};

/// The keys that can be set in this file, its own elements by name; those beside the circuit where it is no YAML.
pub fn keys(text: &str) -> Vec<String> {
    let mut all: Vec<String> = SHORT.iter().map(|(short, _)| (*short).to_owned()).collect();
    all.extend(schema::keys_beside_circuit());
    for element in elements(text) {
        let name = &element.key;
        all.push(format!("workable.backlog.{name}"));
        all.push(format!("circuit.{name}.to"));
        let kind = KINDS
            .into_iter()
            .find(|kind| inside(&element.node.value).iter().any(|e| e.key == *kind));
        if let Some(kind) = kind {
            let keys = schema::keys_of_kind(kind).into_iter();
            all.extend(keys.map(|key| format!("circuit.{name}.{key}")));
        }
    }
    all
}

fn elements(text: &str) -> Vec<MapEntry> {
    let tree = yaml::parse(text)
        .map(|tree| tree.value)
        .unwrap_or(Value::Null);
    match inside(&tree).iter().find(|entry| entry.key == "circuit") {
        Some(circuit) => inside(&circuit.node.value).to_vec(),
        None => Vec::new(),
    }
}

fn inside(value: &Value) -> &[MapEntry] {
    if let Value::Map(entries) = value {
        entries
    } else {
        &[]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_s_own_elements_are_among_the_keys() {
        let keys = keys("circuit:\n  lift:\n    pocket-wheel: { pockets: 3 }\n    to: none\n");
        for key in [
            "rpm",
            "marbles.count",
            "circuit.lift.pockets",
            "circuit.lift.to",
            "workable.backlog.lift",
        ] {
            assert!(keys.iter().any(|known| known == key), "{key}");
        }
        assert!(!keys.iter().any(|key| key.ends_with("lift.gathers")));
        assert!(super::keys("a: [").contains(&"drive.speed".to_owned()));
    }
}
