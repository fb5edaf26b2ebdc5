//! The engine held to queueing theory.

#[path = "../support/mod.rs"]
mod support;

mod blocking;
mod bounds;
mod mva;
mod occupancy;
mod repairman;
mod rings;
mod slotted;
