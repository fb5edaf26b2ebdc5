//! A page as Markdown (CommonMark, with the tables of GitHub Flavored Markdown), its pictures in files beside it.

use super::page::{Page, PageFigure, PagePart, PageTable, Span, Text};
use crate::report::rows::Alignment;

/// The page as Markdown.
pub fn markdown(page: &Page) -> String {
    let mut parts = vec![format!("# {}", inline(&Text::plain(&page.title)))];
    // Markdown cannot move.
    let still = |part: &&PagePart| !matches!(part, PagePart::Player(_));
    parts.extend(page.blocks.iter().filter(still).map(block));
    parts.join("\n\n") + "\n"
}

fn block(block: &PagePart) -> String {
    match block {
        PagePart::Chapter(text) => format!("## {}", inline(text)),
        PagePart::Heading(text) => format!("### {}", inline(text)),
        PagePart::Paragraph(text) => at_start(&inline(text)),
        PagePart::List(items) => items
            .iter()
            .map(|item| format!("- {}", at_start(&inline(item))))
            .collect::<Vec<_>>()
            .join("\n"),
        PagePart::Table(of) => table(of),
        PagePart::Figure(PageFigure {
            name, alt, caption, ..
        }) => {
            format!(
                "![{}](<{name}>)\n\n{}",
                inline(&Text::plain(&alt.words())),
                at_start(&inline(caption))
            )
        }
        PagePart::Verbatim(text) => verbatim(text),
        PagePart::Player(_) => String::new(),
    }
}

fn table(of: &PageTable) -> String {
    let sides = of.sides.iter().map(|side| match side {
        Alignment::Right => "---:".to_owned(),
        Alignment::Left => "---".to_owned(),
    });
    let mut lines = vec![row(&of.header), line(&sides.collect::<Vec<_>>())];
    lines.extend(of.rows.iter().map(|cells| row(cells)));
    lines.join("\n")
}

fn row(cells: &[Text]) -> String {
    line(&cells.iter().map(in_cell).collect::<Vec<_>>())
}

fn line(cells: &[String]) -> String {
    format!("| {} |", cells.join(" | "))
}

/// Inside a cell a bar would end it, and in code no backslash helps against that everywhere.
fn in_cell(text: &Text) -> String {
    let mut said = String::new();
    for part in &text.0 {
        match part {
            Span::Code(text) if text.contains('|') => said += &escaped(text),
            other => said += &span(other),
        }
    }
    said
}

fn inline(text: &Text) -> String {
    text.0.iter().map(span).collect()
}

fn span(span: &Span) -> String {
    match span {
        Span::Plain(text) => escaped(text),
        Span::Strong(text) | Span::Mark(text) => strong(text),
        Span::Code(text) => code(text),
    }
}

/// Stars stand close to the words: with a space between, they mean nothing.
fn strong(text: &str) -> String {
    let inner = text.trim();
    if inner.is_empty() {
        return text.to_owned();
    }
    let start = text.len() - text.trim_start().len();
    format!(
        "{}**{}**{}",
        &text[..start],
        escaped(inner),
        &text[start + inner.len()..]
    )
}

/// Every character that can mean something in the middle of a line gets a backslash.
fn escaped(text: &str) -> String {
    let mut escaped = String::new();
    for letter in text.chars() {
        if r"\`*_[]<>|~&#$!".contains(letter) {
            escaped.push('\\');
        }
        escaped.push(letter);
    }
    escaped
}

/// A line that begins like a list, a quotation or a rule gets a backslash there too.
fn at_start(line: &str) -> String {
    let digits = line.chars().take_while(char::is_ascii_digit).count();
    let at = match line[digits..].chars().next() {
        Some('.' | ')') if digits > 0 => digits,
        Some('-' | '+' | '=' | ':') if digits == 0 => 0,
        _ => return line.to_owned(),
    };
    format!("{}\\{}", &line[..at], &line[at..])
}

/// Between as many backticks as it takes.
fn code(text: &str) -> String {
    if text.is_empty() {
        return String::new();
    }
    let fence = "`".repeat(longest(text, '`') + 1);
    let space = if text.starts_with('`') || text.ends_with('`') {
        " "
    } else {
        ""
    };
    format!("{fence}{space}{text}{space}{fence}")
}

fn verbatim(text: &str) -> String {
    let fence = "`".repeat((longest(text, '`') + 1).max(3));
    format!("{fence}\n{}\n{fence}", text.trim_end_matches('\n'))
}

/// How many of `letter` stand in a row at most.
fn longest(text: &str, letter: char) -> usize {
    let (mut longest, mut now) = (0, 0);
    for c in text.chars() {
        now = if c == letter { now + 1 } else { 0 };
        longest = longest.max(now);
    }
    longest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn code_is_fenced_by_more_backticks_than_it_holds() {
        assert_eq!(code("a"), "`a`");
        assert_eq!(code("a`b"), "``a`b``");
        assert_eq!(code("`"), "`` ` ``");
        assert_eq!(verbatim("```\n"), "````\n```\n````");
    }

    #[test]
    fn what_begins_like_a_list_is_none() {
        assert_eq!(
            ["1. x", "- x", "12) x", "34 marbles", "7.5 rpm"].map(at_start),
            ["1\\. x", "\\- x", "12\\) x", "34 marbles", "7\\.5 rpm"]
        );
    }
}
