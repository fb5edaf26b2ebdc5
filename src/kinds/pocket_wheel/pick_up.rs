//! A wheel's pick-up on the bench sheet: what passing pockets do, as close looks at several speeds see it, and up to which
//! speed.

use super::sheet::{ENOUGH, Turning};
use crate::circuit::close_look::Effort;
use crate::circuit::wheel_shape;
use crate::contact::pick_up_chances::PickUpCounts;
use crate::findings::words::percent;
use crate::sheet::{Figure, Row, RowVerdict};

/// Share of a line that a maker would call sure enough.
const SURE: f64 = 0.9;
/// Stalls a pocket that stop the wheel every few minutes.
const OFTEN: f64 = 0.01;
/// A pocket this much deeper than a marble's radius, in marbles, is deep enough: our own margin.
const DEEPER: f64 = 0.2;
/// Shares of the speed at which the place is looked at. Longer at the speed itself, whose look `run` has made already.
const SPEEDS: [f64; 5] = [0.5, 0.7, 1.0, 1.4, 2.0];
/// The limit is known to this ratio of two speeds, the longer looks between them included.
const LIMIT_WITHIN: f64 = 1.13;

/// What was seen at one speed.
struct SpeedLook {
    rpm: f64,
    counts: PickUpCounts,
}

/// The figures; `None` where the marbles are not known, or the pick-up is measured.
pub fn rows(on: &Turning) -> Option<Vec<Row>> {
    let at = wheel_shape::at_pick_up(on.shape, on.workshop)?;
    let mut rows = vec![depth(on, at.marble_m)];
    if let Some(looks) = looks(on) {
        rows.extend(own(on, &looks).and_then(|look| open_side(on, at.marble_m, look)));
        rows.extend([
            now(on, &looks),
            by_speed(&looks),
            stay_below(on, &looks),
            fill(on, &looks),
            wedges(on, &looks),
        ]);
    }
    rows.push(refill(on, at.refill_s()));
    Some(rows)
}

fn look(on: &Turning, rpm: f64, effort: Effort) -> Option<SpeedLook> {
    let counts = wheel_shape::look(on.wheel, rpm, effort, on.workshop)?;
    Some(SpeedLook { rpm, counts })
}

/// Looks at speeds all around the wheel's own, and longer ones between the fastest at which a line does well and the next.
fn looks(on: &Turning) -> Option<Vec<SpeedLook>> {
    let mut looks = Vec::new();
    for share in SPEEDS {
        let effort = if share == 1.0 {
            Effort::FULL
        } else {
            Effort::BRIEF
        };
        looks.push(look(on, share * on.rpm, effort)?);
    }
    loop {
        let well = well_below(on, &looks).len();
        if well == 0 || well == looks.len() {
            return Some(looks);
        }
        let (slow, fast) = (looks[well - 1].rpm, looks[well].rpm);
        if fast / slow <= LIMIT_WITHIN {
            return Some(looks);
        }
        looks.insert(well, look(on, (slow * fast).sqrt(), Effort::FULL)?);
    }
}

/// The looks from the slowest up to the fastest at which a line fills the wheel as the maker asks, and hardly stalls it.
fn well_below<'a>(on: &Turning, looks: &'a [SpeedLook]) -> &'a [SpeedLook] {
    let ill = looks.iter().position(|look| ill(on, look).is_some());
    &looks[..ill.unwrap_or(looks.len())]
}

/// What is ill with a line at a speed.
fn ill(on: &Turning, look: &SpeedLook) -> Option<&'static str> {
    let line = look.counts.line().shares();
    if line.stall >= OFTEN {
        return Some("a line wedges");
    }
    (line.take < on.workshop.machine.workable.least_fill).then_some("pockets stay empty")
}

/// Up to which speed a line of marbles fills the wheel and does not wedge.
fn stay_below(on: &Turning, looks: &[SpeedLook]) -> Row {
    let label = "a line: stay below";
    let help = or_cut(on, "turn more slowly, a larger bore, or a steeper ramp");
    let well = well_below(on, looks);
    let (Some(slow), fast) = (well.last(), looks.get(well.len())) else {
        let value = format!("{:.1} rpm, the slowest looked at", looks[0].rpm);
        return Row::judged(label, value, RowVerdict::WontWork, help);
    };
    let lone = slow.counts.alone();
    let also = if lone.stalled > 0 {
        let share = percent(lone.shares().stall);
        format!("; of lone marbles {share} wedge even there")
    } else {
        String::new()
    };
    let why = match fast.and_then(|fast| ill(on, fast)) {
        Some(why) => format!(": faster, {why}"),
        None => ", the fastest looked at".to_owned(),
    };
    let value = format!("{:.1} rpm{why}{also}", slow.rpm);
    let verdict = RowVerdict::at_least(slow.rpm / on.rpm, ENOUGH, 1.0);
    Row::judged(label, value, verdict, help).with([("stay_below", slow.rpm, "rpm")])
}

