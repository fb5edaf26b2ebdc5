//! Problems and warnings of a machine file as text: the place, the line, what is wrong, how to fix it.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

use crate::findings::warnings::Warned;
use crate::machine::text::is_obeyed;
use crate::machine::{Place, Problem, Setting, limits};

/// Longest sentence, key and help of a message, in letters; what was typed may be of any length.
const LONGEST: [usize; 3] = [200, 90, 280];

/// What messages point into: a machine file as it was typed.
#[derive(Clone, Copy, Debug)]
pub struct SourceText<'a> {
    /// What messages call the file.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
    /// The settings laid over it.
    pub settings: &'a [Setting],
}

/// One message before it is rendered.
struct Message<'a> {
    level: Level<'a>,
    word: &'a str,
    place: Option<Place>,
    about: &'a str,
    what: &'a str,
    help: &'a str,
}

/// All problems, one paragraph each, and a line that counts them.
pub fn render(page: SourceText, problems: &[Problem]) -> String {
    let mut text = Vec::new();
    for problem in problems.iter().take(limits::PROBLEMS) {
        text.push(one(
            page,
            &Message {
                level: Level::ERROR,
                word: "error",
                place: problem.place,
                about: &problem.key,
                what: &problem.what,
                help: &problem.help,
            },
        ));
    }
    text.push(match problems.len() {
        1 => format!("{}: 1 problem to mend", page.name),
        n if n > limits::PROBLEMS => {
            format!(
                "{}: {n} problems to mend, the first {} shown",
                page.name,
                limits::PROBLEMS
            )
        }
        n => format!("{}: {n} problems to mend", page.name),
    });
    text.join("\n\n")
}

/// All warnings, one paragraph each with its code, and a line that says how to silence one.
pub fn render_warnings(page: SourceText, warnings: &[(Warned, Option<Place>)]) -> String {
    let mut text = Vec::new();
    for (warned, place) in warnings {
        text.push(one(
            page,
            &Message {
                level: Level::WARNING,
                word: "warning",
                place: *place,
                about: warned.warning.code(),
                what: &warned.what,
                help: &warned.help,
            },
        ));
    }
    let first = match warnings.first() {
        Some((warned, _)) => warned.warning.code(),
        None => "",
    };
    let number = if warnings.len() == 1 {
        "1 warning".to_owned()
    } else {
        format!("{} warnings", warnings.len())
    };
    text.push(format!(
        "{}: {number}; a known one is silenced by its code, `--allow {first}` or `allow: [{first}]` in the file",
        page.name
    ));
    text.join("\n\n")
}

fn one(page: SourceText, message: &Message) -> String {
    let [longest_what, longest_key, longest_help] = LONGEST;
    let (what, help) = (
        shown(message.what, longest_what),
        shown(message.help, longest_help),
    );
    let title = match message.about {
        "" => what,
        key => format!("{what} [{}]", shown(key, longest_key)),
    };
    let word = message.word;
    match message.place {
        Some(Place::File { start, end, .. }) => {
            let end = end.clamp(start, line_end(page.text, start));
            let snippet = Snippet::source(page.text)
                .path(page.name)
                .annotation(AnnotationKind::Primary.span(start..end));
            let title = message.level.clone().primary_title(&title);
            let group = title.element(snippet).element(Level::HELP.message(&help));
            Renderer::plain().render(&[group])
        }
        Some(Place::Setting(n)) => {
            let typed = shown(
                &page.settings.get(n).map(as_typed).unwrap_or_default(),
                longest_help,
            );
            format!("{word}: {title}\n  in {typed}\n  help: {help}")
        }
        None => format!("{word}: {title}\n  in {}\n  help: {help}", page.name),
    }
}

/// The words of the command line that a setting came from.
fn as_typed(setting: &Setting) -> String {
    match setting.key.as_str() {
        short @ ("marbles" | "rpm") => format!("--{short} {}", setting.value),
        key => format!("--set {key}={}", setting.value),
    }
}

/// A text that is safe to print: no line breaks or other control characters, and the middle cut out where it is endless.
fn shown(text: &str, longest: usize) -> String {
    let letters = text.chars().count();
    let half = longest / 2;
    let shortened = if letters <= longest {
        text.to_owned()
    } else {
        let head: String = text.chars().take(half).collect();
        let tail: String = text.chars().skip(letters - half).collect();
        format!("{head} ... {tail}")
    };
    shortened.replace(is_obeyed, "\u{fffd}")
}

fn line_end(text: &str, start: usize) -> usize {
    match text[start..].find(['\n', '\r']) {
        Some(length) => start + length,
        None => text.len(),
    }
}
