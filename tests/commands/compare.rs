//! Designs on the same luck: splitters of which theory knows what they do, and what shared luck saves.

use crate::support::interval::contains;
use crate::support::legible;
use crate::support::{self, circuit};
use marblewright::charts;
use marblewright::charts::canvas::Format;
use marblewright::circuit::draw::nanos;
use marblewright::stats::describe::{mean, sd, variance};
use marblewright::study::compare::{Comparison, Design, DesignRuns, compare, run_all};
use marblewright::study::repeat::Study;

const HOURS: f64 = 0.1;

/// Marbles come every 0.4 s from an always-fed wheel and are shared between two unlike tracks.
fn design(name: &str, splitter: &str) -> Design {
    let elements = format!(
        "ramp: {{ ramp: {{ time: 0 s, places: unlimited }}, to: wheel }}
         wheel: {{ pocket-wheel: {{ pockets: 20, lift: 180 deg }}, to: slide }}
         slide: {{ slide: {{ time: 0.8 s }}, to: split }}
         split: {{ {splitter}, to: [left, right] }}
         left: {{ track: {{ time: {{ normal: {{ mean: 5 s, cv: 0.03 }} }} }}, to: floor }}
         right: {{ track: {{ time: {{ normal: {{ mean: 9 s, cv: 0.03 }} }} }}, to: floor }}
         floor: {{ return-floor: {{ time: {{ uniform: {{ low: 1 s, high: 4 s }} }} }}, to: ramp }}"
    );
    Design {
        name: name.to_owned(),
        circuit: circuit(60, &elements),
        workable: support::workable(),
    }
}

fn all_four() -> Vec<Design> {
    vec![
        design(
            "bowl",
            "bowl: { swirl: { lognormal: { mean: 2 s, cv: 0.4 } } }",
        ),
        design("flip-gate", "flip-gate: { time: 0.05 s, throw: 0.1 s }"),
        design("peg", "peg: { time: 0.05 s }"),
        design("weir", "weir: { time: 0.05 s }"),
    ]
}

fn runs_of(designs: &[Design], seed: u64, runs: u32) -> Vec<DesignRuns> {
    run_all(
        designs,
        &Study {
            seed,
            horizon: nanos(HOURS * 3600.0),
        },
        runs,
        || {},
    )
}

fn compared(designs: &[Design], runs: u32) -> Comparison {
    compare(designs, &runs_of(designs, 1, runs), HOURS * 3600.0, 0.95)
}

fn longest(design: &DesignRuns) -> Vec<f64> {
    design
        .splits
        .iter()
        .map(|splits| splits[0].longest as f64)
        .collect()
}

/// Marbles shared in a run: the same in every run, since the wheel is always fed.
fn marbles(design: &DesignRuns) -> u64 {
    let counts: Vec<u64> = design
        .splits
        .iter()
        .map(|splits| splits[0].counts.iter().sum())
        .collect();
    assert!(counts.iter().all(|&n| n == counts[0]), "{counts:?}");
    counts[0]
}

#[test]
fn splitters_rank_as_theory_says() {
    let designs = all_four();
    let comparison = compared(&designs, 40);
    let figure = |name: &str| {
        comparison
            .figures
            .iter()
            .find(|f| f.name == name)
            .expect(name)
    };
    for name in [
        "split: longest run on one way",
        "split: busiest less quietest way",
    ] {
        let figure = figure(name);
        assert_eq!((figure.winner, figure.loser), (Some(1), Some(3)), "{name}");
        // Bowl and peg share by the same chances: nothing may tell them apart.
        let bowl_peg = figure
            .pairs
            .iter()
            .find(|pair| (pair.first, pair.second) == (0, 2))
            .expect("the pair");
        assert!(!bowl_peg.distinct, "{name}");
    }
    let weir = &comparison.splitters[0].ways[3];
    assert_eq!(weir[0].1.value, Some(1.0));
    assert_eq!(comparison.differences(), comparison.figures.len() * 6);
}

