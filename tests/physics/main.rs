//! Textbook mechanics, published cases and curves of a 3-D rigid-body engine.

#[path = "../support/mod.rs"]
mod support;

mod bowl;
mod bowl_swirl;
mod drive;
mod flight;
mod floor;
mod path;
mod pick_up;
mod release;
mod rolling;
