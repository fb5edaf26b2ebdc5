//! What does a marble-move cost by what is in the circuit: kind of element, number of elements, blocking, jams, a watcher?

mod circuits;

use std::hint::black_box;

use circuits::{CIRCUIT_A, circuit_a, circuit_of, circuit_with, moves};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use marblewright::circuit::draw::nanos;
use marblewright::engine;
use marblewright::findings::trace::Trace;

const DRIVE: &str = "drive: { speed: 7.5 rpm }\ntending: clear after 1 min";
const TIME: &str = "time: { lognormal: { mean: 2 s, cv: 0.3 } }";

/// Marbles go round through four elements of one kind and a track; a wheel stands between tracks, which feed it.
fn by_kind(c: &mut Criterion) {
    let mut group = c.benchmark_group("kind");
    let kinds = [
        ("track", format!("track: {{ {TIME} }}"), 1),
        (
            "pocket wheel",
            "pocket-wheel: { pockets: 20, lift: 180 deg }".to_owned(),
            1,
        ),
        (
            "bowl",
            "bowl: { swirl: { lognormal: { mean: 2 s, cv: 0.4 } } }".to_owned(),
            2,
        ),
        (
            "flip gate",
            "flip-gate: { time: 0.1 s, throw: 0.1 s }".to_owned(),
            2,
        ),
        ("peg", "peg: { time: 0.1 s }".to_owned(), 2),
        ("weir", "weir: { time: 0.1 s }".to_owned(), 2),
        (
            "escapement",
            "escapement: { time: 0.5 s, places: 40 }".to_owned(),
            1,
        ),
        (
            "tipping cup",
            "tipping-cup: { gathers: 3, tip: 0.2 s, reset: 0.2 s }".to_owned(),
            1,
        ),
        ("return floor", format!("return-floor: {{ {TIME} }}"), 1),
    ];
    for (name, kind, ways) in kinds {
        let mut elements = Vec::new();
        for n in 0..4 {
            let next = if n == 3 {
                "a0".to_owned()
            } else {
                format!("a{}", n + 1)
            };
            let ways: Vec<String> = (0..ways).map(|way| format!("t{n}{way}")).collect();
            elements.push(format!("a{n}: {{ track: {{ {TIME} }}, to: e{n} }}"));
            elements.push(format!("e{n}: {{ {kind}, to: [{}] }}", ways.join(", ")));
            elements.extend(
                ways.iter()
                    .map(|way| format!("{way}: {{ track: {{ {TIME} }}, to: {next} }}")),
            );
        }
        moves(&mut group, name, &circuit_of(20, DRIVE, &elements), 10.0);
    }
    group.finish();
}

fn by_number(c: &mut Criterion) {
    let mut group = c.benchmark_group("number of elements");
    for count in [6, 12, 30, 60, 120] {
        let track = |n: usize| format!("t{n}: {{ track: {{ {TIME} }}, to: t{} }}", (n + 1) % count);
        let elements: Vec<String> = (0..count).map(track).collect();
        moves(
            &mut group,
            &format!("{count} tracks"),
            &circuit_of(40, "", &elements),
            10.0,
        );
    }
    group.finish();
}

fn by_trouble(c: &mut Criterion) {
    let mut group = c.benchmark_group("trouble");
    let tight = |room: u32| {
        let track = |n: usize| {
            format!(
                "t{n}: {{ track: {{ {TIME}, places: {room} }}, to: t{} }}",
                (n + 1) % 8
            )
        };
        circuit_of(24, "", &(0..8).map(track).collect::<Vec<_>>())
    };
    moves(&mut group, "free", &tight(40), 10.0);
    moves(&mut group, "blocked", &tight(4), 10.0);
    let jams = [
        (
            "circuit.floor.arch",
            "{ chance: 0.01, clears: { fixed: 3 s } }".to_owned(),
        ),
        ("tending", "clear after 1 min".to_owned()),
    ];
    moves(
        &mut group,
        "circuit-a with jams",
        &circuit_with(CIRCUIT_A, &jams),
        24.0,
    );
    group.finish();
}

fn watched(c: &mut Criterion) {
    let mut group = c.benchmark_group("watcher");
    let (circuit, horizon) = (circuit_a(40), nanos(3600.0));
    group.throughput(Throughput::Elements(
        engine::simulate(&circuit, 1, 0, horizon, &mut ()).moves,
    ));
    group.bench_function("circuit-a, a full trace", |b| {
        b.iter(|| {
            let mut trace = Trace::default();
            black_box(engine::simulate(&circuit, 1, 0, horizon, &mut trace));
            black_box(trace)
        });
    });
    group.finish();
}

criterion_group!(benches, by_kind, by_number, by_trouble, watched);
criterion_main!(benches);
