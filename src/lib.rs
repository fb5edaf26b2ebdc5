//! Discrete-event simulation of marbles going round a motor-driven wooden marble machine.
//!
//! The modules stand in one order, top to bottom, and import only downwards:
//! `cli`, `handbook`, `kinds`, `report` and `charts`, `study`, `sheet`, `findings` and `stats`, `engine`, `circuit`, `machine`,
//! `physics`, `contact` (a package of its own).
//!
//! All but `cli` are private, so that the compiler names what no command reaches. The feature `tests` opens them to the
//! tests, benches and fuzz targets, and to them alone.
//!
//! How the program is used, which command answers what and what a run does: the pages of `src/handbook`, which
//! `marblewright handbook` prints; `commands` says where each stands.

pub mod cli;

#[cfg(not(feature = "tests"))]
use marblewright_contact as contact;
#[cfg(feature = "tests")]
pub use marblewright_contact as contact;

#[cfg(not(feature = "tests"))]
mod charts;
#[cfg(not(feature = "tests"))]
mod circuit;
#[cfg(not(feature = "tests"))]
mod engine;
#[cfg(not(feature = "tests"))]
mod findings;
#[cfg(not(feature = "tests"))]
mod handbook;
#[cfg(not(feature = "tests"))]
mod kinds;
#[cfg(not(feature = "tests"))]
mod machine;
#[cfg(not(feature = "tests"))]
mod physics;
#[cfg(not(feature = "tests"))]
mod report;
#[cfg(not(feature = "tests"))]
mod sheet;
#[cfg(not(feature = "tests"))]
mod stats;
#[cfg(not(feature = "tests"))]
mod study;

#[cfg(feature = "tests")]
pub mod charts;
#[cfg(feature = "tests")]
pub mod circuit;
#[cfg(feature = "tests")]
pub mod engine;
#[cfg(feature = "tests")]
pub mod findings;
#[cfg(feature = "tests")]
pub mod handbook;
#[cfg(feature = "tests")]
pub mod kinds;
#[cfg(feature = "tests")]
pub mod machine;
#[cfg(feature = "tests")]
pub mod physics;
#[cfg(feature = "tests")]
pub mod report;
#[cfg(feature = "tests")]
pub mod sheet;
#[cfg(feature = "tests")]
pub mod stats;
#[cfg(feature = "tests")]
pub mod study;
