//! Return floor and mouth held to curves measured in a general 3-D rigid-body engine (MuJoCo 4.0).

use marblewright::physics::floor::{self, Floor, van_der_corput};
use marblewright::physics::material::{GLASS_KG_M3, Marble, SurfaceProperties};
use marblewright::physics::mouth::{self, Mouth};

use crate::support::rows::Rows;

const MARBLE: Marble = Marble {
    diameter_m: 0.014,
    density_kg_m3: GLASS_KG_M3,
};

fn measured_floor(cross_deg: f64, valley_deg: f64, restitution: f64) -> Floor {
    Floor {
        length_m: 0.400,
        width_m: 0.300,
        cross_pitch_rad: cross_deg.to_radians(),
        valley_pitch_rad: valley_deg.to_radians(),
        mouth_m: 0.0182,
        surface: SurfaceProperties {
            restitution,
            ..SurfaceProperties::WOOD
        },
    }
}

fn percentile(sorted: &[f64], share: f64) -> f64 {
    let at = share * (sorted.len() - 1) as f64;
    let low = at.floor() as usize;
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + (at - low as f64) * (sorted[high] - sorted[low])
}

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

/// The sixty places where single marbles were dropped: the same on every floor.
fn places() -> Vec<(f64, f64)> {
    let points = Rows::read(include_str!("../truth/e5_floor_points.csv"));
    let number = |row, name| points.number(row, name);
    (0..points.rows.len())
        .filter(|&row| number(row, "cross_deg") == 1.0 && number(row, "valley_deg") == 1.0)
        .map(|row| {
            (
                number(row, "x_mm") / 1000.0 + 0.2,
                number(row, "y_mm") / 1000.0,
            )
        })
        .collect()
}

/// Times home from `count` places all over the floor, a marble's radius in from the walls, those that come home.
fn times_home(floor: &Floor, count: usize) -> Vec<f64> {
    let r = MARBLE.radius_m();
    let along = |k| r + (floor.length_m - 2.0 * r) * van_der_corput(k, 2);
    let across = |k| (floor.width_m - 2.0 * r) * (van_der_corput(k, 3) - 0.5);
    (1..=count)
        .filter_map(|k| floor::roll_home(along(k), across(k), floor, &MARBLE, 0.1))
        .map(|home| home.time_s)
        .collect()
}

/// Halton's first points, written out: halves, quarters and eighths one way, thirds and ninths the other.
#[test]
fn marbles_are_dropped_at_haltons_points() {
    let first = |base| [1, 2, 3, 4].map(|k| van_der_corput(k, base));
    assert_eq!(first(2), [1.0 / 2.0, 1.0 / 4.0, 3.0 / 4.0, 1.0 / 8.0]);
    for (found, expected) in first(3)
        .into_iter()
        .zip([1.0 / 3.0, 2.0 / 3.0, 1.0 / 9.0, 4.0 / 9.0])
    {
        assert!((found - expected).abs() < 1e-15, "{found}, not {expected}");
    }
}

/// Mean, and range from 5 to 95 %.
fn mean_and_range(mut times: Vec<f64>) -> (f64, f64) {
    times.sort_by(f64::total_cmp);
    (
        mean(&times),
        percentile(&times, 0.95) - percentile(&times, 0.05),
    )
}

/// Out of the mouth marbles come slowly: the end wall beside it has taken most of what the valley gave them.
#[test]
fn marbles_come_out_of_the_mouth_as_fast_as_in_the_engine() {
    let curve = Rows::read(include_str!("../truth/e12_mouth_speed.csv"));
    let mut off = Vec::new();
    for row in 0..curve.rows.len() {
        let number = |name| curve.number(row, name);
        let floor = measured_floor(number("cross_deg"), number("valley_deg"), 0.503);
        let home = |p: &(f64, f64)| {
            let home = floor::roll_home(p.0, p.1, &floor, &MARBLE, 0.1);
            home.expect("it comes home").speed_m_s
        };
        let (model, truth) = (
            mean(&places().iter().map(home).collect::<Vec<_>>()),
            number("mean_m_s"),
        );
        let sure = 2.0 * number("sd_m_s") / number("n").sqrt();
        println!(
            "{} {}: {model:.3} m/s, truth {truth:.3} +-{sure:.3}",
            curve.rows[row][0], curve.rows[row][1]
        );
        off.push((model - truth).abs());
    }
    // 0.02 m/s are 0.04 s on a ramp of 0.4 m at 4 degrees.
    assert!(off.iter().all(|off| *off < 0.02), "{off:?}");
}

