//! The close look at a pocket wheel's place held to curves of a general 3-D rigid-body engine (tests/truth/README.md):
//! the rig's dimensions, friction and restitution go in, nothing is fitted to what it picked up.
//!
//! All rows: `cargo test --release --test contact rows:: -- --ignored --nocapture`

use crate::rig::{cut, rig};
use crate::support::rows::Rows;
use crate::{bowls, floors};
use marblewright::contact::EDITION;
use marblewright::contact::crowd::{self, CrowdLoop};
use marblewright::contact::crowd_counts::CrowdCounts;
use marblewright::contact::passes::{Loop, LoopRecord, Pass, follow};
use marblewright::contact::pick_up_chances::{
    Encounter, PassClass, PassCounts, PassShares, PickUpCounts, company, loops,
};
use marblewright::contact::place::*;
use marblewright::contact::pocket_wheel::{TorqueLine, WheelDimensions};
use marblewright::stats::estimate::mean_interval;
use rayon::prelude::*;
use std::collections::BTreeMap;

const SQUARE: &str = include_str!("../truth/e2_pickup.csv");
const UPRIGHT: &str = include_str!("../truth/e2_upright.csv");
const MORE: &str = include_str!("../truth/e2_more.csv");
const SIX: &str = include_str!("../truth/e8_six.csv");
const COMPANY: &str = include_str!("../truth/e7_company.csv");

fn of_row(rows: &Rows, row: usize, ends: WallEnds) -> WheelPlace {
    let n = |name: &str| rows.number(row, name);
    let mut place = rig(n("rpm"));
    let (d, tilt) = (n("d_mm") / 1e3, n("alpha_deg").to_radians());
    place.marbles.diameter_m = d;
    place.wheel = WheelDimensions {
        pitch_radius_m: n("R_mm") / 1e3,
        pockets: n("N") as u32,
        bore_m: n("D_over_d") * d,
        depth_m: n("depth_over_d") * d,
        tilt_rad: tilt,
    };
    place.ramp.end_height_m = place.wheel.bore_m / 2.0 / libm::cos(tilt) - d / 2.0;
    place.ramp.channel_m = n("channel_w_over_d") * d;
    (
        place.ramp.length_m,
        place.ramp.wall_height_m,
        place.ramp.lid_m,
    ) = (20.0 * d, 2.0 * d, Some(1.7 * d));
    place.ramp.slope_rad = n("ramp_deg").to_radians();
    place.ramp.ends = ends;
    let relieved = rows.text(row, "geometry").starts_with("N ");
    let cut_back = match ends {
        WallEnds::Upright => n("cut_back_over_d"),
        WallEnds::Square => f64::from(u8::from(relieved)) * 1.5,
    };
    cut(place, cut_back)
}

fn seen(place: &WheelPlace, marbles: u32, passes: usize, seed: u64) -> LoopRecord {
    follow(
        place,
        Loop {
            marbles,
            passes,
            back_at: 9.0,
            away_pockets: 0.0,
            seed,
        },
        Fineness::FINE,
    )
    .expect("overlaps within their limit")
}

fn shares(passes: &[Pass]) -> (f64, f64) {
    let share = |n: usize| n as f64 / passes.len() as f64;
    (
        share(passes.iter().filter(|p| p.taken).count()),
        share(passes.iter().filter(|p| p.stalled).count()),
    )
}

/// One row of a curve: what, speed, take and stall of model and truth.
struct Point {
    what: String,
    speed: f64,
    take: (f64, f64),
    stall: (f64, f64),
}

fn point(rows: &Rows, row: usize, (place, what): (&WheelPlace, String), passes: usize) -> Point {
    let halves = [1, 2]
        .map(|seed| seen(place, 8, passes / 2, seed).passes)
        .concat();
    let (take, stall) = shares(&halves);
    Point {
        what,
        speed: rows.number(row, "pocket_speed_mm_s"),
        take: (take, rows.number(row, "p_pick")),
        stall: (stall, rows.number(row, "p_stall")),
    }
}

