//! Spur gears: sizes, ratios, standard modules.
//!
//! Involute spur gears without profile shift, standard 20 degree proportions (addendum one module, dedendum 1.25).

/// A spur gear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gear {
    /// Module, m.
    pub module_m: f64,
    /// Teeth, above 0.
    pub teeth: u32,
}

impl Gear {
    /// Pitch diameter, m: m z.
    pub fn pitch_diameter_m(&self) -> f64 {
        self.module_m * f64::from(self.teeth)
    }

    /// Tip diameter, m: m (z + 2).
    pub fn tip_diameter_m(&self) -> f64 {
        self.module_m * (f64::from(self.teeth) + 2.0)
    }
}

/// Distance between the axles of two meshing gears of one module, m: m (z1 + z2)/2.
pub fn centre_distance_m(module_m: f64, (driver, driven): (u32, u32)) -> f64 {
    module_m * (f64::from(driver) + f64::from(driven)) / 2.0
}

/// How many turns of the first driver make one of the last driven gear: the product of driven over driver teeth, pair
/// by pair.
pub fn ratio(pairs: &[(u32, u32)]) -> f64 {
    pairs
        .iter()
        .map(|&(driver, driven)| f64::from(driven) / f64::from(driver))
        .product()
}

/// Modules of ISO 54 series 1, mm: take these first.
pub const ISO_54_SERIES_1_MM: [f64; 18] = [
    1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 40.0,
    50.0,
];

/// Modules of ISO 54 series 2, mm; 6.5 is to be avoided.
pub const ISO_54_SERIES_2_MM: [f64; 18] = [
    1.125, 1.375, 1.75, 2.25, 2.75, 3.5, 4.5, 5.5, 6.5, 7.0, 9.0, 11.0, 14.0, 18.0, 22.0, 28.0,
    36.0, 45.0,
];

/// Modules below 1 mm in common use, mm: DIN 780, not ISO 54, though often listed as such (recalled, no copy seen).
pub const DIN_780_SMALL_MM: [f64; 3] = [0.5, 0.6, 0.8];

/// Where a module stands in the standards.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// ISO 54 series 1.
    Series1,
    /// ISO 54 series 2.
    Series2,
    /// DIN 780, below 1 mm.
    Din780,
    /// In none of the lists.
    NotStandard,
}

/// Where a module (m) stands, to a thousandth of a millimetre.
pub fn standing(module_m: f64) -> Standing {
    let listed = |list: &[f64]| list.iter().any(|mm| (mm - module_m * 1e3).abs() < 1e-3);
    if listed(&ISO_54_SERIES_1_MM) {
        Standing::Series1
    } else if listed(&ISO_54_SERIES_2_MM) {
        Standing::Series2
    } else if listed(&DIN_780_SMALL_MM) {
        Standing::Din780
    } else {
        Standing::NotStandard
    }
}
