//! What was typed and cannot be obeyed: the argument reader's findings, and files that are not there, in our own words.

use std::error::Error;
use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use clap::CommandFactory;
use clap::error::{ContextKind, ContextValue, ErrorKind};

use super::args::Cli;
use super::failure::{Failure, shown};
use super::write::folder_of;
use crate::machine::suggest::nearest;
use crate::machine::text::one_line;

/// Prints help or version where they were asked for, or else what is wrong; the exit code that goes with it.
pub fn report(error: &clap::Error) -> ExitCode {
    if !error.use_stderr() {
        let printed = match error.print() {
            Ok(()) => std::io::stdout().flush(),
            failed => failed,
        };
        return match printed.map_err(Failure::from) {
            Ok(()) | Err(Failure::ClosedPipe) => ExitCode::SUCCESS,
            Err(failure) => {
                let _ = writeln!(super::print::err(), "{failure}");
                ExitCode::from(failure.code())
            }
        };
    }
    let typed = typed();
    let (what, help) = match misspelt(&typed) {
        Some(misspelt) => misspelt,
        None => sentence(error, &typed),
    };
    let _ = writeln!(
        super::print::err(),
        "error: {}\n  help: {}",
        one_line(&what),
        one_line(&help)
    );
    ExitCode::from(2)
}

/// A first word that is no command but nearly one, and no file either.
fn misspelt(typed: &[String]) -> Option<(String, String)> {
    let cli = Cli::command();
    let word = typed.first()?;
    let path = Path::new(word);
    let is_option = word.starts_with('-');
    if is_option
        || path.exists()
        || path.extension().is_some()
        || cli.find_subcommand(word).is_some()
    {
        return None;
    }
    let command = nearest(word, cli.get_subcommands().map(clap::Command::get_name))?;
    Some((
        format!("there is no command `{word}`"),
        format!("did you mean `{command}`?"),
    ))
}

/// The words after the program's name, with a sign in place of what is not UTF-8.
pub fn typed() -> Vec<String> {
    std::env::args_os()
        .skip(1)
        .map(|word| word.to_string_lossy().into_owned())
        .collect()
}

/// What is wrong with the words `typed` after the program's name, and how to fix it.
fn sentence(error: &clap::Error, typed: &[String]) -> (String, String) {
    let argument = context(error, ContextKind::InvalidArg);
    let value = context(error, ContextKind::InvalidValue);
    let values = context(error, ContextKind::ValidValue);
    let option = name(&argument);
    match error.kind() {
        ErrorKind::UnknownArgument => unknown(&option, &context(error, ContextKind::SuggestedArg)),
        ErrorKind::InvalidValue if value.is_empty() => (
            format!("`{option}` has no value"),
            format!("write `{argument}`{}", known(&values)),
        ),
        ErrorKind::InvalidValue => {
            let help = match nearest(&value, values.split(", ")) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("it can be one of {values}"),
            };
            (format!("`{option}` cannot be `{value}`"), help)
        }
        ErrorKind::ValueValidation => {
            let why = match error.source() {
                Some(why) => why.to_string(),
                None => "look at `--help`".to_owned(),
            };
            (format!("`{option}` cannot be `{value}`"), why)
        }
        ErrorKind::ArgumentConflict => conflict(error, &option, typed),
        ErrorKind::MissingRequiredArgument => (
            format!("{argument} is missing"),
            format!("name it, as in `{}`", example(typed)),
        ),
        ErrorKind::TooManyValues => (
            format!("`{option}` takes no value, and `{value}` is one"),
            "leave it out".to_owned(),
        ),
        ErrorKind::InvalidUtf8 => (
            "a word of the command is not text".to_owned(),
            "type it again in UTF-8".to_owned(),
        ),
        kind => (
            kind.as_str()
                .unwrap_or("the command is not understood")
                .to_owned(),
            "look at `marblewright --help`".to_owned(),
        ),
    }
}

fn unknown(option: &str, near: &str) -> (String, String) {
    let help = match near {
        "" if option.starts_with('-') => "look at the options with `--help`".to_owned(),
        "" => {
            "leave it out: one machine file is named, and each option begins with `--`".to_owned()
        }
        near => format!("did you mean `{near}`?"),
    };
    let what = if option.starts_with('-') {
        format!("there is no option `{option}` here")
    } else {
        format!("`{option}` is one word too many")
    };
    (what, help)
}

fn conflict(error: &clap::Error, option: &str, typed: &[String]) -> (String, String) {
    if let Some(help) = reordered(typed) {
        return ("options stand before the command".to_owned(), help);
    }
    let other = error
        .get(ContextKind::PriorArg)
        .or(error.get(ContextKind::InvalidSubcommand));
    match other.map(words) {
        Some(other) if name(&other) != option && !other.is_empty() && !option.is_empty() => (
            format!("`{option}` does not go with `{}`", name(&other)),
            "leave one of the two out".to_owned(),
        ),
        Some(other) if option.is_empty() => unknown(&other, ""),
        _ => (
            format!("`{option}` is given twice"),
            "leave one of the two out".to_owned(),
        ),
    }
}

/// The words in the order that is understood, where a command stands after the options that belong to it.
fn reordered(typed: &[String]) -> Option<String> {
    let cli = Cli::command();
    let at = typed
        .iter()
        .position(|word| cli.find_subcommand(word).is_some())
        .filter(|&at| at > 0)?;
    let mut line = cli.get_name().to_owned();
    for word in [&typed[at..], &typed[..at]].concat() {
        line += " ";
        line += &quoted(&word);
    }
    Some(format!("write them after it: `{line}`"))
}