fn points(rows: &Rows, ends: WallEnds, passes: usize) -> Vec<Point> {
    // Ramps of 8 degrees below 6 turns a minute are left out: there the engine contradicts itself with its own settings.
    let kept =
        |row: &usize| !(rows.number(*row, "ramp_deg") > 7.0 && rows.number(*row, "rpm") < 6.0);
    let all: Vec<usize> = (0..rows.rows.len()).filter(kept).collect();
    let one = |&row: &usize| {
        let cut_back = if ends == WallEnds::Upright {
            rows.text(row, "cut_back_over_d")
        } else {
            ""
        };
        let what = format!("{:?} {} {cut_back}", ends, rows.text(row, "geometry"));
        point(rows, row, (&of_row(rows, row, ends), what), passes)
    };
    all.par_iter().map(one).collect()
}

/// A row of the rig set up a second time.
fn of_more(rows: &Rows, row: usize) -> WheelPlace {
    let n = |name: &str| rows.number(row, name);
    let (d, tilt, radius) = (n("d_mm") / 1e3, n("tilt_deg").to_radians(), n("R_mm") / 1e3);
    let mut place = rig(n("pocket_speed_mm_s") / 1e3 / radius * 60.0 / std::f64::consts::TAU);
    (place.marbles.diameter_m, place.marbles.diameter_sd_m) = (d, n("dia_sd_mm") / 1e3);
    place.marbles.on_wood.friction = n("mu_slide");
    let (pockets, bore_m) = (n("N") as u32, n("D_over_d") * d);
    place.wheel = WheelDimensions {
        pitch_radius_m: radius,
        pockets,
        bore_m,
        depth_m: d,
        tilt_rad: tilt,
    };
    place.ramp.end_height_m = bore_m / 2.0 / libm::cos(tilt) - d / 2.0 + n("lift_mm") / 1e3;
    (place.ramp.channel_m, place.ramp.gap_m) = (n("channel_w_over_d") * d, n("gap_mm") / 1e3);
    (
        place.ramp.length_m,
        place.ramp.wall_height_m,
        place.ramp.lid_m,
    ) = (20.0 * d, 2.0 * d, Some(1.7 * d));
    place.ramp.slope_rad = n("ramp_deg").to_radians();
    place.ramp.ends = WallEnds::Square;
    place
}

fn more_points(passes: usize) -> Vec<Point> {
    let rows = Rows::read(MORE);
    let all: Vec<usize> = (0..rows.rows.len()).collect();
    let name = |row: usize| format!("More {}", rows.text(row, "geometry"));
    all.par_iter()
        .map(|&row| point(&rows, row, (&of_more(&rows, row), name(row)), passes))
        .collect()
}

/// Twenty-two wheels of the rig set up a second time, with pockets of prisms.
#[test]
#[ignore = "minutes"]
fn all_rows_of_the_second_rig() {
    hold(&more_points(192), &SHORT_OF_MORE, 0.15);
}

/// A row of the six wheels that were kept out of the design.
fn of_six(rows: &Rows, row: usize) -> WheelPlace {
    let n = |name: &str| rows.number(row, name);
    let upright = rows.text(row, "ends") == "upright";
    let mut place = of_row(
        rows,
        row,
        if upright {
            WallEnds::Upright
        } else {
            WallEnds::Square
        },
    );
    let d = place.marbles.diameter_m;
    place.drive.torque_n_m = n("torque_n_m");
    place.ramp.cut_back_m = n("cut_back_over_d") * d;
    if n("cut_back_over_d") > 0.0 {
        place.guide = Guide::From(
            place.ramp.channel_m / 2.0 + n("guide_from_over_d") * d,
            GuideBevel::Scraper,
        );
    }
    place
}

fn six_points(every: usize, passes: usize) -> Vec<Point> {
    let rows = Rows::read(SIX);
    let all: Vec<usize> = (0..rows.rows.len()).step_by(every).collect();
    let one = |&row: &usize| {
        point(
            &rows,
            row,
            (&of_six(&rows, row), rows.text(row, "geometry").to_owned()),
            passes,
        )
    };
    all.par_iter().map(one).collect()
}

