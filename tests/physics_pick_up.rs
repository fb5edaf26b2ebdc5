//! Pick-up held to published capture laws and to curves measured in a general 3-D rigid-body engine (MuJoCo 4.0).

use marblewright::physics::G;
use marblewright::physics::material::Surface;
use marblewright::physics::pick_up::{PickUp, RECOIL_S2, Wall};

fn table(text: &str) -> Vec<Vec<&str>> {
    text.lines()
        .filter(|l| !l.starts_with('#'))
        .skip(1)
        .map(|l| l.split(',').collect())
        .collect()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or(f64::NAN)
}

fn base() -> PickUp {
    PickUp {
        marble_m: 0.014,
        marble_sd_m: 0.00015,
        bore_m: 1.3 * 0.014,
        depth_m: 0.014,
        pitch_radius_m: 0.120,
        pockets: 24,
        slope_rad: 4f64.to_radians(),
        slope_sd_rad: 0.0,
        surface: Surface::WOOD,
        gap_m: 0.001,
        channel_m: 1.15 * 0.014,
        wall: Wall::Square,
        off_circle_sd_m: 0.0,
        height_misfit_m: 0.0,
        recoil_s2: RECOIL_S2,
    }
}

/// A measured geometry, from its row of speeds.
fn measured(row: &[&str]) -> PickUp {
    PickUp {
        pitch_radius_m: number(row[1]) / 1000.0,
        pockets: number(row[2]) as u32,
        marble_m: number(row[3]) / 1000.0,
        bore_m: number(row[4]) * number(row[3]) / 1000.0,
        depth_m: number(row[5]) * number(row[3]) / 1000.0,
        slope_rad: number(row[7]).to_radians(),
        channel_m: number(row[8]) * number(row[3]) / 1000.0,
        wall: if row[0].contains("relieved") {
            Wall::Relieved
        } else {
            Wall::Square
        },
        ..base()
    }
}

#[test]
fn limits_of_pick_up_within_the_limits() {
    let curves = table(include_str!("truth/e2_pickup.csv"));
    let mut failures = Vec::new();
    println!("geometry, what                        model    truth   difference");
    for fit in table(include_str!("truth/e2_fit.csv")) {
        let row = curves.iter().find(|r| r[0] == fit[0]).unwrap();
        let wheel = measured(row);
        let mut hold = |what: &str, model: f64, truth: f64, limit: f64| {
            let off = model / truth - 1.0;
            println!(
                "{:18} {what:18} {:8.2} {:8.2} {:+7.1} %",
                fit[0],
                1000.0 * model,
                1000.0 * truth,
                100.0 * off
            );
            if off.abs() > limit {
                failures.push(format!("{} {what} {off:.3}", fit[0]));
            }
        };
        hold(
            "v0 mm/s",
            wheel.face_speed_m_s(),
            number(fit[5]) / 1000.0,
            0.002,
        );
        let truth_70 = number(fit[12]) / 1000.0;
        hold(
            "70 % speed mm/s",
            wheel.speed_for_take(0.7).unwrap(),
            truth_70,
            0.15,
        );
        let band = wheel.jam_band_m_s();
        if number(fit[10]).is_nan() {
            assert!(band.is_none(), "{} stalls nowhere", fit[0]);
        } else {
            let v0 = number(fit[5]) / 1000.0;
            hold(
                "jam band from mm/s",
                band.unwrap().0,
                v0 * number(fit[10]),
                0.25,
            );
            hold(
                "jam band to mm/s",
                band.unwrap().1,
                v0 * number(fit[11]),
                0.25,
            );
        }
        let steady = wheel.chances(0.8 * truth_70).take;
        println!(
            "{:18} take at 0.8 of the measured 70 % speed {steady:.3}",
            fit[0]
        );
        assert!(steady > 0.9, "{} {steady}", fit[0]);
    }
    assert!(failures.is_empty(), "{failures:?}");
}

#[test]
fn curves_point_by_point() {
    println!("geometry            mm/s   take model truth   pinch model truth");
    let (mut sum, mut count) = (0.0, 0.0);
    for row in table(include_str!("truth/e2_pickup.csv")) {
        let speed = number(row[11]) / 1000.0;
        let wheel = measured(&row);
        let chances = wheel.chances(speed);
        let refilled = (wheel.interval_s(speed) / wheel.refill_s().unwrap()).min(1.0);
        println!(
            "{:18} {:6.1}   {:.3} {:.3}   {:.3} {:.3}",
            row[0],
            1000.0 * speed,
            chances.take * refilled,
            number(row[14]),
            chances.pinch,
            number(row[27])
        );
        assert!((chances.take + chances.miss + chances.pinch - 1.0).abs() < 1e-12);
        sum += (chances.take * refilled - number(row[14])).abs();
        count += 1.0;
    }
    println!("mean difference of the chance to take: {:.3}", sum / count);
    assert!(sum / count < 0.10);
}
