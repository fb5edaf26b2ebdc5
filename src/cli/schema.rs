//! `schema`: the JSON Schema of the machine file.

use std::io::Write;

use super::Answer;
use super::failure::Failure;
use crate::machine::schema::schema;

/// Prints the schema; `scenarios/machine.schema.json` is a copy of what it prints.
pub fn print() -> Result<Answer, Failure> {
    writeln!(
        super::print::out(),
        "{}",
        serde_json::to_string_pretty(&schema()).unwrap_or_default()
    )?;
    Ok(Answer::Given)
}