/// Speed at which a curve falls through 0.7 for the first time, mm/s.
fn falls(points: &[&Point], of: fn(&Point) -> f64) -> Option<f64> {
    let pair = points
        .windows(2)
        .find(|w| of(w[0]) >= 0.7 && of(w[1]) < 0.7)?;
    let (a, b) = (pair[0], pair[1]);
    Some(a.speed + (b.speed - a.speed) * (of(a) - 0.7) / (of(a) - of(b)))
}

/// Place in the curve of the first point that stalls at over three pockets in ten.
fn jams_from(points: &[&Point], of: fn(&Point) -> f64) -> Option<usize> {
    points.iter().position(|point| of(point) > 0.3)
}

fn mean_off(points: &[Point], of: fn(&Point) -> (f64, f64)) -> f64 {
    points
        .iter()
        .map(|p| (of(p).0 - of(p).1).abs())
        .sum::<f64>()
        / points.len() as f64
}

/// A few rows, so that every change is held to them: far below, in and far above what jams, small and relieved wheels.
#[test]
fn a_sample_of_rows() {
    let rows = Rows::read(UPRIGHT);
    let sample = [(0, 8), (3, 16), (4, 16), (15, 12), (48, 8), (53, 16)];
    let mut off = 0.0;
    for (row, passes) in sample {
        let (take, stall) =
            shares(&seen(&of_row(&rows, row, WallEnds::Upright), 8, passes, 3).passes);
        let truth = (rows.number(row, "p_pick"), rows.number(row, "p_stall"));
        println!(
            "{:30} take {take:.2} {:.2} stall {stall:.2} {:.2}",
            rows.text(row, "geometry"),
            truth.0,
            truth.1
        );
        // A sixteenth is one pocket; three standard errors of both samples are under 0.45.
        assert!((take - truth.0).abs() < 0.45 && (stall - truth.1).abs() < 0.45);
        off += ((take - truth.0).abs() + (stall - truth.1).abs()) / 12.0;
    }
    assert!(off < 0.15, "{off} off on average");
}

/// The same place, loop and step give the same bits; another seed does not.
#[test]
fn a_look_is_a_pure_function() {
    let place = rig(7.0);
    let one = seen(&place, 3, 6, 5);
    assert_eq!(one, seen(&place, 3, 6, 5));
    assert_ne!(one.passes, seen(&place, 3, 6, 6).passes);
}

/// Contacts so soft that marbles overlap too much are followed again from the start, stiffer and at half the step.
#[test]
fn soft_contacts_are_followed_more_finely() {
    let soft = Fineness {
        stiffness: 4e6,
        step_s: 2e-4,
    };
    let task = Loop {
        marbles: 8,
        passes: 6,
        back_at: 9.0,
        away_pockets: 0.0,
        seed: 1,
    };
    let seen = follow(&rig(7.0), task, soft).expect("sound after some halvings");
    println!("{:?}, overlap {:.3}", seen.fineness, seen.deepest);
    assert!(
        seen.deepest < 0.05 && seen.fineness.step_s < soft.step_s,
        "{seen:?}"
    );
    assert_eq!(
        seen.fineness.stiffness * seen.fineness.step_s.powi(2),
        soft.stiffness * soft.step_s.powi(2)
    );
    let never = WheelPlace {
        drive: TorqueLine {
            torque_n_m: 500.0,
            gain_n_m_s: 5e4,
            ..rig(7.0).drive
        },
        ..rig(7.0)
    };
    assert!(
        follow(&never, task, Fineness::FINE).is_err(),
        "a drive that crushes marbles is no ground for chances"
    );
}

