//! What does a close look at a wheel's place cost: nanoseconds a sphere and step, and for the whole look.
//!
//! Prints, for each place, spheres times steps and pockets of one look; criterion's throughput is per sphere and step.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use marblewright::contact::passes::follow;
use marblewright::contact::pick_up_chances::loops;
use marblewright::contact::place::{Fineness, WheelPlace};

#[path = "../tests/contact/rig.rs"]
mod rig;

/// The rig with 20 pockets; a wall cut back by some diameters.
fn wheel(rpm: f64, cut_back: f64) -> WheelPlace {
    let mut place = rig::rig(rpm);
    place.wheel.pockets = 20;
    rig::cut(place, cut_back)
}

fn looks(c: &mut Criterion) {
    let mut group = c.benchmark_group("look at a wheel");
    group.sample_size(10);
    for (name, rpm, cut_back) in [
        ("3 rpm", 3.0, 0.0),
        ("5 rpm", 5.0, 0.0),
        ("8 rpm, wall cut back", 8.0, 1.5),
    ] {
        let place = wheel(rpm, cut_back);
        let look = || {
            let seen = loops(1, 1, 48)
                .into_iter()
                .filter_map(|task| follow(&place, task, Fineness::FINE).ok());
            seen.fold((0, 0), |sum, seen| {
                (sum.0 + seen.sphere_steps, sum.1 + seen.passes.len())
            })
        };
        let (sphere_steps, pockets) = look();
        println!("{name}: {sphere_steps} spheres times steps, {pockets} pockets");
        group.throughput(Throughput::Elements(sphere_steps));
        group.bench_function(name, |b| b.iter(look));
    }
    group.finish();
}

criterion_group!(benches, looks);
criterion_main!(benches);