/// A word as a shell takes it.
fn quoted(word: &str) -> String {
    let mut letters = word.chars();
    if !word.is_empty() && letters.all(|c| c.is_alphanumeric() || "-_./=:,[]".contains(c)) {
        word.to_owned()
    } else {
        format!("'{word}'")
    }
}

/// The first example of the command that was typed.
fn example(typed: &[String]) -> String {
    let cli = Cli::command();
    let command = typed
        .iter()
        .find_map(|word| cli.find_subcommand(word))
        .unwrap_or(&cli);
    let help = command
        .get_after_help()
        .map(ToString::to_string)
        .unwrap_or_default();
    help.lines()
        .find_map(|line| line.trim().strip_prefix("Example: "))
        .unwrap_or("marblewright --help")
        .to_owned()
}

fn known(values: &str) -> String {
    if values.is_empty() {
        String::new()
    } else {
        format!(", one of {values}")
    }
}

/// The option alone of `--runs <R>`.
fn name(argument: &str) -> String {
    argument
        .split([' ', '='])
        .next()
        .unwrap_or_default()
        .to_owned()
}

fn context(error: &clap::Error, kind: ContextKind) -> String {
    error.get(kind).map(words).unwrap_or_default()
}

fn words(value: &ContextValue) -> String {
    match value {
        ContextValue::String(word) => word.clone(),
        ContextValue::Strings(words) => words.join(", "),
        other => other.to_string(),
    }
}

/// What may have been meant by the file at `path`: a command, or a file beside it with nearly the same name.
pub fn near_name(path: &Path) -> String {
    let cli = Cli::command();
    let help = match (path.to_str(), reordered(&typed())) {
        (Some(name), Some(help)) if cli.find_subcommand(name).is_some() => {
            format!("options stand before the command: {help}")
        }
        _ => meant(path),
    };
    format!("\n  help: {help}")
}

fn meant(path: &Path) -> String {
    let typed = path
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    let cli = Cli::command();
    let commands: Vec<&str> = cli.get_subcommands().map(clap::Command::get_name).collect();
    if path.extension().is_none()
        && let Some(command) = nearest(&typed, commands.iter().copied())
    {
        return format!("did you mean the command `{command}`?");
    }
    let files = std::fs::read_dir(folder_of(path));
    let mut names = Vec::new();
    for file in files.into_iter().flatten().flatten() {
        names.extend(file.file_name().into_string());
    }
    names.sort();
    match nearest(&typed, names.iter().map(String::as_str)) {
        Some(name) => format!("did you mean `{}`?", shown(&path.with_file_name(name))),
        None if path.extension().is_none() => {
            format!(
                "name a machine file, or one of the commands: {}",
                commands.join(", ")
            )
        }
        None => "look at its spelling, and at the directory you are in".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;

    /// Walks all commands, so that a new one cannot be without an example, nor an example be out of date.
    #[test]
    fn every_command_has_an_example_that_is_understood() {
        let mut cli = Cli::command();
        cli.build();
        let commands: Vec<&clap::Command> = cli
            .get_subcommands()
            .filter(|c| c.get_name() != "help")
            .collect();
        assert!(commands.len() >= 5);
        for command in commands.into_iter().chain([&cli]) {
            let help = command
                .get_after_help()
                .map(ToString::to_string)
                .unwrap_or_default();
            let examples: Vec<&str> = help
                .lines()
                .filter_map(|line| line.trim().strip_prefix("Example: "))
                .collect();
            assert!(
                !examples.is_empty(),
                "`{}` has no line `Example: ...` in its help",
                command.get_name()
            );
            for example in examples {
                let parsed = Cli::try_parse_from(
                    example
                        .split_whitespace()
                        .map(|word| word.trim_matches('\'')),
                );
                assert!(
                    parsed.is_ok(),
                    "`{example}`: {}",
                    parsed.expect_err("refused")
                );
                assert!(
                    command.get_name() == cli.get_name() || example.contains(command.get_name()),
                    "{example}"
                );
            }
        }
    }

    #[test]
    fn refusals_are_one_sentence_and_a_way_to_mend_it() {
        for (line, what, help) in [
            (
                "run --marbels 3",
                "there is no option `--marbels` here",
                "did you mean `--marbles`?",
            ),
            (
                "check",
                "<MACHINE> is missing",
                "name it, as in `marblewright check lantern.yaml`",
            ),
            (
                "run --hours",
                "`--hours` has no value",
                "write `--hours <H>`",
            ),
            (
                "run --units mn",
                "`--units` cannot be `mn`",
                "did you mean `mm`?",
            ),
            (
                "run --hours 1 --hours 2",
                "`--hours` is given twice",
                "leave one of the two out",
            ),
            (
                "run --quiet=3",
                "`--quiet` takes no value, and `3` is one",
                "leave it out",
            ),
            (
                "--marbles 40 run x.yaml",
                "options stand before the command",
                "write them after it: `marblewright run x.yaml --marbles 40`",
            ),
        ] {
            let typed: Vec<String> = line.split(' ').map(str::to_owned).collect();
            let words = std::iter::once("marblewright".to_owned()).chain(typed.clone());
            let error = Cli::try_parse_from(words).expect_err(line);
            assert_eq!(
                sentence(&error, &typed),
                (what.to_owned(), help.to_owned()),
                "{line}"
            );
        }
    }
}
