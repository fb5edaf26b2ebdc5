//! Steady-state figures with their intervals: independent replications, each cut behind a warm-up.
//!
//! A run to the end of the warm-up is the beginning of the run to the horizon, event for event, so what happened in
//! between is the difference of the two accounts, exactly.

use super::interval::contains;
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::nanos;
use marblewright::engine::{self, Outcome};
use marblewright::stats::estimate::mean_interval;

/// What one element went through between warm-up and horizon.
#[derive(Clone, Copy, Debug)]
pub struct Span {
    pub time_s: f64,
    pub entries: f64,
    pub held_s: f64,
    pub waited_s: f64,
}

impl Span {
    /// Marbles a second.
    pub fn rate(&self) -> f64 {
        self.entries / self.time_s
    }

    /// Mean number inside.
    pub fn held(&self) -> f64 {
        self.held_s / self.time_s
    }

    /// Mean time inside, seconds.
    pub fn stay(&self) -> f64 {
        self.held_s / self.entries
    }

    /// Mean time waiting, seconds.
    pub fn wait(&self) -> f64 {
        self.waited_s / self.entries
    }
}

/// For each replication, the spans of all elements.
pub fn replications(
    circuit: &Circuit,
    runs: u64,
    warm_up_s: f64,
    horizon_s: f64,
) -> Vec<Vec<Span>> {
    let accounts = |run: u64, time_s: f64| {
        let result = engine::simulate(circuit, 20, run, nanos(time_s), &mut ());
        assert_eq!(result.outcome, Outcome::Ran);
        result.elements
    };
    let one = |run: u64| {
        let (early, late) = (accounts(run, warm_up_s), accounts(run, horizon_s));
        let span = |n: usize| Span {
            time_s: horizon_s - warm_up_s,
            entries: (late[n].entries - early[n].entries) as f64,
            held_s: (late[n].held_time - early[n].held_time) as f64 * 1e-9,
            waited_s: (late[n].waited_time() - early[n].waited_time()) as f64 * 1e-9,
        };
        (0..late.len()).map(span).collect()
    };
    use rayon::prelude::*;
    (0..runs).into_par_iter().map(one).collect()
}

/// Figures to hold to theory, all of them together at 99 %.
#[derive(Debug, Default)]
pub struct Joint {
    figures: Vec<(String, Vec<f64>, f64)>,
}

impl Joint {
    /// Adds a figure: its value in each replication, and what theory says.
    pub fn add(&mut self, name: impl Into<String>, replications: Vec<f64>, theory: f64) {
        self.figures.push((name.into(), replications, theory));
    }

    /// Holds every figure to its theory, by Student's t intervals that are right together with a chance of at least
    /// 99 % (Bonferroni), none wider than `precision` of the value to either side.
    pub fn check(&self, precision: f64) {
        let level = 1.0 - 0.01 / self.figures.len() as f64;
        let mut off = Vec::new();
        for (name, replications, theory) in &self.figures {
            let estimate = mean_interval(replications, level);
            let (value, half) = (
                estimate.value.expect("a value"),
                estimate.half_width().expect("an interval"),
            );
            let line = format!("{name}: {value:.6} +- {half:.6}, theory {theory:.6}");
            println!("{line}");
            let narrow = half <= precision * value.abs();
            if !contains(&estimate, *theory) || !narrow {
                off.push(if narrow {
                    line
                } else {
                    format!("{line} (too wide)")
                });
            }
        }
        assert!(off.is_empty(), "{off:#?}");
    }
}
