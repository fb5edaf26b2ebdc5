//! Outlines of blocks on paper.

use plotters::style::Color;

use super::canvas::Canvas;
use super::close_up::BEFORE_THE_FACE;
use crate::contact::place::WheelPlace;
use crate::contact::surface::Block;
use crate::contact::vector::Vector;

/// All eight corners.
pub fn corners(block: &Block) -> Vec<Vector> {
    let signs =
        (0..8).map(|k: u32| [0, 1, 2].map(|bit| if k >> bit & 1 == 1 { 1.0 } else { -1.0 }));
    let along = |k: usize, sign: [f64; 3]| block.along[k] * (sign[k] * block.half[k]);
    signs
        .map(|sign| block.middle + along(0, sign) + along(1, sign) + along(2, sign))
        .collect()
}

/// The four corners nearest to the wheel.
pub fn end(block: &Block) -> Vec<Vector> {
    let mut all = corners(block);
    all.sort_by(|a, b| b.x.total_cmp(&a.x));
    all.truncate(4);
    all
}

/// The outline of points on paper, counter-clockwise in their own axes.
pub fn hull(points: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut points: Vec<(f64, f64)> = points.collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut all = chain(points.iter().copied());
    all.extend(chain(points.iter().rev().copied()));
    all
}

/// One side of a convex hull, without its last point (A. M. Andrew, Information Processing Letters 9 (1979) 216).
fn chain(points: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut side: Vec<(f64, f64)> = Vec::new();
    for point in points {
        while let [.., a, b] = side[..]
            && (b.0 - a.0) * (point.1 - a.1) - (b.1 - a.1) * (point.0 - a.0) <= 0.0
        {
            side.pop();
        }
        side.push(point);
    }
    side.pop();
    side
}

/// A line around corners.
pub fn closed(canvas: &mut Canvas<'_>, corners: &[(f64, f64)], colour: impl Color + Copy) {
    let around: Vec<(f64, f64)> = corners.iter().chain(corners.first()).copied().collect();
    canvas.line(&around, 1.0, colour);
}

/// Corners in order; from the last a line leads back to the first.
pub type ClosedLine = Vec<(f64, f64)>;

/// The outlines of the ramp and the guide, m: from the side (the ramp's floor first), and along the ramp.
pub fn outlines(place: &WheelPlace) -> (Vec<ClosedLine>, Vec<ClosedLine>) {
    let (ramp, guide) = (place.ramp_blocks(), place.guide_blocks());
    let near = -BEFORE_THE_FACE * place.marbles.diameter_m;
    let (mut side, mut face) = (Vec::new(), Vec::new());
    for (n, block) in ramp.iter().chain(&guide).enumerate() {
        let all = corners(block);
        side.push(hull(all.iter().map(|at| (at.x, at.z))));
        if all.iter().all(|at| at.x < near) {
            continue;
        }
        // Of what lies along the ramp the end at the wheel is seen.
        let seen = if n < ramp.len() { end(block) } else { all };
        face.push(hull(seen.iter().map(|at| (at.y, at.z))));
    }
    (side, face)
}
