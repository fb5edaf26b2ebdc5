//! Every command with each kind of lift and part: the machines of the town that show them, and one that has them all.

use std::fs;

use crate::program::{answer, stderr, workshop};
use crate::support::scenarios;

/// A machine of the town by its name.
fn machine(name: &str) -> String {
    let all = scenarios();
    let found = all
        .iter()
        .find(|path| path.file_stem().is_some_and(|stem| stem == name));
    found.expect(name).display().to_string()
}

/// A lift's places are called what they are, in sentences and on the page.
#[test]
fn lifts_are_spoken_of_in_their_own_words() {
    for (name, seats) in [
        ("harbour-chimes", "cups"),
        ("lock-stairs", "steps"),
        ("pier-fair", "threads"),
        ("quay-crane", "cups"),
    ] {
        let file = machine(name);
        let few = ["--runs", "4", "--hours", "0.1", "--no-assumptions"];
        let said = answer(&[["run", &file, "--full", "--no-files"].as_slice(), &few].concat());
        assert!(
            said.contains(&format!("of its {seats} carry a marble"))
                && said.contains(&format!("of the {seats} of every lift")),
            "{name}: {said}"
        );
        assert!(!said.contains("pocket"), "{name}: {said}");
    }
}

/// Bells are drawn on the page of a machine that has them, and on no other.
#[test]
fn the_page_shows_how_bells_ring() {
    for (name, rings) in [("harbour-chimes", true), ("quay-crane", false)] {
        let folder = tempfile::tempdir().expect("a directory");
        let out = folder.path().join("out").display().to_string();
        let few = [
            "--runs",
            "3",
            "--hours",
            "0.1",
            "--no-assumptions",
            "--quiet",
        ];
        answer(&[["log", &machine(name), "--out", &out].as_slice(), &few].concat());
        let page = fs::read_to_string(format!("{out}/log.md")).expect("a page");
        assert_eq!(page.contains("rhythm.png"), rings, "{name}");
    }
}

#[test]
fn designs_are_compared_with_any_lift_in_place_of_another() {
    let lifts = [
        "chain-lift",
        "screw-lift",
        "stair-lift",
        "stroke-lift",
        "swing-arm",
    ];
    let swaps: Vec<String> = (lifts.iter().map(|lift| format!("crane={lift}")))
        .filter(|swap| !swap.ends_with("swing-arm"))
        .collect();
    let file = machine("quay-crane");
    let mut args = vec!["compare", file.as_str()];
    args.extend(swaps.iter().flat_map(|swap| ["--swap", swap.as_str()]));
    args.extend(["--runs", "4", "--hours", "0.1", "--no-files"]);
    let said = answer(&args);
    for lift in &lifts[..4] {
        assert!(said.contains(lift), "{lift}: {said}");
    }
    let file = machine("lock-stairs");
    let said = answer(&[
        "compare",
        &file,
        "--swap",
        "stairs=swing-arm",
        "--swap",
        "deal=see-saw: { gathers: 2, tip: 0.3 s }",
        "--swap",
        "canal=funnel: { swirl: 6 s }",
        "--swap",
        "canal=loop: { radius: 60 mm, time: 0.4 s }",
        "--swap",
        "canal=jump: { gap: 60 mm, landing: 80 mm, fall: 20 mm, time: 0.4 s }",
        "--runs",
        "4",
        "--hours",
        "0.1",
        "--no-files",
    ]);
    for kind in ["swing-arm", "see-saw", "funnel", "loop", "jump"] {
        assert!(said.contains(kind), "{kind}: {said}");
    }
}

/// Every command with every kind of lift and part: in small, and only that each answers and says nothing of a wheel.
#[test]
fn every_command_knows_each_part() {
    let chimes = fs::read_to_string(machine("harbour-chimes")).expect("a machine");
    let chain =
        "chain-lift: { cups: 14, pitch: 60 mm, rise: 290 mm, sprocket: 120 mm, mouth: 40 mm }";
    let stroke = chimes.replace(chain, "stroke-lift: { stroke: 290 mm, speed: 30 rpm }");
    assert_ne!(chimes, stroke);
    let (folder, stroke) = workshop(&stroke);
    let out = folder.path().join("out").display().to_string();
    let few = ["--runs", "3", "--hours", "0.1", "--quiet", "--no-files"];
    let towns = ["pier-fair", "quay-crane", "lock-stairs", "harbour-chimes"].map(machine);
    for (n, file) in towns.iter().chain([&stroke]).enumerate() {
        answer(&["check", file]);
        let sheet = answer(&["sheet", file, "--no-files", "--no-assumptions"]);
        assert!(!sheet.contains("pocket"), "{file}: {sheet}");
        let command = |first: &[&str], more: &[&str]| {
            let said = answer(&[first, &[file.as_str()], more, &few].concat());
            assert!(!said.contains("pocket"), "{file}: {said}");
        };
        command(&["run"], &["--no-assumptions"]);
        let loads = ["--over", "marbles=10..14/4"];
        command(
            &["map"],
            &[&loads[..], &["--over", "rpm=10..12/2"]].concat(),
        );
        command(&["window"], &loads);
        command(&["mend"], &[]);
        // It looks closely at a hundred builds: the machine with most of the parts stands for all.
        if n == 0 {
            command(&["tolerance"], &["--makers", "10"]);
        }
        let written = ["--quiet", "--out", out.as_str()];
        answer(&[["film", file, "--seconds", "1"].as_slice(), &written].concat());
        let small = ["--runs", "3", "--hours", "0.1", "--no-assumptions"];
        answer(&[["log", file].as_slice(), &small, &written].concat());
    }
}

/// What falls off a loop is told of by `check`, is a jam in a run, and has its story.
#[test]
fn a_marble_that_is_too_slow_for_its_loop_is_told_of() {
    let text = fs::read_to_string(machine("pier-fair")).expect("a machine");
    let slow = text.replace(
        "track: { length: 700 mm, slope: 24 deg }",
        "track: { length: 300 mm, slope: 24 deg }",
    );
    assert_ne!(text, slow);
    let (_folder, file) = workshop(&slow);
    let checked = crate::program::program(&["check", &file]);
    assert!(
        stderr(&checked).contains("a marble falls off `loop`")
            && stderr(&checked).contains("[run-up]"),
        "{}",
        stderr(&checked)
    );
    let few = ["--runs", "4", "--hours", "0.1", "--no-files"];
    let said = answer(&[["run", &file, "--full"].as_slice(), &few].concat());
    assert!(said.contains("A marble falls off `loop`"), "{said}");
    let story = answer(&["why", &file, "--run", "0", "--hours", "0.1"]);
    assert!(story.contains("fell off `loop`"), "{story}");
}
