//! A map: what happens first at every pair of values of two keys, and from where to where along each column it works.
//!
//! A column is one value of the second key. Columns know nothing of each other, so that any share of them can be made
//! anywhere. Every cell uses the same seed and run numbers: common random numbers.

pub mod cell;
pub mod search;
pub mod sentences;
pub mod window;

use std::sync::OnceLock;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::circuit;
use crate::findings::verdict_text::{standard, tolerance};
use crate::machine::{self, Machine, Problem, Setting};
pub use crate::study::axis::Axis;
use crate::study::axis::amount;
use crate::study::varied::{circuit_along, reason};
pub use cell::{Cell, CellOutcome, CellPlace, Follower};
pub use window::{ColumnEdge, ColumnWindow};

/// Most cells of one map.
pub const CELLS: usize = 20_000;

/// Everything that a map depends on; two maps with the same question have the same bytes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// Version of the program.
    pub version: String,
    /// The text of the machine file.
    pub machine: String,
    /// What is laid over it everywhere.
    pub settings: Vec<Setting>,
    /// The key along the columns.
    pub along: Axis,
    /// The key that tells the columns apart.
    pub across: Axis,
    /// The seed.
    pub seed: u64,
    /// Most runs of one cell.
    pub runs: u32,
    /// Hours of machine time in each run.
    pub hours: f64,
    /// Whether no cell is left out.
    pub every_cell: bool,
}

/// A map before it is simulated: which cells can be built at all.
#[derive(Clone, Debug)]
pub struct Grid {
    /// What it depends on.
    pub question: Question,
    /// The machine's title.
    pub title: String,
    /// The file's own values of the first and of the second key, where it gives them in the unit of the map.
    pub own: (Option<f64>, Option<f64>),
    /// What it is to work, by the file; each cell goes by its own `workable` where the map varies that.
    pub standard: Standard,
    /// By column and row: why there is no such machine.
    impossible: Vec<Vec<Option<String>>>,
}

/// A share of the columns of a map, made by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MapShare {
    /// Which part, from 1.
    pub part: usize,
    /// Of how many.
    pub parts: usize,
}

/// What it is to work, in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Standard {
    /// Which share of runs may go wrong.
    pub tolerance: String,
    /// All of it.
    pub sentence: String,
}

/// What is known of one cell of a finished map.
#[derive(Clone, Debug, PartialEq)]
pub enum Spot {
    /// It was simulated.
    Simulated(Box<Cell>),
    /// It stands between two cells of this verdict.
    Inferred {
        /// The verdict.
        verdict: CellOutcome,
        /// The element it happens at, if it is the same for both.
        at: Option<String>,
    },
    /// These values make no machine.
    Impossible {
        /// Why.
        why: String,
    },
}

/// A finished map.
#[derive(Clone, Debug)]
pub struct Map {
    /// What it was made from.
    pub grid: Grid,
    /// The cells by column and row.
    pub columns: Vec<Vec<Spot>>,
    /// Where each column works; `None` where it does not.
    pub windows: Vec<Option<ColumnWindow>>,
}

impl Spot {
    /// What happens there.
    pub fn verdict(&self) -> CellOutcome {
        match self {
            Spot::Simulated(cell) => cell.verdict,
            Spot::Inferred { verdict, .. } => *verdict,
            Spot::Impossible { .. } => CellOutcome::Impossible,
        }
    }

    /// The element it happens at.
    pub fn at(&self) -> Option<&str> {
        match self {
            Spot::Simulated(cell) => cell.at.as_deref(),
            Spot::Inferred { at, .. } => at.as_deref(),
            Spot::Impossible { .. } => None,
        }
    }

    /// The cell, if it was simulated.
    pub fn cell(&self) -> Option<&Cell> {
        match self {
            Spot::Simulated(cell) => Some(cell),
            _ => None,
        }
    }
}

impl search::Known for Cell {
    fn same(&self, other: &Self) -> bool {
        (self.verdict, self.sure) == (other.verdict, other.sure)
    }
}

impl Question {
    /// The machine of a cell.
    ///
    /// # Errors
    /// Every problem of it.
    pub fn machine(&self, cell: CellPlace) -> Result<Machine, Vec<Problem>> {
        machine::read(&self.machine, &self.laid_over(cell))
    }

    /// The settings of a cell.
    pub fn laid_over(&self, cell: CellPlace) -> Vec<Setting> {
        let values = [
            self.across.setting(cell.column),
            self.along.setting(cell.row),
        ];
        self.settings.iter().cloned().chain(values).collect()
    }
}

impl Grid {
    /// The grid of `question`.
    ///
    /// # Errors
    /// The problems of the machine without the two keys; or those of the first cell, where not one can be built.
    pub fn new(question: Question) -> Result<Self, Vec<Problem>> {
        let machine = machine::read(&question.machine, &question.settings)?;
        let column = |column: usize| -> Vec<Option<String>> {
            (0..question.along.count)
                .map(|row| why_not(&question, CellPlace { column, row }))
                .collect()
        };
        let impossible: Vec<Vec<Option<String>>> = (0..question.across.count)
            .into_par_iter()
            .map(column)
            .collect();
        if impossible.iter().flatten().all(Option::is_some) {
            question.machine(CellPlace::FIRST)?;
        }
        let own = (
            own(&question, &machine, &question.along),
            own(&question, &machine, &question.across),
        );
        let sketch = circuit::sketch(&machine);
        let standard = Standard {
            tolerance: tolerance(&machine.workable),
            sentence: standard(&sketch, &machine.workable),
        };
        Ok(Grid {
            question,
            title: machine.title,
            own,
            standard,
            impossible,
        })
    }

