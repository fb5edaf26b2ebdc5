//! Why a command could not answer.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use clap::CommandFactory;

use super::args::Cli;
use super::source::Source;
use crate::machine::Problem;
use crate::machine::suggest::nearest;

/// What keeps a command from answering; all of these end with exit code 2, but for a closed pipe.
#[derive(Debug)]
pub enum Failure {
    /// Problems in a machine file or its settings.
    Machine(Source, Vec<Problem>),
    /// A file or directory that cannot be read or written.
    File {
        /// What was to be done with it.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// Why not.
        why: String,
        /// What to do about it.
        mend: String,
    },
    /// Options that do not go together, or do not fit the machine.
    Usage {
        /// What is wrong.
        what: String,
        /// What to do about it.
        mend: String,
    },
    /// Whoever read the output has had enough.
    ClosedPipe,
}

impl Failure {
    /// Something asked for that cannot be done.
    pub fn asked(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Failure::Usage { what: what.into(), mend: mend.into() }
    }

    /// A failure to do something with a file.
    pub fn file(doing: &'static str, path: &Path, error: &io::Error) -> Self {
        let (why, mend) = match error.kind() {
            io::ErrorKind::NotFound if doing == "read" => ("there is no such file".to_owned(), near_name(path)),
            io::ErrorKind::NotFound => ("there is no such place".to_owned(), "choose another place".to_owned()),
            io::ErrorKind::PermissionDenied => {
                ("permission denied".to_owned(), "choose another place, or allow it there".to_owned())
            }
            io::ErrorKind::IsADirectory => {
                ("it is a directory, where a file is due".to_owned(), "name the machine file in it".to_owned())
            }
            io::ErrorKind::NotADirectory | io::ErrorKind::AlreadyExists => {
                ("a part of it is a file, where a directory is due".to_owned(), "choose another name".to_owned())
            }
            io::ErrorKind::StorageFull => {
                ("the disk is full".to_owned(), "make room, or choose another disk".to_owned())
            }
            _ => (error.to_string(), "choose another place".to_owned()),
        };
        Failure::File { doing, path: path.to_owned(), why, mend }
    }
}

/// What may have been meant by the file at `path`: a command, or a file beside it with nearly the same name.
fn near_name(path: &Path) -> String {
    let typed = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let cli = Cli::command();
    let commands: Vec<&str> = cli.get_subcommands().map(clap::Command::get_name).collect();
    if let Some(command) = nearest(&typed, commands.iter().copied()).filter(|_| path.extension().is_none()) {
        return format!("did you mean the command `{command}`?");
    }
    let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let files = std::fs::read_dir(parent).into_iter().flatten().flatten();
    let mut names: Vec<String> = files.filter_map(|file| file.file_name().into_string().ok()).collect();
    names.sort();
    match nearest(&typed, names.iter().map(String::as_str)) {
        Some(name) => format!("did you mean `{}`?", path.with_file_name(name).display()),
        None if path.extension().is_none() => {
            format!("name a machine file, or one of the commands: {}", commands.join(", "))
        }
        None => "look at its spelling, and at the directory you are in".to_owned(),
    }
}

impl From<io::Error> for Failure {
    /// For writing to the terminal or a pipe.
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Failure::ClosedPipe,
            _ => Failure::file("write to", Path::new("the terminal"), &error),
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Failure::Machine(source, problems) => f.write_str(&super::diagnostics::render(source, problems)),
            Failure::File { doing, path, why, mend } => {
                write!(f, "error: cannot {doing} {}: {why}\n  help: {mend}", path.display())
            }
            Failure::Usage { what, mend } => write!(f, "error: {what}\n  help: {mend}"),
            Failure::ClosedPipe => Ok(()),
        }
    }
}
