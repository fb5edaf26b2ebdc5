//! What the bench sheet asks of a kind of element.

use super::dimensions::lister::Lister;
use super::profile::ProfilePiece;
use super::{Row, Units};
use crate::circuit::Circuit;
use crate::circuit::plan::Plan;
use crate::circuit::workshop::Workshop;
use crate::machine::model::Landing;

/// What the dimensions of a kind mean.
pub trait SheetEntry {
    /// Lists its dimensions one by one.
    fn list(&self, plan: &Plan, list: &mut Lister);

    /// Its figures.
    fn rows(&self, _view: &SheetView) -> Vec<Row> {
        Vec::new()
    }

    /// Fall inside it, metres, without what depends on where marbles land; `None` where the file does not tell.
    fn fall_m(&self) -> Option<f64> {
        None
    }

    /// The way through it as seen from the side, without what depends on where marbles land; together it falls as much as
    /// [`SheetEntry::fall_m`] says.
    fn pieces(&self) -> Vec<ProfilePiece> {
        match self.fall_m() {
            Some(fall_m) if fall_m > 0.0 => vec![ProfilePiece::Drop { fall_m }],
            Some(_) => Vec::new(),
            None => vec![ProfilePiece::Unknown("height of")],
        }
    }

    /// Fall onto it and on it to its exit, metres, by where marbles land; of the fall onto it nothing counts where its height
    /// is assumed.
    fn landing_fall_m(&self, _landing: Option<Landing>, _assumed: bool) -> f64 {
        0.0
    }

    /// The way from above it to its exit as seen from the side, by where marbles land; together it falls as much as
    /// [`SheetEntry::landing_fall_m`] says.
    fn landing_pieces(&self, _landing: Option<Landing>, _assumed: bool) -> Vec<ProfilePiece> {
        Vec::new()
    }
}

/// An element as the sheet looks at it.
pub struct SheetView<'a> {
    /// The machine as nodes.
    pub circuit: &'a Circuit,
    /// Index of the element.
    pub n: usize,
    /// What it stands in.
    pub workshop: Workshop<'a>,
    /// How figures are shown.
    pub units: Units,
}

impl SheetView<'_> {
    /// The element as a node.
    pub fn plan(&self) -> &Plan {
        &self.circuit.nodes[self.n]
    }
}
