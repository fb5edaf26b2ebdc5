//! The circuit: every element kind as a queue-and-transit node, one file a kind, built from a machine.
//!
//! Nothing here schedules anything; the engine drives the nodes.

pub mod bowl;
pub mod build;
pub mod close_look;
pub mod draw;
pub mod drive;
pub mod flip_gate;
pub mod gamma;
pub mod joints;
pub mod line;
pub mod pick_up;
pub mod plan;
pub mod pocket_wheel;
pub mod quantile;
pub mod return_floor;
pub mod tipping_cup;
pub mod wheel_place;
pub mod wheel_shape;
pub mod workshop;

pub use build::{circuit, outline, sketch, sketch_like};
pub use plan::Circuit;
