//! The constants that a pocket wheel goes by where the file leaves them open.

use crate::machine::assumed::AssumedConstant;
use crate::machine::model::{PocketWheel, WheelShape};

/// Whether a wheel goes by this constant: by none where its pick-up was measured.
pub fn goes_by(wheel: &PocketWheel, what: AssumedConstant) -> bool {
    let Some(shape) = wheel.shape.as_ref().filter(|_| wheel.pick_up.is_none()) else {
        return false;
    };
    match what {
        AssumedConstant::PitchError
        | AssumedConstant::SlopeError
        | AssumedConstant::Channel
        | AssumedConstant::Torque
        | AssumedConstant::Inertia => true,
        // Marbles press on each other where a wheel picks up.
        AssumedConstant::MarbleFriction | AssumedConstant::MarbleRestitution => true,
        AssumedConstant::CutBack => shape.relieved,
        _ => false,
    }
}

/// Sets a constant.
pub fn assume(shape: &mut WheelShape, what: AssumedConstant, value: f64) {
    match what {
        AssumedConstant::PitchError => shape.pitch_error_m = value,
        AssumedConstant::SlopeError => shape.slope_error_rad = value,
        AssumedConstant::Channel => shape.channel_m = Some(value),
        AssumedConstant::CutBack => shape.cut_back = Some(value),
        AssumedConstant::Torque => shape.torque_nm = Some(value),
        AssumedConstant::Inertia => shape.inertia_kg_m2 = Some(value * shape.disc_inertia_kg_m2()),
        _ => {}
    }
}
