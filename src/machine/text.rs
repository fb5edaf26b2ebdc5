//! Text from outside: titles, names, paths and values that somebody else wrote.
//!
//! A terminal obeys some letters instead of showing them, and some turn the order of what stands beside them. None of them
//! says anything that a maker would miss, so one rule takes them out of whatever is printed, drawn or put on a page.

/// Whether a letter is obeyed rather than shown: controls (C0, delete and C1), marks of writing direction, and the two
/// separators that count as line ends.
pub fn is_obeyed(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// `text` on one line: each line end is a space, any other letter that would be obeyed the sign for a letter that cannot be
/// shown.
pub fn one_line(text: &str) -> String {
    let ends = [
        '\n', '\r', '\t', '\u{b}', '\u{c}', '\u{85}', '\u{2028}', '\u{2029}',
    ];
    text.replace("\r\n", "\n")
        .replace(ends, " ")
        .replace(is_obeyed, "\u{fffd}")
}

/// `text` with its lines and tabs as they are, and nothing else that would be obeyed.
pub fn lines(text: &str) -> String {
    text.replace("\r\n", "\n").replace(
        |letter| is_obeyed(letter) && !matches!(letter, '\n' | '\t'),
        "\u{fffd}",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_a_terminal_obeys_is_left() {
        let every = (0..=0x2fff_u32)
            .filter_map(char::from_u32)
            .collect::<String>();
        for text in [one_line(&every), lines(&every).replace(['\n', '\t'], "")] {
            assert!(!text.contains(is_obeyed));
            assert!(text.contains("abc") && text.contains("\u{e9}") && text.contains('\u{3b1}'));
        }
        for mark in [
            "\u{1b}", "\u{7}", "\r", "\u{9b}", "\u{7f}", "\u{202e}", "\u{2066}", "\u{200f}",
            "\u{61c}",
        ] {
            assert!(mark.contains(is_obeyed), "{mark:?}");
        }
    }

    #[test]
    fn lines_stay_lines_only_where_they_are_meant() {
        assert_eq!(one_line("ok\r\n\n 14 marbles"), "ok   14 marbles");
        assert_eq!(lines("a:\r\n\tb\u{1b}[2J\n"), "a:\n\tb\u{fffd}[2J\n");
    }
}
