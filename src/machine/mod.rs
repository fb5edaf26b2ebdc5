//! The machine file: YAML text in, a checked [`Machine`] in SI units out, or every problem found in it.

mod check;
mod check_shapes;
mod fields;
pub mod law;
pub mod limits;
pub mod model;
mod model_wheel;
mod places;
pub mod problem;
mod read;
mod read_circuit;
mod read_kinds;
mod read_law;
mod read_lines;
mod set;
pub mod suggest;
mod syntax;
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
    let mut tree = yaml::parse(text)?;
    let report = Report::default();
    for (n, setting) in settings.iter().enumerate() {
        if let Err((what, mend)) = set::set(&mut tree, &setting.key, &setting.value, n) {
            report.add(Some(Place::Setting(n)), &setting.key, what, mend);
        }
    }
    let draft = read::machine(&tree, &report);
    if let Some(draft) = &draft {
        check::check(draft, &tree, &report);
    }
    match draft {
        Some(draft) if report.is_empty() => Ok(draft.machine),
        _ => Err(report.into_problems()),
    }
}
