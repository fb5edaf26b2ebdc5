//! Intervals, tests and fits: worked examples, published data, and how often intervals hold.

#[path = "../support/mod.rs"]
mod support;

mod compare;
mod coverage;
mod coverage_of_figures;
mod coverage_of_formulas;
mod diagnose;
mod estimate;
mod fit_reference;
mod proportion;
mod sequential;
mod studies;
mod survival;
mod tolerance;
