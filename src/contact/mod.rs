//! Where marbles meet each other, the turning wheel, the walls of a floor or the holes of a bowl: a discrete-element
//! calculation of rigid spheres with spin.
//!
//! Pure, and a package of its own that imports nothing of the program: the same input gives the same bits on every
//! computer, and debug builds follow marbles at full speed.

pub mod bowl_place;
pub mod crowd;
pub mod crowd_counts;
pub mod floor_place;
pub mod hollow;
pub mod law;
mod line_at_face;
pub mod passes;
pub mod pick_up_chances;
pub mod place;
pub mod pocket_wheel;
pub mod scatter;
pub mod surface;
pub mod vector;
pub mod world;

/// Grows with every change of what a look sees: answers kept under another number are made anew.
pub const EDITION: u32 = 8;

/// Standard acceleration of gravity, m/s2 (3rd General Conference on Weights and Measures, 1901).
pub const G: f64 = 9.80665;
