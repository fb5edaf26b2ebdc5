//! From workshop dimensions to behaviour: pure functions, SI numbers in and out.
//!
//! Nothing here draws a random number, reads a file or prints; the same input gives the same bits on every computer.

pub mod bend;
pub mod bowl;
pub mod bowl_crowd;
pub mod bowl_hole;
pub mod drive;
pub mod flight;
pub mod floor;
pub mod floor_ball;
pub mod gears;
pub mod hand_over;
pub mod material;
pub mod mouth;
pub mod path;
pub mod pick_up;
pub mod queue_advance;
pub mod release;
pub mod rolling;

pub use crate::contact::G;
