//! Marbles on a return floor, alone and several at once, held to curves of a general 3-D rigid-body engine
//! (tests/truth/README.md): dimensions, friction and restitution go in, nothing is fitted.

use std::f64::consts::FRAC_PI_2;

use marblewright::contact::crowd::{CrowdLoop, follow};
use marblewright::contact::floor_place::{FloorEntrance, FloorPlace, LandingSpot};
use marblewright::contact::scatter::halton;

use crate::rig::rig;
use crate::support::rows::Rows;

const POINTS: &str = include_str!("../truth/e5_floor_points.csv");
const FLOORS: &str = include_str!("../truth/e5_floor.csv");

/// The floor of the curves: 400 by 300 mm, marbles of 14 mm, a mouth of 1.3 of them.
pub fn floor(cross_deg: f64, valley_deg: f64) -> FloorPlace {
    FloorPlace {
        landings: vec![dropped(LandingSpot::Anywhere)],
        fall_m: 0.1,
        marbles: rig(1.0).marbles,
        length_m: 0.4,
        width_m: 0.3,
        cross_pitch_rad: cross_deg.to_radians(),
        valley_pitch_rad: valley_deg.to_radians(),
        mouth_m: 0.0182,
        funnel_rad: FRAC_PI_2,
    }
}

fn percentile(sorted: &[f64], share: f64) -> f64 {
    let at = share * (sorted.len() - 1) as f64;
    let low = at.floor() as usize;
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + (at - low as f64) * (sorted[high] - sorted[low])
}

pub fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

/// Mean, and range from 5 to 95 %.
pub fn mean_and_range(mut times: Vec<f64>) -> (f64, f64) {
    times.sort_by(f64::total_cmp);
    (
        mean(&times),
        percentile(&times, 0.95) - percentile(&times, 0.05),
    )
}

/// Dropped from rest.
fn dropped(spot: LandingSpot) -> FloorEntrance {
    FloorEntrance {
        spot,
        speed_m_s: 0.0,
        heading_rad: 0.0,
    }
}

/// The sixty spots where single marbles were dropped: the same on every floor.
fn spots() -> Vec<FloorEntrance> {
    let points = Rows::read(POINTS);
    let mut spots = Vec::new();
    for row in 0..points.rows.len() {
        let number = |name: &str| points.number(row, name);
        if number("cross_deg") == 1.0 && number("valley_deg") == 1.0 {
            spots.push(dropped(LandingSpot::About {
                x_m: number("x_mm") / 1e3 + 0.2,
                y_m: number("y_mm") / 1e3,
                spread_m: 0.0,
            }));
        }
    }
    spots
}

fn times_home(place: &FloorPlace, task: CrowdLoop) -> Vec<f64> {
    follow(place, task)
        .out
        .iter()
        .map(|out| out.time_s)
        .collect()
}

/// Half the width of the 95 % interval of the mean of `n` times that range over so much from 5 to 95 %.
fn sure(range: f64, n: f64) -> f64 {
    1.96 * range / 3.29 / n.sqrt()
}

/// Sixteen drops on each of the sixty spots.
#[test]
fn lone_marbles_come_home_as_in_the_engine() {
    let curve = Rows::read(FLOORS);
    println!("cross, valley pitch in deg, restitution     mean s  truth          5-95 % s  truth");
    for row in 0..curve.rows.len() {
        let number = |name: &str| curve.number(row, name);
        if number("touching") != 0.0 || number("dt") != 0.0002 {
            continue;
        }
        let mut place = floor(number("cross_deg"), number("valley_deg"));
        // The damping that was asked to give 0.45 gave 0.503 in the engine; 0.2 gives about 0.3 on the same curve.
        if number("e_requested") == 0.2 {
            place.marbles.on_wood.restitution = 0.3;
        }
        place.landings = spots();
        let mut times = Vec::new();
        for seed in 1..=16 {
            times.extend(times_home(&place, alone(60, seed)));
        }
        let (mean, range) = mean_and_range(times);
        let (truth, truth_range) = (number("mean"), number("t95") - number("t5"));
        println!(
            "{:34} {mean:12.2} {truth:6.2} {:+5.1} % {range:10.2} {truth_range:6.2} {:+5.1} %",
            curve.rows[row][..6].join(" "),
            100.0 * (mean / truth - 1.0),
            100.0 * (range / truth_range - 1.0)
        );
        let sure = sure(truth_range, number("N"));
        assert!(
            (mean - truth).abs() < (0.06 * truth).max(sure),
            "{mean} for {truth} +-{sure} s"
        );
        // Sixty times leave the range of the curve itself uncertain by about an eighth.
        assert!(
            (range / truth_range - 1.0).abs() < 0.25,
            "{range} for {truth_range} s"
        );
    }
}

