//! A draw belongs to its element, its purpose and the marble's number there: what happens elsewhere, or earlier or later,
//! does not change it.
//!
//! What that is worth in a comparison of designs:
//! ```text
//! cargo test --release --test engine random_streams:: -- --ignored --nocapture
//! ```

use std::collections::BTreeMap;

use crate::support;
use crate::support::random_circuits::{genes, text};
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::{Nanos, nanos};
use marblewright::circuit::plan::Cause;
use marblewright::engine;
use marblewright::engine::streams::{DrawId, Purpose};
use marblewright::engine::watch::{TraceEvent, TraceRecord, Watcher};
use marblewright::stats::describe::{mean, sd};
use marblewright::study::repeat::{Study, repeat};
use proptest::prelude::*;

const DEMO: &str = include_str!("../../scenarios/lantern-walk.yaml");
const ONE_MORE_TRACK: &str = include_str!("../machines/one-more-track-changes-no-draw.yaml");

/// All draws of a run by the name of the element; each marble's number is counted once more, from what moved.
struct Draws<'c> {
    circuit: &'c Circuit,
    drawn: BTreeMap<(String, DrawId), u64>,
    entries: Vec<u64>,
    /// By marble: its number at the element it is in, and for how many turns a wheel has carried it over.
    marbles: Vec<(u64, u32)>,
    /// By element: marbles inside, by number.
    inside: Vec<BTreeMap<u64, u32>>,
    /// By element: pockets that have passed the marble at its pick-up.
    passed: Vec<u32>,
}

impl<'c> Draws<'c> {
    fn of(circuit: &'c Circuit, seed: u64, time: Nanos) -> Self {
        let elements = circuit.nodes.len();
        let mut draws = Draws {
            circuit,
            drawn: BTreeMap::new(),
            entries: vec![0; elements],
            marbles: vec![(0, 0); circuit.marbles as usize],
            inside: vec![BTreeMap::new(); elements],
            passed: vec![0; elements],
        };
        engine::simulate(circuit, seed, 0, time, &mut draws);
        draws
    }

    fn leave(&mut self, marble: u32, node: usize) {
        if let Some(inside) = self.inside.get_mut(node) {
            assert_eq!(
                inside.remove(&self.marbles[marble as usize].0),
                Some(marble)
            );
        }
    }

    /// How many draws two runs both made; all of them must be the same.
    fn agreeing(&self, other: &Self) -> usize {
        let both = self
            .drawn
            .iter()
            .filter_map(|(at, number)| Some((at, number, other.drawn.get(at)?)));
        both.map(|(at, one, two)| assert_eq!(one, two, "{at:?}"))
            .count()
    }
}

impl Watcher for Draws<'_> {
    fn see(&mut self, seen: TraceRecord) {
        match seen.what {
            TraceEvent::Moved { marble, from, to } => {
                self.leave(marble, from);
                self.marbles[marble as usize] = (self.entries[to], 0);
                self.inside[to].insert(self.entries[to], marble);
                self.entries[to] += 1;
                self.passed[to] = 0;
            }
            TraceEvent::Spilled { marble, from, .. } => self.leave(marble, from),
            TraceEvent::CarriedOver { marble, .. } => self.marbles[marble as usize].1 += 1,
            TraceEvent::Missed { wheel }
            | TraceEvent::Blocked {
                node: wheel,
                cause: Cause::Pinch,
            } => self.passed[wheel] += 1,
            _ => {}
        }
    }

    fn scheduled(&mut self, _: u64, _: u64) {}

    fn waiting(&mut self, _: Nanos, _: usize, _: u32) {}

    fn drew(&mut self, node: usize, drawn: DrawId, number: u64) {
        let attempt = match drawn.purpose {
            // The marble at the pick-up will be the next to enter.
            Purpose::Take => {
                assert_eq!(drawn.number, self.entries[node]);
                self.passed[node]
            }
            // A marble sets off before it is told that it moved.
            Purpose::Travel => 0,
            Purpose::Release => self.marbles[self.inside[node][&drawn.number] as usize].1,
            _ => {
                assert!(
                    self.inside[node].contains_key(&drawn.number),
                    "{drawn:?} is of no marble inside"
                );
                0
            }
        };
        assert_eq!(drawn.attempt, attempt, "{drawn:?} at {node}");
        let at = (self.circuit.nodes[node].name.clone(), drawn);
        let again = self.drawn.insert(at, number);
        assert!(again.is_none_or(|again| again == number));
    }
}

#[test]
fn one_more_track_changes_no_draw() {
    let [demo, longer] = [DEMO, ONE_MORE_TRACK].map(support::circuit_of);
    for seed in [3, 4] {
        let [a, b] = [&demo, &longer].map(|circuit| Draws::of(circuit, seed, nanos(3600.0)));
        let agreeing = a.agreeing(&b);
        // Marbles come home later and meet others: one makes fewer at the end, and pockets that miss once more make more, while
        // those that are sure to take make none. Nearly all are made by both (95 %), so that much was compared.
        assert!(
            agreeing * 100 > 90 * a.drawn.len().min(b.drawn.len()),
            "{agreeing} of {} and {}",
            a.drawn.len(),
            b.drawn.len()
        );
    }
}

