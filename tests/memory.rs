//! A run's memory: independent of the hours run, and small.

use marblewright::circuit::draw::nanos;
use marblewright::circuit::{self, Circuit};
use marblewright::engine;
use marblewright::machine::{self, Setting};
use peak_alloc::PeakAlloc;

#[global_allocator]
static HEAP: PeakAlloc = PeakAlloc;

const MARBLES: u32 = 100;

fn scenario(text: &str) -> Circuit {
    // So many marbles jam now and then, which would end the run.
    let settings = [("marbles", MARBLES.to_string()), ("tending", "clear after 1 min".to_owned())];
    let settings = settings.map(|(key, value)| Setting { key: key.to_owned(), value });
    circuit::circuit(&machine::read(text, &settings).expect("a sound machine"))
}

/// Most bytes that one run holds at once, its result included.
fn heap_of_a_run(circuit: &Circuit, hours: f64) -> usize {
    let before = HEAP.current_usage();
    HEAP.reset_peak_usage();
    let result = engine::simulate(circuit, 1, 0, nanos(hours * 3600.0), &mut ());
    assert_eq!(result.outcome, engine::Outcome::Ran);
    HEAP.peak_usage() - before
}

/// One test for all: the heap is the whole process's.
#[test]
fn a_run_takes_little_memory_however_long_it_is() {
    let scenarios = [
        ("circuit-a", include_str!("../scenarios/circuit-a.yaml")),
        ("lantern-walk", include_str!("../scenarios/lantern-walk.yaml")),
    ];
    for (name, text) in scenarios {
        let circuit = scenario(text);
        let [short, long] = [2.0, 20.0].map(|hours| heap_of_a_run(&circuit, hours));
        println!("{name}, {MARBLES} marbles: {short} bytes in 2 h, {long} bytes in 20 h");
        assert!(long < 100_000, "{name}: {long} bytes");
        // Queues grow to their longest, and longest queues still grow a little.
        assert!(long <= short + short / 4, "{name}: {short} bytes in 2 h, {long} bytes in 20 h");
    }
}
