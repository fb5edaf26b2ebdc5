//! What a YAML parser says, in the words of someone who has never heard of YAML.

use super::limits;
use super::problem::{Place, Problem};
use super::units::plain;

fn problem(place: Place, what: impl Into<String>, help: impl Into<String>) -> Problem {
    Problem {
        place: Some(place),
        key: String::new(),
        what: what.into(),
        help: help.into(),
    }
}

/// A key that its map already has.
pub fn duplicate(key: &str, first: Place, place: Place) -> Problem {
    let what = match first {
        Place::File { line, .. } => format!("`{key}` is written twice, first on line {line}"),
        Place::Setting(_) => format!("`{key}` is written twice"),
    };
    problem(place, what, "keep one of the two, or give one another name")
}

/// A second document in one file.
pub fn second_document(place: Place) -> Problem {
    problem(
        place,
        "a second machine begins here",
        "keep one machine in a file: take out this line and what follows it",
    )
}

/// Brackets in brackets, without end.
pub fn too_deep(place: Place) -> Problem {
    let what = format!(
        "lists and braces are nested more than {} deep here",
        limits::NESTING
    );
    problem(
        place,
        what,
        "a machine file needs about six levels: look for a bracket too many",
    )
}

/// More values than any machine has.
pub fn too_many(place: Place) -> Problem {
    let what = format!(
        "here the file comes to more than {} values, repeated ones counted",
        plain(limits::VALUES as f64)
    );
    problem(
        place,
        what,
        "take out what the machine does not need, and repeat less with `*`",
    )
}

/// An alias inside what it repeats.
pub fn repeats_itself(place: Place) -> Problem {
    problem(
        place,
        "this repeats something that it is itself a part of",
        "write out what is meant",
    )
}

/// The parser's `info` at `place`; `opened` is where the innermost list or map began.
pub fn explain(text: &str, info: &str, place: Place, opened: Option<Place>) -> Problem {
    let has = |words: &str| info.contains(words);
    if has("recursion limit") {
        return too_deep(place);
    }
    if has("tab cannot") || has("tabs ") || has("a tab") {
        let help = "use spaces, as many as on the lines that belong with this one";
        return problem(
            back_over_tab(text, place),
            "a tab stands here, where only spaces may",
            help,
        );
    }
    if has("expect ':'") {
        let help = "write a key, a colon, a space and its value, as in `to: lift`";
        return problem(
            line_before(text, place),
            "a colon with a space after it is missing here",
            help,
        );
    }
    if let Some(character) = info.strip_prefix("unexpected character: ") {
        let what = format!(
            "a value cannot begin with `{}`",
            character.trim_matches(['`', '\''])
        );
        return problem(place, what, "put the text in quotes");
    }
    if has("unknown anchor") {
        let help = "mark what is meant with `&` and the same name further up, or write it out";
        return problem(
            place,
            "this repeats something that is not marked anywhere above",
            help,
        );
    }
    bracket(text, info, place, opened)
        .or_else(|| in_table(info, place))
        .unwrap_or_else(|| {
            let help =
                "look at the indentation, colons, quotes and brackets just before this place";
            problem(place, format!("this cannot be read as YAML: {info}"), help)
        })
}

