//! A start ramp, slide or track on the bench sheet.

use crate::circuit::draw::seconds;
use crate::circuit::plan::Plan;
use crate::circuit::workshop::Workshop;
use crate::machine::model::{Line, Segment};
use crate::physics::bend::tip_off_speed_m_s;
use crate::physics::material::{ROLLING_LEVER_RANGE_M, SLIDING_FRICTION_RANGE, SurfaceProperties};
use crate::physics::path::Halt;
use crate::physics::rolling;
use crate::sheet::entry::SheetView;
use crate::sheet::profile::{ProfilePiece, rise_m};
use crate::sheet::units::degrees;
use crate::sheet::{Row, RowVerdict, Units, room, time};

/// A slope this many times the least that keeps a marble rolling leaves room for dust and warp: our own margin.
const SLOPE_TIMES: f64 = 3.0;
/// A bend taken at this share of the speed that tips marbles off is safe: our own margin.
const BEND_SHARE: f64 = 0.8;

/// The figures of a line.
pub fn rows(of: &Line, view: &SheetView) -> Vec<Row> {
    let (plan, workshop, units) = (view.plan(), &view.workshop, view.units);
    let mut rows = vec![room("places", plan)];
    rows.push(time("file moves up a place in", seconds(plan.advance)));
    if of.time.is_some() {
        rows.push(Row::plain("time", "measured"));
    }
    rows.extend(line_fall_m(of).map(|fall| Row::length("falls", fall, units)));
    match workshop.roll(of) {
        Some(Ok(passage)) => {
            let entered = match workshop.entry_speed_m_s() {
                speed if speed > 0.0 => format!("come in at {}", units.speed(speed)),
                _ => "from rest".to_owned(),
            };
            rows.push(match by_entrance(of, plan, workshop) {
                Some((least, most)) => Row::plain(
                    "rolls through in",
                    format!("{least:.2} to {most:.2} s, by where they come from"),
                )
                .with([("time", least, "s"), ("time_at_most", most, "s")]),
                None => {
                    let value = format!("{:.2} s, {entered}", passage.time_s);
                    Row::plain("rolls through in", value).with([("time", passage.time_s, "s")])
                }
            });
            let speed = passage.exit_speed_m_s;
            rows.push(
                Row::plain("speed at the end", units.speed(speed)).with([("speed", speed, "m/s")]),
            );
        }
        Some(Err(halt)) => rows.push(halted(halt, units)),
        None => {}
    }
    rows.extend(slopes(of, workshop).into_iter().flatten());
    rows.extend(bends(of, workshop, units));
    rows
}

/// Fall of a line, metres; `None` where its segments are not given.
pub fn line_fall_m(line: &Line) -> Option<f64> {
    if line.segments.is_empty() {
        return None;
    }
    Some(line.segments.iter().map(segment_fall_m).sum())
}

fn segment_fall_m(segment: &Segment) -> f64 {
    -rise_m(&segment_pieces(segment))
}

/// A line as seen from the side.
pub fn pieces(line: &Line) -> Vec<ProfilePiece> {
    if line.segments.is_empty() {
        return vec![ProfilePiece::Unknown("length and fall of")];
    }
    line.segments.iter().flat_map(segment_pieces).collect()
}

fn segment_pieces(segment: &Segment) -> Vec<ProfilePiece> {
    let slopes = |length_m: f64, slope_rad: f64| ProfilePiece::Roll {
        along_m: length_m * libm::cos(slope_rad),
        fall_m: length_m * libm::sin(slope_rad),
    };
    match *segment {
        Segment::Straight {
            length_m,
            slope_rad,
        } => vec![slopes(length_m, slope_rad)],
        Segment::Bend {
            radius_m,
            turn_rad,
            slope_rad,
        } => vec![slopes(radius_m * turn_rad, slope_rad)],
        Segment::Drop { height_m } => vec![ProfilePiece::Drop { fall_m: height_m }],
        Segment::Steps {
            count,
            rise_m,
            run_m,
            slope_rad,
        } => {
            let step = [
                ProfilePiece::Drop { fall_m: rise_m },
                slopes(run_m, slope_rad),
            ];
            step.repeat(count as usize)
        }
        Segment::Corner { fall_m, .. } => vec![ProfilePiece::Drop { fall_m }],
    }
}

/// The least and the most that marbles need where several elements give them different speeds, s.
fn by_entrance(of: &Line, plan: &Plan, workshop: &Workshop) -> Option<(f64, f64)> {
    if of.time.is_some() || workshop.feeders().len() < 2 {
        return None;
    }
    let mut times: Vec<f64> = plan
        .travel
        .iter()
        .map(|draw| seconds(draw.quantile(0.5)))
        .collect();
    times.sort_by(f64::total_cmp);
    Some((*times.first()?, *times.last()?)).filter(|(least, most)| least < most)
}

fn halted(halt: Halt, units: Units) -> Row {
    let (Halt::Stall { segment, .. }
    | Halt::TipsOff { segment, .. }
    | Halt::Misfit { segment, .. }) = halt;
    let (value, help) = match halt {
        Halt::Stall { segment, at_m } => (
            format!(
                "comes to rest in segment {}, {} along it",
                segment + 1,
                units.length(at_m)
            ),
            "make that segment steeper or shorter".to_owned(),
        ),
        Halt::TipsOff {
            segment,
            speed_m_s,
            limit_m_s,
        } => (
            format!(
                "leaves its rails in segment {} at {}",
                segment + 1,
                units.speed(speed_m_s)
            ),
            format!(
                "the bend takes {}: widen it, or come in more slowly",
                units.speed(limit_m_s)
            ),
        ),
        Halt::Misfit { segment, .. } => (
            format!("does not fit segment {}", segment + 1),
            "look at the channel and the corner's gap".to_owned(),
        ),
    };
    Row::judged("a marble", value, RowVerdict::WontWork, help).with([segment_number(segment)])
}

