//! The circuit: every element as a queue-and-transit node, built from a machine.
//!
//! Nothing here schedules anything; the engine drives the nodes.

pub mod batch;
pub mod build;
pub mod carousel;
pub mod close_look;
pub mod crowd_plan;
pub mod draw;
pub mod drive;
pub mod gamma;
pub mod joints;
pub mod lift_speed;
pub mod looked_place;
pub mod marbles;
pub mod pick_up;
pub mod plan;
pub mod planned;
pub mod quantile;
pub mod round_robin;
pub mod trip;
pub mod wheel_place;
pub mod wheel_shape;
pub mod workshop;

pub use build::{
    circuit, glance, is_looked_at, looked_places, outline, rooms, sketch, sketch_wheels, with_looks,
};
pub use plan::Circuit;