#[test]
fn times_home_within_the_limits() {
    let curve = Rows::read(include_str!("../truth/e5_floor.csv"));
    let number = |row, name| curve.number(row, name);
    let single = |&row: &usize| number(row, "touching") == 0.0 && number(row, "dt") == 0.0002;
    println!("floor (cross, valley pitch in deg)        model    truth   difference");
    let (mut worst_mean, mut worst_range): (f64, f64) = (0.0, 0.0);
    for row in (0..curve.rows.len()).filter(single) {
        // The damping that was asked to give 0.45 gave 0.503 in the engine; 0.2 gives about 0.3 on the same curve.
        let e = if number(row, "e_requested") == 0.45 {
            0.503
        } else {
            0.30
        };
        let floor = measured_floor(number(row, "cross_deg"), number(row, "valley_deg"), e);
        let home = |p: &(f64, f64)| {
            let home = floor::roll_home(p.0, p.1, &floor, &MARBLE, 0.1);
            home.expect("it comes home").time_s
        };
        let (model, range) = mean_and_range(places().iter().map(home).collect());
        let (truth, truth_range) = (number(row, "mean"), number(row, "t95") - number(row, "t5"));
        let (off, off_range) = (model / truth - 1.0, range / truth_range - 1.0);
        let name = format!("({}, {}) e {e}", curve.rows[row][0], curve.rows[row][1]);
        println!(
            "{name:14} mean s              {model:8.3} {truth:8.3} {:+7.1} %",
            100.0 * off
        );
        println!(
            "{name:14} 5-95 % range s      {range:8.3} {truth_range:8.3} {:+7.1} %",
            100.0 * off_range
        );
        let (even, even_range) = mean_and_range(times_home(&floor, 128));
        println!("{name:14} from 128 even points: mean {even:.3}, range {even_range:.3}");
        worst_mean = worst_mean.max(off.abs());
        worst_range = worst_range.max(off_range.abs());
    }
    assert!(worst_mean < 0.10, "mean off by {worst_mean}");
    assert!(worst_range < 0.20, "range off by {worst_range}");
}

fn mouth(ratio: f64, slope_deg: f64, sliding_friction: f64) -> Mouth {
    Mouth {
        opening_m: ratio * 0.014,
        slope_rad: slope_deg.to_radians(),
        surface: SurfaceProperties {
            sliding_friction,
            ..SurfaceProperties::WOOD
        },
    }
}

/// Sixteen trials a row, so the rows give wide intervals. One row lies beyond the model on purpose: at 75 degrees one
/// pair of marbles in sixteen stayed (0.011 to 0.283); the model holds that two never arch.
#[test]
fn blocking_of_a_mouth_within_every_interval() {
    let curve = Rows::read(include_str!("../truth/e5_clog.csv"));
    println!("half angle, cross, n, slope, window, opening, mu      model   truth low..high");
    let mut missed = Vec::new();
    for row in 0..curve.rows.len() {
        let number = |name| curve.number(row, name);
        let mouth = mouth(
            number("mouth_over_d"),
            number("slope_deg"),
            number("mu_wall"),
        );
        let chance = mouth::block_chance(number("n") as u32, &mouth, 0.014);
        let (low, high) = (number("lo"), number("hi"));
        let name = curve.rows[row][..7].join(" ");
        let verdict = if (low..=high).contains(&chance) {
            ""
        } else {
            "MISSED"
        };
        println!(
            "{name:50} {chance:8.3} {:7.3} {low:.3}..{high:.3} {verdict}",
            number("p_clog")
        );
        if !verdict.is_empty() {
            missed.push((number("half_angle_deg"), number("n")));
        }
    }
    assert_eq!(missed, [(75.0, 2.0)]);
}

#[test]
fn hazards_of_the_newcomers_make_up_the_block_chance() {
    let m = mouth(1.3, 3.0, 0.35);
    let open: f64 = (0..9).map(|k| 1.0 - mouth::hazard(k, &m, 0.014)).product();
    assert!((1.0 - open - mouth::block_chance(9, &m, 0.014)).abs() < 1e-12);
    assert_eq!(mouth::block_chance(2, &m, 0.014), 0.0);
}

/// The shape found with disks in a flat hopper: jam-free for few, then a sigmoid in their number (R. C. Longjas,
/// C. Monterola and C. Saloma, J. Stat. Mech. P05006, 2009).
#[test]
fn risk_rises_with_number_friction_and_falls_with_slope_and_opening() {
    let chance = |n, ratio, slope, mu| mouth::block_chance(n, &mouth(ratio, slope, mu), 0.014);
    for n in 3..20 {
        assert!(chance(n + 1, 1.3, 3.0, 0.35) > chance(n, 1.3, 3.0, 0.35));
    }
    assert!(chance(8, 1.3, 3.0, 0.5) > chance(8, 1.3, 3.0, 0.2));
    assert!(chance(8, 1.3, 6.0, 0.35) < chance(8, 1.3, 1.5, 0.35));
    assert!(chance(8, 1.6, 3.0, 0.35) < chance(8, 1.3, 3.0, 0.35));
    assert_eq!(mouth::hazard(3, &mouth(0.95, 3.0, 0.35), 0.014), 1.0);
}

