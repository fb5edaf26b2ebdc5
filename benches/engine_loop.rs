//! What does a marble-move cost as marbles get more? Circuit A, beside the floor of one ChaCha8 draw and one heap push and
//! pop.

mod circuits;

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::time::Instant;

use circuits::{circuit_a, moves};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

fn engine_loop(c: &mut Criterion) {
    let mut group = c.benchmark_group("move");
    for (marbles, hours) in [(4u32, 24.0), (40, 24.0), (400, 2.4), (4000, 0.24)] {
        moves(
            &mut group,
            &format!("circuit-a, {marbles} marbles"),
            &circuit_a(marbles),
            hours,
        );
    }
    group.finish();
}

/// One ChaCha8 `u64` plus one pop and push of a heap of `size` 128-bit keys.
fn floor(c: &mut Criterion) {
    let mut group = c.benchmark_group("floor");
    group.throughput(Throughput::Elements(1));
    for size in [40u64, 400, 4000] {
        let mut stream = ChaCha8Rng::seed_from_u64(size);
        let mut heap: BinaryHeap<Reverse<u128>> = (0..size)
            .map(|n| Reverse(u128::from(stream.next_u64() >> 24) << 64 | u128::from(n)))
            .collect();
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
