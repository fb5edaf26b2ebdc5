//! Circuits between close looks, held to close looks that were not used: whole machines, drawn as builds are, run on both.

use marblewright::circuit;
use marblewright::findings::over_runs::OverRuns;
use marblewright::findings::workable::judge;
use marblewright::study::repeat::{Study, repeat};
use marblewright::study::tolerance::{Plans, ToleranceEffort};

use crate::support::machine;

const MAKERS: u32 = 12;

fn study() -> Study {
    Study {
        seed: 1,
        horizon: 1_800_000_000_000,
    }
}

/// Marbles a minute, the fill of the emptiest wheel, and whether it works.
fn figures(circuit: &circuit::Circuit, plans: &Plans) -> ([f64; 2], bool) {
    let runs = repeat(circuit, &study(), 4, || ());
    let over_runs = OverRuns::new(circuit, &runs);
    let fills = circuit.wheels().map(|n| over_runs.share(|run| run.fill(n)));
    let fill = fills.filter_map(|fill| fill.value).fold(1.0, f64::min);
    let flow = over_runs.throughput_per_min().value.unwrap_or(0.0);
    let works = judge(circuit, &plans.plan().workable, &runs, 0.95).likely();
    ([flow, fill], works)
}

/// Root mean squares, over makers' machines, of the differences of flow (as a share of it) and fill, and how many answers
/// differ: between a full look and what is interpolated, and between a full look and a brief one at the very place.
fn differences(text: &str) -> [([f64; 2], u32); 2] {
    let effort = ToleranceEffort {
        makers: MAKERS,
        runs: 4,
        study: study(),
    };
    let plans = Plans::of(&machine(text, &[]), effort);
    for one in plans.table.held_out() {
        println!(
            "{}: {:?} off by {:.4}, of which noise {:.4}; misjudged {:.3}",
            plans.plan().elements[one.element].name,
            one.what,
            one.off,
            one.noise,
            one.misjudged
        );
    }
    let mut sums = [([0.0; 2], 0); 2];
    for maker in 0..MAKERS {
        let build = plans.built(maker, &plans.makers());
        let (full, works) = figures(&circuit::circuit(&build), &plans);
        let others = [plans.table.circuit(&build), circuit::sketch(&build)];
        let others = others.map(|other| figures(&other, &plans));
        println!("full look {full:.3?} {works}, interpolated and brief look {others:.3?}");
        for (sum, (other, also)) in sums.iter_mut().zip(others) {
            sum.0[0] += ((other[0] - full[0]) / full[0].max(1.0)).powi(2);
            sum.0[1] += (other[1] - full[1]).powi(2);
            sum.1 += u32::from(works != also);
        }
    }
    sums.map(|(squares, differ)| (squares.map(|sum| (sum / f64::from(MAKERS)).sqrt()), differ))
}

/// Whether a wheel stalls is a matter of tenths of a millimetre: a few answers differ, as they do between looks.
#[test]
#[ignore = "minutes"]
fn whole_machines_between_looks_run_as_those_that_were_looked_at() {
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
            "{name}, {MAKERS} makers: flow and fill off, and answers that differ: {interpolated:.4?} interpolated, {brief:.4?} by a brief look"
        );
        assert!(
            interpolated.0[0] < 0.08 && interpolated.1 <= MAKERS / 4,
            "{name}: {interpolated:?}"
        );
    }
}
