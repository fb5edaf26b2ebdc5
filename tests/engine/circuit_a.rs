//! Circuit A against what unrelated simulation libraries agree it does.
//!
//! Reference: the same circuit written separately for SimPy 4.1.2, Ciw 3.2.7, salabim, nexosim 1.0.0, odem-rs 0.4.0, desru
//! 0.1.13 and as hand-written loops (means over runs of 24 h, and of 2400 h for three of them).

use marblewright::circuit::draw::nanos;
use marblewright::{circuit, engine, machine};

#[test]
fn throughput_fill_and_queue_agree_with_the_libraries() {
    let text = include_str!("../../scenarios/circuit-a.yaml");
    let machine = machine::read(text, &[]).expect("sound");
    let circuit = circuit::circuit(&machine);
    let horizon = nanos(24.0 * 3600.0);
    let (mut picks, mut empty, mut queue) = (Vec::new(), Vec::new(), Vec::new());
    for run in 0..4 {
        let result = engine::simulate(&circuit, 7, run, horizon, &mut ());
        let pockets = result.elements[1].pockets.expect("a wheel");
        picks.push(result.elements[1].entries as f64 / 86_400.0);
        empty.push(1.0 - pockets.carrying as f64 / pockets.passed as f64);
        queue.push(result.elements[0].waited_time() as f64 / horizon as f64);
    }
    let mean = |x: &[f64]| x.iter().sum::<f64>() / x.len() as f64;
    println!(
        "pick-ups a second {:.5}, empty {:.5}, queue {:.4}",
        mean(&picks),
        mean(&empty),
        mean(&queue)
    );
    assert!((2.2101..=2.2121).contains(&mean(&picks)));
    assert!((0.1150..=0.1160).contains(&mean(&empty)));
    assert!((2.045..=2.065).contains(&mean(&queue)));
}
