//! Whole loops, a ramp, a wheel and a way home of 4 to 7 s, held to the same loops in a general 3-D rigid-body engine
//! (tests/truth/e9_loop.csv): a close look gives the chances, the event simulation runs the loop.

use std::collections::BTreeMap;

use crate::support::rows::Rows;
use crate::support::{index, machine};
use marblewright::circuit;
use marblewright::circuit::draw::nanos;
use marblewright::engine::simulate;

const ROWS: &str = include_str!("../truth/e9_loop.csv");
const SCRAPER: &str = include_str!("../machines/loop-with-a-scraper.yaml");
const SMALL: &str = include_str!("../machines/loop-of-a-small-wheel.yaml");

/// Share of the pockets that carry a marble, over twenty runs of six minutes.
fn fill(text: &str, marbles: &str, rpm: &str) -> f64 {
    let circuit = circuit::circuit(&machine(text, &[("marbles", marbles), ("rpm", rpm)]));
    let wheel = index(&circuit, "wheel");
    let counts = (0..20).map(|run| {
        let result = simulate(&circuit, 1, run, nanos(360.0), &mut ());
        result.elements[wheel].pockets.expect("a wheel")
    });
    let (carrying, passed) = counts.fold((0, 0), |sum, count| {
        (sum.0 + count.carrying, sum.1 + count.passed)
    });
    carrying as f64 / passed as f64
}

/// At 4 and 5 turns a minute, and where the wheel begins to miss, at 8 and 12.
#[test]
fn whole_loops_carry_what_they_carry_in_the_engine() {
    // What was seen before a change would hide the change.
    marblewright::cli::keep_looks(false);
    let rows = Rows::read(ROWS);
    let mut truth: BTreeMap<(&str, &str, &str), (f64, f64)> = BTreeMap::new();
    for row in 0..rows.rows.len() {
        let key = (
            rows.text(row, "loop"),
            rows.text(row, "rpm"),
            rows.text(row, "marbles"),
        );
        let sum = truth.entry(key).or_default();
        (sum.0, sum.1) = (
            sum.0 + rows.number(row, "carrying"),
            sum.1 + rows.number(row, "pockets"),
        );
    }
    let (mut slow, mut fast) = (Vec::new(), Vec::new());
    for ((name, rpm, marbles), (carrying, pockets)) in truth {
        let text = if name == "small" { SMALL } else { SCRAPER };
        let (model, truth) = (fill(text, marbles, rpm), carrying / pockets);
        println!("{name:8} {rpm:>3} rpm {marbles:>3} marbles: fill {model:.3}, truth {truth:.3}");
        let rpm: f64 = rpm.parse().expect("a number");
        if rpm < 6.0 { &mut slow } else { &mut fast }.push((model - truth).abs());
    }
    let mean = |off: &[f64]| off.iter().sum::<f64>() / off.len() as f64;
    println!(
        "off by {:.3} where the wheel is slow, {:.3} where it misses",
        mean(&slow),
        mean(&fast)
    );
    assert!(mean(&slow) < 0.03 && mean(&fast) < 0.06);
}
