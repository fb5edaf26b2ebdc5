//! Circular orbits in a bowl.

use marblewright::physics::orbit::orbit_speed_m_s;

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
