//! Why a command could not answer.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use crate::machine::text::one_line;

/// A path as it is shown: on one line.
pub fn shown(path: &Path) -> String {
    one_line(&path.display().to_string())
}

/// What keeps a command from answering.
#[derive(Debug)]
pub enum Failure {
    /// Problems in a machine file or its settings, as they are shown.
    Machine(String),
    /// A file to be read that is not there.
    NoFile(PathBuf),
    /// A file or directory that cannot be read or written.
    File {
        /// What was to be done with it.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// Why not.
        why: String,
        /// What to do about it.
        help: String,
    },
    /// Options that do not go together, or do not fit the machine.
    Usage {
        /// What is wrong.
        what: String,
        /// What to do about it.
        help: String,
    },
    /// An answer was found, and a file that it should be in cannot be written.
    Unwritten(Box<Failure>),
    /// What is wrong stands in the answer itself.
    InAnswer,
    /// Whoever read the output has had enough.
    ClosedPipe,
}

impl Failure {
    /// The exit code that says what happened: 2 where there is no answer, 3 where only its files are missing.
    pub fn code(&self) -> u8 {
        match self {
            Failure::ClosedPipe => 0,
            Failure::Unwritten(_) => 3,
            _ => 2,
        }
    }

    /// Something asked for that cannot be done.
    pub fn asked(what: impl Into<String>, help: impl Into<String>) -> Self {
        Failure::Usage {
            what: what.into(),
            help: help.into(),
        }
    }

    /// Something that cannot be done with a file, and why.
    pub fn cannot(
        doing: &'static str,
        path: impl Into<PathBuf>,
        why: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        Failure::File {
            doing,
            path: path.into(),
            why: why.into(),
            help: help.into(),
        }
    }

    /// As [`Failure::Unwritten`].
    pub fn unwritten(self) -> Self {
        Failure::Unwritten(Box::new(self))
    }

    /// A failure to do something with a file.
    pub fn file(doing: &'static str, path: &Path, error: &io::Error) -> Self {
        let (why, help) = match error.kind() {
            io::ErrorKind::NotFound if doing == "read" => return Failure::NoFile(path.to_owned()),
            io::ErrorKind::NotFound => (
                "there is no such place".to_owned(),
                "choose another place".to_owned(),
            ),
            io::ErrorKind::PermissionDenied => (
                "permission denied".to_owned(),
                "choose another place, or allow it there".to_owned(),
            ),
            io::ErrorKind::IsADirectory if doing != "read" => (
                "a directory of that name is there".to_owned(),
                "remove it, or choose another place".to_owned(),
            ),
            io::ErrorKind::IsADirectory => (
                "it is a directory, where a file is due".to_owned(),
                "name the machine file in it".to_owned(),
            ),
            io::ErrorKind::NotADirectory | io::ErrorKind::AlreadyExists => (
                "a part of it is a file, where a directory is due".to_owned(),
                "choose another name".to_owned(),
            ),
            io::ErrorKind::StorageFull => (
                "the disk is full".to_owned(),
                "make room, or choose another disk".to_owned(),
            ),
            io::ErrorKind::FileTooLarge | io::ErrorKind::QuotaExceeded => (
                "a limit on the size of files, or on the room of this user, is reached".to_owned(),
                "raise it, or choose another disk".to_owned(),
            ),
            _ => (error.to_string(), "choose another place".to_owned()),
        };
        Failure::File {
            doing,
            path: path.to_owned(),
            why,
            help,
        }
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
            Failure::Machine(text) => f.write_str(text),
            Failure::NoFile(path) => write!(
                f,
                "error: cannot read {}: there is no such file",
                shown(path)
            ),
            Failure::File {
                doing,
                path,
                why,
                help,
            } => {
                write!(
                    f,
                    "error: cannot {doing} {}: {why}\n  help: {help}",
                    shown(path)
                )
            }
            Failure::Usage { what, help } => write!(f, "error: {what}\n  help: {help}"),
            Failure::Unwritten(failure) => failure.fmt(f),
            Failure::InAnswer | Failure::ClosedPipe => Ok(()),
        }
    }
}
