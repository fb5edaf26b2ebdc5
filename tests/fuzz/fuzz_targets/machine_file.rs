//! A text as a machine file: a machine, or problems with their places.
#![no_main]

#[path = "../../support/sound.rs"]
mod sound;

use libfuzzer_sys::fuzz_target;
use marblewright::machine;

fuzz_target!(|text: &str| {
    if let Err(problems) = machine::read(text, &[]) {
        sound::assert_sound(&problems, text, &[]);
    }
});
