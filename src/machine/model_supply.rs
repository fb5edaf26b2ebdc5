//! What a motor runs on.

use super::model::Motor;
use crate::physics::supply::BatteryCell;

/// What a motor runs on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Supply {
    /// Cells in series.
    Cells {
        /// One of them.
        of: BatteryCell,
        /// How many.
        count: u32,
        /// Capacity of one as printed on it, Ah.
        printed_ah: f64,
    },
    /// An adapter at the mains.
    Adapter {
        /// Its voltage, V.
        volts: f64,
        /// The most that it gives, A.
        most_a: f64,
    },
}

impl Supply {
    /// Its voltage, V: of cells, nominal.
    pub fn volts(&self) -> f64 {
        match self {
            Supply::Cells { of, count, .. } => of.nominal_v * f64::from(*count),
            Supply::Adapter { volts, .. } => *volts,
        }
    }

    /// What sentences call it.
    pub fn called(&self) -> String {
        match self {
            Supply::Cells { of, count: 1, .. } => format!("1 {} cell", of.sold_as),
            Supply::Cells { of, count, .. } => format!("{count} {} cells in series", of.sold_as),
            Supply::Adapter { volts, .. } => format!("a mains adapter of {volts} V"),
        }
    }

    /// How many hours cells last at this current, A, if that is known.
    pub fn lasts_h(&self, current_a: f64) -> Option<f64> {
        match self {
            Supply::Cells { of, printed_ah, .. } => of.hours(current_a, *printed_ah),
            Supply::Adapter { .. } => None,
        }
    }
}

impl Motor {
    /// Share of the voltage it is made for that its supply gives; 1 where the file does not tell both.
    pub fn voltage_share(&self) -> f64 {
        match (self.supply, self.rated_v) {
            (Some(supply), Some(rated_v)) => supply.volts() / rated_v,
            _ => 1.0,
        }
    }

    /// Current at which it stalls on its supply, A.
    pub fn stalled_a(&self) -> f64 {
        self.stall_current_a * self.voltage_share()
    }
}
