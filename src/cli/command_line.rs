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
        self.0.extend(given.then(|| format!("--{name}")));
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
        let runs = (study.runs != StudyArgs::RUNS).then_some(study.runs);
        self.options("runs", runs).long(study)
    }

    /// As [`CommandLine::studied`], for one run.
    pub fn long(self, study: &StudyArgs) -> Self {
        let hours = (study.hours != StudyArgs::HOURS).then_some(study.hours);
        self.options("hours", hours).options("seed", [study.seed])
    }

    /// The line as a shell takes it.
    pub fn line(&self) -> String {
        self.0
            .iter()
            .map(|word| quoted(word))
            .collect::<Vec<_>>()
            .join(" ")
    }
}

/// A word as a shell takes it.
pub fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./=,:+%@".contains(c);
    match word {
        _ if word.contains(is_obeyed) => {
            format!("$'{}'", word.chars().map(escaped).collect::<String>())
        }
        _ if !word.is_empty() && word.chars().all(plain) => word.to_owned(),
        _ => format!("'{}'", word.replace('\'', "'\\''")),
    }
}

/// A letter between `$'` and `'`, where a shell reads bytes by their numbers.
fn escaped(letter: char) -> String {
    let bytes = |letter: char| {
        letter
            .to_string()
            .bytes()
            .map(|byte| format!("\\x{byte:02x}"))
            .collect()
    };
    match letter {
        '\'' | '\\' => format!("\\{letter}"),
        letter if is_obeyed(letter) => bytes(letter),
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
