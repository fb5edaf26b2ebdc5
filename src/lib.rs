//! Discrete-event simulation of marbles going round a motor-driven wooden marble machine.
//!
//! The modules stand in one order, top to bottom, and import only downwards:
//! `cli`, `report` and `charts`, `study`, `sheet`, `findings` and `stats`, `engine`, `circuit`, `machine`, `contact`, `physics`.

pub mod charts;
pub mod circuit;
pub mod cli;
pub mod contact;
pub mod engine;
pub mod findings;
pub mod machine;
pub mod physics;
pub mod report;
pub mod sheet;
pub mod stats;
pub mod study;
