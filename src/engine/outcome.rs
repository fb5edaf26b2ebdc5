//! How a run ended and what it counted.

use super::laps::LapResult;
use super::statistics::ElementResult;
use crate::circuit::draw::Nanos;
use crate::circuit::plan::Cause;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// It ran to the end.
    Ran,
    /// A jam stopped it and nobody cleared it.
    Jammed,
    /// Full elements waited for each other, and no marble anywhere could ever move again.
    Gridlocked,
    /// No marble was on its way any more.
    RanDry,
}

/// Jams of one cause at one element.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Jam {
    /// The element.
    pub node: usize,
    /// The cause.
    pub cause: Cause,
    /// When the first one happened.
    pub first: Nanos,
    /// How many there were.
    pub count: u64,
}

/// How marbles were poured in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Poured {
    /// Marbles that found no room at once and had to wait in the hand.
    pub waited: u32,
    /// How long the last of them waited, or until the end of the run.
    pub until: Nanos,
}

/// A part of the machine in which marbles can never move again, while others go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lock {
    /// The element at which it was found.
    pub node: usize,
    /// When.
    pub time: Nanos,
    /// How many marbles were caught in it then.
    pub marbles: u32,
}

/// What one run counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RunResult {
    /// How it ended.
    pub outcome: Outcome,
    /// When: the horizon if it ran through.
    pub end: Nanos,
    /// The elements, in the order of the file.
    pub elements: Vec<ElementResult>,
    /// Laps.
    pub laps: LapResult,
    /// Jams that needed somebody, by element and cause.
    pub jams: Vec<Jam>,
    /// How they were poured in.
    pub poured: Poured,
    /// Parts that locked up while others went on.
    pub locks: Vec<Lock>,
    /// Marbles that never found room to be poured in.
    pub left_in_hand: u32,
    /// Entries into elements, all together.
    pub moves: u64,
}

impl RunResult {
    /// Number of jams that needed somebody.
    pub fn jam_count(&self) -> u64 {
        self.jams.iter().map(|jam| jam.count).sum()
    }

    /// Marbles lost.
    pub fn spills(&self) -> u64 {
        self.elements.iter().map(|element| element.spills).sum()
    }
}
