//! A see-saw against the inverted pendulum.

use crate::support::bench::close;
use marblewright::physics::G;
use marblewright::physics::see_saw::TippingBeam;

const LARGE: TippingBeam = TippingBeam {
    arm_m: 0.12,
    swing_rad: 0.42,
    beam_kg: 0.06,
    marble_kg: 0.005,
    gathers: 3,
};

/// Balance of moments: with half a marble less than tip it the beam would stay where it is.
#[test]
fn the_weight_holds_all_but_half_a_marble() {
    let half = LARGE.swing_rad / 2.0;
    let marbles = 2.5 * 0.005 * 0.12 * libm::cos(half);
    close(
        "weight's moment (kg m)",
        LARGE.weight_kg_m() * libm::sin(half),
        marbles,
        1e-12,
    );
}

/// In a small swing the moments are straight lines: I x'' = m g a / 2 + K x, an inverted pendulum pushed from rest (any
/// mechanics text), so that x = (m g a / 2 K)(cosh(l t) - 1) with l^2 = K / I. The tangent and cosine of 1.1 degrees differ from
/// that by some 2e-4.
#[test]
fn a_small_swing_takes_as_long_as_an_inverted_pendulum() {
    for gathers in [1, 3, 8] {
        let small = TippingBeam {
            swing_rad: 0.04,
            gathers,
            ..LARGE
        };
        let n = f64::from(gathers);
        let inertia = 0.12 * 0.12 * (0.06 / 3.0 + n * 0.005);
        let (push, k) = (0.5 * 0.005 * G * 0.12, small.weight_kg_m() * G);
        let expected = libm::acosh(1.0 + 0.04 * k / push) / (k / inertia).sqrt();
        close(
            &format!("{gathers} marbles tip by 2.3 degrees (s)"),
            small.tips_in_s(),
            expected,
            1e-3,
        );
    }
}

/// The same moments step by step in time, I w' = n m g a cos x - W h g sin x, by Euler's midpoint in ten microseconds.
#[test]
fn a_large_swing_takes_as_long_as_its_equation_of_motion() {
    let load = 3.0 * 0.005;
    let inertia = 0.12 * 0.12 * (0.06 / 3.0 + load);
    let turns = |angle: f64| {
        (load * G * 0.12 * libm::cos(angle) - LARGE.weight_kg_m() * G * libm::sin(angle)) / inertia
    };
    let (mut angle, mut speed, mut time, step) = (LARGE.swing_rad / 2.0, 0.0, 0.0, 1e-5);
    while angle > -LARGE.swing_rad / 2.0 {
        let middle = speed + turns(angle) * step / 2.0;
        let half_way = angle - speed * step / 2.0;
        angle -= middle * step;
        speed += turns(half_way) * step;
        time += step;
    }
    close("a swing of 24 degrees (s)", LARGE.tips_in_s(), time, 2e-4);
}
