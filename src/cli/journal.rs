//! The journal of a long study: every finished cell is a line of it at once, so that nothing finished is ever lost.

use std::fs::{File, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::PathBuf;
use std::sync::Mutex;

use super::failure::{Failure, shown};
use super::write::OutDir;
use crate::report::map::{journal_header, journal_line, read_journal};
use crate::study::map::{Cell, Question};

/// An open journal; nobody else has it open.
pub struct OpenJournal {
    path: PathBuf,
    file: Mutex<Writer>,
    /// The cells that were finished before.
    pub done: Vec<Cell>,
}

struct Writer {
    file: File,
    failure: Option<Failure>,
}

impl OpenJournal {
    /// The journal called `name` in `out`: a new one, or with `resume` the one that is there, if any.
    ///
    /// # Errors
    /// When it is somebody else's, of another study, damaged, or there without `resume`.
    pub fn open(
        out: &OutDir,
        name: &str,
        question: &Question,
        resume: bool,
    ) -> Result<Self, Failure> {
        let path = out.path().join(name);
        let failed = |error: std::io::Error| Failure::file("write", &path, &error);
        let mut file = File::options()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(failed)?;
        // A file system without locks is no reason not to work.
        if let Err(TryLockError::WouldBlock) = file.try_lock() {
            let what = format!("another map is being made in {}", shown(out.path()));
            return Err(Failure::asked(
                what,
                "wait for it, or choose another directory with --out",
            ));
        }
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(failed)?;
        let (done, whole) = match read_journal(&bytes, question) {
            Ok(Some(journal)) if journal.cells.is_empty() || resume => {
                (journal.cells, journal.whole)
            }
            Ok(None) => (Vec::new(), 0),
            Err(why) if resume => return Err(not_this_one(&path, why)),
            _ => return Err(kept(&path)),
        };
        file.set_len(whole as u64).map_err(failed)?;
        file.seek(SeekFrom::End(0)).map_err(failed)?;
        if whole == 0 {
            file.write_all(journal_header(question).as_bytes())
                .map_err(failed)?;
        }
        Ok(OpenJournal {
            path,
            file: Mutex::new(Writer {
                file,
                failure: None,
            }),
            done,
        })
    }

    /// Adds a finished cell, as one line in one write; whether that went well.
    pub fn add(&self, cell: &Cell) -> bool {
        let Ok(mut writer) = self.file.lock() else {
            return false;
        };
        if let Err(error) = writer.file.write_all(journal_line(cell).as_bytes()) {
            writer.failure = Some(Failure::file("write", &self.path, &error));
        }
        writer.failure.is_none()
    }

    /// Why it could not be written, if it could not.
    pub fn failure(&self) -> Option<Failure> {
        self.file.lock().ok()?.failure.take()
    }

    /// Where it is.
    pub fn path(&self) -> &std::path::Path {
        &self.path
    }

    /// Removes it: the study is done and its files are written.
    pub fn remove(self) -> Result<(), Failure> {
        std::fs::remove_file(&self.path)
            .map_err(|error| Failure::file("remove", &self.path, &error))
    }
}

fn not_this_one(path: &std::path::Path, why: String) -> Failure {
    let journal = shown(path);
    let help = format!("choose another directory with --out, or remove {journal} to begin again");
    Failure::cannot("go on with", path, why, help)
}

fn kept(path: &std::path::Path) -> Failure {
    let what = format!(
        "{} holds finished cells of a map that was interrupted",
        shown(path)
    );
    Failure::asked(
        what,
        "add --resume to go on with it, choose another directory with --out, or remove that file",
    )
}
