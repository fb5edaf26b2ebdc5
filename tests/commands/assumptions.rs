//! How sure is the answer: what moves when each assumed constant goes over its range.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};
use std::time::Instant;

use crate::program::{GIVEN, PROGRAM, QUICK_WHEEL, workshop};
use crate::support::machine;
use marblewright::circuit::draw::nanos;
use marblewright::circuit::{circuit, sketch, sketch_wheels};
use marblewright::report::assumptions::finding;
use marblewright::study::assumptions::{Sensitivity, SensitivityEffort, sensitivity};
use marblewright::study::repeat::Study;

const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");
const STORM: &str = include_str!("../../scenarios/storm-wheel.yaml");

fn tried(text: &str, settings: &[(&str, &str)]) -> Sensitivity {
    sensitivity(
        &machine(text, settings),
        &SensitivityEffort {
            study: Study {
                seed: 1,
                horizon: nanos(900.0),
            },
            runs: 3,
        },
    )
}

/// A flow limited by how fast a wheel may turn hangs on what decides the pick-up; given in the file, it no longer does.
#[test]
fn what_decides_the_pick_up_matters_and_what_is_given_is_left_alone() {
    let fast = [
        ("rpm", "9"),
        ("tending", "clear after 10 s"),
        ("workable.jams-per-8h", "100000"),
    ];
    let but_restitution: Vec<(&str, &str)> = (GIVEN.into_iter())
        .filter(|(key, _)| *key != "assume.restitution")
        .collect();
    let fast = [&fast[..], &but_restitution].concat();
    let open = tried(STARTER, &fast);
    let most = open.matters_most.expect("something matters at this speed");
    assert!(
        [
            "friction",
            "restitution",
            "error of slopes",
            "pockets off their circle",
            "channel before the wheel",
            "inertia of the wheel"
        ]
        .contains(&most),
        "{most}"
    );
    let given = [("assume.friction", "0.35"), ("assume.restitution", "0.5")];
    let closed = tried(STARTER, &[&fast[..], &given[..]].concat());
    assert_eq!(closed.constants.len() + 2, open.constants.len());
    assert_eq!(
        closed.as_assumed, open.as_assumed,
        "the same machine on the same luck"
    );
}

#[test]
fn a_slow_wheel_with_room_to_spare_hangs_on_nothing() {
    let calm = tried(STARTER, &[&[("rpm", "2")], &GIVEN[..]].concat());
    assert_eq!(calm.matters_most, None, "{calm:?}");
    assert!(
        calm.constants
            .iter()
            .all(|moved| moved.low.outcome.works && moved.high.outcome.works)
    );
    assert!(
        finding(&calm, Some(true))
            .text
            .contains("none moves the answer noticeably")
    );
}

#[test]
fn the_verdict_is_told_only_where_it_agrees_with_the_study() {
    // Fast enough that the shortest look sees it jam.
    let jams = tried(STORM, &[&[("rpm", "5")], &GIVEN[..]].concat());
    assert!(!jams.as_assumed.works);
    let tells = |text: &str| {
        text.contains("it works at no end of any") || text.contains("it would work with")
    };
    let agreed = finding(&jams, Some(false)).text;
    assert!(tells(&agreed), "{agreed}");
    let contradicted = finding(&jams, Some(true)).text;
    assert!(
        contradicted.contains("too few runs to tell") && !tells(&contradicted),
        "{contradicted}"
    );
}

#[test]
fn a_measured_machine_leaves_nothing_open() {
    let measured = tried(include_str!("../../scenarios/circuit-a.yaml"), &[]);
    assert!(measured.constants.is_empty() && measured.matters_most.is_none());
    assert!(finding(&measured, None).good);
}

#[test]
fn the_same_figures_whatever_the_threads() {
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads");
        pool.install(|| tried(STARTER, &[&[("rpm", "2")], &GIVEN[..]].concat()))
    };
    assert_eq!(on(1), on(2));
}

/// A sketch differs from the circuit in how many marbles were followed over the floor and at the wheel, and in nothing else.
#[test]
fn a_sketch_is_the_same_circuit_looked_at_less_long() {
    let machine = machine(STARTER, &[]);
    let (whole, sketched) = (circuit(&machine), sketch(&machine));
    let kept = sketch_wheels(&machine);
    for (n, plan) in whole.nodes.iter().enumerate() {
        let shown = |plan| format!("{plan:?}");
        assert_eq!(
            shown(plan) == shown(&kept.nodes[n]),
            plan.kind != "pocket-wheel",
            "{}",
            plan.name
        );
        let less = ["return-floor", "pocket-wheel"].contains(&plan.kind);
        assert_eq!(
            shown(plan) == shown(&sketched.nodes[n]),
            !less,
            "{}",
            plan.name
        );
    }
}

/// From nothing the study of assumptions takes several times as long as the answer, which does not wait for it.
#[test]
fn the_answer_is_there_before_it_is_known_how_sure_it_is() {
    let (_folder, machine) = workshop(QUICK_WHEEL);
    let study = ["run", &machine, "--runs", "10", "--hours", "0.1"];
    let args = [&study[..], &["--no-files", "--no-cache"]].concat();
    let begun = Instant::now();
    let mut run = Command::new(PROGRAM)
        .args(args)
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let lines = BufReader::new(run.stdout.take().expect("a pipe")).lines();
    let seen: Vec<(String, f64)> = lines
        .map(|line| (line.expect("text"), begun.elapsed().as_secs_f64()))
        .collect();
    assert!(run.wait().expect("it ends").success());
    let at = |says: &str| {
        seen.iter()
            .find(|(line, _)| line.contains(says))
            .expect("a line")
            .1
    };
    assert!(
        at("6 marbles at 12 rpm") < 0.6 * at("How sure?"),
        "{seen:?}"
    );
}