/// Parts of what the parser says, what is wrong then, and how to fix it.
const WORDS: [(&str, &str, &str); 15] = [
    (
        "mapping values are not allowed",
        "this colon cannot stand here",
        "put a text that has a colon in it in quotes, or indent the line like those it belongs with",
    ),
    (
        "did not find expected key",
        "this line is indented unlike those around it",
        ALIGN,
    ),
    (
        "expected '-' indicator",
        "this line is indented unlike those around it",
        ALIGN,
    ),
    (
        "invalid indentation",
        "this line is indented too little for what it goes on with",
        ALIGN,
    ),
    (
        "expected <document",
        "this line does not belong to what stands before it",
        ALIGN,
    ),
    (
        "misplaced bracket",
        "this bracket closes nothing",
        "take it out, or write the one that opens it",
    ),
    (
        "trailing content after",
        "text goes on after the closing quote",
        "put the whole text into one pair of quotes",
    ),
    (
        "unprintable",
        "a character that is not text stands here",
        "delete it, and save the file as plain text",
    ),
    (
        "byte order mark",
        "a character that is not text stands here",
        "delete it, and save the file as plain text",
    ),
    (
        "before directive",
        "a line cannot begin with `%`",
        "put the text in quotes",
    ),
    (
        "cannot start with '-'",
        "a value cannot be a single `-`",
        "write the value, or put the `-` in quotes",
    ),
    (
        "block sequence entries",
        "a list cannot begin here",
        "begin each item on a line of its own below the key, or write `[one, two]`",
    ),
    (
        "expected node content",
        "a value is missing here",
        "write the value, or take the comma or bracket out",
    ),
    (
        "escape character",
        "a backslash stands here before a letter it does not go with",
        "put the text in single quotes",
    ),
    (
        "invalid content after document",
        "text goes on after the end of the file's `...`",
        "take the `...` out",
    ),
];
const ALIGN: &str = "give keys that belong together the same number of spaces before them";

fn in_table(info: &str, place: Place) -> Option<Problem> {
    let (_, what, help) = WORDS.iter().find(|(part, _, _)| info.contains(part))?;
    Some(problem(place, *what, *help))
}

/// Brackets, braces and quotes that are not closed: the place that matters is where they were opened.
fn bracket(text: &str, info: &str, place: Place, opened: Option<Place>) -> Option<Problem> {
    let quoted = info.contains("quoted scalar");
    if quoted
        && (info.contains("invalid indentation")
            || info.contains("end of stream")
            || info.contains("document"))
    {
        return Some(problem(
            place,
            "the quote opened here is not closed",
            "write the closing quote at the end of the text",
        ));
    }
    let flow = info.contains("flow")
        || info.contains("unexpected eof")
        || info.contains("did not find expected next token");
    let (
        Some(Place::File {
            start, line: from, ..
        }),
        Place::File { line: to, .. },
    ) = (opened.filter(|_| flow), place)
    else {
        return None;
    };
    let (open, close) = match text.get(start..)?.chars().next()? {
        '{' => ('{', '}'),
        '[' => ('[', ']'),
        _ => return None,
    };
    if from == to {
        let help = format!("write commas between the parts, and `{close}` at the end");
        return Some(problem(
            place,
            format!("a comma or `{close}` is missing here"),
            help,
        ));
    }
    let what = format!("the `{open}` opened here is not closed before line {to}");
    opened.map(|opened| {
        problem(
            opened,
            what,
            format!("write `{close}` where it ends, and commas between its parts"),
        )
    })
}

/// The place of the tab just before `place`.
fn back_over_tab(text: &str, place: Place) -> Place {
    match place {
        Place::File {
            start,
            line,
            column,
            ..
        } if start > 0 && column > 1 && text.as_bytes()[start - 1] == b'\t' => Place::File {
            start: start - 1,
            end: start,
            line,
            column: column - 1,
        },
        other => other,
    }
}

/// The last line with anything on it before the one of `place`; without one, `place` itself.
fn line_before(text: &str, place: Place) -> Place {
    let Place::File { start, .. } = place else {
        return place;
    };
    let before = text.get(..start).unwrap_or_default();
    // Before the first key of a line, and at the end of the text, the fault is on the line above.
    let above = before
        .rfind('\n')
        .filter(|&n| before[n..].trim().is_empty())
        .map_or(before, |n| &before[..n]);
    let above = above.trim_end();
    let from = above.rfind('\n').map_or(0, |n| n + 1);
    let indent = above[from..].len() - above[from..].trim_start().len();
    if above[from..].trim().is_empty() {
        return place;
    }
    let line = above.matches('\n').count() + 1;
    Place::File {
        start: from + indent,
        end: above.len(),
        line,
        column: above[from..from + indent].chars().count() + 1,
    }
}
