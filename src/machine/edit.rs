//! Writing one value into the text of a machine file; everything else stays as it is, byte for byte.

use std::ops::Range;

use saphyr_parser::{Event, Parser, Span};

/// A value of the file as an editor needs it.
struct EditValue {
    /// First byte.
    start: usize,
    /// One past the last byte; for a block of lines, past its last value.
    end: usize,
    /// Keys and values in turn, or items.
    inside: Vec<EditValue>,
    /// Whether it holds items.
    list: bool,
    shape: EditShape,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum EditShape {
    Scalar,
    /// A map or list over several lines.
    Block,
    /// A map or list in braces or brackets.
    Braces,
}

/// The text with `value` written at `path`, a chain of keys from the top; keys that are missing are made, in braces.
///
/// `None` where the file cannot be read as YAML, where the path leads through something that is not a map or stands
/// elsewhere (an alias), or where a comment stands inside the value that would be replaced. Whether the result still is
/// the machine that was meant is for the caller to check by reading it.
pub fn put(text: &str, path: &[&str], value: &str) -> Option<String> {
    let whole = parts(text)?;
    let mut at = &whole;
    let mut key = None;
    for (depth, name) in path.iter().enumerate() {
        if at.shape == EditShape::Scalar && !text[at.start..at.end].trim().is_empty() {
            return None;
        }
        if at.list {
            at = at.inside.get(name.parse::<usize>().ok()?)?;
            continue;
        }
        match pair_of(text, at, name) {
            Some(pair) => (key, at) = (Some(&pair[0]), &pair[1]),
            None => return Some(insert(text, at, key, &nested(&path[depth..], value))),
        }
    }
    replace(text, at, key?, value)
}

/// The text with a key and its value in the place of the key, and its value, at the end of `path`.
///
/// `None` as of [`put`], and where there is no such key.
pub fn swap(text: &str, path: &[&str], (key, value): (&str, &str)) -> Option<String> {
    let whole = parts(text)?;
    let (mut at, mut old) = (&whole, None);
    for name in path {
        let pair = pair_of(text, at, name)?;
        (old, at) = (Some(&pair[0]), &pair[1]);
    }
    let old = old?;
    let put = replace(text, at, old, value)?;
    Some(splice(&put, old.start..old.end, key))
}

/// The key and the value called `name` in a map.
fn pair_of<'v>(text: &str, map: &'v EditValue, name: &str) -> Option<&'v [EditValue]> {
    let called = |pair: &&[EditValue]| unquoted(&text[pair[0].start..pair[0].end]) == name;
    let mut pairs = map.inside.chunks_exact(2).filter(|_| !map.list);
    pairs.find(called)
}

fn unquoted(key: &str) -> &str {
    for quote in ['"', '\''] {
        if let Some(inner) = key.strip_prefix(quote)
            && let Some(inner) = inner.strip_suffix(quote)
        {
            return inner;
        }
    }
    key
}

/// `a: { b: value }` for the keys that are missing.
fn nested(keys: &[&str], value: &str) -> String {
    match keys {
        [last] => format!("{last}: {value}"),
        [first, rest @ ..] => format!("{first}: {{ {} }}", nested(rest, value)),
        [] => value.to_owned(),
    }
}

fn replace(text: &str, old: &EditValue, key: &EditValue, value: &str) -> Option<String> {
    let gone = &text[old.start..old.end];
    if gone.trim().is_empty() {
        return Some(after_colon(text, key, value));
    }
    let comment = gone
        .lines()
        .any(|line| line.trim_start().starts_with('#') || line.contains(" #"));
    if comment {
        return None;
    }
    Some(splice(text, old.start..old.end, value))
}

/// Writes `line` as a new key of the map `of`, whose own key is `key`.
fn insert(text: &str, of: &EditValue, key: Option<&EditValue>, line: &str) -> String {
    let ending = if text.contains("\r\n") { "\r\n" } else { "\n" };
    match (of.shape, of.inside.first(), of.inside.last(), key) {
        (EditShape::Braces, _, Some(last), _) => {
            splice(text, last.end..last.end, &format!(", {line}"))
        }
        (EditShape::Braces, _, None, _) => {
            let inside = of.start + 1;
            splice(text, inside..inside, &format!(" {line} "))
        }
        // At the top of the file a new key comes last; inside an element it comes first, where no comment can part it.
        (EditShape::Block, _, _, None) => {
            let gap = if text.ends_with('\n') { "" } else { ending };
            format!("{text}{gap}{line}{ending}")
        }
        (EditShape::Block, Some(first), ..) => {
            let line_start = text[..first.start].rfind('\n').map_or(0, |n| n + 1);
            let indent = " ".repeat(text[line_start..first.start].chars().count());
            splice(
                text,
                first.start..first.start,
                &format!("{line}{ending}{indent}"),
            )
        }
        (_, _, _, Some(key)) => after_colon(text, key, &format!("{{ {line} }}")),
        _ => format!("{text}{line}{ending}"),
    }
}

fn after_colon(text: &str, key: &EditValue, value: &str) -> String {
    let after = match text[key.end..].find(':') {
        Some(colon) => key.end + colon + 1,
        None => key.end,
    };
    splice(text, after..after, &format!(" {value}"))
}

fn splice(text: &str, old: Range<usize>, value: &str) -> String {
    format!("{}{value}{}", &text[..old.start], &text[old.end..])
}

