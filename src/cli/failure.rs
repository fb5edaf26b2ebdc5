//! Why a command could not answer.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use super::source::Source;
use crate::machine::Problem;

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
        /// Why not, one sentence.
        why: String,
    },
    /// Whoever read the output has had enough.
    ClosedPipe,
}

impl Failure {
    /// A failure to do something with a file.
    pub fn file(doing: &'static str, path: &Path, error: &io::Error) -> Self {
        let why = match error.kind() {
            io::ErrorKind::NotFound => "there is no such file or directory".to_owned(),
            io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
            io::ErrorKind::IsADirectory => "it is a directory, where a file is due".to_owned(),
            _ => error.to_string(),
        };
        Failure::File { doing, path: path.to_owned(), why }
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
            Failure::File { doing, path, why } => write!(f, "error: cannot {doing} {}: {why}", path.display()),
            Failure::ClosedPipe => Ok(()),
        }
    }
}
