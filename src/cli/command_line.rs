//! A command as it is typed to get the same answer again.

use std::path::Path;

use super::args::{ChangeArgs, StudyArgs};
use crate::machine::Setting;
use crate::machine::text::is_obeyed;

/// The words of a command.
pub struct CommandLine(Vec<String>);

impl CommandLine {
    /// The words of `command` on a machine file; without one, on the built-in machine.
    pub fn new(command: &str, machine: Option<&Path>) -> Self {
        let mut words = vec!["marblewright".to_owned(), command.to_owned()];
        words.extend(machine.map(|path| path.display().to_string()));
        CommandLine(words)
    }

    /// With a flag.
    pub fn flag(mut self, name: &str, given: bool) -> Self {
        if given {
            self.0.push(format!("--{name}"));
        }
        self
    }

    /// With an option for each of these values.
    pub fn options<T: ToString>(mut self, name: &str, values: impl IntoIterator<Item = T>) -> Self {
        for value in values {
            self.0.extend([format!("--{name}"), value.to_string()]);
        }
        self
    }

    /// With the changes to the file.
    pub fn changed(self, change: &ChangeArgs) -> Self {
        let set = change
            .set
            .iter()
            .map(|Setting { key, value }| format!("{key}={value}"));
        self.options("marbles", &change.marbles)
            .options("rpm", &change.rpm)
            .options("set", set)
    }

    /// With how much is simulated, where that is not the usual, and always with the seed.
    pub fn studied(self, study: &StudyArgs) -> Self {
        let runs = Some(study.runs).filter(|runs| *runs != StudyArgs::RUNS);
        self.options("runs", runs).long(study)
    }

    /// As [`CommandLine::studied`], for one run.
    pub fn long(self, study: &StudyArgs) -> Self {
        let hours = Some(study.hours).filter(|hours| *hours != StudyArgs::HOURS);
        self.options("hours", hours).options("seed", [study.seed])
    }

    /// The line as a shell takes it.
    pub fn line(&self) -> String {
        let words: Vec<String> = self.0.iter().map(|word| quoted(word)).collect();
        words.join(" ")
    }
}

/// A word as a shell takes it.
pub fn quoted(word: &str) -> String {
    if word.contains(is_obeyed) {
        return format!("$'{}'", word.chars().map(escaped).collect::<String>());
    }
    let mut letters = word.chars();
    if !word.is_empty() && letters.all(|c| c.is_ascii_alphanumeric() || "-_./=,:+%@".contains(c)) {
        return word.to_owned();
    }
    format!("'{}'", word.replace('\'', "'\\''"))
}

/// A letter between `$'` and `'`, where a shell reads bytes by their numbers.
fn escaped(letter: char) -> String {
    match letter {
        '\'' | '\\' => format!("\\{letter}"),
        letter if is_obeyed(letter) => {
            let bytes = letter.to_string().into_bytes();
            bytes.iter().map(|byte| format!("\\x{byte:02x}")).collect()
        }
        letter => letter.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_quoted_so_that_a_shell_reads_them_and_a_terminal_shows_them() {
        for (word, line) in [
            ("lantern.yaml", "lantern.yaml"),
            ("a b", "'a b'"),
            ("it's", "'it'\\''s'"),
            ("a\n'b\u{1b}", "$'a\\x0a\\'b\\x1b'"),
            ("\u{9b}", "$'\\xc2\\x9b'"),
        ] {
            assert_eq!(quoted(word), line);
        }
    }
}
