//! Textbook mechanics, published cases and curves of a 3-D rigid-body engine.

#[path = "../support/mod.rs"]
mod support;

mod drive;
mod flight;
mod impact;
mod looping;
mod orbit;
mod path;
mod pick_up;
mod release;
mod rolling;
mod see_saw;
