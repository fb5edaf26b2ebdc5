//! Fixed surfaces that spheres meet: where the nearest point is, and which way it pushes.
//!
//! A further shape is a further kind of [`Surface`] with its own nearest point.

use super::hollow::Hollow;
use super::vector::Vector;

/// A surface that stands still.
#[derive(Clone, Debug, PartialEq)]
pub enum Surface {
    /// All on one side of a plane.
    Plane(Plane),
    /// A block with square edges.
    Block(Block),
    /// The inside of a bowl.
    Hollow(Hollow),
}

/// A half-space.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// A point of the plane, m.
    pub at: Vector,
    /// Unit vector out of the solid.
    pub out: Vector,
}

/// A block: its middle, its three directions (unit, at right angles) and half its three sizes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Middle, m.
    pub middle: Vector,
    /// Directions of its edges.
    pub along: [Vector; 3],
    /// Half its size along each, m.
    pub half: [f64; 3],
}

/// The nearest point of a body, seen from a sphere's middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NearestPoint {
    /// Unit vector from the body towards the sphere's middle.
    pub normal: Vector,
    /// Distance of the sphere's middle from the body, m; below 0 inside it.
    pub distance: f64,
}

impl NearestPoint {
    /// The nearest point from which this vector leads to the place.
    pub fn of(from: Vector) -> NearestPoint {
        let distance = from.length();
        NearestPoint {
            normal: from * (1.0 / distance),
            distance,
        }
    }
}

impl Surface {
    /// The nearest point to a place.
    #[inline(always)]
    pub fn near(&self, place: Vector) -> NearestPoint {
        match self {
            Surface::Plane(plane) => NearestPoint {
                normal: plane.out,
                distance: (place - plane.at).dot(plane.out),
            },
            Surface::Block(block) => block.near(place),
            Surface::Hollow(hollow) => hollow.near(place),
        }
    }
}

impl Block {
    #[inline(always)]
    fn near(&self, place: Vector) -> NearestPoint {
        let from = place - self.middle;
        let local = self.along.map(|axis| from.dot(axis));
        let mut beyond = [0.0; 3];
        for k in 0..3 {
            beyond[k] = if local[k] > self.half[k] {
                local[k] - self.half[k]
            } else if local[k] < -self.half[k] {
                local[k] + self.half[k]
            } else {
                0.0
            };
        }
        // Nearly always a sphere lies before one face alone: no root is needed there.
        for k in 0..3 {
            if beyond[(k + 1) % 3] == 0.0 && beyond[(k + 2) % 3] == 0.0 && beyond[k] != 0.0 {
                let sign = if beyond[k] < 0.0 { -1.0 } else { 1.0 };
                return NearestPoint {
                    normal: self.along[k] * sign,
                    distance: beyond[k] * sign,
                };
            }
        }
        let square = beyond[0] * beyond[0] + beyond[1] * beyond[1] + beyond[2] * beyond[2];
        if square == 0.0 {
            return self.inside(local);
        }
        let distance = square.sqrt();
        let out = self.along[0] * beyond[0] + self.along[1] * beyond[1] + self.along[2] * beyond[2];
        NearestPoint {
            normal: out * (1.0 / distance),
            distance,
        }
    }

    /// From inside, out through the nearest face.
    fn inside(&self, local: [f64; 3]) -> NearestPoint {
        let mut best = NearestPoint {
            normal: self.along[0],
            distance: f64::NEG_INFINITY,
        };
        for (k, place) in local.into_iter().enumerate() {
            let depth = place.abs() - self.half[k];
            if depth > best.distance {
                let sign = if place < 0.0 { -1.0 } else { 1.0 };
                best = NearestPoint {
                    normal: self.along[k] * sign,
                    distance: depth,
                };
            }
        }
        best
    }
}
