//! `--set KEY=VALUE`: any key of the file, from the command line.

use super::model::KINDS;
use super::problem::Place;
use super::schema::keys_beside_circuit;
use super::suggest::did_you_mean;
use super::units::number;
use super::yaml::{MapEntry, Value, YamlNode, parse_setting};

/// Short names for the keys changed most.
pub const SHORT: [(&str, &str); 2] = [("marbles", "marbles.count"), ("rpm", "drive.speed")];

/// What is wrong with a setting, and how to fix it.
type Wrong = (String, String);

/// Writes `value` at the dotted `key` of the tree; `n` is its number on the command line.
///
/// The kind key of an element may be left out: `circuit.lift.pockets=24`. Items of a list count from 0:
/// `circuit.bowl.shares.1=2`. A missing key is made, but no element; a new kind takes the place of an element's old one.
///
/// # Errors
/// A sentence that says what is wrong, and one that says how to fix it.
pub fn set(tree: &mut YamlNode, key: &str, value: &str, n: usize) -> Result<(), Wrong> {
    let place = Place::Setting(n);
    let value = if key == "rpm" && number(value).is_some() {
        format!("{value} rpm")
    } else {
        value.to_owned()
    };
    let key = spelt_out(key);
    let new = parse_setting(&value, place)?;
    let dotted = key.replace('[', ".").replace(']', "");
    let parts: Vec<&str> = dotted.split('.').map(str::trim).collect();
    if parts.iter().any(|part| part.is_empty()) {
        return Err((
            format!("`{key}` has an empty step"),
            "write it as in `circuit.lift.pockets`".to_owned(),
        ));
    }
    if let Some(whole) = without_circuit(tree, &parts) {
        let what = format!("`{}` is an element, and stands under `circuit`", parts[0]);
        return Err((what, format!("did you mean `{whole}`?")));
    }
    put(tree, &parts, 0, new)
}

/// The whole key that a short one stands for.
fn spelt_out(key: &str) -> &str {
    match SHORT.iter().find(|(short, _)| *short == key) {
        Some((_, long)) => long,
        None => key,
    }
}

/// The whole key that is meant by one that begins with an element's name; `None` where it begins as any key may.
fn without_circuit(tree: &YamlNode, parts: &[&str]) -> Option<String> {
    // First what costs nothing: studies lay many settings over one file.
    let is_known = |key: &String| key.split('.').next() == Some(parts[0]);
    if parts[0] == "circuit" || keys_beside_circuit().iter().any(is_known) {
        return None;
    }
    let Value::Map(entries) = &tree.value else {
        return None;
    };
    let Value::Map(elements) = &entry(entries, "circuit")?.value else {
        return None;
    };
    let Value::Map(inside) = &entry(elements, parts[0])?.value else {
        return None;
    };
    let mut whole = vec!["circuit", parts[0]];
    if let Some(part) = parts.get(1)
        && *part != "to"
        && !KINDS.contains(part)
    {
        let mut keys = inside.iter().map(|entry| entry.key.as_str());
        whole.extend(keys.find(|key| KINDS.contains(key)));
    }
    whole.extend(&parts[1..]);
    Some(whole.join("."))
}

/// The single value at the dotted `key` of the tree as it is written there: `20 mm`, `34`. None where there is no such key.
pub fn get(tree: &YamlNode, key: &str) -> Option<String> {
    let dotted = spelt_out(key).replace('[', ".").replace(']', "");
    let mut node = tree;
    for part in dotted.split('.').map(str::trim) {
        node = match &node.value {
            Value::List(items) => items.get(part.parse::<usize>().ok()?)?,
            Value::Map(entries) => inside(entries, part)?,
            _ => return None,
        };
    }
    match &node.value {
        Value::Number(number) => Some(number.to_string()),
        Value::Text(text) => Some(text.clone()),
        _ => None,
    }
}

/// The entry called `part`, or else the one of that name among the dimensions of an element.
fn inside<'a>(entries: &'a [MapEntry], part: &str) -> Option<&'a YamlNode> {
    if let Some(node) = entry(entries, part) {
        return Some(node);
    }
    let mut kinds = entries.iter();
    let kind = kinds.find(|entry| KINDS.contains(&entry.key.as_str()))?;
    match &kind.node.value {
        Value::Map(dimensions) => entry(dimensions, part),
        _ => None,
    }
}

fn entry<'a>(entries: &'a [MapEntry], name: &str) -> Option<&'a YamlNode> {
    let entry = entries.iter().find(|entry| entry.key == name)?;
    Some(&entry.node)
}

/// Puts `new` where `parts[depth..]` leads from `node`.
fn put(node: &mut YamlNode, parts: &[&str], depth: usize, new: YamlNode) -> Result<(), Wrong> {
    let Some(part) = parts.get(depth) else {
        *node = new;
        return Ok(());
    };
    if matches!(node.value, Value::Null) {
        node.value = Value::Map(Vec::new());
    }
    match &mut node.value {
        Value::List(items) => put(item(items, part, parts)?, parts, depth + 1, new),
        Value::Map(entries) => put_in_map(entries, parts, depth, new),
        _ => {
            let what = format!(
                "`{}` is a single value: there is no `{part}` in it",
                parts[..depth].join(".")
            );
            Err((what, "end the key one step earlier".to_owned()))
        }
    }
}

fn item<'a>(
    items: &'a mut [YamlNode],
    part: &str,
    parts: &[&str],
) -> Result<&'a mut YamlNode, Wrong> {
    let count = items.len();
    match part.parse::<usize>() {
        Ok(n) if n < count => Ok(&mut items[n]),
        _ => {
            let key = parts.join(".");
            let what = format!("`{part}` in `{key}` is none of the {count} items there");
            let help = format!("count items from 0 to {}", count.saturating_sub(1));
            Err((what, help))
        }
    }
}

fn put_in_map(
    entries: &mut Vec<MapEntry>,
    parts: &[&str],
    depth: usize,
    new: YamlNode,
) -> Result<(), Wrong> {
    let part = parts[depth];
    if let Some(n) = entries.iter().position(|entry| entry.key == part) {
        return put(&mut entries[n].node, parts, depth + 1, new);
    }
    let in_element = depth == 2 && parts[0] == "circuit" && part != "to" && !KINDS.contains(&part);
    if let Some(kind) = entries
        .iter_mut()
        .find(|entry| in_element && KINDS.contains(&entry.key.as_str()))
    {
        return put(&mut kind.node, parts, depth, new);
    }
    if depth == 1 && parts[0] == "circuit" && parts.len() > 2 {
        let names: Vec<String> = entries.iter().map(|entry| entry.key.clone()).collect();
        let help = did_you_mean(part, names.iter().map(String::as_str));
        return Err((format!("there is no element called `{part}`"), help));
    }
    if depth == 2 && parts[0] == "circuit" && KINDS.contains(&part) {
        // An element is of one kind: the new one takes the place of the old.
        entries.retain(|entry| !KINDS.contains(&entry.key.as_str()));
    }
    let mut node = YamlNode {
        value: Value::Null,
        place: new.place,
    };
    let key_place = new.place;
    put(&mut node, parts, depth + 1, new)?;
    entries.push(MapEntry {
        key: part.to_owned(),
        key_place,
        node,
    });
    Ok(())
}
