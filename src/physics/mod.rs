//! From workshop dimensions to behaviour: pure functions, SI numbers in and out.
//!
//! Nothing here draws a random number, reads a file or prints; the same input gives the same bits on every computer.

pub mod bowl;
pub mod bowl_crowd;
pub mod bowl_hole;
pub mod floor;
pub mod floor_ball;
pub mod material;
pub mod mouth;
pub mod pick_up;
pub mod rolling;

/// Standard acceleration of gravity, m/s2 (3rd General Conference on Weights and Measures, 1901).
pub const G: f64 = 9.80665;
