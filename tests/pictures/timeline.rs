//! The course of a run, step by step.

use crate::support::file;
use marblewright::circuit;
use marblewright::circuit::draw::nanos;
use marblewright::findings::timeline::Timekeeper;
use marblewright::machine;
use marblewright::stats::describe::mean;
use marblewright::study::repeat::{Study, run_watched};

/// A wheel that always has a marble before it wedges one in twenty, and stands for a minute each time: in the seconds
/// between it takes 19 in 20, and while it stands its fill is unknown.
#[test]
fn no_pocket_passes_while_a_wheel_stands() {
    let elements = "ramp: { ramp: { time: 0 s, places: unlimited }, to: wheel }
         wheel: { pocket-wheel: { pockets: 20, lift: 180 deg, pick-up: { take: 0.95, pinch: 0.05 } }, to: ramp }";
    let head = "drive: { speed: 7.5 rpm }\ntending: clear after 1 min";
    let circuit =
        circuit::circuit(&machine::read(&file(60, head, elements), &[]).expect("a sound file"));
    let horizon = nanos(3600.0);
    let mut keeper = Timekeeper::new(&circuit, horizon, 240);
    let figures = run_watched(&circuit, &Study { seed: 1, horizon }, 0, &mut keeper);
    assert!(figures.jam_count() > 20, "{} jams", figures.jam_count());
    let fill = &keeper.finish(horizon).elements[1].fill;
    let known: Vec<f64> = fill.iter().copied().flatten().collect();
    assert!(
        known.len() < fill.len() / 2,
        "{} of {} steps are known",
        known.len(),
        fill.len()
    );
    assert!(mean(&known).is_some_and(|fill| fill > 0.6), "{known:?}");
}

/// A wheel that takes a marble with every pocket is full in every step, however steps and pockets fall together.
#[test]
fn a_full_wheel_shows_no_gaps() {
    let elements = "ramp: { ramp: { time: 0 s, places: unlimited }, to: wheel }
         wheel: { pocket-wheel: { pockets: 7, lift: 180 deg, pick-up: { take: 1 } }, to: ramp }";
    let head = "drive: { speed: 3.3 rpm }";
    let circuit =
        circuit::circuit(&machine::read(&file(60, head, elements), &[]).expect("a sound file"));
    let horizon = nanos(1800.0);
    let mut keeper = Timekeeper::new(&circuit, horizon, 240);
    run_watched(&circuit, &Study { seed: 1, horizon }, 0, &mut keeper);
    let fill = &keeper.finish(horizon).elements[1].fill;
    let known: Vec<f64> = fill.iter().copied().flatten().collect();
    assert!(known.len() > 230, "{} steps are known", known.len());
    // The first pockets may pass before the first marble is there.
    assert!(known[4..].iter().all(|&fill| fill == 1.0), "{known:?}");
}
