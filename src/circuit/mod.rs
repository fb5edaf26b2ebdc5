//! The circuit: every element kind as a queue-and-transit node, one file a kind, built from a machine.
//!
//! Nothing here schedules anything; the engine drives the nodes.

pub mod batch;
pub mod bowl;
pub mod build;
pub mod carousel;
pub mod close_look;
pub mod draw;
pub mod drive;
pub mod gamma;
pub mod joints;
pub mod line;
pub mod pick_up;
pub mod plan;
pub mod quantile;
pub mod return_floor;
pub mod round_robin;
pub mod wheel_place;
pub mod wheel_shape;
pub mod workshop;

pub use build::{circuit, outline, sketch, sketch_like};
pub use plan::Circuit;
