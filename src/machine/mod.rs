//! The machine file: YAML text in, a checked [`Machine`] in SI units out, or every problem found in it.

mod check;
mod fields;
pub mod law;
pub mod limits;
pub mod model;
pub mod problem;
mod read;
mod read_kinds;
mod read_law;
mod read_lines;
mod set;
pub mod suggest;
pub mod units;
mod yaml;

pub use model::Machine;
pub use problem::{Place, Problem};

use problem::Report;

/// One `--set KEY=VALUE` (or the shorthand that stands for one).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setting {
    /// The dotted key.
    pub key: String,
    /// The value, as YAML.
    pub value: String,
}

/// Reads a machine from the text of its file, with `settings` laid over it in order.
///
/// # Errors
/// Every problem found, in the order of the file; never an empty list.
pub fn read(text: &str, settings: &[Setting]) -> Result<Machine, Vec<Problem>> {
    let mut tree = yaml::parse(text).map_err(|problem| vec![problem])?;
    let report = Report::default();
    for (n, setting) in settings.iter().enumerate() {
        if let Err((what, mend)) = set::set(&mut tree, &setting.key, &setting.value, n) {
            report.add(Some(Place::Setting(n)), &setting.key, what, mend);
        }
    }
    let machine = read::machine(&tree, &report);
    match machine {
        Some(machine) if report.is_empty() => {
            check::check(&machine, &tree, &report);
            if report.is_empty() { Ok(machine) } else { Err(report.into_problems()) }
        }
        _ => Err(report.into_problems()),
    }
}
