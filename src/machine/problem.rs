//! A problem in a machine file, as data: what is wrong, where, and how to fix it.

use std::cell::RefCell;

/// Where a value was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In the machine file: byte range and 1-based line and column.
    File {
        /// First byte.
        start: usize,
        /// One past the last byte.
        end: usize,
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
    },
    /// In the n-th `--set` (or its shorthand) of the command line.
    Setting(usize),
}

/// One thing wrong with a machine, or one thing its maker may regret.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Where it is; `None` when the file as a whole is meant.
    pub place: Option<Place>,
    /// The key it concerns, as a dotted path (`circuit.lift.pocket-wheel.bore`).
    pub key: String,
    /// What is wrong, one sentence.
    pub what: String,
    /// How to fix it, one sentence.
    pub help: String,
}

/// Collects problems, so that all of them are reported and not only the first.
#[derive(Default)]
pub struct Report(RefCell<Vec<Problem>>);

impl Report {
    /// Notes one problem.
    pub fn add(
        &self,
        place: Option<Place>,
        key: &str,
        what: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.0.borrow_mut().push(Problem {
            place,
            key: key.to_owned(),
            what: what.into(),
            help: help.into(),
        });
    }

    /// Whether nothing was found wrong.
    pub fn is_empty(&self) -> bool {
        self.0.borrow().is_empty()
    }

    /// The problems, in the order of their places in the file.
    pub fn into_problems(self) -> Vec<Problem> {
        let mut all = self.0.into_inner();
        all.sort_by_key(|p| match p.place {
            None => (2, 0),
            Some(Place::File { start, .. }) => (0, start),
            Some(Place::Setting(n)) => (1, n),
        });
        all
    }
}
