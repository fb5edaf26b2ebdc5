//! A track or floor fed at random: the number on it is Poisson, whatever the time law (M/G/infinity).
//!
//! Source: L. Takacs, Introduction to the Theory of Queues (1962), on the infinite server; mean 2.5 gives .082085 .205212
//! .256516 .213763 .133602 .066801 for 0 to 5 on it.

use crate::support::steady::Joint;
use crate::support::{circuit, sampled};
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::{Nanos, nanos};
use marblewright::engine;
use marblewright::engine::watch::{TraceEvent, TraceRecord, Watcher};

/// Time with so many marbles in element 1, from a start on.
struct Occupancy {
    from: Nanos,
    held: usize,
    since: Nanos,
    time: [Nanos; 64],
}

impl Occupancy {
    fn note(&mut self, now: Nanos) {
        let (since, now) = (self.since.max(self.from), now.max(self.from));
        self.time[self.held] += now - since;
        self.since = now;
    }
}

impl Watcher for Occupancy {
    fn see(&mut self, seen: TraceRecord) {
        let TraceEvent::Moved { from, to, .. } = seen.what else {
            return;
        };
        if from == 1 || to == 1 {
            self.note(seen.time);
            self.held = if to == 1 {
                self.held + 1
            } else {
                self.held - 1
            };
        }
    }

    fn scheduled(&mut self, _: u64, _: u64) {}

    fn waiting(&mut self, _: Nanos, _: usize, _: u32) {}
}

/// Shares of the time with 0 to 5 marbles in element 1.
fn shares(circuit: &Circuit, run: u64) -> [f64; 6] {
    let (from, end) = (nanos(100.0), nanos(400_100.0));
    let mut watch = Occupancy {
        from,
        held: 0,
        since: 0,
        time: [0; 64],
    };
    engine::simulate(circuit, 6, run, end, &mut watch);
    watch.note(end);
    std::array::from_fn(|k| watch.time[k] as f64 / (end - from) as f64)
}

#[test]
fn the_number_on_the_way_is_poisson_whatever_the_law() {
    let poisson = [
        0.082084999,
        0.205212497,
        0.256515621,
        0.213763017,
        0.133601886,
        0.066800943,
    ];
    let mut joint = Joint::default();
    let ways = [
        "track: { time: 2.5 s }",
        "bowl: { swirl: { lognormal: { mean: 2.5 s, cv: 1.5 } }, room: unlimited }",
        "return-floor: { time: { exponential: { mean: 2.5 s } }, room: unlimited }",
        "return-floor: { time: { uniform: { low: 0 s, high: 5 s } }, room: unlimited }",
        "return-floor: { time: { samples: [0.5 s, 1.5 s, 5.5 s] }, room: unlimited }",
    ];
    for way in &ways[..sampled(2, ways.len())] {
        // Forty marbles keep the gate busy: it lets one go every second on average, at random.
        let circuit = circuit(
            40,
            &format!(
                "gate: {{ escapement: {{ time: {{ exponential: {{ mean: 1 s }} }} }}, to: way }}\nway: {{ {way}, to: gate }}"
            ),
        );
        let runs: Vec<[f64; 6]> = (0..12).map(|run| shares(&circuit, run)).collect();
        for (k, &theory) in poisson.iter().enumerate() {
            joint.add(
                format!("{way}: {k} on it"),
                runs.iter().map(|run| run[k]).collect(),
                theory,
            );
        }
    }
    joint.check(0.02);
}
