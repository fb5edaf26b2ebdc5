//! Loops and jumps against textbooks.

use std::f64::consts::{FRAC_PI_4, PI, TAU};

use crate::support::bench::close;
use marblewright::physics::G;
use marblewright::physics::jump::Gap;
use marblewright::physics::looping::LoopTheLoop;
use marblewright::physics::rolling::{Channel, Seat};

const SMOOTH: LoopTheLoop = LoopTheLoop {
    centre_radius_m: 0.052,
    seat: Seat::PLANE,
    resistance: 0.0,
};

/// A solid ball that rolls without slipping stays on from 2.7 radii above the bottom, with v^2 = g r at the top and so 27/7 g r
/// at the foot (Halliday, Resnick and Walker, "Fundamentals of Physics", the ball in the loop-the-loop; any mechanics text).
#[test]
fn a_ball_needs_2_7_radii() {
    let r = SMOOTH.centre_radius_m;
    close("height (m)", SMOOTH.least_height_m(), 2.7 * r, 1e-9);
    let foot = (27.0 / 7.0 * G * r).sqrt();
    close("speed at the foot (m/s)", SMOOTH.least_m_s(), foot, 1e-9);
    assert!(SMOOTH.round(0.999 * foot).is_none());
    close(
        "speed at the end (m/s)",
        SMOOTH.round(1.2 * foot).unwrap().exit_m_s,
        1.2 * foot,
        1e-9,
    );
}

/// Energy on rails: (1/2) (5 + (2/5) (R/h)^2) radii.
#[test]
fn a_ball_on_rails_needs_more() {
    let seat = Channel::SharpRails { gap_m: 0.010 }.seat(0.008).unwrap();
    let on_rails = LoopTheLoop { seat, ..SMOOTH };
    let spin = 0.4 / (0.780624750 * 0.780624750);
    close(
        "height on rails (m)",
        on_rails.least_height_m(),
        0.5 * (5.0 + spin) * 0.052,
        1e-8,
    );
}

/// Without resistance it is a pendulum that goes over the top: the complete elliptic integral of the first kind, by Gauss's
/// arithmetic-geometric mean.
#[test]
fn once_round_takes_as_long_as_a_pendulum_over_the_top() {
    for times in [1.05, 1.3, 2.0] {
        let entry = times * SMOOTH.least_m_s();
        let begins = entry * entry / (G * SMOOTH.centre_radius_m);
        let (mut a, mut b) = (1.0, (1.0 - 4.0 * 5.0 / 7.0 / begins).sqrt());
        for _ in 0..30 {
            (a, b) = (f64::midpoint(a, b), (a * b).sqrt());
        }
        let expected = 4.0 / begins.sqrt() * PI / (2.0 * a) * (SMOOTH.centre_radius_m / G).sqrt();
        let round = SMOOTH.round(entry).unwrap();
        close(
            &format!("{times} times the least (s)"),
            round.time_s,
            expected,
            1e-8,
        );
    }
}

/// Work of a small resistance, to the first order: 2 (5/7) c times the way's angle and the mean pressure, which is x at the middle
/// height.
#[test]
fn resistance_takes_its_work() {
    let rough = LoopTheLoop {
        resistance: 1e-5,
        ..SMOOTH
    };
    let unit = G * SMOOTH.centre_radius_m;
    let begins = 6.0;
    let ends = rough.round((begins * unit).sqrt()).unwrap().exit_m_s;
    let lost = begins - ends * ends / unit;
    let expected = 10.0 / 7.0 * 1e-5 * TAU * (begins - 10.0 / 7.0);
    close("loss of v^2 / g r", lost, expected, 1e-3);
    assert!(rough.least_m_s() > SMOOTH.least_m_s());
}

/// At 45 degrees and level the range is v^2 / g; from a level lip the time is sqrt(2 f / g) and the speed along stays.
#[test]
fn a_jump_is_a_throw() {
    let ski = Gap {
        gap_m: 0.2,
        landing_m: 0.1,
        fall_m: 0.0,
        rises_rad: FRAC_PI_4,
    };
    close("least (m/s)", ski.least_m_s(), (G * 0.2).sqrt(), 1e-12);
    close("most (m/s)", ski.most_m_s(), (G * 0.3).sqrt(), 1e-12);
    let lip = Gap {
        fall_m: 0.05,
        rises_rad: 0.0,
        ..ski
    };
    let flies = (2.0 * 0.05 / G).sqrt();
    close(
        "least off a level lip (m/s)",
        lip.least_m_s(),
        0.2 / flies,
        1e-12,
    );
    let leap = lip.leap(2.5).unwrap();
    close("lands (m)", leap.reaches_m, 2.5 * flies, 1e-12);
    close("goes on (m/s)", leap.exit_m_s, 2.5, 1e-12);
    close("time (s)", leap.time_s, 0.3 / 2.5, 1e-12);
    assert!(lip.leap(1.9).is_none() && lip.leap(3.0).is_none());
}

/// Momentum of the ball about where it lands: 7/5 v' = v cos a + 2/5 v.
#[test]
fn a_ball_lands_with_what_its_spin_leaves_it() {
    let gap = Gap {
        gap_m: 0.1,
        landing_m: 0.2,
        fall_m: 0.02,
        rises_rad: 0.5,
    };
    let leap = gap.leap(1.4).unwrap();
    close(
        "goes on (m/s)",
        1.4 * leap.exit_m_s,
        1.4 * libm::cos(0.5) + 0.4 * 1.4,
        1e-12,
    );
}
