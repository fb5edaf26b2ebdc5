//! The machine file as it comes from disk or from inside the program.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::diagnostics::{self, SourceText};
use super::failure::{Failure, shown};
use crate::machine::text::one_line;
use crate::machine::{self, Machine, Place, Problem, Setting, limits};

/// The built-in demo machine.
const DEMO: &str = include_str!("../../scenarios/lantern-walk.yaml");
const DEMO_NAME: &str = "lantern-walk";

/// What a file looks like from outside: when it was saved, and its size; `None` while there is none.
pub type Stamp = Option<(SystemTime, u64)>;

/// What the file at `path` looks like now.
pub fn stamp(path: &Path) -> Stamp {
    let of = std::fs::metadata(path).ok()?;
    Some((of.modified().ok()?, of.len()))
}

/// A machine file and the settings laid over it.
#[derive(Clone, Debug)]
pub struct Source {
    /// What messages call it.
    pub name: String,
    /// Where it is; the built-in machine is nowhere.
    pub path: Option<PathBuf>,
    /// Its name without directory and ending, for the directory of its reports.
    pub stem: String,
    /// Its text.
    pub text: String,
    /// The settings, in order.
    pub settings: Vec<Setting>,
}

impl Source {
    /// The file at `path`, or the built-in demo machine.
    ///
    /// # Errors
    /// When it cannot be read, is too large, or is not text.
    pub fn open(path: Option<&Path>, settings: Vec<Setting>) -> Result<Self, Failure> {
        let Some(path) = path else {
            let name = format!("the built-in machine {DEMO_NAME}");
            return Ok(Source {
                name,
                path: None,
                stem: DEMO_NAME.to_owned(),
                text: DEMO.to_owned(),
                settings,
            });
        };
        let (name, stem) = (shown(path), stem(path));
        let bytes = read(path)?;
        let (text, damaged) = match String::from_utf8(bytes) {
            Ok(text) => {
                let unmarked = text.strip_prefix('\u{feff}').map(str::to_owned);
                (unmarked.unwrap_or(text), None)
            }
            Err(error) => {
                let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
                let problem = not_text(&text, error.utf8_error().valid_up_to());
                (text, Some(problem))
            }
        };
        let source = Source {
            name,
            path: Some(path.to_owned()),
            stem,
            text,
            settings,
        };
        match damaged {
            Some(problem) => Err(source.unsound(&[problem])),
            None => Ok(source),
        }
    }

    /// The machine it describes.
    ///
    /// # Errors
    /// Every problem found.
    pub fn machine(&self) -> Result<Machine, Failure> {
        machine::read(&self.text, &self.settings).map_err(|problems| self.unsound(&problems))
    }

    /// The failure that these problems are.
    pub fn unsound(&self, problems: &[Problem]) -> Failure {
        Failure::Machine(diagnostics::render(self.page(), problems))
    }

    /// What messages point into.
    pub fn page(&self) -> SourceText<'_> {
        SourceText {
            name: &self.name,
            text: &self.text,
            settings: &self.settings,
        }
    }
}

/// A file with bytes that are not UTF-8, the first of them at `at`; in a text that is a letter of another encoding.
fn not_text(text: &str, at: usize) -> Problem {
    let (mut place, mut what) = (None, "this is not a text file".to_owned());
    if !text.contains(|c: char| c.is_control() && !c.is_whitespace()) {
        let before = text[..at].rsplit('\n').next().unwrap_or_default();
        let line = text[..at].matches('\n').count() + 1;
        let column = before.chars().count() + 1;
        place = Some(Place::File {
            start: at,
            end: at + '\u{fffd}'.len_utf8(),
            line,
            column,
        });
        what = "a letter here is not written as UTF-8".to_owned();
    }
    let help = "save the machine file again as plain UTF-8 text".to_owned();
    Problem {
        place,
        key: String::new(),
        what,
        help,
    }
}

/// The name of a file without its ending, as a directory can be called.
fn stem(path: &Path) -> String {
    let stem = path
        .file_stem()
        .map(|stem| one_line(&stem.to_string_lossy()))
        .unwrap_or_default();
    if stem.trim_matches(['.', ' ']).is_empty() {
        "machine".to_owned()
    } else {
        stem
    }
}

fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    let failed = |error| Failure::file("read", path, &error);
    let kind = std::fs::metadata(path).map_err(failed)?.file_type();
    if kind.is_dir() {
        return Err(failed(std::io::ErrorKind::IsADirectory.into()));
    }
    // Asked before it is opened: opening a pipe waits for somebody at its other end.
    if !kind.is_file() {
        let why = "it is not a plain file";
        let help = "name a file that lies on a disk";
        return Err(Failure::cannot("read", path, why, help));
    }
    let file = File::open(path).map_err(failed)?;
    let mut bytes = Vec::new();
    file.take(limits::FILE_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    if bytes.len() as u64 > limits::FILE_BYTES {
        let why = format!("it is larger than {} MiB", limits::FILE_BYTES >> 20);
        let help = "name a machine file: a few kilobytes of text";
        return Err(Failure::cannot("read", path, why, help));
    }
    Ok(bytes)
}
