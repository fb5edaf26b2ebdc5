//! What holds for every circuit: random ones of all element kinds are thrown at the engine.

use std::collections::{BTreeMap, BTreeSet};

use crate::support;
use crate::support::ledger::Ledger;
use crate::support::random_circuits::{Genes, genes, text};
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::{Nanos, nanos};
use marblewright::circuit::plan::Cause;
use marblewright::engine::watch::TraceEvent;
use marblewright::engine::{self, Outcome, RunResult};
use marblewright::findings::timeline::Timekeeper;
use marblewright::findings::trace::Trace;
use proptest::prelude::*;

const HORIZON_S: f64 = 90.0;
/// A run of the random circuits takes far fewer events than this; one that takes more goes round at one instant.
const MOST_EVENTS: u64 = 3_000_000;

/// Runs `genes` with every check on.
fn hold(genes: &Genes, seed: u64) -> Result<(), TestCaseError> {
    let text = text(genes);
    let circuit = support::circuit_of(&text);
    let horizon = nanos(HORIZON_S);
    let mut ledger = Ledger::new(&circuit, MOST_EVENTS);
    let result = engine::simulate(&circuit, seed, 0, horizon, &mut ledger);
    ledger.check(&result);
    every_event_has_a_cause(&ledger);
    events_are_few(&result, ledger.scheduled);
    jams_are_booked_where_they_happen(&circuit, &result, &ledger.trace);
    the_end_is_what_it_says(&result, &ledger);
    pockets_add_up(&result);
    prop_assert_eq!(
        &result,
        &engine::simulate(&circuit, seed, 0, horizon, &mut ()),
        "unwatched"
    );
    watchers_change_nothing(&circuit, seed, &result, &ledger.trace);
    a_shorter_run_is_the_beginning(&circuit, seed, &ledger.trace);
    Ok(())
}

/// The trace's nearest cause of every event in whose course anything was seen is found by going back cause by cause.
fn every_event_has_a_cause(ledger: &Ledger) {
    let found = ledger.trace.seen_causes();
    assert_eq!(
        found.len() as u64,
        ledger.scheduled + 1,
        "every event is traced"
    );
    assert_eq!(found[0], None, "the pouring in");
    let seen: BTreeSet<u64> = ledger
        .trace
        .seen
        .iter()
        .map(|seen| seen.event)
        .chain([0])
        .collect();
    for (n, cause) in found.into_iter().enumerate().skip(1) {
        let mut back = ledger.causes[n - 1];
        while !seen.contains(&back) {
            back = ledger.causes[back as usize - 1];
        }
        assert_eq!(cause, Some(back), "event {n}");
    }
}

/// At most a few events a move, a refusal, a wedged marble and a passing pocket.
fn events_are_few(result: &RunResult, scheduled: u64) {
    let sum = |of: fn(&engine::statistics::ElementResult) -> u64| {
        result.elements.iter().map(of).sum::<u64>()
    };
    let passed = sum(|element| element.pockets.map_or(0, |pockets| pockets.passed));
    let stops: u64 = sum(|element| element.blockages) + result.jam_count();
    let wheels = sum(|element| u64::from(element.pockets.is_some()));
    let bound = 16
        + 4 * (result.moves + sum(|element| element.refused))
        + 2 * passed
        + 2 * stops * (1 + wheels);
    assert!(
        scheduled <= bound,
        "{scheduled} events, where {bound} would do"
    );
}

fn jams_are_booked_where_they_happen(circuit: &Circuit, result: &RunResult, trace: &Trace) {
    let mut seen: BTreeMap<(usize, Cause), Vec<Nanos>> = BTreeMap::new();
    for one in &trace.seen {
        if let TraceEvent::Blocked { node, cause } = one.what {
            seen.entry((node, cause)).or_default().push(one.time);
        }
    }
    // What comes free by itself is no jam.
    seen.retain(|&(node, cause), _| {
        circuit.nodes[node]
            .blockage
            .as_ref()
            .is_none_or(|blockage| blockage.cause != cause || blockage.clears.is_none())
    });
    let mut booked: Vec<_> = result
        .jams
        .iter()
        .map(|jam| ((jam.node, jam.cause), jam.first, jam.count))
        .collect();
    booked.sort();
    assert_eq!(
        booked,
        seen.iter()
            .map(|(&at, times)| (at, times[0], times.len() as u64))
            .collect::<Vec<_>>()
    );
}