fn alone(entries: usize, seed: u64) -> CrowdLoop {
    CrowdLoop {
        kept: 1,
        entries,
        apart_s: 0.0,
        first: 1,
        seed,
    }
}

/// Five within a second, as often as gives a firm mean. Of twenty within a second two thirds stayed behind an arch in the
/// engine, so that the times of the others say little: see `mouths.rs`.
#[test]
fn marbles_in_company_come_home_as_in_the_engine() {
    let curve = Rows::read(FLOORS);
    let row = (0..curve.rows.len())
        .find(|&row| curve.number(row, "touching") == 1.0 && curve.number(row, "n_marbles") == 5.0)
        .expect("a row of five");
    let number = |name: &str| curve.number(row, name);
    let place = floor(number("cross_deg"), number("valley_deg"));
    let mut times = Vec::new();
    for seed in 1..=60 {
        let five = CrowdLoop {
            kept: 5,
            entries: 5,
            apart_s: 0.2,
            first: 1 + 5 * seed as usize,
            seed,
        };
        times.extend(times_home(&place, five));
    }
    let (mean, truth) = (mean(&times), number("mean"));
    let sure = sure(number("t95") - number("t5"), number("N"));
    println!("five in a second: {mean:.2} s, truth {truth:.2} +-{sure:.2} s");
    assert!((mean - truth).abs() < (0.12 * truth).max(sure));
}

/// Out of the mouth marbles come slowly: the end wall beside it has taken most of what the valley gave them.
#[test]
fn marbles_come_out_of_the_mouth_as_fast_as_in_the_engine() {
    let curve = Rows::read(include_str!("../truth/e12_mouth_speed.csv"));
    for row in 0..curve.rows.len() {
        let number = |name: &str| curve.number(row, name);
        let place = floor(number("cross_deg"), number("valley_deg"));
        let speeds: Vec<f64> = follow(&place, alone(96, 1))
            .out
            .iter()
            .map(|out| out.speed_m_s)
            .collect();
        let (model, truth) = (mean(&speeds), number("mean_m_s"));
        println!("{:?}: {model:.3} m/s, truth {truth:.3}", curve.rows[row]);
        // 0.02 m/s are 0.04 s on a ramp of 0.4 m at 4 degrees.
        assert!((model - truth).abs() < 0.02, "{model} for {truth} m/s");
    }
}

/// Halton's first points, written out: halves, quarters and eighths one way, thirds and ninths the other.
#[test]
fn marbles_are_dropped_at_haltons_points() {
    let first = |base| [1, 2, 3, 4].map(|k| halton(k, base));
    assert_eq!(first(2), [1.0 / 2.0, 1.0 / 4.0, 3.0 / 4.0, 1.0 / 8.0]);
    for (found, expected) in first(3)
        .into_iter()
        .zip([1.0 / 3.0, 2.0 / 3.0, 1.0 / 9.0, 4.0 / 9.0])
    {
        assert!((found - expected).abs() < 1e-15, "{found}, not {expected}");
    }
}

/// A floor that runs down to nowhere keeps its marble; one above another's head falls from higher up.
#[test]
fn what_does_not_come_home_is_taken_out() {
    let mut flat = floor(0.001, 0.001);
    flat.landings = vec![dropped(LandingSpot::About {
        x_m: 0.1,
        y_m: 0.05,
        spread_m: 0.0,
    })];
    let seen = follow(
        &flat,
        CrowdLoop {
            kept: 3,
            ..alone(3, 1)
        },
    );
    assert!(seen.out.is_empty(), "{:?}", seen.out);
    assert!(!seen.arches.is_empty() || seen.stayed > 0);
}
