//! The engine loop: nanoseconds a marble-move on Circuit A, beside the floor of one ChaCha8 draw and one heap push and pop.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::hint::black_box;
use std::time::Instant;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use marblewright::circuit::draw::nanos;
use marblewright::circuit::{self, Circuit};
use marblewright::machine::Setting;
use marblewright::{engine, machine};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

const CIRCUIT_A: &str = include_str!("../scenarios/circuit-a.yaml");

/// Circuit A with its pockets, load and headway scaled to `marbles`.
fn circuit_a(marbles: u32) -> Circuit {
    let scale = f64::from(marbles) / 40.0;
    let set = |key: &str, value: String| Setting { key: key.to_owned(), value };
    let mut settings = vec![set("marbles", marbles.to_string())];
    if marbles > 40 {
        settings.push(set("circuit.wheel.pockets", format!("{}", 20.0 * scale)));
        for track in ["short-track", "middle-track", "long-track"] {
            settings.push(set(&format!("circuit.{track}.advance"), format!("{} s", 0.1 / scale)));
        }
    }
    circuit::circuit(&machine::read(CIRCUIT_A, &settings).expect("a sound scenario"))
}

fn engine_loop(c: &mut Criterion) {
    let mut group = c.benchmark_group("move");
    for (marbles, hours) in [(4u32, 24.0), (40, 24.0), (400, 2.4)] {
        let circuit = circuit_a(marbles);
        let horizon = nanos(hours * 3600.0);
        let moves = engine::simulate(&circuit, 1, 0, horizon, &mut ()).moves;
        group.throughput(Throughput::Elements(moves));
        group.bench_function(format!("circuit-a, {marbles} marbles"), |b| {
            let mut run = 0;
            b.iter(|| {
                run += 1;
                black_box(engine::simulate(&circuit, 1, run, horizon, &mut ()))
            });
        });
    }
    group.finish();
}

/// One ChaCha8 `u64` plus one pop and push of a heap of `size` 128-bit keys.
fn floor(c: &mut Criterion) {
    let mut group = c.benchmark_group("floor");
    group.throughput(Throughput::Elements(1));
    for size in [40u64, 400, 4000] {
        let mut stream = ChaCha8Rng::seed_from_u64(size);
        let mut heap: BinaryHeap<Reverse<u128>> =
            (0..size).map(|n| Reverse(u128::from(stream.next_u64() >> 24) << 64 | u128::from(n))).collect();
        group.bench_function(format!("draw, push and pop at {size}"), |b| {
            b.iter_custom(|rounds| {
                let start = Instant::now();
                for _ in 0..rounds {
                    if let Some(Reverse(key)) = heap.pop() {
                        heap.push(Reverse(key + (u128::from(stream.next_u64() >> 24) << 64)));
                    }
                }
                start.elapsed()
            });
        });
    }
    group.finish();
}

criterion_group!(benches, engine_loop, floor);
criterion_main!(benches);
