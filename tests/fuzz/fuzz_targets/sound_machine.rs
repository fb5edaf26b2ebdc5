//! A text that is a sound machine file: every part of the program can take the machine.
#![no_main]

use libfuzzer_sys::fuzz_target;
use marblewright::circuit::close_look::{Keeper, keep_with};
use marblewright::circuit::draw::nanos;
use marblewright::contact::pick_up_chances::PickUpCounts;
use marblewright::findings::warnings::warnings;
use marblewright::machine::units::System;
use marblewright::sheet::{Units, sheet};
use marblewright::{circuit, engine, machine};

/// More would only make each try slow.
const MARBLES: u32 = 500;

/// Answers every close look at once, by numbers that hang on the place: following its marbles takes seconds.
struct Invented;

impl Keeper for Invented {
    fn find(&self, question: &str) -> Option<PickUpCounts> {
        let some: Vec<u32> = question.bytes().map(|byte| u32::from(byte) % 30).collect();
        let cells = (0..PickUpCounts::default().to_numbers().len() / 4).flat_map(|cell| {
            let at = |k: usize| some[(4 * cell + k) % some.len()];
            [30, at(0), at(1).min(30 - at(0)) / 10, at(2) / 10]
        });
        PickUpCounts::from_numbers(&cells.collect::<Vec<u32>>())
    }

    fn keep(&self, _question: &str, _counts: &PickUpCounts) {}

    fn begins(&self, _lines: u64) {}

    fn followed(&self) {}
}

fuzz_target!(|text: &str| {
    keep_with(Box::new(Invented));
    let Ok(machine) = machine::read(text, &[]) else { return };
    warnings(&machine, System::Inches);
    for section in sheet(&machine, Units::Both) {
        let odd = section.rows.iter().find(|row| row.value.contains("NaN") || row.value.contains("inf "));
        assert!(odd.is_none(), "{odd:?}");
    }
    let circuit = circuit::circuit(&machine);
    if circuit.marbles <= MARBLES {
        engine::simulate(&circuit, 1, 0, nanos(1.0), &mut ());
    }
});
