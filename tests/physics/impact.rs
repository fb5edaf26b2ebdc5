//! What is left of a marble's speed after a bell, held to the oblique impact of any textbook of mechanics.

use marblewright::physics::impact::SmoothImpact;

fn strike(angle_deg: f64, restitution: f64) -> SmoothImpact {
    SmoothImpact {
        speed_m_s: 1.0,
        angle_rad: angle_deg.to_radians(),
        restitution,
    }
}

/// Head-on the share e^2 of the energy is left, and e of the speed; along the face all of it.
#[test]
fn energy_left_after_a_bell() {
    for e in [0.0, 0.3, 0.5, 0.8, 1.0] {
        assert!((strike(0.0, e).energy_left() - e * e).abs() < 1e-12);
        assert!((strike(0.0, e).out_m_s() - e).abs() < 1e-12);
        assert!((strike(90.0, e).energy_left() - 1.0).abs() < 1e-12);
    }
    // At 30 degrees and e = 0.6: cos^2 = 3/4, sin^2 = 1/4, so 0.36 * 0.75 + 0.25.
    assert!((strike(30.0, 0.6).energy_left() - 0.52).abs() < 1e-12);
}

/// Velocity by components: a marble that comes at 1 m/s on a face turned 30 degrees away leaves with its normal part turned
/// round and shortened, and its part along the face as it was.
#[test]
fn components_before_and_after() {
    let (normal, along): (f64, f64) =
        (libm::cos(30f64.to_radians()), libm::sin(30f64.to_radians()));
    let after = libm::hypot(-0.6 * normal, along);
    assert!((strike(30.0, 0.6).out_m_s() - after).abs() < 1e-12);
}
