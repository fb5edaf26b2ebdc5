//! What a motor runs on, from the file's keys.

use super::fields::Fields;
use super::model::Supply;
use super::outline::{Group, Shape};
use super::problem::Report;
use super::units::{CHARGE, CURRENT, VOLTAGE};
use super::yaml::Value;
use crate::physics::supply::{ALKALINE_AA, BatteryCell, CELLS};

/// The most cells in series.
pub const MOST_CELLS: u32 = 100;

/// The name of what comes from the wall.
const ADAPTER: &str = "mains-adapter";

/// What may be said of cells, and of what comes from the wall, as their readers ask for it.
pub fn outlines() -> [Group; 2] {
    let report = Report::default();
    let mut cells = Fields::outline(&report);
    cells.kind_of(&kinds()[..CELLS.len()]);
    cells.cells(ALKALINE_AA);
    let mut adapter = Fields::outline(&report);
    adapter.kind_of(&kinds()[CELLS.len()..]);
    adapter.adapter();
    [cells, adapter].map(Fields::into_group)
}

/// Supplies by name; no cell: from the wall.
fn kinds() -> Vec<(&'static str, Option<BatteryCell>)> {
    let mut kinds: Vec<(&'static str, Option<BatteryCell>)> = Vec::new();
    kinds.extend(CELLS.iter().map(|cell| (cell.name, Some(*cell))));
    kinds.push((ADAPTER, None));
    kinds
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
        match self.kind_of(&kinds()) {
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

    fn kind_of(
        &mut self,
        kinds: &[(&'static str, Option<BatteryCell>)],
    ) -> Option<Option<BatteryCell>> {
        let kind = self.choice("kind", kinds);
        self.required("kind", "nimh-aa", kind)
    }

    fn cells(&mut self, of: BatteryCell) -> Option<Supply> {
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
