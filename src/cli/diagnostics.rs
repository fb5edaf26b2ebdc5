//! Problems of a machine file as text: the place, the line, what is wrong, how to mend it.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

use super::source::Source;
use crate::machine::{Place, Problem, limits};

/// Longest sentence, key and help of a message, in letters; what was typed may be of any length.
const LONGEST: [usize; 3] = [200, 90, 280];

/// All problems, one paragraph each, and a line that counts them.
pub fn render(source: &Source, problems: &[Problem]) -> String {
    let mut text: Vec<String> = problems.iter().take(limits::PROBLEMS).map(|problem| one(source, problem)).collect();
    text.push(match problems.len() {
        1 => format!("{}: 1 problem to mend", source.name),
        n if n > limits::PROBLEMS => {
            format!("{}: {n} problems to mend, the first {} shown", source.name, limits::PROBLEMS)
        }
        n => format!("{}: {n} problems to mend", source.name),
    });
    // A line of the file, or its name, may hold what a terminal would obey.
    text.join("\n\n").chars().map(|c| if c.is_control() && c != '\n' { '\u{fffd}' } else { c }).collect()
}

fn one(source: &Source, problem: &Problem) -> String {
    let [longest_what, longest_key, longest_mend] = LONGEST;
    let (what, mend) = (shown(&problem.what, longest_what), shown(&problem.mend, longest_mend));
    let title = match problem.key.as_str() {
        "" => what,
        key => format!("{what} [{}]", shown(key, longest_key)),
    };
    match problem.place {
        Some(Place::File { start, end, .. }) => {
            let end = end.clamp(start, line_end(&source.text, start));
            let snippet =
                Snippet::source(&source.text).path(&source.name).annotation(AnnotationKind::Primary.span(start..end));
            let group = Level::ERROR.primary_title(&title).element(snippet).element(Level::HELP.message(&mend));
            Renderer::plain().render(&[group])
        }
        Some(place) => {
            let typed = shown(&source.setting_at(place).unwrap_or_default(), longest_mend);
            format!("error: {title}\n  in {typed}\n  help: {mend}")
        }
        None => format!("error: {title}\n  in {}\n  help: {mend}", source.name),
    }
}

/// A text that is safe to print: no line breaks or other control characters, and the middle cut out where it is endless.
fn shown(text: &str, longest: usize) -> String {
    let safe = |c: char| if c.is_control() { '\u{fffd}' } else { c };
    let letters = text.chars().count();
    if letters <= longest {
        return text.chars().map(safe).collect();
    }
    let half = longest / 2;
    text.chars().take(half).chain(" ... ".chars()).chain(text.chars().skip(letters - half)).map(safe).collect()
}

fn line_end(text: &str, start: usize) -> usize {
    text[start..].find(['\n', '\r']).map_or(text.len(), |n| start + n)
}
