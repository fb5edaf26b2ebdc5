//! Machine repairman: so many marbles stay away for 10 s on average, and one gate lets them through in 1 s on average.
//!
//! Theory: exact mean-value analysis (Reiser and Lavenberg 1980) of one station and a delay, which for one station is the
//! machine interference model of every textbook. The delay is a return floor, on which marbles overtake.

use crate::support;
use crate::support::mva::{Station, solve};
use crate::support::steady::{Joint, replications};
use crate::support::{circuit, run};

const REPAIRMAN: [Station; 1] = [Station {
    service_s: 1.0,
    visits: 1.0,
}];

fn machine(marbles: u32, repair: &str, away: &str) -> marblewright::circuit::Circuit {
    circuit(
        marbles,
        &format!(
            "away: {{ return-floor: {{ time: {away}, room: unlimited }}, to: repair }}
             repair: {{ escapement: {{ time: {repair} }}, to: away }}"
        ),
    )
}

#[test]
fn random_times_cost_what_the_analysis_says() {
    let mut joint = Joint::default();
    // The model's own figures: at 11 machines 0.837 of the repairman's time, where fixed times would give all of it.
    for (marbles, known) in [
        (1, 0.090909091),
        (2, 0.180327869),
        (5, 0.436047823),
        (11, 0.836767667),
        (15, 0.963503055),
    ] {
        let theory = solve(&REPAIRMAN, 10.0, marbles);
        assert!((theory.throughput - known).abs() < 1e-9);
        let exponential = |mean: u32| format!("{{ exponential: {{ mean: {mean} s }} }}");
        let circuit = machine(marbles, &exponential(1), &exponential(10));
        let runs = replications(&circuit, 12, 500.0, 200_500.0);
        let each = |of: fn(&support::steady::Span) -> f64| {
            runs.iter().map(|spans| of(&spans[1])).collect()
        };
        joint.add(
            format!("{marbles}: repairs a second"),
            each(|span| span.rate()),
            theory.throughput,
        );
        joint.add(
            format!("{marbles}: time at the repairman"),
            each(|span| span.stay()),
            theory.stay_s[0],
        );
        joint.add(
            format!("{marbles}: number there"),
            each(|span| span.held()),
            theory.held[0],
        );
    }
    joint.check(0.015);
}

/// The time away may follow any law of the same mean (insensitivity of a delay: Baskett, Chandy, Muntz and Palacios,
/// "Open, closed, and mixed networks of queues with different classes of customers", Journal of the ACM 22(2), 1975).
#[test]
fn only_the_mean_of_the_time_away_matters() {
    let theory = solve(&REPAIRMAN, 10.0, 11).throughput;
    let mut joint = Joint::default();
    for away in [
        "10 s",
        "{ uniform: { low: 0 s, high: 20 s } }",
        "{ gamma: { mean: 10 s, sd: 15 s } }",
    ] {
        let circuit = machine(11, "{ exponential: { mean: 1 s } }", away);
        let runs = replications(&circuit, 12, 500.0, 60_500.0);
        joint.add(
            away,
            runs.iter().map(|spans| spans[1].rate()).collect(),
            theory,
        );
    }
    joint.check(0.01);
}

/// Fixed times: no repair waits until there are more marbles than a round is long.
#[test]
fn fixed_times_give_the_smaller_of_load_over_round_and_one() {
    for marbles in 1..=15 {
        let circuit = machine(marbles, "1 s", "10 s");
        let repairs = |time_s| run(&circuit, time_s).elements[1].entries;
        assert_eq!(
            repairs(1100.5) - repairs(440.5),
            u64::from(marbles.min(11)) * 60
        );
    }
}