fn slope_rad(segment: &Segment) -> Option<f64> {
    match *segment {
        Segment::Straight { slope_rad, .. }
        | Segment::Bend { slope_rad, .. }
        | Segment::Steps { slope_rad, .. } => Some(slope_rad),
        Segment::Drop { .. } | Segment::Corner { .. } => None,
    }
}

/// The shallowest slope against the least that keeps a marble rolling, the steepest against the one on which it slips.
fn slopes(of: &Line, workshop: &Workshop) -> Option<[Row; 2]> {
    let all: Vec<f64> = of.segments.iter().filter_map(slope_rad).collect();
    let (shallow, steep) = (
        all.iter().copied().reduce(f64::min)?,
        all.iter().copied().reduce(f64::max)?,
    );
    let marble = workshop.marble()?;
    let seat = of.channel.seat(marble.radius_m()).ok()?;
    let surface = workshop.surface();
    let least = rolling::least_slope_rad(seat, marble.radius_m(), &surface);
    let value = format!(
        "{}, {:.0} times the {} that keep it rolling",
        degrees(shallow),
        shallow / least,
        degrees(least)
    );
    let rough = SurfaceProperties {
        rolling_lever_m: ROLLING_LEVER_RANGE_M.1,
        ..surface
    };
    let entry = workshop.entry_speed_m_s();
    let rolls_through = matches!(workshop.roll(of), Some(Ok(_)));
    let stalls_on_rough = rolls_through && workshop.roll_as(of, entry, &marble, &rough).is_err();
    let keeps = match RowVerdict::at_least(shallow / least, SLOPE_TIMES, 1.0) {
        RowVerdict::Fine if stalls_on_rough => RowVerdict::Tight,
        // Speed may carry a marble over a stretch that is too shallow.
        RowVerdict::WontWork if rolls_through => RowVerdict::Tight,
        verdict => verdict,
    };
    let help = format!(
        "{} leave room for dust, warp and rough wood",
        degrees(SLOPE_TIMES * least)
    );
    let slip = rolling::slip_slope_rad(seat, &surface);
    let slick = SurfaceProperties {
        sliding_friction: SLIDING_FRICTION_RANGE.0.min(surface.sliding_friction),
        ..surface
    };
    let rolls = if steep < rolling::slip_slope_rad(seat, &slick) {
        RowVerdict::Fine
    } else {
        RowVerdict::Tight
    };
    let slips = format!("{} where it slips from {}", degrees(steep), degrees(slip));
    Some([
        Row::judged("shallowest slope", value, keeps, help).with([
            ("slope", shallow.to_degrees(), "deg"),
            ("least", least.to_degrees(), "deg"),
        ]),
        Row::judged(
            "steepest slope",
            slips,
            rolls,
            "on slick wood it slides part of the way: it may come sooner",
        )
        .with([
            ("slope", steep.to_degrees(), "deg"),
            ("slips_from", slip.to_degrees(), "deg"),
        ]),
    ])
}

/// Each bend on rails or in a groove: how fast marbles are in it, and how fast they may be.
fn bends(of: &Line, workshop: &Workshop, units: Units) -> Vec<Row> {
    let Some(marble) = workshop.marble() else {
        return Vec::new();
    };
    let Ok(seat) = of.channel.seat(marble.radius_m()) else {
        return Vec::new();
    };
    let mut rows = Vec::new();
    for (n, segment) in of.segments.iter().enumerate() {
        let Segment::Bend { radius_m, .. } = *segment else {
            continue;
        };
        let limit = tip_off_speed_m_s(seat, radius_m);
        if limit.is_infinite() {
            let value = format!("segment {}: its wall holds the marble", n + 1);
            rows.push(Row::plain("bend", value).with([segment_number(n)]));
            continue;
        }
        let speeds = [n, n + 1].map(|segments| speed_after(of, segments, workshop));
        let Some(fastest) = speeds.into_iter().flatten().reduce(f64::max) else {
            continue;
        };
        let value = format!(
            "segment {}: up to {} where marbles tip off from {}",
            n + 1,
            units.speed(fastest),
            units.speed(limit)
        );
        let verdict = RowVerdict::at_most(fastest / limit, BEND_SHARE, 1.0);
        let help = "widen the bend, come in more slowly, or set the rails further apart";
        rows.push(Row::judged("bend", value, verdict, help).with([
            segment_number(n),
            ("speed", fastest, "m/s"),
            ("tips_off_from", limit, "m/s"),
        ]));
    }
    rows
}

fn segment_number(n: usize) -> (&'static str, f64, &'static str) {
    ("segment", (n + 1) as f64, "1")
}

/// Speed after the first so many segments.
fn speed_after(of: &Line, segments: usize, workshop: &Workshop) -> Option<f64> {
    if segments == 0 {
        return Some(workshop.entry_speed_m_s());
    }
    let part = Line {
        segments: of.segments[..segments].to_vec(),
        ..of.clone()
    };
    workshop
        .roll(&part)?
        .ok()
        .map(|passage| passage.exit_speed_m_s)
}
