//! A machine file of which one key takes many values: the machine of each, or why there is none.

use std::sync::OnceLock;

use super::axis::Axis;
use crate::circuit::{self, Circuit};
use crate::machine::model::Workable;
use crate::machine::{self, Machine, Problem, Setting};

/// A machine that can be run and judged; or in one sentence why these values make none.
pub type Candidate = Result<Runnable, String>;

/// A machine that can be run and judged.
#[derive(Clone, Debug)]
pub struct Runnable {
    /// Its circuit.
    pub circuit: Circuit,
    /// What is good enough of it.
    pub workable: Workable,
}

/// A machine file with the values of one key laid over it.
#[derive(Debug)]
pub struct VariedMachine<'a> {
    /// The text of the file.
    pub text: &'a str,
    /// What is laid over it everywhere.
    pub settings: &'a [Setting],
    /// The key and its values.
    pub axis: &'a Axis,
    /// The circuit that all loads share.
    pub shared: OnceLock<Circuit>,
}

impl VariedMachine<'_> {
    /// The settings of the value at `position`.
    pub fn laid_over(&self, position: usize) -> Vec<Setting> {
        let value = self.axis.setting(position);
        self.settings.iter().cloned().chain([value]).collect()
    }

    /// The machine at `position`.
    ///
    /// # Errors
    /// Every problem of it.
    pub fn machine(&self, position: usize) -> Result<Machine, Vec<Problem>> {
        machine::read(self.text, &self.laid_over(position))
    }

    /// The machine at `position`, ready to run.
    ///
    /// # Errors
    /// Why there is none.
    pub fn candidate(&self, position: usize) -> Candidate {
        let machine = self.machine(position).map_err(|all| reason(&all))?;
        Ok(Runnable {
            circuit: circuit_along(self.axis, &machine, &self.shared),
            workable: machine.workable,
        })
    }

    /// The problems of the first value, where no value at all makes a machine.
    pub fn never_a_machine(&self) -> Option<Vec<Problem>> {
        let first = self.machine(0).err()?;
        let none = (1..self.axis.count).all(|position| self.machine(position).is_err());
        none.then_some(first)
    }
}

/// The circuit of a machine somewhere along an axis. Building one takes as long as many runs, and the load changes nothing in
/// it but the load: along that, the first one built is `shared`.
pub fn circuit_along(axis: &Axis, machine: &Machine, shared: &OnceLock<Circuit>) -> Circuit {
    if !axis.is_load() {
        return circuit::circuit(machine);
    }
    Circuit {
        marbles: machine.marbles.count,
        ..shared.get_or_init(|| circuit::circuit(machine)).clone()
    }
}

/// Why there is no such machine: its first problem, and what would fix it.
pub fn reason(problems: &[Problem]) -> String {
    let first = problems.first();
    first.map_or_else(String::new, |problem| {
        format!("{}: {}", problem.what, problem.help)
    })
}