/// Half the step, with contacts as stiff as before, moves what a look sees by less than 2 points: a line of two at a relieved
/// wheel, where fast hits decide, and one of eight at a wall that wedges. Two standard errors of the difference are
/// granted: of the eight, at the steepest place of the jam band, 2.6 points were seen, which is at the very end of that.
#[test]
#[ignore = "minutes"]
fn half_the_step_sees_the_same() {
    let mut fast = cut(rig(4.5), 1.5);
    (fast.ramp.arrives_m_s, fast.ramp.slope_sd_rad) = (0.74, 0.0035);
    for (what, place, marbles) in [
        ("two, relieved", fast, 2),
        ("eight, at a wall", rig(6.0), 8),
    ] {
        let at = |step_s: f64| {
            let fineness = Fineness {
                step_s,
                ..Fineness::FINE
            };
            let one = |seed: u64| {
                follow(
                    &place,
                    Loop {
                        marbles,
                        passes: 60,
                        back_at: 9.0,
                        away_pockets: 0.0,
                        seed,
                    },
                    fineness,
                )
                .expect("sound")
            };
            let seen: Vec<LoopRecord> = (1..=200).into_par_iter().map(one).collect();
            // Pockets of one loop are not independent: the share of each loop counts as one figure.
            let of_loops: Vec<PassShares> = seen
                .iter()
                .map(|seen| {
                    PickUpCounts::gather(&place, std::slice::from_ref(seen))
                        .all()
                        .shares()
                })
                .collect();
            let both = [|s: &PassShares| s.take, |s: &PassShares| s.stall];
            both.map(|of| mean_interval(&of_loops.iter().map(of).collect::<Vec<f64>>(), 0.6827))
        };
        let (whole, half) = (at(Fineness::FINE.step_s), at(Fineness::FINE.step_s / 2.0));
        for ((whole, half), of) in whole.iter().zip(&half).zip(["take", "stall"]) {
            let (a, b) = (whole.value.expect("loops"), half.value.expect("loops"));
            let error = whole
                .half_width()
                .expect("loops")
                .hypot(half.half_width().expect("loops"));
            println!("{what}: {of} {a:.4}, at half the step {b:.4}, give or take {error:.4}");
            assert!((a - b).abs() < 0.02 + 2.0 * error, "{what}: {of}");
        }
    }
}

/// Counts of a look: at a slow wheel a line of eight is taken every time, whatever the order in which loops were gathered.
#[test]
fn chances_of_a_look() {
    let place = rig(3.0);
    let tasks: Vec<Loop> = loops(1, 2, 36)
        .into_iter()
        .filter(|task| task.marbles == 8 && task.away_pockets < 2.0)
        .collect();
    let mut looked: Vec<LoopRecord> = tasks
        .par_iter()
        .map(|task| follow(&place, *task, Fineness::FINE).expect("sound"))
        .collect();
    let counts = PickUpCounts::gather(&place, &looked);
    looked.reverse();
    assert_eq!(counts, PickUpCounts::gather(&place, &looked));
    assert_eq!(
        PickUpCounts::from_numbers(&counts.to_numbers()).as_ref(),
        Some(&counts)
    );
    assert_eq!(PickUpCounts::from_numbers(&counts.to_numbers()[1..]), None);
    let line = counts.of(PassClass {
        company: company(5),
        meeting: Encounter::MovedUp.class(),
    });
    println!("{line:?} {:?}", counts.all());
    assert!(line.take == 1.0 && line.stall == 0.0);
}

/// A line that stood blocked until the look ended was one episode, however many pockets passed it: its class borrows five
/// passes from those like it, of which 3 of 66 took one; what many passes show stays what they show.
#[test]
fn one_blocked_line_does_not_block_every_line_for_ever() {
    let class = |in_line, missed| PassClass {
        company: company(in_line),
        meeting: Encounter::Missed(missed).class(),
    };
    let seen = |passes, taken| PassCounts {
        passes,
        taken,
        ..PassCounts::default()
    };
    let counts = PickUpCounts::from_classes(|of| match of {
        of if of == class(9, 20) => seen(39, 0),
        of if of == class(9, 10) => seen(27, 3),
        of if of == class(7, 20) => seen(400, 100),
        _ => seen(0, 0),
    });
    let take = |of| counts.of(of).take;
    println!("{} {}", take(class(9, 20)), take(class(7, 20)));
    assert!((take(class(9, 20)) - 5.0 * 3.0 / 66.0 / 44.0).abs() < 1e-12);
    assert!((take(class(7, 20)) - 0.25).abs() < 0.01);
}

