//! Problems of a machine file as text: the place, the line, what is wrong, how to mend it.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

use super::source::Source;
use crate::machine::{Place, Problem};

/// All problems, one paragraph each, and a line that counts them.
pub fn render(source: &Source, problems: &[Problem]) -> String {
    let mut text: Vec<String> = problems.iter().map(|problem| one(source, problem)).collect();
    let count = problems.len();
    text.push(format!("{}: {count} problem{}, nothing was written", source.name, if count == 1 { "" } else { "s" }));
    text.join("\n\n")
}

fn one(source: &Source, problem: &Problem) -> String {
    let title = match problem.key.as_str() {
        "" => problem.what.clone(),
        key => format!("{} [{key}]", problem.what),
    };
    let title = Level::ERROR.primary_title(&title);
    let help = Level::HELP.message(&problem.mend);
    let group = match problem.place {
        Some(Place::File { start, end, .. }) => {
            let end = end.clamp(start, first_line_end(&source.text, start));
            let snippet = Snippet::source(&source.text)
                .path(&source.name)
                .annotation(AnnotationKind::Primary.span(start..end.max(start)));
            title.element(snippet).element(help)
        }
        Some(place) => {
            let setting = source.setting_at(place).unwrap_or_default();
            return format!("error: {}\n  in --set {setting}\n  help: {}", problem.what, problem.mend);
        }
        None => title.element(help),
    };
    Renderer::plain().render(&[group])
}

fn first_line_end(text: &str, start: usize) -> usize {
    text[start..].find('\n').map_or(text.len(), |n| start + n)
}
