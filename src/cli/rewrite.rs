//! Writing values into a machine file, and nothing else: for whatever command has found some.
//!
//! The new text is read as a machine before it replaces the file, and has to be the machine that was meant. The file is
//! replaced whole or not at all.

use std::path::Path;

use super::failure::Failure;
use super::source::Source;
use super::write;
use crate::machine::{self, Machine, edit};

/// Checks that what is found of a source can be written into its file.
///
/// # Errors
/// Where there is no file, or settings are laid over it.
pub fn can_write(source: &Source) -> Result<(), Failure> {
    if source.path.is_none() {
        return Err(Failure::asked(
            "--write needs a machine file, and the built-in machine is none",
            "copy it with `marblewright new --from lantern-walk`, and name the copy",
        ));
    }
    if !source.settings.is_empty() {
        return Err(Failure::asked(
            "--write does not go together with --set, --marbles or --rpm",
            "write those values into the file first, or leave out --write",
        ));
    }
    Ok(())
}

/// A machine file with new values that are not written yet.
pub struct Rewrite<'a> {
    source: &'a Source,
    text: String,
}

impl<'a> Rewrite<'a> {
    /// The file as it is.
    pub fn new(source: &'a Source) -> Self {
        Rewrite {
            source,
            text: source.text.clone(),
        }
    }

    /// Puts a value at a chain of keys from the top; `what` is what a message calls it.
    ///
    /// # Errors
    /// Where the file is laid out in a way that a careful edit does not reach.
    pub fn put(&mut self, path: &[&str], value: &str, what: &str) -> Result<(), Failure> {
        let key = path.last().copied().unwrap_or_default();
        let text = edit::put(&self.text, path, value);
        self.text = text.ok_or_else(|| self.by_hand(what, &format!("{key}: {value}")))?;
        Ok(())
    }

    /// Puts another key with a value in the place of the key at the end of a chain of keys.
    ///
    /// # Errors
    /// As [`Rewrite::put`].
    pub fn swap(&mut self, path: &[&str], (key, value): (&str, &str)) -> Result<(), Failure> {
        let text = edit::swap(&self.text, path, (key, value));
        let what = path.last().copied().unwrap_or_default();
        self.text = text.ok_or_else(|| self.by_hand(what, &format!("{key}: {value}")))?;
        Ok(())
    }

    /// The machine of the new text.
    ///
    /// # Errors
    /// Where it is none.
    pub fn reread(&self) -> Result<Machine, Failure> {
        machine::read(&self.text, &[]).map_err(|_| self.by_hand("it", "the new value"))
    }

    /// Replaces the file if the new text is `sound`.
    ///
    /// # Errors
    /// Where it is not, or the file cannot be written. Then it is as it was.
    pub fn replace_if(self, sound: bool) -> Result<(), Failure> {
        if !sound {
            return Err(self.by_hand("it", "the new value"));
        }
        write::replace(self.path(), &self.source.text, &self.text)
    }

    /// As [`Rewrite::replace_if`], and keeps the old file beside the new one; returns what that is called.
    ///
    /// # Errors
    /// As [`Rewrite::replace_if`].
    pub fn replace_and_keep_if(self, sound: bool) -> Result<String, Failure> {
        if !sound {
            return Err(self.by_hand("it", "the new value"));
        }
        let kept = write::keep_before(self.path())?;
        self.replace_if(true)?;
        Ok(kept)
    }

    fn path(&self) -> &Path {
        let path = self.source.path.as_deref();
        path.unwrap_or(Path::new("machine.yaml"))
    }

    /// The failure that the file is laid out in a way that a careful edit does not reach.
    pub fn by_hand(&self, what: &str, line: &str) -> Failure {
        Failure::cannot(
            "change",
            &self.source.name,
            format!("`{what}` is written in a way that cannot be changed without harm to the rest"),
            format!(
                "write {line} there by hand, or without alias, anchor and comments inside the value"
            ),
        )
    }
}

/// Whether a machine is the one that was meant; what it leaves to be assumed follows from the rest.
pub fn same(now: &Machine, meant: Machine) -> bool {
    *now == Machine {
        assumed: now.assumed.clone(),
        ..meant
    }
}
