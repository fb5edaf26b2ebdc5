//! What a motor runs on: the cells that are sold, their voltage, and how long they last.
//!
//! Nominal voltages are those of the cells' standards: alkaline (LR) and lithium (FR) cells IEC 60086-2, nickel metal hydride
//! IEC 61951-2, lithium ion IEC 61960; read from memory. The voltage at which a cell counts as spent is that of the same
//! standards' tests, from memory too. Of the capacities the alkaline AA's alone was seen in a test; the others are from memory,
//! and the one printed on the cell, `capacity`, goes before them.

use super::drive::{ALKALINE_AA_TESTED, Discharge};

/// A cell as it is sold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatteryCell {
    /// Its name in a machine file.
    pub name: &'static str,
    /// What it is called in sentences.
    pub sold_as: &'static str,
    /// Its nominal voltage, V.
    pub nominal_v: f64,
    /// Its voltage when it is spent, V.
    pub spent_v: f64,
    /// Its capacity by current.
    pub discharge: Discharge,
}

/// Alkaline AA, the cell of files that say no more than how many.
pub const ALKALINE_AA: BatteryCell = alkaline("alkaline-aa", "alkaline AA", ALKALINE_AA_TESTED);

/// All cells known.
///
/// Alkaline AAA, C and D: least service that IEC 60086-2 asks for (100 mA for 7 h; 20 ohm for 77 h and 400 mA for 8 h; 10 ohm
/// for 81 h and 600 mA for 11 h; 1.2 V on average through the resistors), from memory. Nickel metal hydride and lithium ion:
/// what such cells usually have printed on them, which they hold up to a current that would empty them in an hour; lithium AA:
/// the same up to 2 A; from memory.
pub const CELLS: [BatteryCell; 10] = [
    alkaline("alkaline-aaa", "alkaline AAA", Discharge(&[(0.1, 0.7)])),
    ALKALINE_AA,
    alkaline(
        "alkaline-c",
        "alkaline C",
        Discharge(&[(0.06, 4.6), (0.4, 3.2)]),
    ),
    alkaline(
        "alkaline-d",
        "alkaline D",
        Discharge(&[(0.12, 9.7), (0.6, 6.6)]),
    ),
    nimh(
        "nimh-aaa",
        "NiMH AAA",
        Discharge(&[(0.16, 0.8), (0.8, 0.8)]),
    ),
    nimh("nimh-aa", "NiMH AA", Discharge(&[(0.4, 2.0), (2.0, 2.0)])),
    nimh("nimh-c", "NiMH C", Discharge(&[(0.6, 3.0), (3.0, 3.0)])),
    nimh("nimh-d", "NiMH D", Discharge(&[(1.6, 8.0), (8.0, 8.0)])),
    BatteryCell {
        name: "lithium-aa",
        sold_as: "lithium AA",
        nominal_v: 1.5,
        spent_v: 0.9,
        discharge: Discharge(&[(0.2, 3.0), (2.0, 3.0)]),
    },
    BatteryCell {
        name: "lithium-ion",
        sold_as: "lithium-ion 18650",
        nominal_v: 3.6,
        spent_v: 3.0,
        discharge: Discharge(&[(0.5, 2.5), (2.5, 2.5)]),
    },
];

const fn alkaline(name: &'static str, sold_as: &'static str, discharge: Discharge) -> BatteryCell {
    BatteryCell {
        name,
        sold_as,
        nominal_v: 1.5,
        spent_v: 0.9,
        discharge,
    }
}

const fn nimh(name: &'static str, sold_as: &'static str, discharge: Discharge) -> BatteryCell {
    BatteryCell {
        name,
        sold_as,
        nominal_v: 1.2,
        spent_v: 1.0,
        discharge,
    }
}

impl BatteryCell {
    /// Its capacity at a light load, Ah.
    pub fn rated_ah(&self) -> f64 {
        self.discharge.0.first().map_or(0.0, |point| point.1)
    }

    /// Hours at a steady current (A) of a cell with this printed on it (Ah): its kind's fall of capacity with current, to that
    /// scale. `None` beyond what is known.
    pub fn hours(&self, current_a: f64, printed_ah: f64) -> Option<f64> {
        Some(self.discharge.hours(current_a, 1)? * printed_ah / self.rated_ah())
    }
}
