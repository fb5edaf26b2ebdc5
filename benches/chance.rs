//! What does chance cost: setting up a stream, drawing from it, making a law ready, drawing a time?

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use marblewright::circuit::draw::{Draw, Shares};
use marblewright::engine::streams::stream;
use marblewright::machine::law::TimeLaw;
use rand_chacha::rand_core::Rng;

fn streams(c: &mut Criterion) {
    c.bench_function("a stream set up", |b| {
        b.iter(|| stream(black_box(1), 2, "start-ramp"))
    });
    let mut luck = stream(1, 2, "start-ramp");
    c.bench_function("a 64-bit number", |b| b.iter(|| luck.next_u64()));
    let shares = Shares::new(&[2.0, 2.0, 1.0], 3);
    c.bench_function("a way of three", |b| b.iter(|| shares.way(luck.next_u64())));
}

fn laws(c: &mut Criterion) {
    let laws = [
        ("fixed", TimeLaw::Fixed { time_s: 2.0 }),
        (
            "normal",
            TimeLaw::Normal {
                mean_s: 5.0,
                sd_s: 0.15,
            },
        ),
        (
            "lognormal",
            TimeLaw::Lognormal {
                mean_s: 2.0,
                sd_s: 0.8,
            },
        ),
        (
            "gamma",
            TimeLaw::Gamma {
                shape: 2.5,
                scale_s: 1.0,
            },
        ),
        (
            "samples",
            TimeLaw::Samples {
                times_s: (0..96).map(f64::from).collect(),
            },
        ),
    ];
    let mut luck = stream(1, 2, "floor");
    for (name, law) in laws {
        c.bench_function(&format!("{name}: a law made ready"), |b| {
            b.iter(|| Draw::new(black_box(&law)))
        });
        let ready = Draw::new(&law);
        c.bench_function(&format!("{name}: a time"), |b| {
            b.iter(|| ready.draw(|| luck.next_u64()))
        });
    }
}

criterion_group!(benches, streams, laws);
criterion_main!(benches);