fn print(numbers: &[u32]) -> u64 {
    numbers.iter().fold(0u64, |sum, &n| {
        sum.wrapping_mul(31).wrapping_add(u64::from(n))
    })
}

/// Looks are kept under their edition: if what a look sees changes, the edition must, or old answers go on being given.
#[test]
fn a_change_of_what_a_look_sees_raises_the_edition() {
    let place = cut(rig(7.0), 1.5);
    let looked: Vec<LoopRecord> = loops(1, 1, 12)
        .par_iter()
        .map(|task| follow(&place, *task, Fineness::FINE).expect("sound"))
        .collect();
    let crowd = CrowdLoop {
        kept: 5,
        entries: 15,
        apart_s: 0.2,
        first: 1,
        seed: 1,
    };
    let home = crowd::follow(&floors::floor(2.0, 2.0), crowd);
    let swirled = crowd::follow(&bowls::bowl(0.4), crowd);
    let prints = [
        print(&PickUpCounts::gather(&place, &looked).to_numbers()),
        print(&CrowdCounts::gather(1, &[home]).to_numbers()),
        print(&CrowdCounts::gather(1, &[swirled]).to_numbers()),
    ];
    assert_eq!(
        (EDITION, prints),
        (
            8,
            [
                17246449063927789568,
                4833729156245516676,
                258571418628370102
            ]
        ),
        "raise `contact::EDITION`, and note it here with the new print"
    );
}

/// Curves whose 70 % speed is more than 10 % off, with the most it may be. On a steep ramp the wheel's recoil decides: a
/// dashpot set for a marble's mass damps a wheel that rests on a wedged marble too little, so that it lets more in. The
/// engine's own friction creeps there: at 10 turns a minute its take is 0.50 with `impratio` 10 and 0.62 with 200.
const SHORT_OF_IT: [(&str, f64); 1] = [("Upright E ramp 8 0.0", 0.3)];

/// Of the six wheels kept out of the design, those whose curves miss their limits, with the most their 70 % speed may be off.
/// P is a small wheel on a weak motor: the engine jams at 73 mm/s, the look at no speed. S spills over a floor that is
/// narrower than the room beside its channel. Why either is so is not settled.
const SHORT_OF_SIX: [(&str, f64); 2] = [("P", 0.25), ("S", 0.25)];

/// Of the second rig: its pockets are prisms, and its plain wheel comes out 5 % above the same wheel of the first rig, so that
/// all lie some 5 % low here, and steep curves are off by more at each point. On a ramp of 9 degrees the look jams from the
/// slowest speed on, as on those of 8 the first rig does with other settings.
const SHORT_OF_MORE: [(&str, f64); 5] = [
    ("More bore 1.5", 0.12),
    ("More marble 20", 0.15),
    ("More radius 160", 0.13),
    ("More ramp 1.5 high", 0.12),
    ("More ramp 9", 0.0),
];

