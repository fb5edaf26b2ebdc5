//! Who stands at the wheel's face, and how many wait in line behind.

use std::f64::consts::PI;

use super::place::WheelPlace;
use super::vector::Vector;
use super::world::Sphere;

/// Gap up to which marbles count as touching, m.
pub(super) const TOUCH_M: f64 = 0.0007;

/// Who stood at the face when a pocket's leading edge passed the lowest point.
pub(super) struct LineAtFace {
    pub(super) pocket: i64,
    pub(super) time: f64,
    pub(super) in_line: u32,
    pub(super) met: u32,
    pub(super) waited_s: Option<f64>,
    pub(super) late_s: Option<f64>,
    pub(super) arrived_m_s: f64,
}

/// Which marbles are at the face, not yet lifted half a pitch.
pub(super) fn at_face(place: &WheelPlace, spheres: &[Sphere]) -> Vec<bool> {
    let (gap, wide) = (place.ramp.gap_m, 0.6 * place.ramp.channel_m);
    let half_pitch = PI / f64::from(place.wheel.pockets);
    spheres
        .iter()
        .map(|Sphere { at, radius, .. }| {
            let near = -(gap + radius + 0.003) < at.x && at.x < 0.3 * radius;
            near && at.y.abs() < wide && !past(*at, half_pitch)
        })
        .collect()
}

/// How many wait: in line, or pushed aside in front of the wheel.
pub(super) fn waiting(place: &WheelPlace, spheres: &[Sphere], mut there: Vec<bool>) -> u32 {
    for (there, sphere) in there.iter_mut().zip(spheres) {
        *there |= is_aside(place, sphere);
    }
    // Up to this gap they wait in one line.
    in_line(spheres, there, place.marbles.diameter_m / 2.0)
}

/// Whether a marble lies beside the channel in front of the wheel.
pub(super) fn is_aside(place: &WheelPlace, Sphere { at, .. }: &Sphere) -> bool {
    let back = -(place.ramp.cut_back_m + place.marbles.diameter_m);
    let before = back < at.x && at.x < 0.0 && at.z > place.end_z_m();
    before && at.y.abs() >= 0.6 * place.ramp.channel_m
}

/// How many marbles stand with those already in the chain, one behind the other with gaps under `apart_m`.
pub(super) fn in_line(spheres: &[Sphere], mut chain: Vec<bool>, apart_m: f64) -> u32 {
    loop {
        let next = (0..spheres.len()).find(|&i| {
            !chain[i]
                && (0..spheres.len())
                    .any(|j| chain[j] && are_close(&spheres[i], &spheres[j], apart_m))
        });
        match next {
            Some(next) => chain[next] = true,
            None => return chain.iter().filter(|&&in_it| in_it).count() as u32,
        }
    }
}

fn are_close(a: &Sphere, b: &Sphere, apart_m: f64) -> bool {
    (a.at - b.at).length() < a.radius + b.radius + apart_m
}

/// Whether a place lies further past the lowest point than an angle (0 to pi).
pub(super) fn past(at: Vector, angle: f64) -> bool {
    at.y > 0.0 && at.y * libm::cos(angle) + at.z * libm::sin(angle) > 0.0
}