/// The same seen from outside: which way the k-th marble into the bowl took.
#[test]
fn one_more_track_sends_the_kth_marble_in_the_bowl_the_same_way() {
    let ways =
        [DEMO, ONE_MORE_TRACK].map(|text| ways_by_entry(&support::circuit_of(text), "bowl", 3));
    let both = ways[0].len().min(ways[1].len());
    assert!(both > 500, "{both} marbles");
    let differ: Vec<usize> = (0..both).filter(|&k| ways[0][k] != ways[1][k]).collect();
    assert_eq!(differ, Vec::<usize>::new(), "of {both} marbles");
}

/// The names of the elements that marbles went on to from the element `name`, in the order in which they entered it.
fn ways_by_entry(circuit: &Circuit, name: &str, seed: u64) -> Vec<String> {
    let bowl = support::index(circuit, name);
    let mut trace = marblewright::findings::trace::Trace::default();
    engine::simulate(circuit, seed, 0, nanos(3600.0), &mut trace);
    let mut inside = BTreeMap::new();
    let mut ways = BTreeMap::new();
    let mut entries = 0;
    for seen in &trace.seen {
        let TraceEvent::Moved { marble, from, to } = seen.what else {
            continue;
        };
        if from == bowl
            && let Some(entry) = inside.remove(&marble)
        {
            ways.insert(entry, circuit.nodes[to].name.clone());
        }
        if to == bowl {
            inside.insert(marble, entries);
            entries += 1;
        }
    }
    // Those that were still inside at the end took no way yet.
    (0..entries)
        .map_while(|entry| ways.remove(&entry))
        .collect()
}

proptest! {
    /// One marble more moves everything in time.
    #[test]
    fn one_more_marble_changes_no_draw_of_any_circuit(genes in genes(12), seed in 0u64..1000) {
        let circuit = support::circuit_of(&text(&genes));
        let more = Circuit { marbles: circuit.marbles + 1, ..circuit.clone() };
        let [a, b] = [&circuit, &more].map(|circuit| Draws::of(circuit, seed, nanos(90.0)));
        let agreeing = a.agreeing(&b);
        prop_assert!(a.drawn.is_empty() || b.drawn.is_empty() || agreeing > 0);
    }
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let products: Vec<f64> = a.iter().zip(b).map(|(x, y)| x * y).collect();
    let [of_both, of_a, of_b] = [&products, a, b].map(|xs| mean(xs).expect("runs"));
    let n = a.len() as f64;
    (of_both - of_a * of_b) * n / (n - 1.0) / (sd(a).expect("a spread") * sd(b).expect("a spread"))
}

fn rates(circuit: &Circuit, seed: u64, pairs: u32, hours: f64) -> Vec<f64> {
    let runs = repeat(
        circuit,
        &Study {
            seed,
            horizon: nanos(hours * 3600.0),
        },
        pairs,
        || {},
    );
    runs.iter()
        .map(|run| run.throughput_per_min.expect("time has passed"))
        .collect()
}

/// Correlation of throughput on common random numbers, and the standard deviation of a difference on these and on
/// separate ones.
fn worth(one: &Circuit, two: &Circuit, pairs: u32, hours: f64) -> (f64, f64, f64) {
    let [a, b, apart] =
        [(one, 3), (two, 3), (two, 4)].map(|(circuit, seed)| rates(circuit, seed, pairs, hours));
    let spread =
        |b: &[f64]| sd(&a.iter().zip(b).map(|(x, y)| x - y).collect::<Vec<_>>()).expect("a spread");
    (correlation(&a, &b), spread(&b), spread(&apart))
}

fn with(text: &str, settings: &[(&str, &str)]) -> Circuit {
    marblewright::circuit::circuit(&support::machine(text, settings))
}

#[test]
#[ignore = "slow: the table of tests/EVIDENCE.md"]
fn what_common_random_numbers_are_worth() {
    let pairs = [
        ("the demo with one more track", with(ONE_MORE_TRACK, &[])),
        (
            "a bell track 80 mm longer",
            with(DEMO, &[("circuit.bell-track.track.segments", LONGER)]),
        ),
        (
            "other shares of the bowl, 2 2 2",
            with(DEMO, &[("circuit.bowl.bowl.shares", "[2, 2, 2]")]),
        ),
        ("one marble more", with(DEMO, &[("marbles", "35")])),
    ];
    println!(
        "| against the demo, 200 pairs of runs of | correlation | sd, common | sd, separate |"
    );
    println!("| --- | ---: | ---: | ---: |");
    for (name, other) in &pairs {
        for hours in [0.25, 2.0] {
            let (r, common, separate) = worth(&with(DEMO, &[]), other, 200, hours);
            println!("| {name}, {hours} h | {r:.2} | {common:.3} | {separate:.3} |");
        }
    }
}

const LONGER: &str = "[{ length: 400 mm, slope: 4 deg }, { corner: { fall: 30 mm, gap: 26 mm } }, { length: 320 mm, slope: 4 deg }, { corner: { fall: 30 mm, gap: 26 mm } }, { length: 300 mm, slope: 4 deg }]";