/// I. Zuriguel et al., PRE 71, 051303 (2005): <s> = A/(Rc - R)^gamma, A = 9900, Rc = 4.94, gamma = 6.9 (fit read
/// second-hand; figures recomputed from it).
#[test]
fn published_silo_law_is_the_bound() {
    let cases = [
        (1.5, 1.96509, 0.337258),
        (2.0, 5.80816, 0.146883),
        (2.5, 21.0206, 0.045412),
        (3.0, 102.283, 0.00968214),
        (4.0, 15172.4, 6.5905e-5),
    ];
    for (ratio, grains, jam) in cases {
        assert!((mouth::mean_avalanche(ratio) / grains - 1.0).abs() < 1e-4);
        assert!((mouth::jam_bound(ratio) / jam - 1.0).abs() < 1e-4);
        for waiting in 0..40 {
            assert!(mouth::hazard(waiting, &mouth(ratio, 3.0, 0.5), 0.014) <= jam * 1.001);
        }
    }
    let clogs_within = |n: i32, ratio| 1.0 - (1.0 - mouth::jam_bound(ratio)).powi(n);
    assert!((clogs_within(20, 2.0) - 0.958296).abs() < 1e-5);
    assert!((clogs_within(50, 3.0) - 0.385204).abs() < 1e-5);
}

/// A. Marin and M. Souzy, Annu. Rev. Fluid Mech. 57 (2025), read second-hand: a dome takes about (D/d)^2 + 1 balls.
#[test]
fn fewest_balls_in_a_dome() {
    assert_eq!(mouth::fewest_in_dome(0.0182, 0.014), 3);
    assert_eq!(mouth::fewest_in_dome(0.042, 0.014), 10);
}

/// Common practice, no source: a floor that falls 6 to 13 mm over its width brings marbles home.
#[test]
fn a_floor_that_falls_6_to_13_mm_brings_marbles_home() {
    let home = |fall_mm: f64| {
        let mut floor = measured_floor(0.0, 0.0, 0.5);
        floor.cross_pitch_rad = libm::atan(fall_mm / 1000.0 / 0.3);
        floor.valley_pitch_rad = floor.cross_pitch_rad;
        times_home(&floor, 24)
    };
    for fall_mm in [6.0, 9.0, 13.0] {
        assert_eq!(home(fall_mm).len(), 24, "{fall_mm} mm");
    }
    let flat = home(1.0);
    println!("a fall of 1 mm brings home {} of 24", flat.len());
    assert!(flat.len() < 12);
}

#[test]
fn more_rolling_resistance_or_a_longer_floor_takes_longer() {
    let floor = measured_floor(2.0, 2.0, 0.5);
    let time = |floor: &Floor| mean(&times_home(floor, 48));
    let longer = Floor {
        length_m: 0.8,
        ..floor
    };
    assert!(time(&longer) > time(&floor));
    assert!(
        time(&Floor {
            mouth_m: 0.06,
            ..floor
        }) < time(&floor)
    );
}

/// No outside truth, only what came out on 2026-11-26: steps of half a millisecond until a marble is home. On springy boards
/// 1e-11 m/s at one hit becomes a tenth of a second and more, so these stay only while every hit, and when its sweeps end,
/// stays to the last bits. Whoever changes that on purpose writes down the new ones; means over a floor hardly move.
#[test]
fn marbles_on_springy_boards_come_home_the_same_to_the_last_bit() {
    let expected = [
        (5.0, 1.0, 0.160, 0.140, 16494),
        (5.0, 1.0, 0.380, 0.140, 12773),
        (2.0, 2.0, 0.280, 0.140, 8515),
    ];
    for (cross_deg, valley_deg, x_m, y_m, steps) in expected {
        let floor = measured_floor(cross_deg, valley_deg, 0.7);
        let home = floor::roll_home(x_m, y_m, &floor, &MARBLE, 0.1);
        let time_s = home.expect("it comes home").time_s;
        assert_eq!(
            (time_s / 5e-4).round() as i64,
            steps,
            "{time_s} s from {x_m}, {y_m} m"
        );
    }
}

/// Rare arches go by one over what drives the marbles, sin t - c cos t, c lever arm over radius.
#[test]
fn arches_form_the_more_the_less_the_slope_drives() {
    let surface = SurfaceProperties {
        rolling_lever_m: 7e-4,
        ..SurfaceProperties::WOOD
    };
    let rate = |slope_rad: f64| {
        let mouth = Mouth {
            opening_m: 1.6 * 0.014,
            slope_rad,
            surface,
        };
        -libm::log1p(-mouth::hazard(2, &mouth, 0.014))
    };
    // c = 0.1: 30 degrees drive with 1/2 - 0.1 sqrt(3)/2, 60 degrees with sqrt(3)/2 - 0.1/2.
    let root = 3f64.sqrt() / 2.0;
    let expected = (root - 0.05) / (0.5 - 0.1 * root);
    let found = rate(30f64.to_radians()) / rate(60f64.to_radians());
    assert!(
        (found / expected - 1.0).abs() < 1e-9,
        "{found}, not {expected}"
    );
}
