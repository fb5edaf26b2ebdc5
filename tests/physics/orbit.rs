//! Circular orbits in a bowl.

use marblewright::physics::G;
use marblewright::physics::orbit::orbit_speed_m_s;
use marblewright::physics::spiral::Spiral;

/// Circular orbits of a rolling ball: own derivation from Newton and Euler, figures recomputed independently; the
/// sliding point's v^2 = g rho tan alpha is 7/5 of it.
#[test]
fn orbit_speed() {
    let cases = [
        (10.0, 0.351443654, 0.415833739),
        (15.0, 0.433234014, 0.512609398),
        (20.0, 0.504927767, 0.597438591),
        (30.0, 0.635939800, 0.752454119),
    ];
    for (degrees, speed, sliding) in cases {
        let slope = f64::to_radians(degrees);
        assert!((orbit_speed_m_s(0.1, slope) - speed).abs() < 1e-9);
        assert!((orbit_speed_m_s(0.1, slope) * 1.4f64.sqrt() - sliding).abs() < 1e-9);
    }
}

const CONE: Spiral = Spiral {
    rim_m: 0.10,
    hole_m: 0.02,
    slope_rad: 15.0 * std::f64::consts::PI / 180.0,
    resistance: 0.01,
};

/// From 0.10 to 0.02 m at 15 degrees: figures of the same derivation, computed independently. No published spiral time was found.
#[test]
fn time_to_spiral_in() {
    let along = CONE.rim_speed_m_s();
    assert!((CONE.time_s(along) - 10.100547757).abs() < 1e-8);
    let smooth = Spiral {
        resistance: 0.005,
        ..CONE
    };
    assert!((smooth.time_s(along) - 20.201095515).abs() < 1e-8);
    // The same moment of momentum on a circle: r v = 0.1 times half the speed, and v^2 grows with r.
    let inner = CONE.circle_m(along / 2.0);
    let there = orbit_speed_m_s(inner, CONE.slope_rad);
    assert!((inner * there - 0.1 * along / 2.0).abs() < 1e-12);
    assert!((CONE.circle_m(2.0 * along) - 0.1).abs() < 1e-15 && CONE.time_s(0.0) == 0.0);
}

/// The energy E = (3/2) m g r tan a against the work of rolling resistance, step by step in time: the force c N on a
/// way of v dt, N = m (g cos a + v^2 sin a / r).
#[test]
fn resistance_takes_its_work_on_the_way_down() {
    let (sine, cosine, tangent) = (
        libm::sin(CONE.slope_rad),
        libm::cos(CONE.slope_rad),
        libm::tan(CONE.slope_rad),
    );
    let (mut radius, mut time, step) = (0.10, 0.0, 1e-4);
    while radius > 0.02 {
        let speed = orbit_speed_m_s(radius, CONE.slope_rad);
        let pressed = G * cosine + speed * speed * sine / radius;
        radius -= 0.01 * pressed * speed * step / (1.5 * G * tangent);
        time += step;
    }
    let model = CONE.time_s(CONE.rim_speed_m_s());
    assert!((model / time - 1.0).abs() < 1e-4, "{model} {time}");
}

/// Who comes to rest at the rim rolls straight down: 0.08 m along the level are 0.08 / cos 15 along the wall, at
/// (5/7) g sin 15, so that t^2 = 0.16 / ((5/7) g sin 15 cos 15).
#[test]
fn at_rest_it_rolls_straight_down() {
    let slope = CONE.slope_rad;
    let squared = 0.16 / (5.0 / 7.0 * 9.80665 * libm::sin(slope) * libm::cos(slope));
    assert!((CONE.passage_s(0.0) - squared.sqrt()).abs() < 1e-12);
    let along = CONE.rim_speed_m_s();
    assert!((CONE.passage_s(along) - CONE.time_s(along)).abs() < 1e-15);
}
