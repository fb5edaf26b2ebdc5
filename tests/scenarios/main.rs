//! What files hold: the scenarios and their golden results, bad files, the schema, the handbook, warnings.

#[path = "../support/mod.rs"]
mod support;

mod bad_files;
mod broken;
mod fuzz_machine;
mod handbook;
mod scenarios;
mod schema;
mod warnings;
mod works;
