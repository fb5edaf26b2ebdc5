//! The inside of a bowl: part of a sphere with a rim, and round holes bored through it towards the sphere's middle.

use super::surface::NearestPoint;
use super::vector::{Vector, vector};

/// A bowl whose sphere has its middle at the origin, z up.
#[derive(Clone, Debug, PartialEq)]
pub struct Hollow {
    /// Radius of the sphere, m.
    pub radius: f64,
    /// Radius of the rim, m.
    pub rim: f64,
    /// Whether a fence stands upright on the rim.
    pub fenced: bool,
    /// Holes.
    pub holes: Vec<BoredHole>,
}

/// A hole through a bowl.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoredHole {
    /// Unit vector from the sphere's middle along its axis.
    pub axis: Vector,
    /// Its radius, m.
    pub radius: f64,
    /// Thickness of the bowl there, m.
    pub length: f64,
}

impl Hollow {
    /// Height of the rim's plane under the sphere's middle, m, below 0.
    pub fn rim_z(&self) -> f64 {
        -(self.radius * self.radius - self.rim * self.rim).sqrt()
    }

    /// The nearest point to a place inside, over a hole or at the rim; endlessly far from places that have left.
    #[inline]
    pub fn near(&self, place: Vector) -> NearestPoint {
        for hole in &self.holes {
            if let Some(near) = hole.near(self.radius, place) {
                return near;
            }
        }
        let far = place.length();
        if place.z * self.radius > self.rim_z() * far {
            return self.near_rim(place);
        }
        if far > self.radius || far == 0.0 {
            return NOWHERE;
        }
        NearestPoint {
            normal: place * (-1.0 / far),
            distance: self.radius - far,
        }
    }

    fn near_rim(&self, place: Vector) -> NearestPoint {
        let across = vector(place.x, place.y, 0.0);
        let far = across.length();
        if far == 0.0 {
            return NOWHERE;
        }
        let outward = across * (1.0 / far);
        let above = place.z - self.rim_z();
        if self.fenced && above > 0.0 {
            return NearestPoint {
                normal: outward * -1.0,
                distance: self.rim - far,
            };
        }
        let from_edge = outward * (far - self.rim) + vector(0.0, 0.0, above);
        NearestPoint::of(from_edge)
    }
}

impl BoredHole {
    /// The nearest point of its edge or wall, where a place lies over or in it.
    #[inline]
    fn near(&self, sphere: f64, place: Vector) -> Option<NearestPoint> {
        let along = place.dot(self.axis);
        if along <= 0.0 {
            return None;
        }
        let aside = place - self.axis * along;
        let off = aside.length();
        let edge = (sphere * sphere - self.radius * self.radius).sqrt();
        let over = along * self.radius > off * edge;
        let within = along > edge && off < self.radius;
        if !over && !within {
            return None;
        }
        if along > edge + self.length || off == 0.0 {
            return Some(NOWHERE);
        }
        let wall = aside * (self.radius / off) + self.axis * along.max(edge);
        Some(NearestPoint::of(place - wall))
    }
}

const NOWHERE: NearestPoint = NearestPoint {
    normal: vector(0.0, 0.0, 1.0),
    distance: f64::INFINITY,
};
