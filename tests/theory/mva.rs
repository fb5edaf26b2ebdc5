//! Closed networks with exponential stations against exact mean-value analysis.
//!
//! Escapements are the stations, a peg or a bowl deals marbles out by visit ratio, a track is the delay.

use crate::support::circuit;
use crate::support::mva::{Station, solve};
use crate::support::steady::{Joint, Span, replications};

fn near(value: f64, expected: f64, digits: i32) {
    assert!(
        (value - expected).abs() <= 0.5001 * 0.1f64.powi(digits),
        "{value}, where {expected} is due"
    );
}

/// R. Jain, The Art of Computer Systems Performance Analysis (1991), Example 34.2: processor, two disks, terminals.
const JAIN: [Station; 3] = [
    Station {
        service_s: 0.125,
        visits: 16.0,
    },
    Station {
        service_s: 0.3,
        visits: 10.0,
    },
    Station {
        service_s: 0.2,
        visits: 5.0,
    },
];
const JAIN_THINK_S: f64 = 4.0;

/// The analysis gives what the example prints for 20 users (read second-hand, in the tests of GNU Octave's `queueing`
/// package): response times .373, 4.854, .300 and queue lengths 1.991, 16.177, .500.
#[test]
fn the_analysis_gives_the_printed_example() {
    let solution = solve(&JAIN, JAIN_THINK_S, 20);
    for (value, printed) in solution.stay_s.iter().zip([0.373, 4.854, 0.300]) {
        near(*value, printed, 3);
    }
    for (value, printed) in solution.held.iter().zip([1.991, 16.177, 0.500]) {
        near(*value, printed, 3);
    }
    near(solution.throughput, 0.333246512, 9);
}

/// Throughputs as ratios of normalisation constants 1, 6, 25, 90, 301, 966 for demands 2, 3, 1: J. Buzen, "Computational
/// algorithms for closed queueing networks with exponential servers", Communications of the ACM 16(9), 527-531 (1973).
#[test]
fn the_analysis_gives_the_ratios_of_normalisation_constants() {
    let demands = [2.0, 3.0, 1.0].map(|visits| Station {
        service_s: 1.0,
        visits,
    });
    for (n, pair) in [1.0, 6.0, 25.0, 90.0, 301.0, 966.0].windows(2).enumerate() {
        near(
            solve(&demands, 0.0, n as u32 + 1).throughput,
            pair[0] / pair[1],
            12,
        );
    }
}

fn jain(marbles: u32) -> Vec<Vec<Span>> {
    let circuit = circuit(
        marbles,
        "processor: { escapement: { time: { exponential: { mean: 0.125 s } } }, to: switch }
         switch: { peg: { time: 0 s, shares: [10, 5, 1] }, to: [disk-a, disk-b, terminals] }
         disk-a: { escapement: { time: { exponential: { mean: 0.3 s } } }, to: processor }
         disk-b: { escapement: { time: { exponential: { mean: 0.2 s } } }, to: processor }
         terminals: { track: { time: 4 s }, to: processor }",
    );
    replications(&circuit, 12, 500.0, 60_500.0)
}

fn each(replications: &[Vec<Span>], of: impl Fn(&[Span]) -> f64) -> Vec<f64> {
    replications.iter().map(|spans| of(spans)).collect()
}

#[test]
fn the_printed_example_runs_as_analysed() {
    let mut joint = Joint::default();
    for marbles in [1, 3, 5, 10, 20] {
        let theory = solve(&JAIN, JAIN_THINK_S, marbles);
        let runs = jain(marbles);
        let cycles = each(&runs, |s| s[0].rate() / JAIN[0].visits);
        joint.add(
            format!("{marbles}: cycles a second"),
            cycles,
            theory.throughput,
        );
        for (station, element) in [(0, 0), (1, 2), (2, 3)] {
            let stay = each(&runs, |s| s[element].stay());
            joint.add(
                format!("{marbles}: stay at {station}"),
                stay,
                theory.stay_s[station],
            );
            let held = each(&runs, |s| s[element].held());
            joint.add(
                format!("{marbles}: number at {station}"),
                held,
                theory.held[station],
            );
        }
    }
    joint.check(0.02);
}

/// Demands 2, 3, 1 by visit ratio: a bowl deals marbles to three like gates.
#[test]
fn a_bowl_deals_by_visit_ratio() {
    let demands = [2.0, 3.0, 1.0].map(|visits| Station {
        service_s: 1.0,
        visits,
    });
    let mut joint = Joint::default();
    for marbles in 1..=5 {
        let circuit = circuit(
            marbles,
            "bowl: { bowl: { swirl: 0 s, shares: [2, 3, 1] }, to: [a, b, c] }
             a: { escapement: { time: { exponential: { mean: 1 s } } }, to: bowl }
             b: { escapement: { time: { exponential: { mean: 1 s } } }, to: bowl }
             c: { escapement: { time: { exponential: { mean: 1 s } } }, to: bowl }",
        );
        let theory = solve(&demands, 0.0, marbles);
        let runs = replications(&circuit, 12, 200.0, 80_200.0);
        joint.add(
            format!("{marbles}: cycles"),
            each(&runs, |s| s[0].rate() / 6.0),
            theory.throughput,
        );
        for station in 0..3 {
            let held = each(&runs, |s| s[station + 1].held());
            joint.add(
                format!("{marbles}: number at {station}"),
                held,
                theory.held[station],
            );
        }
    }
    joint.check(0.03);
}

/// K like stations one behind the other pass N / (N + K - 1) of what one alone would.
#[test]
fn like_stations_in_a_ring_pass_the_load_over_the_load_and_the_others() {
    let mut joint = Joint::default();
    for marbles in 1..=6 {
        let circuit = circuit(
            marbles,
            "a: { escapement: { time: { exponential: { mean: 1 s } } }, to: b }
             b: { escapement: { time: { exponential: { mean: 1 s } } }, to: c }
             c: { escapement: { time: { exponential: { mean: 1 s } } }, to: a }",
        );
        let runs = replications(&circuit, 12, 200.0, 40_200.0);
        let n = f64::from(marbles);
        joint.add(
            format!("{marbles} marbles"),
            each(&runs, |s| s[1].rate()),
            n / (n + 2.0),
        );
    }
    joint.check(0.01);
}
