//! What a motor runs on, from the file's keys.

use super::fields::Fields;
use super::model::Supply;
use super::outline::{Group, Shape};
use super::problem::Report;
use super::units::{CHARGE, CURRENT, VOLTAGE};
use super::yaml::Value;
use crate::physics::supply::{ALKALINE_AA, CELLS, Cell};

/// The most cells in series.
pub const MOST_CELLS: u32 = 100;

/// The name of what comes from the wall.
const ADAPTER: &str = "mains-adapter";

/// What may be said of a supply, as its reader asks for it.
pub fn outline() -> Group {
    let report = Report::default();
    let mut of = Fields::outline(&report);
    of.of_a_kind();
    of.into_group()
}

impl Fields<'_> {
    /// What it runs on: so many alkaline AA cells, or a supply by its kind.
    pub fn supply(&mut self) -> Option<Supply> {
        self.note("cells", || Shape::Shared("cells"));
        if let Value::Map(_) = self.get("cells")?.value {
            let mut of = self.map("cells")?;
            let supply = of.of_a_kind();
            of.finish();
            return supply;
        }
        let count = self.count("cells", 1..=MOST_CELLS)?;
        Some(Supply::Cells {
            of: ALKALINE_AA,
            count,
            printed_ah: ALKALINE_AA.rated_ah(),
        })
    }

    fn of_a_kind(&mut self) -> Option<Supply> {
        self.ways(&[&["kind", "count"], &["kind", "voltage", "current"]]);
        let mut kinds: Vec<(&'static str, Option<_>)> =
            CELLS.iter().map(|cell| (cell.name, Some(*cell))).collect();
        kinds.push((ADAPTER, None));
        let kind = self.choice("kind", &kinds);
        let kind = self.required("kind", "nimh-aa", kind);
        if self.outlining() {
            self.cells(ALKALINE_AA);
            return self.adapter();
        }
        match kind {
            Some(Some(cell)) => self.cells(cell),
            Some(None) => self.adapter(),
            None => {
                // Which keys it should have is not known.
                for key in ["count", "capacity", "voltage", "current"] {
                    self.get(key);
                }
                None
            }
        }
    }

    fn cells(&mut self, of: Cell) -> Option<Supply> {
        let count = self.count("count", 1..=MOST_CELLS);
        let count = self.required("count", "4", count);
        let printed_ah = self.quantity("capacity", &CHARGE, 0.01..=100.0);
        Some(Supply::Cells {
            of,
            count: count?,
            printed_ah: printed_ah.unwrap_or(of.rated_ah()),
        })
    }

    fn adapter(&mut self) -> Option<Supply> {
        let volts = self.quantity("voltage", &VOLTAGE, 0.5..=60.0);
        let volts = self.required("voltage", "6 V", volts);
        let most_a = self.quantity("current", &CURRENT, 0.01..=100.0);
        let most_a = self.required("current", "1 A", most_a);
        Some(Supply::Adapter {
            volts: volts?,
            most_a: most_a?,
        })
    }
}
