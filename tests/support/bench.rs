//! What the tests of physics share: lines of their tables, and a glass marble on wood.
#![allow(dead_code, reason = "each test file uses its own part")]

use marblewright::physics::material::{GLASS_KG_M3, Marble, SurfaceProperties};

/// One line of a table of published cases, held to a relative difference.
pub fn close(what: &str, model: f64, truth: f64, relative: f64) {
    let off = (model - truth) / truth;
    println!("{what:52} {model:13.9} {truth:13.9} {off:+9.1e}");
    assert!(off.abs() <= relative, "{what}: {model} against {truth}");
}

/// One line of a table of times; the difference in per cent.
pub fn line(what: &str, model: f64, truth: f64) -> f64 {
    let off = 100.0 * (model / truth - 1.0);
    println!("{what:52} {model:9.5} {truth:9.5} {off:+7.2} %");
    off
}

pub fn glass(diameter_m: f64) -> Marble {
    Marble {
        diameter_m,
        density_kg_m3: GLASS_KG_M3,
    }
}

pub fn deg(angle: f64) -> f64 {
    angle.to_radians()
}

/// Wood without rolling resistance.
pub const SMOOTH: SurfaceProperties = SurfaceProperties {
    rolling_lever_m: 0.0,
    drilling_lever_m: 0.0,
    ..SurfaceProperties::WOOD
};
