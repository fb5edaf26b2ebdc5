//! The discrete-event engine: clock, event list, random streams, the run loop and its watchers.
//!
//! [`simulate`] is all that the rest of the program calls.

mod arrival;
mod audit;
mod departure;
mod draws;
mod drive;
pub mod event;
pub mod event_list;
mod gates;
mod gridlock;
mod lane;
pub mod laps;
mod node;
pub mod outcome;
pub mod rest;
mod room;
mod run;
mod source;
mod splitters;
pub mod statistics;
pub mod streams;
pub mod watch;
mod wheel;

pub use outcome::{Outcome, RunResult};
pub use run::simulate;
