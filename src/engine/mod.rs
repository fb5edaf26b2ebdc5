//! The discrete-event engine: clock, event list, random streams, the run loop and its watchers.
//!
//! [`simulate`] is all that the rest of the program calls.

mod audit;
mod draws;
mod drive;
pub mod event;
mod gates;
mod gridlock;
mod hand;
mod lane;
pub mod laps;
mod node;
pub mod outcome;
mod places;
pub mod rest;
mod run;
pub mod streams;
pub mod tally;
pub mod tournament;
pub mod watch;
mod wheel;

pub use outcome::{Outcome, RunResult};
pub use run::simulate;
