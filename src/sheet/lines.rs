//! A start ramp, slide or track on the bench sheet.

use super::{Row, Units, Verdict, degrees};
use crate::circuit::draw::seconds;
use crate::circuit::plan::Plan;
use crate::circuit::workshop::Workshop;
use crate::machine::model::{Line, Segment};
use crate::physics::path::Halt;
use crate::physics::rolling;

/// The figures of a line.
pub fn rows(of: &Line, plan: &Plan, workshop: &Workshop, units: Units) -> Vec<Row> {
    let mut rows = vec![Row::told("places", plan.places().map_or("any number".to_owned(), |n| n.to_string()))];
    rows.push(Row::told("file moves up a place in", format!("{:.2} s", seconds(plan.advance))));
    if of.time.is_some() {
        rows.push(Row::told("time", "measured".to_owned()));
    }
    match workshop.roll(of) {
        Some(Ok(passage)) => {
            rows.push(Row::told("rolls through in", format!("{:.2} s", passage.time_s)));
            rows.push(Row::told("speed at the end", format!("{:.0} mm/s", passage.exit_speed_m_s * 1e3)));
        }
        Some(Err(halt)) => rows.push(halted(halt, units)),
        None => {}
    }
    rows.extend(slopes(of, workshop));
    rows
}

fn halted(halt: Halt, units: Units) -> Row {
    let (told, mend) = match halt {
        Halt::Stall { segment, at_m } => (
            format!("comes to rest in segment {}, {} along it", segment + 1, units.length(at_m)),
            "make that segment steeper or shorter".to_owned(),
        ),
        Halt::TipsOff { segment, speed_m_s, limit_m_s } => (
            format!("leaves its rails in segment {} at {:.0} mm/s", segment + 1, speed_m_s * 1e3),
            format!("the bend takes {:.0} mm/s: widen it, or come in more slowly", limit_m_s * 1e3),
        ),
        Halt::Misfit { segment, .. } => {
            (format!("does not fit segment {}", segment + 1), "look at the channel and the corner's gap".to_owned())
        }
    };
    Row::judged("a marble", told, Verdict::WontWork, mend)
}

/// The shallowest slope against the least that keeps a marble rolling, the steepest against the one on which it slips.
fn slopes(of: &Line, workshop: &Workshop) -> Vec<Row> {
    let slope = |segment: &Segment| match *segment {
        Segment::Straight { slope_rad, .. } | Segment::Bend { slope_rad, .. } | Segment::Steps { slope_rad, .. } => {
            Some(slope_rad)
        }
        Segment::Drop { .. } | Segment::Corner { .. } => None,
    };
    let all: Vec<f64> = of.segments.iter().filter_map(slope).collect();
    let (Some(shallow), Some(steep)) = (all.iter().copied().reduce(f64::min), all.iter().copied().reduce(f64::max))
    else {
        return Vec::new();
    };
    let Some(marble) = workshop.marble() else { return Vec::new() };
    let Ok(seat) = of.channel.seat(marble.radius_m()) else { return Vec::new() };
    let least = rolling::least_slope_rad(seat, marble.radius_m(), &workshop.surface());
    let slip = rolling::slip_slope_rad(seat, &workshop.surface());
    let keeps = match shallow / least {
        x if x > 3.0 => Verdict::Fine,
        x if x > 1.0 => Verdict::Tight,
        _ => Verdict::WontWork,
    };
    let told = format!("{} where {} keeps it rolling", degrees(shallow), degrees(least));
    let rolls = if steep < slip { Verdict::Fine } else { Verdict::Tight };
    let slips = format!("{} where it slips from {}", degrees(steep), degrees(slip));
    vec![
        Row::judged("shallowest slope", told, keeps, "three times the least slope leaves room for dust and warp"),
        Row::judged("steepest slope", slips, rolls, "it slides part of the way: times are longer than these"),
    ]
}
