//! A splitter bowl: marbles come in along the rim, swirl, and fall through holes in its bottom.
//!
//! Frame: the middle of the sphere it is part of is the origin, z up; marbles come in at +x towards +y.

use std::f64::consts::TAU;

use super::crowd::{Coming, CrowdPlace, Entry, Whereabouts};
use super::hollow::{BoredHole, Hollow};
use super::place::MarbleProperties;
use super::surface::Surface;
use super::vector::vector;
use super::world::Sphere;

/// A splitter bowl and its marbles. Lengths in m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BowlPlace {
    /// The marbles.
    pub marbles: MarbleProperties,
    /// Across the rim.
    pub width_m: f64,
    /// Depth at the middle.
    pub depth_m: f64,
    /// How many holes, evenly round their circle.
    pub holes: usize,
    /// Diameter of a hole.
    pub hole_m: f64,
    /// Radius of the circle the holes stand on.
    pub hole_circle_m: f64,
    /// How far the first hole is turned on from where marbles come in, rad.
    pub turn_rad: f64,
    /// Whether a fence stands on the rim.
    pub fenced: bool,
    /// Speed at which marbles come in, m/s, and its standard deviation.
    pub entry_m_s: f64,
    /// Standard deviation of that speed, m/s.
    pub entry_sd_m_s: f64,
    /// How far inward of the rim's own direction they head, rad.
    pub inward_rad: f64,
}

/// How far inside the rim marbles come in.
const INSET_M: f64 = 0.002;
/// Thickness of the bowl.
const THICK_M: f64 = 0.006;
/// Others are in the way of a marble that comes in within so many radii from middle to middle.
const CLEAR_RADII: f64 = 2.3;

impl BowlPlace {
    /// Radius of the sphere that the bowl is part of.
    fn sphere_m(&self) -> f64 {
        (self.width_m * self.width_m / 4.0 + self.depth_m * self.depth_m) / (2.0 * self.depth_m)
    }

    fn hollow(&self) -> Hollow {
        let radius = self.sphere_m();
        let sine = (self.hole_circle_m / radius).min(1.0);
        let cosine = (1.0 - sine * sine).sqrt();
        let mut holes = Vec::new();
        for hole in 0..self.holes {
            let turn = self.turn_rad + TAU * hole as f64 / self.holes as f64;
            holes.push(BoredHole {
                axis: vector(sine * libm::cos(turn), sine * libm::sin(turn), -cosine),
                radius: self.hole_m / 2.0,
                length: THICK_M,
            });
        }
        Hollow {
            radius,
            rim: self.width_m / 2.0,
            fenced: self.fenced,
            holes,
        }
    }
}

impl CrowdPlace for BowlPlace {
    fn marbles(&self) -> &MarbleProperties {
        &self.marbles
    }

    fn surfaces(&self) -> Vec<Surface> {
        vec![Surface::Hollow(self.hollow())]
    }

    fn entrances(&self) -> usize {
        1
    }

    /// Rolling off the rim; not while another is there.
    fn entry(&self, coming: Coming, radius: f64, spheres: &[Sphere]) -> Option<Entry> {
        let length = self.sphere_m() - radius;
        let out = (self.width_m / 2.0 - radius - INSET_M).clamp(0.0, length);
        let at = vector(out, 0.0, -(length * length - out * out).sqrt());
        let clear = CLEAR_RADII * radius;
        let in_the_way = |sphere: &Sphere| (sphere.at - at).square() < clear * clear;
        if spheres.iter().any(in_the_way) {
            return None;
        }
        let speed = (self.entry_m_s + self.entry_sd_m_s * coming.scatter).max(0.01);
        let (sine, cosine) = (libm::sin(self.inward_rad), libm::cos(self.inward_rad));
        let slope = out / length;
        // Down the bowl's slope as far as it heads inward.
        let fall = sine * slope / (1.0 - slope * slope).sqrt();
        let heading = vector(-sine, cosine, -fall);
        let velocity = heading * (speed / heading.length());
        let inward = at * (-1.0 / length);
        Some(Entry {
            at,
            velocity,
            spin: inward.cross(velocity) * (1.0 / radius),
            on_the_way_s: 0.0,
        })
    }

    fn whereabouts(&self, sphere: &Sphere) -> Whereabouts {
        let rim = self.width_m / 2.0;
        let across = vector(sphere.at.x, sphere.at.y, 0.0).length();
        let outside = sphere.at.length() > self.sphere_m() && sphere.at.z < 0.0;
        // One that tips over the rim slowly drops close beside it.
        if across > rim + sphere.radius || (outside && across > rim) {
            return Whereabouts::Over;
        }
        if outside {
            return Whereabouts::Out;
        }
        Whereabouts::Inside
    }
}