/// Holds curves to the truth: speeds at which take falls through 0.7, lower edges of the jam band, means. `short` names the
/// curves that miss a limit, and how far their 70 % speed may be off; `mean` is how far take and stall may be off on average.
fn hold(all: &[Point], short: &[(&str, f64)], mean: f64) {
    let known_short = |what: &str| short.iter().find(|known| known.0 == what);
    println!("{:44} mm/s   take  truth   stall  truth", "");
    let mut curves: BTreeMap<&str, Vec<&Point>> = BTreeMap::new();
    for point in all {
        let (take, stall) = (point.take, point.stall);
        println!(
            "{:44} {:6.1} {:5.2} {:5.2} {:7.2} {:5.2}",
            point.what, point.speed, take.0, take.1, stall.0, stall.1
        );
        curves.entry(&point.what).or_default().push(point);
    }
    let (mut within, mut edges, mut known) = (0, 0, 0);
    let mut far: Vec<&str> = Vec::new();
    for (what, points) in &curves {
        if let (Some(model), Some(truth)) =
            (falls(points, |p| p.take.0), falls(points, |p| p.take.1))
        {
            let off = model / truth - 1.0;
            println!(
                "{what:44} 70 % at {model:6.1}, truth {truth:6.1} mm/s: {:+5.1} %",
                100.0 * off
            );
            known += 1;
            within += usize::from(off.abs() < 0.1 || known_short(what).is_some());
            far.extend(
                (off.abs() >= known_short(what).map_or(0.1, |known| known.1)).then_some(*what),
            );
        } else {
            println!(
                "{what:44} 70 %: {:?} {:?}",
                falls(points, |p| p.take.0),
                falls(points, |p| p.take.1)
            );
        }
        let (model, truth) = (
            jams_from(points, |p| p.stall.0),
            jams_from(points, |p| p.stall.1),
        );
        let near = match (model, truth) {
            (Some(a), Some(b)) => a.abs_diff(b) <= 1,
            (a, b) => a == b,
        };
        println!(
            "{what:44} jams from point {model:?}, truth {truth:?}{}",
            if near { "" } else { "   OFF" }
        );
        edges += usize::from(near || known_short(what).is_some());
    }
    let (take, stall) = (mean_off(all, |p| p.take), mean_off(all, |p| p.stall));
    println!(
        "70 % speed within 10 %, or known to miss: {within} of {known}; jam edges {edges} of {}; off {take:.3} {stall:.3}",
        curves.len()
    );
    assert!(
        take < mean && stall < mean,
        "off {take:.3} {stall:.3} on average"
    );
    assert!(far.is_empty(), "70 % speed of {far:?}");
    assert!(10 * within >= 9 * known, "70 % speed: {within} of {known}");
    assert_eq!(edges, curves.len(), "lower edges of the jam band");
}

#[test]
#[ignore = "minutes; run in release"]
fn all_rows_of_queues() {
    let mut all = points(&Rows::read(SQUARE), WallEnds::Square, 192);
    all.extend(points(&Rows::read(UPRIGHT), WallEnds::Upright, 192));
    hold(&all, &SHORT_OF_IT, 0.1);
}

/// Six wheels of which nothing was known when the calculation was set up.
#[test]
#[ignore = "minutes; run in release"]
fn all_rows_of_six_other_wheels() {
    hold(&six_points(1, 192), &SHORT_OF_SIX, 0.1);
}

/// Every fourth of their rows, so that every change is held to them.
#[test]
fn a_sample_of_six_other_wheels() {
    let sample = six_points(4, 16);
    let (take, stall) = (
        mean_off(&sample, |p| p.take),
        mean_off(&sample, |p| p.stall),
    );
    for point in &sample {
        println!(
            "{} {:6.1} mm/s take {:.2?} stall {:.2?}",
            point.what, point.speed, point.take, point.stall
        );
    }
    assert!(take < 0.15 && stall < 0.15, "off {take} {stall} on average");
}

fn class(in_line: u32) -> &'static str {
    match in_line {
        0 => "0",
        1 => "1",
        2 => "2",
        3 => "3",
        4 | 5 => "4-5",
        _ => "6-8",
    }
}

fn wait(waited: Option<f64>) -> &'static str {
    match waited {
        None => "nobody",
        Some(t) if t < 0.1 => "< 0.1 s",
        Some(t) if t < 0.4 => "< 0.4 s",
        Some(t) if t < 1.0 => "< 1 s",
        Some(_) => "longer",
    }
}

