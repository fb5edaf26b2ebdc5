//! Warnings on standard error: what a maker would regret of a machine that is sound.

use std::io::Write;

use super::args::WarningArgs;
use super::diagnostics;
use super::source::Source;
use crate::findings::warnings::{Warned, warnings};
use crate::machine::allow::Warning;
use crate::machine::{self, Machine, Place};

/// The warnings that neither the file nor the command line allows, each with its place.
pub fn of(source: &Source, machine: &Machine, args: &WarningArgs) -> Vec<(Warned, Option<Place>)> {
    let mut machine = machine.clone();
    for code in &args.allow {
        machine.allow.extend(Warning::with_code(code));
    }
    let mut all = Vec::new();
    for warned in warnings(&machine, args.units.system(machine.units)) {
        let place = machine::place(&source.text, &source.settings, &warned.key);
        all.push((warned, place));
    }
    all
}

/// All of them with their lines of the file, as `check` tells them.
pub fn print(source: &Source, warnings: &[(Warned, Option<Place>)]) {
    if !warnings.is_empty() {
        // Whoever closed standard error wants no warnings.
        let _ = writeln!(
            super::print::err(),
            "{}",
            diagnostics::render_warnings(source.page(), warnings)
        );
    }
}

/// A line each, as they stand before an answer.
pub fn print_lines(source: &Source, machine: &Machine, args: &WarningArgs) {
    for (warned, _) in of(source, machine, args) {
        let Warned {
            warning,
            what,
            help,
            ..
        } = warned;
        let _ = writeln!(
            super::print::err(),
            "warning: {what} [{}]\n  help: {help}",
            warning.code()
        );
    }
}
