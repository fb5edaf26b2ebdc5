//! The terminal's width, where there is one.

use std::io::{IsTerminal, stdout};

/// Narrowest width that text is fitted to.
const NARROWEST: usize = 40;

/// Width in letters if standard output is a terminal; a file or a pipe gets lines of any length.
pub fn width() -> Option<usize> {
    let (width, _) = stdout().is_terminal().then(terminal_size::terminal_size).flatten()?;
    Some(usize::from(width.0).max(NARROWEST))
}

/// `text` broken to the terminal's width, later lines indented by so many spaces; as it is where there is no terminal.
pub fn wrapped(text: &str, indent: usize) -> String {
    width().map_or_else(|| text.to_owned(), |width| wrap(text, indent, width))
}

fn wrap(text: &str, indent: usize, width: usize) -> String {
    let indent = " ".repeat(indent);
    let options = textwrap::Options::new(width).subsequent_indent(&indent).break_words(false);
    textwrap::wrap(text, options).join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_are_broken_between_words_and_hang() {
        let text = "!  It jams in 12 % of runs, at the earliest after 3 min (seed 1, run 7).";
        let broken = wrap(text, 3, 40);
        assert!(broken.lines().count() == 2 && broken.lines().all(|line| line.chars().count() <= 40), "{broken}");
        assert!(broken.lines().skip(1).all(|line| line.starts_with("   ") && !line.starts_with("    ")));
        assert_eq!(broken.split_whitespace().collect::<Vec<_>>(), text.split_whitespace().collect::<Vec<_>>());
        assert_eq!(wrap(text, 3, 200), text);
    }
}
