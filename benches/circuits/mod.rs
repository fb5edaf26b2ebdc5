//! What the benches run: circuits made from text, and a run of one as so many moves.
#![allow(dead_code, reason = "each bench uses its own part")]

use std::hint::black_box;

use criterion::measurement::WallTime;
use criterion::{BenchmarkGroup, Throughput};
use marblewright::circuit::draw::nanos;
use marblewright::circuit::{self, Circuit};
use marblewright::machine::Setting;
use marblewright::{engine, machine};

pub const CIRCUIT_A: &str = include_str!("../../scenarios/circuit-a.yaml");
pub const DEMO: &str = include_str!("../../scenarios/lantern-walk.yaml");

/// The circuit of a machine file with settings laid over it.
pub fn circuit_with(text: &str, settings: &[(&str, String)]) -> Circuit {
    let settings: Vec<Setting> = settings
        .iter()
        .map(|(key, value)| Setting {
            key: (*key).to_owned(),
            value: value.clone(),
        })
        .collect();
    circuit::circuit(&machine::read(text, &settings).expect("a sound machine"))
}

/// Circuit A with its pockets, load and headway scaled to `marbles`; above 400, on a larger and faster wheel.
pub fn circuit_a(marbles: u32) -> Circuit {
    let scale = f64::from(marbles) / 40.0;
    let mut settings = vec![("marbles", marbles.to_string())];
    if marbles > 40 {
        let pockets = (20.0 * scale).min(400.0);
        let rpm = 7.5 * scale * 20.0 / pockets;
        settings.push(("circuit.wheel.pockets", pockets.to_string()));
        settings.push(("drive.speed", format!("{rpm} rpm")));
        // What the lift is shorter, the slide is longer.
        settings.push(("circuit.slide.time", format!("{} s", 4.8 - 30.0 / rpm)));
        for track in [
            "circuit.short-track.advance",
            "circuit.middle-track.advance",
            "circuit.long-track.advance",
        ] {
            settings.push((track, format!("{} s", 0.1 / scale)));
        }
    }
    circuit_with(CIRCUIT_A, &settings)
}

/// The circuit of elements written one a line; the first is the start.
pub fn circuit_of(marbles: u32, head: &str, elements: &[String]) -> Circuit {
    let start = elements[0].split(':').next().expect("a name");
    let lines: String = elements.iter().map(|line| format!("  {line}\n")).collect();
    let text = format!(
        "format: 1\nmarbles: {{ count: {marbles} }}\n{head}\nstart: {start}\ncircuit:\n{lines}"
    );
    circuit_with(&text, &[])
}

/// Times runs of a circuit; criterion divides by their moves.
pub fn moves(group: &mut BenchmarkGroup<WallTime>, name: &str, circuit: &Circuit, hours: f64) {
    let horizon = nanos(hours * 3600.0);
    group.throughput(Throughput::Elements(
        engine::simulate(circuit, 1, 0, horizon, &mut ()).moves,
    ));
    let mut run = 0;
    group.bench_function(name, |b| {
        b.iter(|| {
            run += 1;
            black_box(engine::simulate(circuit, 1, run, horizon, &mut ()))
        });
    });
}
