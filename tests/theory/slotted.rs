//! Marbles that come at random wait T / (2 (1 - rho)) for a pocket, where a pocket passes every T.
//!
//! A marble that comes to an empty ramp still waits for the next pocket: a queue whose server goes away for T whenever it
//! finds nobody. Its mean wait is that of the queue with fixed times, rho T / (2 (1 - rho)), and half a pocket more (Fuhrmann
//! and Cooper, "Stochastic decompositions in the M/G/1 queue with generalized vacations", Operations Research 33(5), 1985;
//! the first part is Pollaczek's and Khinchine's formula). Another simulation of 4 million marbles gave .7141, .9994,
//! 2.5062 T at rho .3, .5, .8.

use crate::support::circuit;
use crate::support::steady::{Joint, replications};

#[test]
fn the_wait_for_a_pocket_is_that_of_a_slotted_queue() {
    let mut joint = Joint::default();
    for (rho, marbles, horizon_s) in [
        (0.3, 60, 60_000.0),
        (0.5, 80, 120_000.0),
        (0.8, 200, 500_000.0),
    ] {
        // A pocket every second, so that rho marbles come a second; the gate never runs out of marbles.
        let circuit = circuit(
            marbles,
            &format!(
                "gate: {{ escapement: {{ time: {{ exponential: {{ mean: {} s }} }} }}, to: ramp }}
                 ramp: {{ ramp: {{ time: 0 s, places: unlimited }}, to: wheel }}
                 wheel: {{ pocket-wheel: {{ pockets: 12, speed: 5 rpm }}, to: slide }}
                 slide: {{ slide: {{ time: 1.5 s }}, to: gate }}",
                1.0 / rho
            ),
        );
        let runs = replications(&circuit, 12, 1000.0, horizon_s);
        joint.add(
            format!("{rho}: wait"),
            runs.iter().map(|s| s[1].wait()).collect(),
            1.0 / (2.0 * (1.0 - rho)),
        );
        joint.add(
            format!("{rho}: rate"),
            runs.iter().map(|s| s[1].rate()).collect(),
            rho,
        );
    }
    joint.check(0.02);
}
