//! What happens next: rules, closed forms, a circuit known from elsewhere, and circuits made at random.

#[path = "../support/mod.rs"]
mod support;

mod circuit;
mod circuit_a;
mod closed_forms;
mod closed_forms_gates;
mod closed_forms_gridlock;
mod closed_forms_lifts;
mod closed_forms_loops;
mod closed_forms_see_saws;
mod closed_forms_trips;
mod closed_forms_wheels;
mod crowds;
mod properties;
mod random_streams;
mod rules;
mod soak;