fn depth(on: &Turning, marble_m: f64) -> Row {
    let depth_m = on.shape.depth_m;
    let verdict = RowVerdict::at_least(depth_m, (0.5 + DEEPER) * marble_m, marble_m / 2.0);
    let out = marble_m - depth_m;
    let stands = if out > 5e-5 {
        format!("a marble stands {} out of it", on.units.length(out))
    } else {
        "a marble goes right in".to_owned()
    };
    let help = format!("drill {} deep", on.units.length((0.5 + DEEPER) * marble_m));
    let value = format!("{}; {stands}", on.units.length(depth_m));
    Row::judged("depth of a pocket", value, verdict, help).with([("depth", depth_m, "m")])
}

/// How far a wall is cut back, and what becomes of marbles on its open side; `None` where it runs up to the wheel.
fn open_side(on: &Turning, marble_m: f64, look: &SpeedLook) -> Option<Row> {
    if !on.shape.relieved {
        return None;
    }
    let cut_m = on.shape.cut_back_m(marble_m);
    let all = look.counts.all();
    let stops = format!("stops {} short of the wheel", on.units.length(cut_m));
    let (value, verdict) = match (on.shape.is_fenced(), all.lost) {
        (true, 0) => (format!("{stops}, its open side fenced"), RowVerdict::Fine),
        (true, lost) => (
            format!(
                "{stops}; {lost} lost past the fence at {} pockets",
                all.passes
            ),
            RowVerdict::Tight,
        ),
        (false, lost) => (
            format!(
                "{stops}; {lost} lost off its open side at {} pockets",
                all.passes
            ),
            RowVerdict::WontWork,
        ),
    };
    let help = "fence the side on which the pockets rise";
    Some(Row::judged("wall cut back", value, verdict, help).with([("cut_back", cut_m, "m")]))
}

/// How the wheel does at a speed: it takes a line, and never stalls.
fn verdict(look: &SpeedLook) -> RowVerdict {
    let (line, all) = (look.counts.line().shares(), look.counts.all().shares());
    match (line.take, all.stall) {
        (take, stall) if take >= SURE && stall <= 0.0 => RowVerdict::Fine,
        (take, stall) if take >= 0.5 && stall < OFTEN => RowVerdict::Tight,
        _ => RowVerdict::WontWork,
    }
}

/// The fastest speed looked at up to which it does well at all, turns a minute.
fn well_up_to(looks: &[SpeedLook]) -> Option<f64> {
    looks
        .iter()
        .take_while(|look| verdict(look) == RowVerdict::Fine)
        .last()
        .map(|look| look.rpm)
}

fn now(on: &Turning, looks: &[SpeedLook]) -> Row {
    let Some(look) = own(on, looks) else {
        return Row::plain("each pocket at the ramp", "not looked at");
    };
    let (line, alone, all) = (
        look.counts.line().shares(),
        look.counts.alone().shares(),
        look.counts.all(),
    );
    let value = format!(
        "takes {} of a line and {} of lone marbles, stalls at {} of {} pockets followed",
        percent(line.take),
        percent(alone.take),
        all.stalled,
        all.passes
    );
    let slower = match well_up_to(looks) {
        Some(limit) => format!("turn at {limit:.1} rpm or less"),
        None => "a larger bore, a steeper ramp, or less than half the speed".to_owned(),
    };
    let row = Row::judged(
        "each pocket at the ramp",
        value,
        verdict(look),
        or_cut(on, &slower),
    );
    row.with([
        ("takes_of_line", line.take, "1"),
        ("takes_of_lone", alone.take, "1"),
        ("stalled", f64::from(all.stalled), "1"),
        ("pockets", f64::from(all.passes), "1"),
    ])
}

/// The look at the wheel's own speed.
fn own<'a>(on: &Turning, looks: &'a [SpeedLook]) -> Option<&'a SpeedLook> {
    looks.iter().find(|look| look.rpm == on.rpm)
}

/// A remedy, and beside it the wall, where it is not cut back yet.
fn or_cut(on: &Turning, help: &str) -> String {
    if on.shape.relieved {
        help.to_owned()
    } else {
        format!("{help}, or cut the channel's wall back and fence it")
    }
}

/// Share of pockets that take a marble where a line of them waits.
fn takes_of_line(look: &SpeedLook) -> f64 {
    look.counts.line().shares().take
}

fn fastest_rpm(looks: &[SpeedLook]) -> f64 {
    match looks.last() {
        Some(look) => look.rpm,
        None => 0.0,
    }
}

