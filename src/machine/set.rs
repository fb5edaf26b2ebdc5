//! `--set KEY=VALUE`: any key of the file, from the command line.

use super::model::KINDS;
use super::problem::Place;
use super::suggest::did_you_mean;
use super::yaml::{Entry, Node, Value, parse_setting};

/// Short names for the keys changed most.
const SHORT: [(&str, &str); 2] = [("marbles", "marbles.count"), ("rpm", "drive.speed")];

/// Writes `value` at the dotted `key` of the tree; `n` is its number on the command line.
///
/// The kind key of an element may be left out: `circuit.lift.pockets=24`. A missing key is made in its last place.
///
/// # Errors
/// A sentence that says what is wrong, and one that says how to mend it.
pub fn set(tree: &mut Node, key: &str, value: &str, n: usize) -> Result<(), (String, String)> {
    let place = Place::Setting(n);
    let value = if key == "rpm" && value.parse::<f64>().is_ok() { format!("{value} rpm") } else { value.to_owned() };
    let key = SHORT.iter().find(|(short, _)| *short == key).map_or(key, |(_, long)| *long);
    let new =
        parse_setting(&value, place).map_err(|what| (what, "quote the value if it holds `:` or `{`".to_owned()))?;
    let parts: Vec<&str> = key.split('.').collect();
    put(tree, &parts, new, key)
}

fn put(node: &mut Node, parts: &[&str], new: Node, key: &str) -> Result<(), (String, String)> {
    let [part, rest @ ..] = parts else {
        *node = new;
        return Ok(());
    };
    if let Value::List(items) = &mut node.value {
        let last = items.len();
        let found = part.parse().ok().and_then(|n: usize| items.get_mut(n));
        return match found {
            Some(item) => put(item, rest, new, key),
            None => {
                Err((format!("`{part}` in `{key}` is not one of the {last} items"), "count items from 0".to_owned()))
            }
        };
    }
    if matches!(node.value, Value::Null) {
        node.value = Value::Map(Vec::new());
    }
    let Value::Map(entries) = &mut node.value else {
        return Err((
            format!("`{part}` in `{key}` leads into a single value"),
            "end the key one step earlier".to_owned(),
        ));
    };
    if let Some(entry) = entries.iter_mut().find(|entry| entry.key == *part) {
        return put(&mut entry.node, rest, new, key);
    }
    if let Some(kind) = entries.iter_mut().find(|entry| KINDS.contains(&entry.key.as_str())) {
        return put(&mut kind.node, parts, new, key);
    }
    if !rest.is_empty() && parts.len() > 2 {
        let known: Vec<String> = entries.iter().map(|entry| entry.key.clone()).collect();
        let mend = did_you_mean(part, known.iter().map(String::as_str));
        return Err((format!("`{key}` leads nowhere: there is no `{part}`"), mend));
    }
    let place = new.place;
    let mut node = Node { value: Value::Null, place };
    put(&mut node, rest, new, key)?;
    entries.push(Entry { key: (*part).to_owned(), key_place: place, node });
    Ok(())
}
