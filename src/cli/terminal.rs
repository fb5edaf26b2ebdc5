//! The terminal's width, where there is one.

use std::io::{IsTerminal, stdout};

use textwrap::WordSplitter::NoHyphenation;

/// Narrowest width that text is fitted to.
const NARROWEST: usize = 40;

/// Width in letters that text is fitted to: `COLUMNS`, which POSIX keeps for a user's own wish, or the terminal's; none
/// for a file or a pipe, which gets lines of any length.
pub fn width() -> Option<usize> {
    if let Ok(columns) = std::env::var("COLUMNS")
        && let Ok(wished @ 1..) = columns.parse::<usize>()
    {
        return Some(wished.max(NARROWEST));
    }
    if !stdout().is_terminal() {
        return None;
    }
    let (width, _) = terminal_size::terminal_size()?;
    Some(usize::from(width.0).max(NARROWEST))
}

/// As much of a text as the terminal has room for, one line kept free, and how many of its lines that takes.
pub fn fitted(text: &str) -> (String, usize) {
    let (width, height) = match terminal_size::terminal_size() {
        Some((width, height)) => (usize::from(width.0).max(1), usize::from(height.0)),
        None => (80, 24),
    };
    let (mut kept, mut taken) = (Vec::new(), 0);
    for line in text.lines() {
        let rows = line.chars().count().div_ceil(width).max(1);
        if taken + rows + 1 > height.max(2) {
            break;
        }
        kept.push(line);
        taken += rows;
    }
    (kept.join("\n"), taken)
}

/// As wide as what stands before a sentence.
const HANGING: &str = "   ";

/// A sentence of an answer as it is printed: `!` before what a maker would want to change, broken to the width.
pub fn sentence(good: bool, text: &str) -> String {
    let line = format!("{}  {text}", if good { ' ' } else { '!' });
    match width() {
        Some(width) => wrap(&line, width),
        None => line,
    }
}

fn wrap(line: &str, width: usize) -> String {
    let options = textwrap::Options::new(width)
        .subsequent_indent(HANGING)
        .break_words(false)
        .word_splitter(NoHyphenation);
    textwrap::wrap(line, options).join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_are_broken_between_words_and_hang() {
        let text = "!  It jams in 12 % of runs, at the earliest after 3 min (seed 1, run 7).";
        let broken = wrap(text, 40);
        assert!(
            broken.lines().count() == 2 && broken.lines().all(|line| line.chars().count() <= 40),
            "{broken}"
        );
        assert!(
            broken
                .lines()
                .skip(1)
                .all(|line| line.starts_with("   ") && !line.starts_with("    "))
        );
        assert_eq!(
            broken.split_whitespace().collect::<Vec<_>>(),
            text.split_whitespace().collect::<Vec<_>>()
        );
        assert_eq!(wrap(text, 200), text);
    }
}
