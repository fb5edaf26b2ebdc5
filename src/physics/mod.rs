//! From workshop dimensions to behaviour: pure functions, SI numbers in and out.
//!
//! Nothing here draws a random number, reads a file or prints; the same input gives the same bits on every computer.

pub mod bend;
pub mod capture_limit;
pub mod drive;
pub mod flight;
pub mod gears;
pub mod hand_over;
pub mod impact;
pub mod jump;
pub mod looping;
pub mod material;
pub mod orbit;
pub mod path;
pub mod queue_advance;
pub mod release;
pub mod rolling;
pub mod see_saw;
pub mod spiral;
pub mod supply;

pub use crate::contact::G;
