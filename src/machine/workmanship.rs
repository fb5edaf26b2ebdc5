//! How exactly a workshop works: by how much what is made differs from the plan, once and for the life of a machine.
//!
//! Every error is normal about the plan with a standard deviation that the file may give in `workshop`. Of the defaults only
//! two have a source; all others are assumed.

use std::f64::consts::PI;

use super::assumed::SLOPE_ERROR_RAD;
use super::model::Material;
use super::units::{ANGLE, LENGTH, QuantityKind, System, plain};

/// What a workshop makes not quite as planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum WorkshopError {
    /// Mean diameter of the marbles that were bought.
    Marbles,
    /// Speed of a drive, as a share of it.
    Speed,
    /// Slopes set by hand: all of a line or a floor alike.
    Slope,
    /// Lengths, heights and widths sawn: all of a line or a floor alike.
    Length,
    /// Thickness of the plywood of a leg.
    Plywood,
    /// Diameter of drilled holes: all of a wheel or a bowl alike.
    Bore,
    /// Radius of the circle that pockets are drilled on.
    Circle,
    /// Depth of pockets.
    Depth,
    /// Tilt of pockets.
    Tilt,
    /// Gap between a ramp and the wheel's face.
    Gap,
    /// Height of a ramp's end at its wheel.
    RampEnd,
}

/// How many there are.
const ERRORS: usize = 11;

/// Standard deviations as the file gives them; `None`: the default.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Workmanship {
    given: [Option<f64>; ERRORS],
}

/// Lots of steel balls, m: ISO 3290-1:2014 lets the mean diameters of a lot of grade 200 differ by 10 micrometres, half of
/// which is taken as a standard deviation.
const STEEL_LOT_M: f64 = 0.000_005;
/// Batches of glass, ceramic or wooden marbles, m. No tolerance is published for toy marbles; assumed, no source.
const MARBLE_BATCH_M: f64 = 0.0001;
/// Plywood, m: US PS 1 allows 1/32 in either side up to 13/16 in, which is taken as two standard deviations.
const PLYWOOD_M: f64 = 0.0254 / 32.0 / 2.0;

impl WorkshopError {
    /// All, in the order in which they are listed.
    pub const ALL: [WorkshopError; ERRORS] = [
        WorkshopError::Marbles,
        WorkshopError::Speed,
        WorkshopError::Slope,
        WorkshopError::Length,
        WorkshopError::Plywood,
        WorkshopError::Bore,
        WorkshopError::Circle,
        WorkshopError::Depth,
        WorkshopError::Tilt,
        WorkshopError::Gap,
        WorkshopError::RampEnd,
    ];

    /// Its key below `workshop`.
    pub fn key(self) -> &'static str {
        match self {
            WorkshopError::Marbles => "marbles",
            WorkshopError::Speed => "speed",
            WorkshopError::Slope => "slope",
            WorkshopError::Length => "length",
            WorkshopError::Plywood => "plywood",
            WorkshopError::Bore => "bore",
            WorkshopError::Circle => "circle",
            WorkshopError::Depth => "depth",
            WorkshopError::Tilt => "tilt",
            WorkshopError::Gap => "gap",
            WorkshopError::RampEnd => "ramp-end",
        }
    }

    /// What may not be as exact as the value of a key that ends so.
    pub fn of_key(last: &str) -> Option<WorkshopError> {
        match last {
            "slope" | "valley-pitch" | "cross-pitch" => Some(WorkshopError::Slope),
            "tilt" => Some(WorkshopError::Tilt),
            "length" | "mouth" => Some(WorkshopError::Length),
            "bore" => Some(WorkshopError::Bore),
            "diameter" => Some(WorkshopError::Marbles),
            "speed" => Some(WorkshopError::Speed),
            _ => None,
        }
    }

    /// What a maker calls what is not exact.
    pub fn name(self) -> &'static str {
        match self {
            WorkshopError::Marbles => "mean diameter of the marbles",
            WorkshopError::Speed => "speed",
            WorkshopError::Slope => "slope",
            WorkshopError::Length => "lengths and heights",
            WorkshopError::Plywood => "thickness of the plywood",
            WorkshopError::Bore => "bore",
            WorkshopError::Circle => "pitch radius",
            WorkshopError::Depth => "depth of the pockets",
            WorkshopError::Tilt => "tilt of the pockets",
            WorkshopError::Gap => "gap",
            WorkshopError::RampEnd => "height of the ramp's end",
        }
    }

    /// Its unit; `None` for a share.
    pub fn unit(self) -> Option<&'static QuantityKind> {
        match self {
            WorkshopError::Speed => None,
            WorkshopError::Slope | WorkshopError::Tilt => Some(&ANGLE),
            _ => Some(&LENGTH),
        }
    }

    /// The most that may be given.
    pub fn most(self) -> f64 {
        match self {
            WorkshopError::Speed => 0.5,
            WorkshopError::Slope | WorkshopError::Tilt => PI / 36.0,
            WorkshopError::Marbles => 0.005,
            _ => 0.02,
        }
    }

    /// An amount of it with its unit, lengths in these units.
    pub fn show_in(self, amount: f64, system: System) -> String {
        match self.unit() {
            Some(unit) => unit.show_in(amount, system),
            None => format!("{} %", plain(amount * 100.0)),
        }
    }

    fn default_sd(self, material: Material) -> f64 {
        match self {
            WorkshopError::Marbles if material == Material::Steel => STEEL_LOT_M,
            WorkshopError::Marbles => MARBLE_BATCH_M,
            WorkshopError::Speed => 0.03,
            WorkshopError::Slope => SLOPE_ERROR_RAD.0,
            WorkshopError::Length => 0.0005,
            WorkshopError::Plywood => PLYWOOD_M,
            WorkshopError::Bore => 0.0001,
            WorkshopError::Circle => 0.0003,
            WorkshopError::Depth => 0.0005,
            // As the spread of the release takes it: a drill-press table set by protractor.
            WorkshopError::Tilt => 0.5 * PI / 180.0,
            WorkshopError::Gap => 0.0002,
            WorkshopError::RampEnd => 0.0003,
        }
    }
}

impl Workmanship {
    /// With a standard deviation given, in SI units.
    pub fn give(&mut self, what: WorkshopError, sd: f64) {
        self.given[what as usize] = Some(sd);
    }

    /// The standard deviation, in SI units; of marbles it goes by what they are made of.
    pub fn sd(&self, what: WorkshopError, material: Material) -> f64 {
        self.given[what as usize].unwrap_or_else(|| what.default_sd(material))
    }
}
