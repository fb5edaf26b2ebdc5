//! Three numbers that belong together: a place, a velocity, a force.

use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

/// A vector in a right-handed frame, any unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vector {
    /// Along the wheel's axle, into the wheel.
    pub x: f64,
    /// Across, to the side on which pockets rise.
    pub y: f64,
    /// Up.
    pub z: f64,
}

/// Short for the three components.
pub const fn vector(x: f64, y: f64, z: f64) -> Vector {
    Vector { x, y, z }
}

/// The larger of two numbers, neither of them NaN: one instruction, where `f64::max` takes six.
#[inline(always)]
pub fn larger(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

impl Vector {
    /// Nothing at all.
    pub const ZERO: Vector = vector(0.0, 0.0, 0.0);

    /// Scalar product.
    #[inline(always)]
    pub fn dot(self, other: Vector) -> f64 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    /// Vector product.
    #[inline(always)]
    pub fn cross(self, other: Vector) -> Vector {
        vector(
            self.y * other.z - self.z * other.y,
            self.z * other.x - self.x * other.z,
            self.x * other.y - self.y * other.x,
        )
    }

    /// Square of the length.
    #[inline(always)]
    pub fn square(self) -> f64 {
        self.dot(self)
    }

    /// Length.
    #[inline(always)]
    pub fn length(self) -> f64 {
        self.square().sqrt()
    }

    /// What is left without the part along a unit vector.
    #[inline(always)]
    pub fn across(self, unit: Vector) -> Vector {
        self - unit * self.dot(unit)
    }
}

impl Add for Vector {
    type Output = Vector;
    #[inline(always)]
    fn add(self, other: Vector) -> Vector {
        vector(self.x + other.x, self.y + other.y, self.z + other.z)
    }
}

impl Sub for Vector {
    type Output = Vector;
    #[inline(always)]
    fn sub(self, other: Vector) -> Vector {
        vector(self.x - other.x, self.y - other.y, self.z - other.z)
    }
}

impl Mul<f64> for Vector {
    type Output = Vector;
    #[inline(always)]
    fn mul(self, by: f64) -> Vector {
        vector(self.x * by, self.y * by, self.z * by)
    }
}

impl Neg for Vector {
    type Output = Vector;
    #[inline(always)]
    fn neg(self) -> Vector {
        self * -1.0
    }
}

impl AddAssign for Vector {
    #[inline(always)]
    fn add_assign(&mut self, other: Vector) {
        *self = *self + other;
    }
}

impl SubAssign for Vector {
    #[inline(always)]
    fn sub_assign(&mut self, other: Vector) {
        *self = *self - other;
    }
}