#[test]
fn a_flip_gates_longest_run_is_one_and_two_where_two_ride_one_throw() {
    let quick = runs_of(
        &[design("quick", "flip-gate: { time: 0.05 s, throw: 0.1 s }")],
        1,
        5,
    );
    assert_eq!(longest(&quick[0]), [1.0; 5]);
    // A throw of 0.6 s lasts over the next marble, 0.4 s later, and not over the one after.
    let slow = runs_of(
        &[design("slow", "flip-gate: { time: 0.05 s, throw: 0.6 s }")],
        1,
        5,
    );
    assert_eq!(longest(&slow[0]), [2.0; 5]);
}

/// The chance that in `n` tosses of a fair coin nothing comes more than `longest` times on end: heads on end, one fewer,
/// in a toss less. Schilling, "The longest run of heads", The College Mathematics Journal 21, 196-207 (1990).
fn at_most(n: usize, longest: usize) -> f64 {
    let mut chances: Vec<f64> = Vec::new();
    for tosses in 0..n {
        // All tosses so far may be heads, or the first tails comes after fewer than `longest`.
        let by_tails = (1..=longest.min(tosses))
            .map(|first| chances[tosses - first] / libm::exp2(first as f64));
        chances.push(if tosses < longest {
            1.0
        } else {
            by_tails.sum()
        });
    }
    chances[n - 1]
}

/// Schilling's counts of sequences with no more than three heads on end are 1, 2, 4, 8, 15, 29, 56, 108, 208 (from memory).
#[test]
fn the_longest_run_of_a_coin_is_as_counted() {
    for (tosses, count) in [1.0, 2.0, 4.0, 8.0, 15.0, 29.0, 56.0, 108.0, 208.0]
        .into_iter()
        .enumerate()
    {
        assert_eq!(
            at_most(tosses + 1, 4),
            count / libm::exp2(tosses as f64),
            "{tosses}"
        );
    }
}

/// Five bounds of four standard errors: one false alarm in 3,000.
#[test]
fn a_fair_pegs_longest_run_follows_the_published_distribution() {
    let runs = runs_of(&[design("peg", "peg: { time: 0.05 s }")], 5, 400);
    let (seen, n) = (longest(&runs[0]), marbles(&runs[0]) as usize);
    let count = seen.len() as f64;
    let expected: f64 = (0..n).map(|longest| 1.0 - at_most(n, longest)).sum();
    let (average, spread) = (mean(&seen).expect("runs"), sd(&seen).expect("runs"));
    println!("longest run of {n} marbles: {average:.2} on average, theory {expected:.2}");
    assert!((average - expected).abs() < 4.0 * spread / count.sqrt());
    for length in [7, 8, 9, 10, 12] {
        let theory = at_most(n, length);
        let share = seen
            .iter()
            .filter(|&&longest| longest <= length as f64)
            .count() as f64
            / count;
        println!("at most {length}: {share:.3}, theory {theory:.3}");
        assert!(
            (share - theory).abs() < 4.0 * (theory * (1.0 - theory) / count).sqrt() + 1e-9,
            "at most {length}"
        );
    }
}

/// Variance of the difference between two designs in lap time: on separate luck, over that on shared luck.
fn saving(designs: &[Design]) -> f64 {
    let figure = |design: &DesignRuns| -> Vec<f64> {
        design.runs.iter().filter_map(|run| run.lap_s).collect()
    };
    let (shared, other) = (runs_of(designs, 1, 200), runs_of(designs, 2, 200));
    let spread = |a: &[f64], b: &[f64]| {
        variance(&a.iter().zip(b).map(|(a, b)| a - b).collect::<Vec<_>>())
            .expect("two hundred runs")
    };
    let paired = spread(&figure(&shared[0]), &figure(&shared[1]));
    spread(&figure(&shared[0]), &figure(&other[1])) / paired
}

