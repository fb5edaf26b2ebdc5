//! The constants that a pocket wheel goes by where the file leaves them open, and how inexactly it is made.

use crate::machine::assumed::AssumedConstant;
use crate::machine::model::{PocketWheel, TurnedBy, WheelShape};
use crate::machine::workmanship::WorkshopError;

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

/// Whether a wheel is made with this error, and it matters: nothing of the pick-up where that was measured, and nothing of
/// its pockets where pick-up, lift and release all were.
pub fn errs_in(wheel: &PocketWheel, what: WorkshopError) -> bool {
    let picks_up = wheel.pick_up.is_none();
    let lets_go = wheel.lift.is_none() || wheel.release.is_none();
    match what {
        WorkshopError::Speed => matches!(wheel.turned_by, TurnedBy::OwnMotor { .. }),
        WorkshopError::Bore
        | WorkshopError::Circle
        | WorkshopError::Depth
        | WorkshopError::Tilt => wheel.shape.is_some() && (picks_up || lets_go),
        WorkshopError::Gap | WorkshopError::RampEnd => wheel.shape.is_some() && picks_up,
        _ => false,
    }
}

/// Makes it off by so much; nothing is made smaller than it can be.
pub fn err(wheel: &mut PocketWheel, what: WorkshopError, by: f64) {
    if let (WorkshopError::Speed, TurnedBy::OwnMotor { rpm }) = (what, &mut wheel.turned_by) {
        *rpm *= 1.0 + by;
    }
    let Some(shape) = &mut wheel.shape else {
        return;
    };
    let (of, least) = match what {
        WorkshopError::Bore => (&mut shape.bore_m, 0.001),
        WorkshopError::Circle => (&mut shape.pitch_radius_m, 0.01),
        WorkshopError::Depth => (&mut shape.depth_m, 0.0005),
        WorkshopError::Tilt => (&mut shape.tilt_rad, 0.0),
        WorkshopError::Gap => (&mut shape.gap_m, 0.0),
        WorkshopError::RampEnd => (&mut shape.ramp_end_off_m, f64::NEG_INFINITY),
        _ => return,
    };
    *of = (*of + by).max(least);
}
