//! A text that is a sound machine file: every part of the program can take the machine. Slow, as sheets are.
#![no_main]

use libfuzzer_sys::fuzz_target;
use marblewright::circuit::draw::nanos;
use marblewright::findings::warnings::warnings;
use marblewright::machine::units::System;
use marblewright::sheet::{Units, sheet};
use marblewright::{circuit, engine, machine};

/// More would only make each try slow.
const MARBLES: u32 = 500;

fuzz_target!(|text: &str| {
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
