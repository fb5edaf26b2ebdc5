//! How inexactly a line is made: all its slopes are set alike, and all its lengths sawn alike.

use crate::machine::model::{Line, Segment};
use crate::machine::workmanship::WorkshopError;

/// Whether a line is made with this error, and it matters. A wheel goes by the slope of what leads to it even where its
/// time was measured.
pub fn errs_in(line: &Line, what: WorkshopError) -> bool {
    let computed = line.time.is_none();
    let mut segments = line.segments.iter();
    match what {
        WorkshopError::Slope => segments.any(|segment| slope(&mut segment.clone()).is_some()),
        WorkshopError::Length => computed && !line.segments.is_empty(),
        WorkshopError::Plywood => {
            computed && segments.any(|segment| matches!(segment, Segment::Corner { .. }))
        }
        _ => false,
    }
}

/// Makes it off by so much; nothing is made shorter than nothing.
pub fn err(line: &mut Line, what: WorkshopError, by: f64) {
    for segment in &mut line.segments {
        match what {
            WorkshopError::Slope => {
                if let Some(slope) = slope(segment) {
                    *slope += by;
                }
            }
            WorkshopError::Length => {
                for length in lengths(segment) {
                    *length = (*length + by).max(1e-4);
                }
            }
            WorkshopError::Plywood => {
                if let Segment::Corner { thickness_m, .. } = segment {
                    *thickness_m = (*thickness_m + by).max(1e-4);
                }
            }
            _ => {}
        }
    }
}

fn slope(of: &mut Segment) -> Option<&mut f64> {
    match of {
        Segment::Straight { slope_rad, .. }
        | Segment::Bend { slope_rad, .. }
        | Segment::Steps { slope_rad, .. } => Some(slope_rad),
        Segment::Drop { .. } | Segment::Corner { .. } => None,
    }
}

fn lengths(of: &mut Segment) -> Vec<&mut f64> {
    match of {
        Segment::Straight { length_m, .. } => vec![length_m],
        Segment::Bend { radius_m, .. } => vec![radius_m],
        Segment::Drop { height_m } => vec![height_m],
        Segment::Steps { rise_m, run_m, .. } => vec![rise_m, run_m],
        Segment::Corner { fall_m, gap_m, .. } => vec![fall_m, gap_m],
    }
}
