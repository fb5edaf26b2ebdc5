//! Windows over keys other than the load: against many runs at every value, and the command from outside.

use std::sync::OnceLock;

use crate::program::{answer, program, stderr, workshop};
use crate::support::{file, legible};
use crate::window::{CUP, OPEN_SIDE};
use marblewright::charts;
use marblewright::charts::canvas::Format;
use marblewright::circuit::draw::nanos;
use marblewright::circuit::rooms;
use marblewright::findings::workable::{Judgement, Verdict, judge};
use marblewright::machine;
use marblewright::study::axis::Axis;
use marblewright::study::found_window::Window;
use marblewright::study::repeat::{Study, repeat};
use marblewright::study::varied::VariedMachine;
use marblewright::study::window::Search;

/// Six minutes of machine time.
const HOURS: f64 = 0.1;

/// The slower its wheel, the deeper the backlog; the faster, the emptier it is. A ramp that is too long starves it, too.
const RAMP: (&str, &str) = (
    "drive: { speed: 7.5 rpm }\nworkable: { jams-per-8h: 20, least-fill: 0.5, backlog: { ramp: 4 } }",
    "ramp: { ramp: { length: 600 mm, slope: 2 deg, places: 12 }, to: wheel }
     wheel: { pocket-wheel: { pockets: 10, lift: 180 deg }, to: track }
     track: { track: { time: { uniform: { low: 2 s, high: 6 s } }, places: 40 }, to: ramp }",
);
fn search(axis: &Axis, runs: u32) -> Search {
    Search {
        axis: axis.clone(),
        runs,
        seed: 1,
        horizon: nanos(HOURS * 3600.0),
        error: 0.05,
    }
}

/// The text of a machine file with 8 marbles of 16 mm.
fn text((head, elements): (&str, &str)) -> String {
    file(8, head, elements).replace("count: 8", "count: 8, diameter: 16 mm")
}

/// What is asked: the text of a machine file and a key of it with its values.
struct Asked {
    text: String,
    axis: Axis,
}

impl Asked {
    fn new(scenario: (&str, &str), axis: &str) -> Self {
        Asked {
            text: text(scenario),
            axis: Axis::parse(axis).expect("a range"),
        }
    }

    fn varied(&self) -> VariedMachine<'_> {
        VariedMachine {
            text: &self.text,
            settings: &[],
            axis: &self.axis,
            shared: OnceLock::new(),
        }
    }

    fn found(&self, runs: u32) -> Window {
        let varied = self.varied();
        search(&self.axis, runs).over(|at| varied.candidate(at), |_| {}, || {})
    }

    /// What many runs on other luck show of every value; none where it makes no machine.
    fn brute_force(&self) -> Vec<Option<Judgement>> {
        let study = Study {
            seed: 77,
            horizon: nanos(HOURS * 3600.0),
        };
        let one = |position: usize| {
            let machine = self.varied().candidate(position).ok()?;
            let runs = repeat(&machine.circuit, &study, 400, || {});
            Some(judge(&machine.circuit, &machine.workable, &runs, 0.999))
        };
        (0..self.axis.count).map(one).collect()
    }
}

/// Where brute force is sure, the search never says the contrary, and its edges hold the true ones.
fn agrees(scenario: (&str, &str), axis: &str) -> Window {
    let asked = Asked::new(scenario, axis);
    let truth = asked.brute_force();
    let window = asked.found(200);
    let verdict = |position: usize| match &truth[position] {
        Some(judgement) => judgement.verdict(),
        None => Verdict::Broken,
    };
    for value in &window.tried {
        let (said, sure) = (value.verdict(), verdict(value.position));
        let contrary = (said == Verdict::Met && sure == Verdict::Broken)
            || (said == Verdict::Broken && sure == Verdict::Met);
        let at = asked.axis.at(asked.axis.value(value.position));
        assert!(!contrary, "{at}: {said:?} against {sure:?}");
        assert_eq!(value.impossible.is_some(), truth[value.position].is_none());
    }
    let works = |at: &usize| truth[*at].as_ref().is_some_and(Judgement::likely);
    let first = (0..truth.len()).find(works).expect("one works");
    let last = (0..truth.len()).rev().find(works).expect("one works");
    let least = window.least.expect("a window");
    let most = window.most.expect("a window");
    assert!(
        (least.low..=least.high).contains(&first),
        "{least:?} {first}"
    );
    assert!((most.low..=most.high).contains(&last), "{most:?} {last}");
    assert!(
        least.high - least.low <= 2 && most.high - most.low <= 2,
        "{least:?} {most:?}: too wide to be of use"
    );
    println!("{axis}: {least:?} {most:?}");
    window
}

#[test]
fn windows_of_a_ramp_agree_with_a_run_at_every_value() {
    let speeds = agrees(RAMP, "rpm=1..14/1");
    let (least, most) = (
        speeds.least.expect("an edge"),
        speeds.most.expect("an edge"),
    );
    assert!(!least.open && !most.open, "{least:?} {most:?}");
    agrees(RAMP, "circuit.ramp.length=200mm..3000mm/200mm");
    agrees(RAMP, "circuit.wheel.pockets=2..20/1");
}