    /// Stretches of rows that can be built, as (first row, number of rows).
    fn stretches(&self, column: usize) -> Vec<(usize, usize)> {
        let mut stretches: Vec<(usize, usize)> = Vec::new();
        for (row, why) in self.impossible[column]
            .iter()
            .enumerate()
            .filter(|(_, why)| why.is_none())
        {
            debug_assert!(why.is_none());
            match stretches.last_mut().filter(|(first, n)| first + n == row) {
                Some(last) => last.1 += 1,
                None => stretches.push((row, 1)),
            }
        }
        stretches
    }

    /// Simulates what is worth simulating in `columns`, but for what is `done` already; the cells come in order of column
    /// and row. `None` when stopped.
    pub fn simulate(
        &self,
        columns: &[usize],
        done: &[Cell],
        follower: &impl Follower,
    ) -> Option<Vec<Cell>> {
        let columns: Option<Vec<Vec<Cell>>> = columns
            .par_iter()
            .map(|&column| self.column(column, done, follower))
            .collect();
        Some(columns?.concat())
    }

    fn column(&self, column: usize, done: &[Cell], follower: &impl Follower) -> Option<Vec<Cell>> {
        let question = &self.question;
        let stretches = self.stretches(column);
        let shared = OnceLock::new();
        let one = |row: usize| {
            let place = CellPlace { column, row };
            if let Some(cell) = done.iter().find(|cell| cell.place() == place) {
                return Some(cell.clone());
            }
            let machine = question.machine(place).ok()?;
            let circuit = circuit_along(&question.along, &machine, &shared);
            cell::cell(question, place, (&circuit, &machine.workable), follower)
        };
        let mut cells = Vec::new();
        for (first, n) in stretches {
            let ask = |rows: &[usize]| {
                rows.par_iter()
                    .map(|row| one(first + row))
                    .collect::<Option<Vec<Cell>>>()
            };
            cells.extend(
                search::explore(n, question.every_cell, ask)?
                    .into_iter()
                    .flatten(),
            );
        }
        Some(cells)
    }

    /// Whether `cells` are all that `columns` ask for, and nothing has to be simulated any more.
    pub fn complete(&self, columns: &[usize], cells: &[Cell]) -> bool {
        struct Idle;
        impl Follower for Idle {
            fn go_on(&self) -> bool {
                false
            }
            fn ran(&self) {}
            fn finished(&self, _: &Cell) {}
        }
        self.simulate(columns, cells, &Idle)
            .is_some_and(|needed| needed == cells)
    }

    /// The map of which these are all simulated cells.
    pub fn map(self, cells: &[Cell]) -> Map {
        let column = |column: usize| -> Vec<Spot> {
            let known: Vec<&Cell> = cells.iter().filter(|cell| cell.column == column).collect();
            (0..self.question.along.count)
                .map(|row| self.spot(&known, CellPlace { column, row }))
                .collect()
        };
        let columns: Vec<Vec<Spot>> = (0..self.question.across.count).map(column).collect();
        let windows = columns
            .iter()
            .map(|column| window::window(column))
            .collect();
        Map {
            grid: self,
            columns,
            windows,
        }
    }

    fn spot(&self, known: &[&Cell], place: CellPlace) -> Spot {
        let CellPlace { column, row } = place;
        if let Some(why) = &self.impossible[column][row] {
            return Spot::Impossible { why: why.clone() };
        }
        let below = known
            .iter()
            .filter(|cell| cell.row <= row)
            .max_by_key(|cell| cell.row);
        let above = known
            .iter()
            .filter(|cell| cell.row >= row)
            .min_by_key(|cell| cell.row);
        match (below, above) {
            (Some(cell), _) if cell.row == row => Spot::Simulated(Box::new((*cell).clone())),
            (Some(below), Some(above)) => Spot::Inferred {
                verdict: below.verdict,
                at: below.at.clone().filter(|_| below.at == above.at),
            },
            _ => Spot::Impossible {
                why: "it was not simulated".to_owned(),
            },
        }
    }
}

/// The file's own value of a key.
fn own(question: &Question, machine: &Machine, axis: &Axis) -> Option<f64> {
    if axis.is_load() {
        return Some(f64::from(machine.marbles.count));
    }
    if axis.is_speed() {
        return Some(circuit::drive::drive_rpm(machine)).filter(|rpm| *rpm > 0.0);
    }
    let written = machine::written(&question.machine, &question.settings, &axis.key)?;
    let (value, unit) = amount(&written).ok()?;
    (unit == axis.unit).then_some(value)
}

/// Why a cell cannot be built.
fn why_not(question: &Question, cell: CellPlace) -> Option<String> {
    question
        .machine(cell)
        .err()
        .map(|problems| reason(&problems))
}

impl MapShare {
    /// All of a map.
    pub const WHOLE: MapShare = MapShare { part: 1, parts: 1 };

    /// Its columns, of so many in all: every one after as many as there are parts, since neighbours take about as long.
    pub fn columns(self, all: usize) -> Vec<usize> {
        (0..all)
            .filter(|column| column % self.parts.max(1) + 1 == self.part)
            .collect()
    }
}
