//! A text as a table of stopwatch readings: problems with their places, or readings that can be fitted; and every law
//! that comes out can be written into a machine file.
#![no_main]

#[path = "../../support/sound.rs"]
mod sound;

use libfuzzer_sys::fuzz_target;
use marblewright::machine::{self, write_law};
use marblewright::stats::fit::{FITTED, fit};
use marblewright::stats::readings::Readings;
use marblewright::study::readings::{self, Table};
use marblewright::study::rolling::lever_arm;

/// Elements fitted: more would only make each try slow.
const ELEMENTS: usize = 3;

fuzz_target!(|text: &str| {
    match readings::read(text) {
        Err(problems) => sound::assert_sound(&problems, text, &[]),
        Ok(Table::Slopes(rolls)) => {
            lever_arm(&rolls, 0.008, None);
            lever_arm(&rolls, 0.008, Some(0.1));
        }
        Ok(Table::Elements(all)) => {
            for timed in all.iter().take(ELEMENTS).filter(|timed| timed.timed.len() + timed.over.len() < 50) {
                for error_s in [0.0, 0.2] {
                    try_all(&Readings { timed: timed.timed.clone(), over: timed.over.clone(), error_s });
                }
            }
        }
    }
});

fn try_all(readings: &Readings) {
    for fit in FITTED.into_iter().filter_map(|name| fit(name, readings)) {
        assert!(fit.log_likelihood.is_finite(), "{fit:?}");
        let law = write_law::law(&fit.law);
        let machine = format!(
            "format: 1\nmarbles: {{ count: 1 }}\nstart: a\ncircuit:\n  a: {{ escapement: {{ time: {law} }}, to: none }}\n"
        );
        if let Err(problems) = machine::read(&machine, &[]) {
            panic!("{law} comes from {readings:?}, and then {problems:?}");
        }
    }
}
