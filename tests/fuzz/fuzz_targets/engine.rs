//! Bytes as a random circuit: 24 for the head of the file, 24 for each element. All that the second account of a run
//! holds the engine to, and the engine's own checks at every event.
#![no_main]

#[path = "../../support/ledger.rs"]
mod ledger;
#[path = "../../support/random_circuits.rs"]
#[allow(dead_code, reason = "bytes stand in for its strategy")]
mod random_circuits;

use ledger::Ledger;
use libfuzzer_sys::fuzz_target;
use marblewright::circuit::draw::nanos;
use marblewright::{circuit, engine, machine};
use random_circuits::{Gene, Genes, text};

const HORIZON_S: f64 = 30.0;
const MOST_ELEMENTS: usize = 14;
const MOST_EVENTS: u64 = 3_000_000;

fuzz_target!(|bytes: &[u8]| {
    let mut all = bytes.chunks(24).map(gene);
    let (Some(head), Some(first)) = (all.next(), all.next()) else { return };
    let elements = [first].into_iter().chain(all).take(MOST_ELEMENTS).collect();
    let text = text(&Genes { head, elements });
    let circuit = circuit::circuit(&machine::read(&text, &[]).expect("every list of numbers gives a sound file"));
    let mut ledger = Ledger::new(&circuit, MOST_EVENTS);
    let result = engine::simulate(&circuit, 1, 0, nanos(HORIZON_S), &mut ledger);
    ledger.check(&result);
    assert_eq!(result, engine::simulate(&circuit, 1, 0, nanos(HORIZON_S), &mut ()), "unwatched");
});

/// Each byte is one number; zeros where there are none left.
fn gene(bytes: &[u8]) -> Gene {
    std::array::from_fn(|n| bytes.get(n).map_or(0, |byte| u16::from(*byte) * 257))
}
