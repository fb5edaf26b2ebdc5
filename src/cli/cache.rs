//! Close looks kept in the user's cache folder, so that a wheel is looked at once and not at every command.
//!
//! An entry is a text of three lines: the question, the numbers seen, and a checksum of both. Whatever else is found under its
//! name, of another version, damaged or foreign, counts as not there. With or without the cache answers are the same.

use std::fmt::Write as _;
use std::fs;
use std::io::{ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::SystemTime;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use sha2::{Digest, Sha256};

use super::print;
use crate::circuit::close_look::Keeper;

/// Most entries kept; each is some kilobytes.
const ENTRIES: usize = 2_000;
/// Entries that go at once where there are more, the oldest: seldom, so that it costs little.
const SPARE: usize = 200;
/// Largest entry read, bytes.
const LARGEST: u64 = 1024 * 1024;

/// The cache, and the progress of looks.
pub struct Cache {
    /// Where entries are; `None` where nothing is to be kept.
    folder: Option<PathBuf>,
    text: AtomicBool,
    bar: ProgressBar,
}

impl Cache {
    /// In the user's folder for such things, if there is one and it is wanted.
    pub fn new(wanted: bool) -> Self {
        let folder = dirs::cache_dir()
            .filter(|_| wanted)
            .map(|caches| caches.join("marblewright"));
        let bar = ProgressBar::with_draw_target(Some(0), ProgressDrawTarget::hidden());
        if let Ok(style) =
            ProgressStyle::with_template("looking closely  {bar:32}  {elapsed} so far, {eta} left")
        {
            bar.set_style(style);
        }
        Cache {
            folder,
            text: AtomicBool::new(false),
            bar,
        }
    }

    fn path(&self, question: &str) -> Option<PathBuf> {
        let name = format!("{}.look", hash(&asked(question)));
        Some(self.folder.as_ref()?.join(name))
    }

    fn write(&self, path: &Path, text: &str) -> std::io::Result<()> {
        let folder = path.parent().unwrap_or(path);
        fs::create_dir_all(folder)?;
        make_room(folder)?;
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        file.write_all(text.as_bytes())?;
        file.persist(path)?;
        Ok(())
    }
}

/// The question as it stands in an entry: of this version of the program alone.
fn asked(question: &str) -> String {
    format!("marblewright {} {question}", env!("CARGO_PKG_VERSION"))
}

fn hash(text: &str) -> String {
    let mut hex = String::new();
    for byte in Sha256::digest(text.as_bytes()) {
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}

fn entry(question: &str, numbers: &[u32]) -> String {
    let numbers: Vec<String> = numbers.iter().map(u32::to_string).collect();
    let text = format!("{}\n{}\n", asked(question), numbers.join(" "));
    let sum = hash(&text);
    format!("{text}{sum}\n")
}

/// The numbers of an entry; `None` unless it is whole and answers this very question.
fn read(text: &str, question: &str) -> Option<Vec<u32>> {
    let mut numbers: Vec<u32> = Vec::new();
    for number in text.lines().nth(1)?.split(' ') {
        numbers.push(number.parse().ok()?);
    }
    (text == entry(question, &numbers)).then_some(numbers)
}

/// Takes away the oldest entries where there are too many.
fn make_room(folder: &Path) -> std::io::Result<()> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder)?
        .flatten()
        .map(|entry| entry.path())
        .collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "look"));
    if paths.len() < ENTRIES {
        return Ok(());
    }
    let mut aged: Vec<(SystemTime, PathBuf)> = paths
        .into_iter()
        .map(|path| (changed(&path), path))
        .collect();
    aged.sort();
    for (_, path) in aged.iter().take(aged.len() + SPARE - ENTRIES) {
        // Another thread or program may make room at the same time.
        match fs::remove_file(path) {
            Err(error) if error.kind() != ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    Ok(())
}

/// When a file was last written; where nobody knows, long ago.
fn changed(path: &Path) -> SystemTime {
    match fs::metadata(path) {
        Ok(of) => of.modified().unwrap_or(SystemTime::UNIX_EPOCH),
        Err(_) => SystemTime::UNIX_EPOCH,
    }
}

impl Keeper for Cache {
    fn find(&self, question: &str) -> Option<Vec<u32>> {
        let path = self.path(question)?;
        fs::metadata(&path)
            .ok()
            .filter(|of| of.is_file() && of.len() <= LARGEST)?;
        read(&fs::read_to_string(path).ok()?, question)
    }

    fn keep(&self, question: &str, numbers: &[u32]) {
        let Some(path) = self.path(question) else {
            return;
        };
        if let Err(error) = self.write(&path, &entry(question, numbers))
            && !self.text.swap(true, Ordering::Relaxed)
        {
            let place = path.parent().unwrap_or(&path).display().to_string();
            // Whoever closed standard error wants no note.
            let _ = writeln!(
                print::err(),
                "note: close looks are not kept in {place}: {error}"
            );
        }
    }

    fn begins(&self, loops: u64) {
        if self.bar.is_finished() || self.bar.length() == Some(0) {
            self.bar.reset();
            self.bar.set_length(0);
            if std::io::stderr().is_terminal() {
                self.bar.set_draw_target(ProgressDrawTarget::stderr());
            }
        }
        self.bar.inc_length(loops);
    }

    fn followed(&self) {
        self.bar.inc(1);
        if Some(self.bar.position()) >= self.bar.length() {
            self.bar.finish_and_clear();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_whole_entry_of_the_same_question_is_believed() {
        let numbers = [0, 7, 0, 12];
        let text = entry("3 place", &numbers);
        assert_eq!(read(&text, "3 place"), Some(numbers.to_vec()));
        assert_eq!(read(&text, "4 place"), None, "another question");
        for end in 0..text.len() {
            assert_eq!(
                read(&text[..end], "3 place"),
                None,
                "cut off after {end} letters"
            );
        }
        assert_eq!(
            read(&text.replacen(" 0", " 1", 1), "3 place"),
            None,
            "another figure"
        );
        assert_eq!(
            read(
                &text.replacen("marblewright 0", "marblewright 9", 1),
                "3 place"
            ),
            None,
            "another version"
        );
    }

    #[test]
    fn the_oldest_make_room() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = |n: usize| folder.path().join(format!("{n}.look"));
        for n in 0..ENTRIES {
            fs::write(path(n), "").expect("written");
        }
        let old = SystemTime::UNIX_EPOCH;
        fs::File::options()
            .append(true)
            .open(path(7))
            .and_then(|file| file.set_modified(old))
            .expect("aged");
        make_room(folder.path()).expect("room");
        let left = fs::read_dir(folder.path()).expect("a folder").count();
        assert!(left == ENTRIES - SPARE && !path(7).exists(), "{left}");
    }
}