/// A change to one time leaves all other luck as it is; a splitter that shares otherwise soon brings marbles in another
/// order to the same draws, and less is saved.
#[test]
fn shared_luck_makes_differences_sharper() {
    let ring = |name: &str, mean: &str| {
        let elements = format!(
            "ramp: {{ ramp: {{ time: {{ exponential: {{ mean: {mean} }} }}, places: 20 }}, to: wheel }}
             wheel: {{ pocket-wheel: {{ pockets: 20, lift: 180 deg }}, to: ramp }}"
        );
        Design {
            name: name.to_owned(),
            circuit: circuit(5, &elements),
            workable: support::workable(),
        }
    };
    let time = saving(&[ring("slow", "6 s"), ring("quick", "5.5 s")]);
    let pegs = saving(&[
        design("even", "peg: { time: 0.05 s, shares: [1, 1] }"),
        design("uneven", "peg: { time: 0.05 s, shares: [11, 9] }"),
    ]);
    println!(
        "variance of a difference in lap time, separate luck over shared: a time {time:.1}, a peg {pegs:.1}"
    );
    assert!(time > 2.0 && pegs > 1.2, "{time} {pegs}");
}

#[test]
fn pictures_are_legible_and_the_same_every_time() {
    let comparison = compared(&all_four(), 20);
    let pictures = || {
        let repeat = ("A machine", "seed 1, 20 runs");
        [Format::Wide, Format::Narrow].map(|format| {
            let shares = charts::compare::shares(&comparison, repeat, format);
            [
                charts::compare::differences(&comparison, repeat, format),
                shares.expect("a splitter"),
            ]
        })
    };
    for picture in pictures().as_flattened() {
        legible::assert_picture(picture);
    }
    assert_eq!(pictures(), pictures());
}

#[test]
fn the_same_design_twice_is_alike_and_nobody_wins() {
    let peg = || design("peg", "peg: { time: 0.05 s }");
    let comparison = compared(&[peg(), peg()], 20);
    for figure in &comparison.figures {
        assert_eq!(
            (figure.winner, figure.loser),
            (None, None),
            "{}",
            figure.name
        );
        assert!(
            figure.settled_by.iter().all(Option::is_none),
            "{}",
            figure.name
        );
    }
}

/// A wheel that always has a marble before it and wedges one in so many.
fn wedging(name: &str, pinch: f64) -> Design {
    let elements = format!(
        "ramp: {{ ramp: {{ time: 0 s, places: unlimited }}, to: wheel }}
         wheel: {{ pocket-wheel: {{ pockets: 20, lift: 180 deg, pick-up: {{ take: 0.9, pinch: {pinch} }} }}, to: ramp }}"
    );
    Design {
        name: name.to_owned(),
        circuit: circuit(60, &elements),
        workable: support::workable(),
    }
}

/// Pockets pass every 0.4 s, so that half of the runs have jammed after ln 2 / pinch pockets.
#[test]
fn designs_that_jam_sooner_are_distinguished_by_their_survival() {
    let designs = [
        wedging("rare", 0.002),
        wedging("rare as well", 0.002),
        wedging("often", 0.006),
    ];
    let comparison = compared(&designs, 60);
    let median_h = comparison.first_jams[2].median_h;
    assert!(
        contains(&median_h, std::f64::consts::LN_2 / 0.006 * 0.4 / 3600.0),
        "{median_h:?}"
    );
    let distinct: Vec<_> = comparison
        .jams_apart
        .iter()
        .map(|pair| (pair.first, pair.second, pair.distinct))
        .collect();
    assert_eq!(distinct, [(0, 1, false), (0, 2, true), (1, 2, true)]);
    let without = compared(&[wedging("never", 0.0), wedging("neither", 0.0)], 4);
    assert!(
        without.jams_apart.is_empty()
            && without
                .first_jams
                .iter()
                .all(|jams| jams.median_h.value.is_none())
    );
}
