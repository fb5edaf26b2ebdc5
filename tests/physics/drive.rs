//! Motor, battery, gears and stock against published figures. Run with `--nocapture` to see the tables.

use crate::support::bench::close;
use marblewright::physics::G;
use marblewright::physics::drive::*;
use marblewright::physics::gears::*;
use marblewright::physics::material::*;
use marblewright::physics::supply::CELLS;
use std::f64::consts::PI;

const MOTOR: DcMotor = DcMotor {
    stall_torque_n_m: 1.0,
    no_load_rad_s: 100.0 * PI / 30.0,
    stall_current_a: 1.0,
    no_load_current_a: 0.04,
};

const OTHER: DcMotor = DcMotor {
    stall_torque_n_m: 0.3,
    no_load_rad_s: 12.0,
    stall_current_a: 2.5,
    no_load_current_a: 0.15,
};

/// Mabuchi, "Basics of motor performance", and Lessard, "Motor performance": half the stall torque at half the no-load speed.
#[test]
fn motor_line() {
    println!(
        "what                                                          model          truth difference"
    );
    let half = MOTOR.no_load_rad_s / 2.0;
    close(
        "speed at half torque (rad/s)",
        MOTOR.speed_rad_s(0.5).unwrap(),
        half,
        1e-12,
    );
    assert_eq!(MOTOR.speed_rad_s(1.0), None);
}

#[test]
fn duty_keeps_the_slope_and_gears_trade_speed_for_torque() {
    let slow = MOTOR.at_duty(0.5);
    let slope = |m: &DcMotor| m.stall_torque_n_m / m.no_load_rad_s;
    close(
        "slope of the line at half duty",
        slope(&slow),
        slope(&MOTOR),
        1e-12,
    );
    let slow = OTHER.at_duty(0.4);
    close(
        "stalled at 0.4 duty (A)",
        slow.current_a(slow.stall_torque_n_m),
        1.0,
        1e-12,
    );
    close("idle at 0.4 duty (A)", slow.current_a(0.0), 0.15, 1e-12);
    let geared = MOTOR.geared(4.0, 0.9);
    close(
        "stall torque behind 4:1 at 0.9 (N m)",
        geared.stall_torque_n_m,
        3.6,
        1e-12,
    );
    let power = geared.stall_torque_n_m * geared.no_load_rad_s
        / (MOTOR.stall_torque_n_m * MOTOR.no_load_rad_s);
    close("power share behind 4:1 at 0.9", power, 0.9, 1e-12);
}

/// PowerStream, discharge tests of alkaline AA: 500 mA lasts 2.6 h, not the 6 h that makers' charts at a light load would give.
#[test]
fn battery_hours() {
    close(
        "500 mA, tested cells (h)",
        ALKALINE_AA_TESTED.hours(0.5, 1).unwrap(),
        2.6,
        1e-12,
    );
    close(
        "two strings at 1 A, tested (h)",
        ALKALINE_AA_TESTED.hours(1.0, 2).unwrap(),
        2.6,
        1e-12,
    );
    close(
        "25 mA, under what was tested (Ah)",
        ALKALINE_AA_TESTED.capacity_ah(0.025).unwrap(),
        2.2,
        1e-12,
    );
    assert_eq!(ALKALINE_AA_TESTED.hours(3.0, 1), None);
    assert_eq!(ALKALINE_AA_TESTED.hours(0.1, 0), None);
    let between = ALKALINE_AA_TESTED.capacity_ah(0.7).unwrap();
    close(
        "700 mA, tested cells (Ah), by the logarithm of the current",
        between,
        1.071849,
        1e-6,
    );
}

#[test]
fn lifting_takes_what_it_raises() {
    let (kg, r, leave) = (0.0036, 0.12, 110f64.to_radians());
    let mean = mean_lift_torque_n_m(20, 1.0, kg, r, leave);
    // The same by averaging the torque over a turn of twenty pockets.
    let spacing = 2.0 * PI / 20.0;
    let sum: f64 = (0..2000)
        .map(|k| {
            let first = spacing * (f64::from(k) + 0.5) / 2000.0;
            let angles: Vec<f64> = (0..20)
                .map(|i| first + spacing * f64::from(i))
                .filter(|&phi| phi < leave)
                .collect();
            lift_torque_n_m(&angles, kg, r)
        })
        .sum();
    close("mean torque of 20 pockets (N m)", mean, sum / 2000.0, 1e-3);
    let peak = peak_lift_torque_n_m(20, kg, r, leave);
    assert!(peak > mean && peak < 1.2 * mean, "{peak} {mean}");
    // Five pockets, 72 degrees apart, leaving at 110: the worst is just before one leaves, with the next at 38.
    let few = peak_lift_torque_n_m(5, kg, r, leave);
    let worst = kg * 9.80665 * r * (libm::sin(leave) + libm::sin(38f64.to_radians()));
    close("peak torque of 5 pockets (N m)", few, worst, 5e-3);
    // One marble level with the axle: m g R.
    close(
        "one marble at 90 degrees (N m)",
        lift_torque_n_m(&[PI / 2.0], kg, r),
        kg * 9.80665 * r,
        1e-12,
    );
}