fn by_speed(looks: &[SpeedLook]) -> Row {
    let (mut values, mut figures) = (Vec::new(), Vec::new());
    for look in looks {
        let (rpm, take) = (look.rpm, takes_of_line(look));
        values.push(format!("{rpm:.1} rpm: {}", percent(take)));
        for (name, value, unit) in [("speed", rpm, "rpm"), ("takes_of_line", take, "1")] {
            figures.push(Figure { name, value, unit });
        }
    }
    let row = Row::plain("takes of a line at", values.join(", "));
    Row { figures, ..row }
}

/// Up to which speed the fill that the maker wants can be had.
fn fill(on: &Turning, looks: &[SpeedLook]) -> Row {
    let target = on.workshop.machine.workable.least_fill;
    let label = "fill, marbles waiting";
    if takes_of_line(&looks[0]) < target {
        let value = format!(
            "below {} from {:.1} rpm on, the slowest looked at",
            percent(target),
            looks[0].rpm
        );
        let row = Row::judged(
            label,
            value,
            RowVerdict::WontWork,
            "turn more slowly, a larger bore, or a steeper ramp",
        );
        return row.with([("below_from", looks[0].rpm, "rpm")]);
    }
    let mut pairs = looks.windows(2);
    let Some(pair) = pairs.find(|pair| takes_of_line(&pair[1]) < target) else {
        let fastest = fastest_rpm(looks);
        let value = format!(
            "over {} up to {fastest:.1} rpm, the fastest looked at",
            percent(target)
        );
        return Row::plain(label, value).with([("over_up_to", fastest, "rpm")]);
    };
    let (slow, fast) = (takes_of_line(&pair[0]), takes_of_line(&pair[1]));
    let limit = pair[0].rpm + (pair[1].rpm - pair[0].rpm) * (slow - target) / (slow - fast);
    let value = format!(
        "over {} up to {limit:.1} rpm: faster, pockets pass before a marble is in",
        percent(target)
    );
    let verdict = RowVerdict::at_least(limit / on.rpm, ENOUGH, 1.0);
    Row::judged(
        label,
        value,
        verdict,
        "turn more slowly, a larger bore, or a steeper ramp",
    )
    .with([("limit", limit, "rpm")])
}

fn wedges(on: &Turning, looks: &[SpeedLook]) -> Row {
    let stalls: Vec<&SpeedLook> = looks
        .iter()
        .filter(|look| look.counts.all().stalled > 0)
        .collect();
    let label = "wedges marbles";
    let Some(first) = stalls.first() else {
        let fastest = fastest_rpm(looks);
        let value = format!("at no speed looked at, up to {fastest:.1} rpm");
        return Row::plain(label, value).with([("none_up_to", fastest, "rpm")]);
    };
    let value = stalls.iter().map(|look| {
        let all = look.counts.all();
        format!("{:.1} rpm: {} of {}", look.rpm, all.stalled, all.passes)
    });
    let value = format!(
        "pockets that stalled at {}",
        value.collect::<Vec<_>>().join(", ")
    );
    let verdict = match own(on, looks) {
        _ if on.rpm * ENOUGH < first.rpm => RowVerdict::Fine,
        Some(look) if look.counts.all().shares().stall >= OFTEN => RowVerdict::WontWork,
        _ => RowVerdict::Tight,
    };
    Row::judged(label, value, verdict, or_cut(on, "turn more slowly"))
        .with([("from", first.rpm, "rpm")])
}

/// Whether the next marble is there when the next pocket comes.
fn refill(on: &Turning, refill_s: Option<f64>) -> Row {
    let label = "next marble waits after";
    let Some(refill_s) = refill_s else {
        return Row::judged(
            label,
            "no time: it does not roll",
            RowVerdict::WontWork,
            "a steeper ramp before the wheel",
        );
    };
    let pocket_s = 60.0 / on.rpm / f64::from(on.wheel.pockets);
    let limit_rpm = on.rpm * pocket_s / refill_s;
    let value = format!(
        "{refill_s:.2} s of the {pocket_s:.2} s between pockets; every pocket up to {limit_rpm:.1} rpm"
    );
    let verdict = match limit_rpm / on.rpm {
        x if x >= ENOUGH => RowVerdict::Fine,
        x if x >= 1.0 || 0.5 >= on.workshop.machine.workable.least_fill => RowVerdict::Tight,
        _ => RowVerdict::WontWork,
    };
    Row::judged(
        label,
        value,
        verdict,
        "pockets pass before the line has moved up: a steeper ramp, or fewer pockets",
    )
    .with([
        ("time", refill_s, "s"),
        ("pocket_every", pocket_s, "s"),
        ("limit", limit_rpm, "rpm"),
    ])
}
