//! The dimensions of a line, one by one.

use crate::circuit::plan::Plan;
use crate::machine::model::{Line, Segment};
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::spread;

/// Lists the dimensions of a line.
pub fn line(of: &Line, plan: &Plan, list: &mut Lister) {
    if list.is_written("segments") {
        list.under("segments", |list| {
            of.segments
                .iter()
                .enumerate()
                .for_each(|(n, one)| list.under(&n.to_string(), |list| segment(one, list)));
        });
    } else {
        of.segments.iter().for_each(|one| segment(one, list));
    }
    if !of.segments.is_empty() {
        list.channel(of.channel);
    }
    if let Some(speed) = of.entry_m_s {
        list.velocity("entry-speed", speed);
    }
    list.law("time", of.time.as_ref());
    if of.time.is_none() {
        let rolls = plan
            .travel
            .first()
            .filter(|_| !plan.stalls)
            .map_or("comes to rest".to_owned(), spread);
        list.computed("time", rolls);
    }
    list.room("places", plan);
    list.advance("advance", plan);
    list.when_full(of.when_full);
}

fn segment(of: &Segment, list: &mut Lister) {
    match *of {
        Segment::Straight {
            length_m,
            slope_rad,
        } => {
            list.length("length", length_m);
            list.slope("slope", slope_rad);
        }
        Segment::Bend {
            radius_m,
            turn_rad,
            slope_rad,
        } => list.under("bend", |list| {
            list.length("radius", radius_m);
            list.angle("turn", turn_rad);
            list.slope("slope", slope_rad);
        }),
        Segment::Drop { height_m } => list.length("drop", height_m),
        Segment::Steps {
            count,
            rise_m,
            run_m,
            slope_rad,
        } => list.under("steps", |list| {
            list.count("count", count);
            list.length("rise", rise_m);
            list.length("run", run_m);
            list.slope("slope", slope_rad);
        }),
        Segment::Corner {
            fall_m,
            gap_m,
            thickness_m,
        } => list.under("corner", |list| {
            list.length("fall", fall_m);
            list.length("gap", gap_m);
            list.length("thickness", thickness_m);
        }),
    }
}