fn parts(text: &str) -> Option<EditValue> {
    let starts: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
    let byte = |character: usize| starts.get(character).copied().unwrap_or(text.len());
    let mut open = vec![EditValue {
        start: 0,
        end: 0,
        list: false,
        inside: Vec::new(),
        shape: EditShape::Block,
    }];
    for event in Parser::new_from_str(text) {
        let (event, span) = event.ok()?;
        take(&mut open, &event, &span, text, &byte);
    }
    let mut whole = open.pop().filter(|_| open.is_empty())?;
    whole.inside.pop().filter(|_| whole.inside.is_empty())
}

fn take(
    open: &mut Vec<EditValue>,
    event: &Event,
    span: &Span,
    text: &str,
    byte: &impl Fn(usize) -> usize,
) {
    let (start, end) = (byte(span.start.index()), byte(span.end.index()));
    let done = match event {
        Event::Scalar(..) | Event::Alias(_) => EditValue {
            start,
            end,
            inside: Vec::new(),
            list: false,
            shape: EditShape::Scalar,
        },
        Event::SequenceStart(..) | Event::MappingStart(..) => {
            let braces = text[start..].starts_with(['{', '[']);
            let shape = if braces {
                EditShape::Braces
            } else {
                EditShape::Block
            };
            open.push(EditValue {
                start,
                end,
                inside: Vec::new(),
                list: matches!(event, Event::SequenceStart(..)),
                shape,
            });
            return;
        }
        Event::SequenceEnd | Event::MappingEnd => {
            let Some(mut done) = open.pop() else { return };
            done.end = match (done.shape, done.inside.last()) {
                // The span of what closes them may reach over a comment behind it.
                (EditShape::Braces, _) => (start + 1).min(text.len()),
                (_, Some(last)) => last.end,
                (_, None) => done.start,
            };
            done
        }
        _ => return,
    };
    if let Some(outer) = open.last_mut() {
        outer.inside.push(done);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn put_time(text: &str) -> Option<String> {
        put(text, &["circuit", "bell", "track", "time"], "2 s")
    }

    #[test]
    fn only_the_value_changes() {
        let text = "# top\ncircuit:\n  bell:   # rings\n    track: { time: 1 s, places: 3 }   # by hand\n    to: none\n";
        assert_eq!(
            put_time(text).as_deref(),
            Some(&*text.replace("1 s", "2 s"))
        );
        let wide = text.replace("1 s", "{ normal: { mean: 1 s, sd: 0.1 s } }");
        assert_eq!(
            put_time(&wide).as_deref(),
            Some(&*text.replace("1 s", "2 s"))
        );
    }

    #[test]
    fn a_missing_key_is_made() {
        let braces = "circuit:\r\n  bell:\r\n    track: { length: 9 mm, slope: 1 deg }\r\n";
        assert_eq!(
            put_time(braces).as_deref(),
            Some(&*braces.replace("1 deg", "1 deg, time: 2 s"))
        );
        let block = "circuit:\n  bell:\n    track:\n      # long\n      length: 9 mm   # cut\n      slope: 1 deg\n";
        let meant = block.replace("length: 9", "time: 2 s\n      length: 9");
        assert_eq!(put_time(block).as_deref(), Some(&*meant));
        assert_eq!(
            put_time("circuit: { bell: { track: {} } }").as_deref(),
            Some("circuit: { bell: { track: { time: 2 s } } }")
        );
        assert_eq!(
            put_time("circuit:\n  bell:\n    track:\n    to: none\n").as_deref(),
            Some("circuit:\n  bell:\n    track: { time: 2 s }\n    to: none\n")
        );
        assert_eq!(
            put("a: ü\n", &["assume", "b"], "1").as_deref(),
            Some("a: ü\nassume: { b: 1 }\n")
        );
    }

    #[test]
    fn items_of_a_list_are_reached_by_number() {
        let text = "circuit:\n  zig:\n    track:\n      segments:\n        - { length: 9 mm, slope: 1 deg }   # top\n        - length: 8 mm\n          slope: 2 deg\n";
        let put = |path: &[&str]| put(text, path, "7 mm");
        let at = |n| put(&["circuit", "zig", "track", "segments", n, "length"]);
        assert_eq!(at("0").as_deref(), Some(&*text.replace("9 mm", "7 mm")));
        assert_eq!(at("1").as_deref(), Some(&*text.replace("8 mm", "7 mm")));
        assert_eq!((at("2"), at("x")), (None, None));
    }

    #[test]
    fn a_key_gives_its_place_to_another() {
        let text = "circuit:\n  split:\n    bowl: { swirl: 2 s }   # turned\n    to: [a, b]\n";
        let swapped = |path: &[&str]| swap(text, path, ("peg", "{ drop: 40 mm }"));
        assert_eq!(
            swapped(&["circuit", "split", "bowl"]).as_deref(),
            Some(&*text.replace("bowl: { swirl: 2 s }", "peg: { drop: 40 mm }"))
        );
        assert_eq!(swapped(&["circuit", "split", "weir"]), None);
    }

    #[test]
    fn a_block_is_replaced_whole_unless_a_comment_stands_in_it() {
        let block = "circuit:\n  bell:\n    track:\n      time:\n        normal:\n          mean: 5 s\n          sd: 1 s   # felt\n    to: none\n";
        assert_eq!(
            put_time(block).as_deref(),
            Some(
                "circuit:\n  bell:\n    track:\n      time:\n        2 s   # felt\n    to: none\n"
            )
        );
        assert_eq!(put_time(&block.replace("5 s\n", "5 s   # guess\n")), None);
        assert_eq!(put_time("circuit:\n  bell: &b 3\n"), None);
        assert_eq!(put_time("a: [1"), None);
    }
}