/// Usual gear formulas (several handbook pages agree); the list of modules: ISO 54.
#[test]
fn gears() {
    let pinion = Gear {
        module_m: 0.002,
        teeth: 12,
    };
    close(
        "centre distance m2 z12/48 (m)",
        centre_distance_m(0.002, (12, 48)),
        0.060,
        1e-12,
    );
    close("ratio 12 to 48", ratio(&[(12, 48)]), 4.0, 1e-12);
    close(
        "ratio of two stages",
        ratio(&[(12, 48), (15, 45)]),
        12.0,
        1e-12,
    );
    close(
        "pitch diameter z12 (m)",
        pinion.pitch_diameter_m(),
        0.024,
        1e-12,
    );
    close(
        "tip diameter z12 (m)",
        pinion.tip_diameter_m(),
        0.028,
        1e-12,
    );
}

/// Modules of ISO 54 and DIN 780.
#[test]
fn modules() {
    assert_eq!(standing(0.0015), Standing::Series1);
    assert_eq!(standing(0.00175), Standing::Series2);
    assert_eq!(standing(0.0008), Standing::Din780);
    assert_eq!(standing(0.0013), Standing::NotStandard);
}

/// EN 572-1: soda-lime glass 2500 kg/m3. Steel: a ball maker's table of pieces per kilogram, 10 to 25.4 mm.
#[test]
fn masses() {
    let gram = |d: f64, rho: f64| {
        Marble {
            diameter_m: d,
            density_kg_m3: rho,
        }
        .mass_kg()
            * 1e3
    };
    close("16 mm glass (g)", gram(0.016, GLASS_KG_M3), 5.361651, 1e-6);
    close(
        "5/8 in glass (g)",
        gram(0.015875, GLASS_KG_M3),
        5.236967,
        1e-6,
    );
    close("14 mm glass (g)", gram(0.014, GLASS_KG_M3), 3.591888, 1e-6);
    close("25 mm glass (g)", gram(0.025, GLASS_KG_M3), 20.453077, 1e-6);
    let pieces = [
        (10.0, 244.0),
        (12.7, 119.0),
        (15.875, 60.84),
        (16.0, 59.5),
        (19.05, 35.27),
        (25.0, 15.60),
        (25.4, 14.88),
    ];
    for (mm, per_kg) in pieces {
        close(
            &format!("{mm} mm bearing steel (g)"),
            gram(mm / 1e3, BEARING_STEEL_KG_M3),
            1e3 / per_kg,
            0.002,
        );
    }
}

/// Pockets evenly round the wheel, all of a half turn filled: an even number n has arms of 1/sin(pi/n) radii at worst, the
/// sum of n/2 sines spaced by 2 pi/n with their middle abeam.
#[test]
fn the_worst_torque_is_the_sum_of_the_arms() {
    let arms = |pockets| peak_lift_torque_n_m(pockets, 0.1, 0.2, PI) / (0.1 * G * 0.2);
    for pockets in [2, 4, 6, 8, 12, 24] {
        let expected = 1.0 / libm::sin(PI / f64::from(pockets));
        assert!(
            (arms(pockets) / expected - 1.0).abs() < 1e-9,
            "{pockets}: {} for {expected}",
            arms(pockets)
        );
    }
    assert!((arms(1) - 1.0).abs() < 1e-12);
}

/// Nickel metal hydride (IEC 61951-2): 1.2 V a cell, and what is printed on it at a fifth of it an hour is five hours. A printed
/// capacity stretches the hours in proportion, and nothing is promised above an hour's current.
#[test]
fn hours_of_other_cells() {
    let cell = |name: &str| {
        let found = CELLS.iter().find(|cell| cell.name == name);
        *found.expect(name)
    };
    let nimh = cell("nimh-aa");
    close("4 NiMH in series (V)", 4.0 * nimh.nominal_v, 4.8, 1e-12);
    close(
        "2000 mAh at 0.4 A (h)",
        nimh.hours(0.4, 2.0).unwrap(),
        5.0,
        1e-12,
    );
    close(
        "2500 mAh at 0.4 A (h)",
        nimh.hours(0.4, 2.5).unwrap(),
        6.25,
        1e-12,
    );
    assert_eq!(nimh.hours(2.1, 2.0), None);
    // The tested AA by its own capacity is the test itself.
    let aa = cell("alkaline-aa");
    close("500 mA (h)", aa.hours(0.5, 2.2).unwrap(), 2.6, 1e-12);
    for cell in CELLS {
        assert!(cell.spent_v < cell.nominal_v, "{cell:?}");
        let points = cell.discharge.0;
        assert!(
            points
                .windows(2)
                .all(|two| two[0].0 < two[1].0 && two[0].1 >= two[1].1),
            "{cell:?}"
        );
    }
}

#[test]
fn a_cell_promises_nothing_without_a_current_or_beyond_its_test() {
    for current_a in [0.0, -0.1, 2.001, f64::NAN] {
        assert_eq!(
            ALKALINE_AA_TESTED.capacity_ah(current_a),
            None,
            "{current_a} A"
        );
    }
    assert_eq!(ALKALINE_AA_TESTED.capacity_ah(0.01), Some(2.20));
}
