//! A run's memory: independent of the hours run, and small.

use std::sync::Mutex;

use marblewright::circuit::draw::nanos;
use marblewright::circuit::{self, Circuit};
use marblewright::engine;
use marblewright::findings::sentences::FindingWriter;
use marblewright::findings::summary::LEVEL;
use marblewright::findings::workable::judge_all;
use marblewright::findings::{Runs, StudyScope, summarize};
use marblewright::machine::{self, Setting};
use marblewright::study::axis::Axis;
use marblewright::study::repeat::{Study, each};
use marblewright::study::window::Search;
use peak_alloc::PeakAlloc;

#[global_allocator]
static HEAP: PeakAlloc = PeakAlloc;

const MARBLES: u32 = 100;

fn scenario(text: &str) -> Circuit {
    // So many marbles jam now and then, which would end the run.
    let settings = [
        ("marbles", MARBLES.to_string()),
        ("tending", "clear after 1 min".to_owned()),
    ];
    let settings = settings.map(|(key, value)| Setting {
        key: key.to_owned(),
        value,
    });
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

/// One test at a time: the heap is the whole process's.
static TURN: Mutex<()> = Mutex::new(());

#[test]
fn a_run_takes_little_memory_however_long_it_is() {
    let _turn = TURN.lock().expect("no test has failed");
    let scenarios = [
        ("circuit-a", include_str!("../scenarios/circuit-a.yaml")),
        (
            "lantern-walk",
            include_str!("../scenarios/lantern-walk.yaml"),
        ),
    ];
    for (name, text) in scenarios {
        let circuit = scenario(text);
        let [short, long] = [2.0, 20.0].map(|hours| heap_of_a_run(&circuit, hours));
        println!("{name}, {MARBLES} marbles: {short} bytes in 2 h, {long} bytes in 20 h");
        assert!(long < 100_000, "{name}: {long} bytes");
        // Queues grow to their longest, and longest queues still grow a little.
        assert!(
            long <= short + short / 4,
            "{name}: {short} bytes in 2 h, {long} bytes in 20 h"
        );
    }
}

const RING: &str = "format: 1
marbles: { count: 3 }
drive: { speed: 60 rpm }
start: ramp
circuit:
  ramp: { ramp: { time: { exponential: { mean: 1 s } }, places: 4 }, to: wheel }
  wheel: { pocket-wheel: { pockets: 8, lift: 180 deg }, to: ramp }";

/// Most bytes held while so many short runs are made, summed up, judged and told.
fn heap_of_many(runs: u32) -> usize {
    let machine = machine::read(RING, &[]).expect("a sound machine");
    let circuit = circuit::circuit(&machine);
    let before = HEAP.current_usage();
    HEAP.reset_peak_usage();
    let mut kept = Runs::new(circuit.start);
    each(
        &circuit,
        &Study {
            seed: 1,
            horizon: nanos(3.0),
        },
        0..runs,
        |_| {},
        |run| kept.push(run),
    );
    let question = StudyScope {
        title: String::new(),
        rpm: Some(60.0),
        seed: 1,
        hours: 3.0 / 3600.0,
    };
    let summary = summarize(&question, &circuit, &kept);
    let said = FindingWriter {
        machine: &machine,
        circuit: &circuit,
        summary: &summary,
        runs: &kept,
        judgement: &judge_all(&circuit, &machine.workable, &kept, LEVEL),
    }
    .all();
    assert!(!said.is_empty() && !judge_all(&circuit, &machine.workable, &kept, 0.95).works());
    HEAP.peak_usage() - before
}

/// What is left to grow are the times to the first jam, sorted: two lists of 8 bytes and one of 16 a run, while they are summed
/// up. A million runs so stay under 50 MB.
#[test]
fn runs_take_little_memory_however_many_they_are() {
    let _turn = TURN.lock().expect("no test has failed");
    let [few, many] = [20_000, 200_000].map(heap_of_many);
    println!("{few} bytes of 20,000 runs, {many} bytes of 200,000");
    assert!(many < few + 180_000 * 40, "{few} {many}");
    assert!(many < 10_000_000, "{many}");
}

/// Most bytes held while a window is searched with so many short runs of each load, too short to show that none jams.
fn heap_of_a_search(runs: u32) -> usize {
    let setting = Setting {
        key: "workable.least-fill".to_owned(),
        value: "0".to_owned(),
    };
    let machine = machine::read(RING, &[setting]).expect("a sound machine");
    let circuit = circuit::circuit(&machine);
    let before = HEAP.current_usage();
    HEAP.reset_peak_usage();
    let search = Search {
        axis: Axis::loads(2..=3),
        runs,
        seed: 1,
        horizon: nanos(0.5),
        error: 0.05,
    };
    let window = search.window(&circuit, &machine.workable, |_| {}, || {});
    assert_eq!(
        window.runs,
        2 * u64::from(runs),
        "no load is settled before"
    );
    HEAP.peak_usage() - before
}

#[test]
fn a_search_takes_little_memory_however_many_runs_it_makes() {
    let _turn = TURN.lock().expect("no test has failed");
    let [few, many] = [15_000, 60_000].map(heap_of_a_search);
    println!("{few} bytes of a search of 30,000 runs, {many} bytes of 120,000");
    assert!(
        many < few + 90_000 * 40 && many < 20_000_000,
        "{few} {many}"
    );
}
