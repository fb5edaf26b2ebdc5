//! The faces of a machine's pocket wheels, as they are drilled: what a picture of them needs.

use std::f64::consts::{PI, TAU};

use super::pocket_exit::{PocketExit, guide_from_rad};
use crate::circuit::drive::wheel_rpm;
use crate::circuit::wheel_shape;
use crate::circuit::workshop::Workshop;
use crate::machine::Machine;
use crate::machine::model::WheelShape;
use crate::machine::units::System;

/// Least web of wood between two pockets, metres: common practice, no source. Half of it breaks out.
pub const LEAST_WEB_M: f64 = 0.004;

/// Straight from centre to centre of two pockets, metres; `None` for one pocket.
pub fn spacing_m(pockets: u32, pitch_radius_m: f64) -> Option<f64> {
    (pockets > 1).then(|| 2.0 * pitch_radius_m * libm::sin(PI / f64::from(pockets)))
}

/// The face of a wheel, or of several drilled alike. Angles are radians past the lowest point.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// The wheels that are drilled so and turn alike.
    pub names: Vec<String>,
    /// Number of pockets.
    pub pockets: u32,
    /// The dimensions.
    pub shape: WheelShape,
    /// Speed, turns a minute.
    pub rpm: f64,
    /// Diameter of the marbles, metres.
    pub marble_m: Option<f64>,
    /// Where marbles come out; `None` where that is unknown or they do not.
    pub exit: Option<PocketExit>,
    /// In which units its maker measures.
    pub units: System,
}

impl Face {
    /// From one pocket to the next, radians.
    pub fn indexing_rad(&self) -> f64 {
        TAU / f64::from(self.pockets)
    }

    /// Straight from centre to centre of two pockets, metres; `None` for one pocket.
    pub fn spacing_m(&self) -> Option<f64> {
        spacing_m(self.pockets, self.shape.pitch_radius_m)
    }

    /// Least radius of the wheel: a web's breadth outside of the pockets, metres.
    pub fn least_radius_m(&self) -> f64 {
        self.shape.pitch_radius_m + self.shape.bore_m / 2.0 + LEAST_WEB_M
    }

    /// From where the guide begins to where it ends; `None` without one, or where it ends before it is needed.
    pub fn guide_rad(&self) -> Option<(f64, f64)> {
        self.shape
            .guide_rad
            .map(|end| (guide_from_rad(), end))
            .filter(|(from, end)| end > from)
    }

    /// Width of the slide's mouth, metres.
    pub fn mouth_m(&self) -> Option<f64> {
        Some(
            self.exit?
                .mouth_m(self.shape.pitch_radius_m, self.marble_m?),
        )
    }

    /// How far a marble is lifted from the pick-up to where it leaves, metres.
    pub fn lift_m(&self) -> Option<f64> {
        Some(self.shape.pitch_radius_m * (1.0 - libm::cos(self.exit?.leave_rad)))
    }

    fn alike(&self, other: &Face) -> bool {
        self.pockets == other.pockets && self.shape == other.shape && self.rpm == other.rpm
    }
}

/// The faces of all wheels with dimensions, in the order of the file; those drilled alike only once.
pub fn faces(machine: &Machine) -> Vec<Face> {
    let mut faces: Vec<Face> = Vec::new();
    for element in &machine.elements {
        let Some(wheel) = element.kind.wheel() else {
            continue;
        };
        let Some(shape) = &wheel.shape else { continue };
        let rpm = wheel_rpm(wheel, machine);
        let lift = wheel_shape::lift(shape, &Workshop::new(machine, element)).filter(|_| rpm > 0.0);
        let face = Face {
            names: vec![element.name.clone()],
            pockets: wheel.pockets,
            shape: shape.clone(),
            rpm,
            marble_m: machine.marbles.diameter_m,
            exit: lift.and_then(|lift| PocketExit::of(&lift, wheel_shape::turning_rad_s(rpm))),
            units: machine.units,
        };
        match faces.iter_mut().find(|known| known.alike(&face)) {
            Some(known) => known.names.extend(face.names),
            None => faces.push(face),
        }
    }
    faces
}
