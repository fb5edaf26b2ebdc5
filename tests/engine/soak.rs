//! Soak: very many marble-moves over very many random circuits, and no marble lost.
//!
//! The engine audits itself at the end of every run in release builds. `SOAK_MOVES` says how many moves there shall be,
//! `RAYON_NUM_THREADS` on how many threads; circuit number n is the same at every call.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::time::Instant;

use crate::support;
use crate::support::ledger::Ledger;
use crate::support::random_circuits::{Gene, Genes, text};
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::{Nanos, nanos};
use marblewright::engine::{self, RunResult};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rayon::prelude::*;

/// Machine time after which is known how lively a circuit is, seconds.
const LOOK_S: f64 = 120.0;
/// Slowest circuits that are run until they made all the moves asked, moves a second: a wheel that turns without marbles
/// takes time and moves nothing.
const SLOWEST: f64 = 20.0;
/// Circuits between two looks at how many moves there were.
const BATCH: u64 = 256;
const MOST_ELEMENTS: u64 = 14;

/// One long run of random circuit `n`, with about as many moves as asked where the circuit lives so long.
fn soak(n: u64, moves: u64, run: impl Fn(&Circuit, Nanos) -> RunResult) -> u64 {
    let genes = genes(n);
    let circuit = support::circuit_of(&text(&genes));
    let tried = catch_unwind(AssertUnwindSafe(|| {
        let look = engine::simulate(&circuit, n, 0, nanos(LOOK_S), &mut ());
        nothing_is_lost(&circuit, &look);
        let pace = (look.moves as f64 / LOOK_S).max(SLOWEST);
        let long = run(&circuit, nanos(moves as f64 / pace));
        nothing_is_lost(&circuit, &long);
        look.moves + long.moves
    }));
    tried.unwrap_or_else(|panic| {
        eprintln!("circuit {n} with seed {n}:{genes:?}");
        resume_unwind(panic)
    })
}

fn genes(n: u64) -> Genes {
    let mut luck = ChaCha8Rng::seed_from_u64(n);
    let mut gene = || -> Gene { std::array::from_fn(|_| luck.next_u32() as u16) };
    let head = gene();
    Genes {
        head,
        elements: (0..=n % MOST_ELEMENTS).map(|_| gene()).collect(),
    }
}

fn nothing_is_lost(circuit: &Circuit, result: &RunResult) {
    let inside: u64 = result
        .elements
        .iter()
        .map(|element| element.entries - element.exits)
        .sum();
    let all = inside + result.spills() + u64::from(result.left_in_hand);
    assert_eq!(
        all,
        u64::from(circuit.marbles),
        "marbles inside, spilled and in the hand"
    );
    assert_eq!(
        result.moves,
        result
            .elements
            .iter()
            .map(|element| element.entries)
            .sum::<u64>()
    );
    for element in &result.elements {
        assert_eq!(
            element.waited.iter().sum::<Nanos>(),
            result.end,
            "all time is accounted for"
        );
        assert!(
            element.waited_time() <= element.held_time,
            "whoever waits is inside"
        );
    }
}

/// Circuits from 0 on until there were `wanted` moves.
fn soak_all(wanted: u64, each: u64, run: impl Fn(&Circuit, Nanos) -> RunResult + Sync) {
    let start = Instant::now();
    let (mut circuits, mut moves, mut text) = (0, 0, 0);
    while moves < wanted {
        moves += (circuits..circuits + BATCH)
            .into_par_iter()
            .map(|n| soak(n, each, &run))
            .sum::<u64>();
        circuits += BATCH;
        if moves * 20 / wanted > text || moves >= wanted {
            text = moves * 20 / wanted;
            println!(
                "{moves} moves over {circuits} random circuits, none lost, {:.0} s",
                start.elapsed().as_secs_f64()
            );
        }
    }
}

fn wanted(unless_told: u64) -> u64 {
    let text = std::env::var("SOAK_MOVES").ok();
    text.map_or(unless_told, |text| {
        text.parse::<f64>()
            .expect("SOAK_MOVES is a number, as in 1e9") as u64
    })
}

fn plain(circuit: &Circuit, horizon: Nanos) -> RunResult {
    engine::simulate(circuit, 0, 1, horizon, &mut ())
}

fn with_every_event_checked(circuit: &Circuit, horizon: Nanos) -> RunResult {
    let mut ledger = Ledger::new(circuit, u64::MAX / 8);
    let result = engine::simulate(circuit, 0, 1, horizon, &mut ledger);
    ledger.check(&result);
    result
}

#[test]
fn nothing_is_lost_in_a_hundred_thousand_moves() {
    soak_all(100_000, 2_000, plain);
}

#[test]
#[ignore = "most of an hour of one core"]
fn nothing_is_lost_in_ten_thousand_million_moves() {
    soak_all(wanted(10_000_000_000), 20_000_000, plain);
}

#[test]
#[ignore = "most of an hour of one core"]
fn nothing_is_lost_with_every_event_checked() {
    soak_all(wanted(1_000_000_000), 1_000_000, with_every_event_checked);
}