#[test]
fn windows_of_an_open_side_agree_with_a_run_at_every_value() {
    agrees(OPEN_SIDE, "rpm=1..14/1");
    agrees(OPEN_SIDE, "circuit.ramp.places=0..12/1");
    agrees(
        OPEN_SIDE,
        "circuit.track.track.time.uniform.high=2s..38s/2s",
    );
}

#[test]
fn windows_of_a_cup_agree_with_a_run_at_every_value() {
    agrees(CUP, "rpm=1..14/1");
    let cups = agrees(CUP, "circuit.cup.gathers=1..13/1");
    assert!(!cups.most.expect("an edge").open);
    // So many that the first scan is coarse.
    agrees(CUP, "circuit.track.places=1..40/1");
}

/// The load is a key as any other: both ways to ask for it find the same.
#[test]
fn the_load_is_one_key_among_others() {
    let asked = Asked::new(CUP, "marbles=1..36");
    let machine = machine::read(&asked.text, &[]).expect("a sound file");
    let circuit = marblewright::circuit::circuit(&machine);
    let loads = search(&Axis::loads(1..=36), 60);
    assert_eq!(
        asked.found(60),
        loads.window(&circuit, &machine.workable, |_| {}, || {})
    );
}

#[test]
fn the_picture_is_legible() {
    for axis in [
        "rpm=0..14/1",
        "circuit.cup.gathers=0..13/1",
        "circuit.track.time.low=-1s..3s/0.5s",
    ] {
        let asked = Asked::new(CUP, axis);
        let circuit = rooms(&machine::read(&asked.text, &[]).expect("a sound file"));
        let window = asked.found(40);
        for format in [Format::Wide, Format::Narrow] {
            let picture = charts::window::picture(
                &circuit,
                (&window, &asked.axis),
                "Works at some",
                ("A machine", "seed 1"),
                format,
            );
            legible::assert_picture(&picture);
        }
    }
}

#[test]
fn the_command_says_what_surely_works_and_what_may() {
    let (_folder, path) = workshop(&text(RAMP));
    let asked = [
        "window",
        &path,
        "--marbles",
        "10",
        "--over",
        "rpm=1..14/1",
        "--hours",
        "0.1",
        "--no-files",
    ];
    let text = answer(&asked);
    assert!(text.contains("orks at ") && text.contains("rpm"), "{text}");
    assert!(text.contains("with 10 marbles"), "{text}");
    assert!(
        text.contains("values from 1 to 14 rpm in steps of 1"),
        "{text}"
    );
    let json = answer(&[&asked[..], &["--json"]].concat());
    let found: serde_json::Value = serde_json::from_str(&json).expect("one JSON object");
    assert_eq!(found["over"]["key"], "rpm");
    assert_eq!(found["over"]["marbles"], 10);
    assert_eq!(found["over"]["surely"][0], found["least"]["high"]);
    assert_eq!(found["over"]["perhaps"][1], found["most"]["high"]);
    assert_eq!(found["values"].as_array().map(Vec::len), Some(14));
    assert_eq!(found["loads"], serde_json::Value::Null);
}

#[test]
fn loads_over_a_range_are_those_from_and_to() {
    let (_folder, path) = workshop(&text(CUP));
    let with = |options: &[&str]| {
        let common = [
            "window",
            &path,
            "--hours",
            "0.1",
            "--runs",
            "60",
            "--no-files",
        ];
        (
            answer(&[&common[..], options].concat()),
            answer(&[&common[..], options, &["--json"]].concat()),
        )
    };
    assert_eq!(
        with(&["--over", "marbles=3..20"]),
        with(&["--from", "3", "--to", "20"])
    );
}

#[test]
fn what_makes_no_machine_is_named() {
    let (_folder, path) = workshop(&text(RAMP));
    let text = answer(&[
        "window",
        &path,
        "--over",
        "circuit.ramp.length=0mm..1200mm/200mm",
        "--hours",
        "0.1",
        "--no-files",
    ]);
    assert!(text.contains("it can't be built ("), "{text}");
}

#[test]
fn the_command_refuses_what_makes_no_sense() {
    let (_folder, path) = workshop(&text(RAMP));
    for (options, says) in [
        (&["--over", "rpm=3..15"][..], "KEY=FROM..TO/STEP"),
        (&["--over", "rpm=3..15/0.001"], "up to 500 can be tried"),
        (
            &["--over", "rpm=3..15/1", "--rpm", "7"],
            "--rpm fixes the speed",
        ),
        (
            &["--over", "marbles=3..15", "--marbles", "7"],
            "--marbles fixes the load",
        ),
        (&["--marbles", "7"], "--marbles fixes the load"),
        (&["--over", "rpm=3..15/1", "--from", "7"], "--from"),
        (
            &["--over", "circuit.ramp.length=-400mm..-200mm/100mm"],
            "in --over circuit.ramp.length=-400 mm..-200 mm/100",
        ),
        (&["--over", "circuit.rampe.slope=1deg..3deg/1deg"], "rampe"),
    ] {
        let output = program(&[&["window", &path, "--no-files"], options].concat());
        let said = stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{options:?}: {said}");
        assert!(said.contains(says), "{options:?}: {said}");
        assert!(output.stdout.is_empty());
    }
}
