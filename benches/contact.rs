//! What does a close look at a wheel's place cost: nanoseconds a sphere and step, and for the whole look.
//!
//! Prints, for each place, spheres times steps and pockets of one look; criterion's throughput is per sphere and step.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use marblewright::contact::chances::loops;
use marblewright::contact::law::Materials;
use marblewright::contact::passes::follow;
use marblewright::contact::place::*;
use marblewright::contact::pocket_wheel::{Drive, WheelShape};
use std::f64::consts::TAU;

const WOOD: Materials = Materials { friction: 0.35, restitution: 0.5, scatter: 0.1, rolling_lever_m: 4e-5 };

/// 20 pockets on a pitch radius of 120 mm, marbles of 14 mm, a ramp of 4 degrees; a wall cut back by some diameters.
fn wheel(rpm: f64, cut_back: f64) -> WheelPlace {
    let d = 0.014;
    let tilt_rad = 7f64.to_radians();
    let guide = if cut_back > 0.0 { Guide::From(0.575 * d + 2.0 * d) } else { Guide::FromWall };
    WheelPlace {
        marbles: Marbles {
            diameter_m: d,
            diameter_sd_m: 0.00015,
            density_kg_m3: 2500.0,
            on_wood: WOOD,
            on_guide: Materials { friction: 0.2, rolling_lever_m: 1e-5, ..WOOD },
            on_marbles: Materials { friction: 0.15, restitution: 0.85, scatter: 0.05, rolling_lever_m: 0.0 },
        },
        wheel: WheelShape { pitch_radius_m: 0.12, pockets: 20, bore_m: 1.3 * d, depth_m: d, tilt_rad },
        drive: Drive { speed_rad_s: rpm * TAU / 60.0, torque_n_m: 0.5, gain_n_m_s: 5.0, inertia_kg_m2: 0.01 },
        ramp: Ramp {
            slope_rad: 4f64.to_radians(),
            length_m: 20.0 * d,
            channel_m: 1.15 * d,
            half_floor_m: 0.03,
            gap_m: 0.001,
            end_height_m: 0.65 * d / libm::cos(tilt_rad) - d / 2.0,
            wall_height_m: 2.0 * d,
            ends: WallEnds::Upright,
            cut_back_m: cut_back * d,
            lid_m: Some(1.7 * d),
        },
        guide,
    }
}

fn looks(c: &mut Criterion) {
    let mut group = c.benchmark_group("look at a wheel");
    group.sample_size(10);
    for (name, rpm, cut_back) in [("3 rpm", 3.0, 0.0), ("5 rpm", 5.0, 0.0), ("8 rpm, wall cut back", 8.0, 1.5)] {
        let place = wheel(rpm, cut_back);
        let look = || {
            let seen = loops(1, 1, 48).into_iter().filter_map(|task| follow(&place, task, Fineness::FINE).ok());
            seen.fold((0, 0), |sum, seen| (sum.0 + seen.sphere_steps, sum.1 + seen.passes.len()))
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
