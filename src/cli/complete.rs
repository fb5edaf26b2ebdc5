//! What may follow a half-typed `--set`: keys of the machine file that stands on the same command line.

use std::ffi::{OsStr, OsString};
use std::path::Path;

use clap_complete::engine::CompletionCandidate;

use super::source::Source;
use crate::machine::keys;

/// The keys that begin with what is typed so far, each with the `=` that follows it.
pub fn keys(typed: &OsStr) -> Vec<CompletionCandidate> {
    let Some(typed) = typed.to_str() else {
        return Vec::new();
    };
    let words: Vec<OsString> = std::env::args_os()
        .skip_while(|word| word != "--")
        .skip(2)
        .collect();
    let text = text_of(&words);
    let keys = keys::keys(&text).into_iter();
    keys.filter(|key| key.starts_with(typed))
        .map(|key| CompletionCandidate::new(format!("{key}=")))
        .collect()
}

/// The text of the first machine file named; that of the built-in machine where none is.
fn text_of(words: &[OsString]) -> String {
    let named = words.iter().map(Path::new).find(|path| {
        path.extension()
            .is_some_and(|ending| ending == "yaml" || ending == "yml")
            && path.is_file()
    });
    Source::open(named, Vec::new())
        .map(|source| source.text)
        .unwrap_or_default()
}
