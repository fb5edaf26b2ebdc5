//! The machine file as it comes from disk or from inside the program.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use super::failure::Failure;
use crate::machine::{self, Machine, Place, Problem, Setting, limits};

/// The built-in demo machine.
const DEMO: &str = include_str!("../../scenarios/lantern-walk.yaml");
const DEMO_NAME: &str = "lantern-walk";

/// A machine file and the settings laid over it.
#[derive(Clone, Debug)]
pub struct Source {
    /// What messages call it.
    pub name: String,
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
            return Ok(Source { name, stem: DEMO_NAME.to_owned(), text: DEMO.to_owned(), settings });
        };
        let name = path.display().to_string();
        let stem = path.file_stem().map_or("machine".to_owned(), |stem| stem.to_string_lossy().into_owned());
        let bytes = read(path)?;
        let mut source = Source { name, stem, text: String::new(), settings };
        match String::from_utf8(bytes) {
            Ok(text) => source.text = text.strip_prefix('\u{feff}').map_or(text.clone(), str::to_owned),
            Err(error) => {
                let at = error.utf8_error().valid_up_to();
                let problem = Problem {
                    place: None,
                    key: String::new(),
                    what: format!("this is not a text file: byte {} is not UTF-8", at + 1),
                    mend: "save the machine file as plain UTF-8 text".to_owned(),
                };
                return Err(Failure::Machine(source, vec![problem]));
            }
        }
        Ok(source)
    }

    /// The machine it describes.
    ///
    /// # Errors
    /// Every problem found.
    pub fn machine(&self) -> Result<Machine, Failure> {
        machine::read(&self.text, &self.settings).map_err(|problems| Failure::Machine(self.clone(), problems))
    }

    /// The command-line words of a setting's place.
    pub fn setting_at(&self, place: Place) -> Option<String> {
        match place {
            Place::Setting(n) => self.settings.get(n).map(|s| format!("{}={}", s.key, s.value)),
            Place::File { .. } => None,
        }
    }
}

fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    let failed = |error| Failure::file("read", path, &error);
    let file = File::open(path).map_err(failed)?;
    if file.metadata().map_err(failed)?.is_dir() {
        return Err(failed(std::io::ErrorKind::IsADirectory.into()));
    }
    let mut bytes = Vec::new();
    file.take(limits::FILE_BYTES + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() as u64 > limits::FILE_BYTES {
        let why = format!("it is larger than {} KiB, far more than any machine file needs", limits::FILE_BYTES >> 10);
        return Err(Failure::File { doing: "read", path: path.to_owned(), why });
    }
    Ok(bytes)
}
