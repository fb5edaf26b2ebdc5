//! Intervals, tests and estimates over `statrs`: what many runs allow one to say.
//!
//! Pure functions, one file a question. Three rules hold throughout:
//!
//! - a figure that does not exist is `None`, never zero: one run has a mean and no interval;
//! - nothing is skipped silently: a NaN or an infinity among the data makes the figure unknown;
//! - a `level` is a confidence level such as 0.95, between 0 and 1; outside it there is no interval.

pub mod compare;
pub mod describe;
pub mod estimate;
pub mod fit;
pub mod fit_test;
pub mod importance;
pub mod latin_hypercube;
pub mod law;
pub mod proportion;
pub mod quantile;
pub mod readings;
pub mod regression;
mod root;
pub mod sequential;
pub mod significance;
mod simplex;
pub mod simultaneous;
pub mod survival;
pub mod weighted;

pub use estimate::Estimate;
