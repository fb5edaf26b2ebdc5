//! Writing the likeliest cause into the machine file, and nothing else.

use super::failure::Failure;
use super::rewrite::{Rewrite, same};
use super::source::Source;
use crate::machine::{self, Setting};
use crate::report::diagnose::DiagnosisReport;

/// Writes what the file says if the likeliest cause is true; returns what was changed, a line each.
///
/// # Errors
/// Where no key says it, or the file cannot be edited without harm. Then it is as it was.
pub fn write(source: &Source, report: &DiagnosisReport<'_>) -> Result<Vec<String>, Failure> {
    let changes = report.change();
    if changes.is_empty() {
        return Err(Failure::asked(
            format!("no key of the file says that {}", report.likeliest()),
            "mend it at the machine; without --write, the answer is printed",
        ));
    }
    let (mut new, mut settings, mut lines) = (Rewrite::new(source), Vec::new(), Vec::new());
    for change in &changes {
        let path: Vec<&str> = change.key.split('.').collect();
        new.put(&path, &change.value, &change.key)?;
        settings.push(Setting {
            key: change.key.clone(),
            value: change.value.clone(),
        });
        let old = machine::written(&source.text, &[], &change.key);
        let old = old.unwrap_or_else(|| "not written, or not a single value".to_owned());
        lines.push(format!(
            "{}: {} was {old}, is now {}",
            source.name, change.key, change.value
        ));
    }
    // The text has to be the machine that the same values laid over the file are.
    let now = new.reread()?;
    let meant = machine::read(&source.text, &settings);
    new.replace_if(meant.is_ok_and(|meant| same(&now, meant)))?;
    Ok(lines)
}
