//! Circuits between close looks, held to close looks that were not used: whole machines, drawn as builds are, run on both.

use marblewright::circuit;
use marblewright::findings::over_runs::OverRuns;
use marblewright::machine::Machine;
use marblewright::machine::build_error::{BuildErrorLaw, build_errors, drawn_once};
use marblewright::stats::latin_hypercube::unit;
use marblewright::study::interpolated::Interpolated;
use marblewright::study::interpolated::design::design;
use marblewright::study::repeat::{Study, repeat};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::support::machine;

const MACHINES: usize = 96;
const FRESH: u64 = 12;

/// A build of `plan` that no look was taken at.
fn fresh(plan: &Machine, number: u64) -> Machine {
    let mut random = ChaCha8Rng::seed_from_u64(number);
    let mut build = plan.clone();
    for error in build_errors(plan) {
        let u = unit(&mut random);
        let amount = match error.law {
            BuildErrorLaw::Normal { sd } => sd * circuit::quantile::normal(u),
            BuildErrorLaw::Uniform { low, high, .. } => low + u * (high - low),
        };
        error.apply(&mut build, amount);
    }
    build
}

/// Marbles a minute and the fill of the emptiest wheel, in a few runs.
fn figures(circuit: &circuit::Circuit) -> [f64; 2] {
    let study = Study {
        seed: 1,
        horizon: 1_800_000_000_000,
    };
    let runs = repeat(circuit, &study, 4, || ());
    let over_runs = OverRuns::new(circuit, &runs);
    let fills = circuit.wheels().map(|n| over_runs.share(|run| run.fill(n)));
    let fill = fills.filter_map(|fill| fill.value).fold(1.0, f64::min);
    [over_runs.throughput_per_min().value.unwrap_or(0.0), fill]
}

/// Root mean squares, over builds, of the differences of flow (as a share of it) and fill: between a full look and what is
/// interpolated, and between a full look and a brief one at the very place.
fn differences(text: &str) -> [[f64; 2]; 2] {
    let plan = drawn_once(&machine(text, &[]));
    let errors = build_errors(&plan);
    let table = Interpolated::of(&design(&plan, &errors, MACHINES));
    for one in table.held_out() {
        println!(
            "{}: {:?} off by {:.4}, of which noise {:.4}",
            plan.elements[one.element].name, one.what, one.off, one.noise
        );
    }
    let mut squares = [[0.0; 2]; 2];
    for number in 0..FRESH {
        let build = fresh(&plan, number);
        let (full_circuit, between) = (circuit::circuit(&build), table.circuit(&build));
        let full = figures(&full_circuit);
        let others = [&between, &circuit::sketch(&build)].map(figures);
        for n in full_circuit.wheels() {
            let shares = [&full_circuit, &between].map(|circuit| {
                let seen = circuit.nodes[n].looked().expect("a look").counts.all();
                (seen.shares().take, seen.shares().stall, seen.shares().lost)
            });
            println!("{}: {shares:.5?}", plan.elements[n].name);
        }
        println!(
            "full look {full:.3?}, interpolated {:.3?}, brief look {:.3?}",
            others[0], others[1]
        );
        for (sums, other) in squares.iter_mut().zip(others) {
            sums[0] += ((other[0] - full[0]) / full[0].max(1.0)).powi(2);
            sums[1] += (other[1] - full[1]).powi(2);
        }
    }
    squares.map(|sums| sums.map(|sum| (sum / FRESH as f64).sqrt()))
}

#[test]
#[ignore = "minutes"]
fn whole_machines_between_looks_run_as_those_that_were_looked_at() {
    marblewright::cli::keep_looks(true);
    for (name, text) in [
        (
            "starter-loop",
            include_str!("../../scenarios/starter-loop.yaml"),
        ),
        (
            "lantern-walk",
            include_str!("../../scenarios/lantern-walk.yaml"),
        ),
    ] {
        let [interpolated, brief] = differences(text);
        println!(
            "{name}: flow and fill off by {interpolated:.4?} interpolated, {brief:.4?} by a brief look"
        );
        assert!(
            interpolated[0] < 0.08 && interpolated[1] < 0.08,
            "{name}: {interpolated:?}"
        );
    }
}