fn the_end_is_what_it_says(result: &RunResult, ledger: &Ledger) {
    match result.outcome {
        Outcome::Ran => assert_eq!(result.end, nanos(HORIZON_S)),
        Outcome::RanDry => {
            let waits = ledger.refused.iter().position(|&refused| refused);
            assert_eq!(
                waits, None,
                "a marble that waits for a place is no sign of a dry machine"
            );
        }
        Outcome::Jammed => assert!(result.jam_count() > 0),
        Outcome::Gridlocked => {
            let carried = result
                .elements
                .iter()
                .any(|element| element.pockets.is_some_and(|p| p.carried_over > 0));
            assert!(carried || ledger.accounts.iter().any(|account| account.waiting > 0));
        }
    }
}

/// Every pocket that carries a marble on took it as it passed, or had it from the turn before.
fn pockets_add_up(result: &RunResult) {
    for (element, pockets) in result
        .elements
        .iter()
        .filter_map(|element| Some((element, element.pockets?)))
    {
        assert!(
            (element.entries..=element.entries + pockets.carried_over).contains(&pockets.carrying),
            "{pockets:?}"
        );
        assert!(
            pockets.carrying + pockets.longest_empty <= pockets.passed,
            "{pockets:?}"
        );
        assert!(
            pockets.carrying + pockets.missed + pockets.pinched <= pockets.passed,
            "{pockets:?}"
        );
    }
}

fn watchers_change_nothing(circuit: &Circuit, seed: u64, result: &RunResult, seen: &Trace) {
    let mut trace = Trace::default();
    assert_eq!(
        *result,
        engine::simulate(circuit, seed, 0, nanos(HORIZON_S), &mut trace)
    );
    assert_eq!(trace, *seen);
    let mut keeper = Timekeeper::new(circuit, nanos(HORIZON_S), 30);
    assert_eq!(
        *result,
        engine::simulate(circuit, seed, 0, nanos(HORIZON_S), &mut keeper)
    );
    keeps_the_same_account(keeper, result);
}

/// The course over time adds up to the sums of the run.
fn keeps_the_same_account(keeper: Timekeeper, result: &RunResult) {
    let timeline = keeper.finish(result.end);
    for (course, element) in timeline.elements.iter().zip(&result.elements) {
        let held = integral(&course.held, timeline.step_s, timeline.end_s);
        let waiting = integral(&course.waiting, timeline.step_s, timeline.end_s);
        assert!(
            (held - element.held_time as f64 * 1e-9).abs() <= 1e-6 * (1.0 + held),
            "{held} marble-seconds inside"
        );
        assert!((waiting - element.waited_time() as f64 * 1e-9).abs() <= 1e-6 * (1.0 + waiting));
    }
    assert_eq!(
        u64::from(*timeline.spilled.last().expect("steps")),
        result.spills()
    );
}

fn integral(means: &[Option<f64>], step_s: f64, end_s: f64) -> f64 {
    let lasted = |k: usize| (end_s - k as f64 * step_s).clamp(0.0, step_s);
    means
        .iter()
        .enumerate()
        .filter_map(|(k, mean)| Some((*mean)? * lasted(k)))
        .sum()
}

fn a_shorter_run_is_the_beginning(circuit: &Circuit, seed: u64, whole: &Trace) {
    let half = nanos(HORIZON_S / 2.0);
    let mut trace = Trace::default();
    engine::simulate(circuit, seed, 0, half, &mut trace);
    let beginning: Vec<_> = whole
        .seen
        .iter()
        .take_while(|seen| seen.time <= half)
        .copied()
        .collect();
    assert_eq!(trace.seen, beginning);
}

/// 400 circuits, or as many more as PROPTEST_CASES says.
fn settings() -> ProptestConfig {
    let usual = ProptestConfig::default();
    ProptestConfig {
        cases: usual.cases.max(400),
        failure_persistence: None,
        max_shrink_iters: 20_000,
        ..usual
    }
}

proptest! {
    #![proptest_config(settings())]

    #[test]
    fn the_engine_keeps_its_account_on_any_circuit(genes in genes(14), seed in 0u64..4) {
        hold(&genes, seed)?;
    }

    #[test]
    fn and_on_small_tight_ones(genes in genes(4), seed in 0u64..4) {
        hold(&genes, seed)?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: settings().cases / 10, ..settings() })]

    #[test]
    fn and_on_large_ones(genes in genes(60), seed in 0u64..4) {
        hold(&genes, seed)?;
    }
}