type Table = BTreeMap<(String, &'static str), [f64; 3]>;

fn book(table: &mut Table, (group, class): (String, &'static str), taken: bool, stalled: bool) {
    let cell = table.entry((group, class)).or_default();
    cell[0] += 1.0;
    cell[1] += f64::from(u8::from(taken));
    cell[2] += f64::from(u8::from(stalled));
}

/// Weighted by the truth's pockets: how far take and stall are off where both have at least ten.
fn compare(model: &Table, truth: &Table) -> (f64, f64) {
    let (mut sum, mut weight) = ((0.0, 0.0), 0.0);
    for (key, t) in truth {
        let Some(m) = model.get(key).filter(|m| m[0] >= 10.0 && t[0] >= 10.0) else {
            continue;
        };
        let of = |c: &[f64; 3], k: usize| c[k] / c[0];
        println!(
            "{:24} {:8} take {:.2} {:.2}  stall {:.2} {:.2}  of {} and {}",
            key.0,
            key.1,
            of(m, 1),
            of(t, 1),
            of(m, 2),
            of(t, 2),
            m[0],
            t[0]
        );
        sum.0 += t[0] * (of(m, 1) - of(t, 1)).abs();
        sum.1 += t[0] * (of(m, 2) - of(t, 2)).abs();
        weight += t[0];
    }
    (sum.0 / weight, sum.1 / weight)
}

#[test]
fn all_rows_by_company() {
    let rows = Rows::read(COMPANY);
    let (mut by_line, mut by_wait, mut by_load) = (Table::new(), Table::new(), Table::new());
    let mut rigs: BTreeMap<(u64, u32, u64), (f64, f64)> = BTreeMap::new();
    for row in 0..rows.rows.len() {
        let (cut_back, marbles, rpm) = (
            rows.number(row, "cut_back_over_d"),
            rows.number(row, "marbles") as u32,
            rows.number(row, "rpm"),
        );
        rigs.insert(
            (cut_back.to_bits(), marbles, rpm.to_bits()),
            (cut_back, rpm),
        );
        let group = format!("cut {cut_back} at {rpm:.1} rpm");
        let (taken, stalled) = (
            rows.number(row, "taken") > 0.5,
            rows.number(row, "stalled") > 0.5,
        );
        let waited = rows.number(row, "waited_s");
        book(
            &mut by_line,
            (group.clone(), class(rows.number(row, "in_line") as u32)),
            taken,
            stalled,
        );
        book(
            &mut by_wait,
            (group.clone(), wait((waited >= 0.0).then_some(waited))),
            taken,
            stalled,
        );
        book(
            &mut by_load,
            (format!("{group}, {marbles} in all"), "all"),
            taken,
            stalled,
        );
    }
    let looked: Vec<(String, u32, Vec<Pass>)> = rigs
        .par_iter()
        .map(|(&(_, marbles, _), &(cut_back, rpm))| {
            let mut place = rig(rpm);
            place.wheel.pockets = 20;
            let passes = [1, 2]
                .map(|seed| seen(&cut(place, cut_back), marbles, 40, seed).passes)
                .concat();
            (format!("cut {cut_back} at {rpm:.1} rpm"), marbles, passes)
        })
        .collect();
    let (mut my_line, mut my_wait, mut my_load) = (Table::new(), Table::new(), Table::new());
    for (group, marbles, passes) in looked {
        for pass in passes {
            book(
                &mut my_line,
                (group.clone(), class(pass.in_line)),
                pass.taken,
                pass.stalled,
            );
            book(
                &mut my_wait,
                (group.clone(), wait(pass.waited_s)),
                pass.taken,
                pass.stalled,
            );
            book(
                &mut my_load,
                (format!("{group}, {marbles} in all"), "all"),
                pass.taken,
                pass.stalled,
            );
        }
    }
    let (line, waited) = (compare(&my_line, &by_line), compare(&my_wait, &by_wait));
    let load = compare(&my_load, &by_load);
    println!(
        "by number in line {line:.3?}, by time waited {waited:.3?}, by marbles in all {load:.3?}: take and stall off on average"
    );
    assert!(line.0 < 0.1 && waited.0 < 0.1);
}
