//! Warnings: each given where it is due, not given where it is not, and silent where it is allowed.

use std::process::{Command, Output};

use marblewright::findings::warnings::{Warned, warnings};
use marblewright::machine::allow::Warning;
use marblewright::machine::units::System;
use marblewright::machine::{self, Setting};

const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");
const LANTERN: &str = include_str!("../../scenarios/lantern-walk.yaml");

fn of(text: &str, settings: &[(&str, &str)], system: System) -> Vec<Warned> {
    let setting = |&(key, value): &(&str, &str)| Setting { key: key.to_owned(), value: value.to_owned() };
    let settings: Vec<Setting> = settings.iter().map(setting).collect();
    warnings(&machine::read(text, &settings).expect("sound"), system)
}

/// Asserts that these settings alone bring the warning, and that the file can silence it; gives its words.
fn brings(warning: Warning, text: &str, settings: &[(&str, &str)]) -> Warned {
    assert!(of(text, &[], System::Millimetres).is_empty(), "the machine as it is has nothing to regret");
    let told = of(text, settings, System::Millimetres);
    assert_eq!(told.iter().map(|w| w.warning).collect::<Vec<_>>(), [warning], "{settings:?}: {told:#?}");
    let allow = format!("[{}]", warning.code());
    let silenced = [settings, &[("allow", allow.as_str())]].concat();
    assert!(of(text, &silenced, System::Millimetres).is_empty(), "allowed, and yet told");
    let told = told.into_iter().next().expect("one");
    let sentence = |text: &str| !text.is_empty() && !text.contains(". ") && !text.ends_with('.');
    assert!(sentence(&told.what) && sentence(&told.mend), "one sentence each: {told:?}");
    told
}

#[test]
fn a_wheel_faster_than_its_pick_up_limit() {
    let told = brings(Warning::PickUpLimit, LANTERN, &[("circuit.upper-wheel.gear", "1.9")]);
    assert!(told.what.contains("`upper-wheel`") && told.mend.contains("the drive at "), "{told:?}");
    assert!(told.what.contains("`run` looks closer"), "{told:?}");
}

#[test]
fn the_speed_that_a_warning_asks_for_mends_it() {
    let gear = ("circuit.upper-wheel.gear", "1.9");
    let told = brings(Warning::PickUpLimit, LANTERN, &[gear]);
    let words: Vec<&str> = told.mend.split(' ').collect();
    let at = words.iter().position(|word| *word == "rpm").expect("a speed");
    let left = of(LANTERN, &[gear, ("rpm", words[at - 1])], System::Millimetres);
    assert!(left.is_empty(), "{left:#?}");
}

#[test]
fn what_was_measured_is_not_doubted() {
    brings(Warning::PickUpLimit, STARTER, &[("rpm", "9")]);
    assert!(of(STARTER, &[("rpm", "9"), ("circuit.wheel.pick-up", "{ take: 0.9 }")], System::Millimetres).is_empty());
}

#[test]
fn a_wheel_that_lets_go_too_late() {
    let mouth = ("circuit.wheel.mouth-ends", "143 deg");
    let told = brings(Warning::ReleaseLimit, STARTER, &[mouth]);
    assert!(told.what.contains("`wheel`"), "{told:?}");
}

#[test]
fn bores_that_do_not_work() {
    let wide = brings(Warning::Bore, STARTER, &[("circuit.wheel.bore", "33 mm")]);
    assert!(wide.what.contains("side by side"), "{wide:?}");
    let narrow = brings(Warning::Bore, STARTER, &[("circuit.wheel.bore", "16.1 mm")]);
    assert!(narrow.what.contains("play"), "{narrow:?}");
}

#[test]
fn a_pocket_less_deep_than_a_marbles_radius() {
    let told = brings(Warning::ShallowPocket, STARTER, &[("circuit.wheel.depth", "7.5 mm")]);
    assert!(told.mend.contains("8 mm"), "{told:?}");
}

#[test]
fn a_wheel_that_carries_less_than_the_one_before() {
    let told = brings(Warning::SlowerWheel, LANTERN, &[("circuit.upper-wheel.pockets", "14")]);
    assert!(told.what.starts_with("`upper-wheel`") && told.what.contains("`lower-wheel`"), "{told:?}");
}

#[test]
fn a_ramp_without_places_for_the_load() {
    let told = brings(Warning::StartRoom, STARTER, &[("circuit.ramp.when-full", "spill"), ("marbles", "30")]);
    assert!(told.what.contains("open side"), "{told:?}");
    // A floor before the ramp is where the load may rest.
    assert!(of(STARTER, &[("marbles", "30")], System::Millimetres).is_empty());
    let small = [("circuit.floor.room", "3"), ("circuit.floor.when-full", "hold"), ("marbles", "30")];
    assert!(brings(Warning::StartRoom, STARTER, &small).what.contains("come to rest"));
}

#[test]
fn cups_that_gather_more_than_there_is() {
    let told = brings(Warning::Gathers, LANTERN, &[("circuit.lantern-cup.gathers", "35")]);
    assert!(told.what.contains("`lantern-cup`") && told.what.contains("never tips"), "{told:?}");
    let second = ("circuit.cup-track", "{ tipping-cup: { gathers: 30 }, to: floor }");
    let together = brings(Warning::Gathers, LANTERN, &[second]);
    assert!(together.what.contains("34"), "{together:?}");
}

#[test]
fn a_slope_on_which_marbles_come_to_rest() {
    let told = brings(Warning::Stall, LANTERN, &[("circuit.cup-track.slope", "0.1 deg")]);
    assert!(told.what.contains("`cup-track`") && told.what.contains(" mm along it"), "{told:?}");
    let inches = of(LANTERN, &[("circuit.cup-track.slope", "0.1 deg")], System::Inches);
    assert!(inches[0].what.contains(" in along it"), "{inches:?}");
}

fn program(args: &[&str]) -> Output {
    let scenarios = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    Command::new(env!("CARGO_BIN_EXE_marblewright")).current_dir(scenarios).args(args).output().expect("starts")
}

#[test]
fn check_and_run_tell_them_on_standard_error() {
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    let fast = ["starter-loop.yaml", "--rpm", "9"];
    let check = program(&[&["check"], &fast[..]].concat());
    assert_eq!(check.status.code(), Some(0));
    assert!(text(check.stdout).contains("is sound"));
    let told = text(check.stderr);
    assert!(
        told.contains("[pick-up-limit]") && told.contains("--> starter-loop.yaml:") && told.contains("help: "),
        "{told}"
    );
    let silent = program(&[&["check", "--allow", "pick-up-limit"], &fast[..]].concat());
    assert!(silent.stderr.is_empty(), "{}", text(silent.stderr));
    let run = ["--runs", "1", "--hours", "0.01", "--no-files"];
    let run = |more: &[&str]| text(program(&[&["run"], &fast[..], &run, more].concat()).stderr);
    assert!(run(&[]).contains("[pick-up-limit]") && run(&["--json"]).contains("[pick-up-limit]"));
    assert_eq!(run(&["--quiet"]), "");
    assert_eq!(run(&["--allow", "pick-up-limit"]), "");
}

#[test]
fn check_tells_them_as_json() {
    let json = |args: &[&str]| -> (Option<i32>, serde_json::Value) {
        let output = program(args);
        (output.status.code(), serde_json::from_slice(&output.stdout).expect("one JSON value"))
    };
    let (code, told) = json(&["check", "--json", "starter-loop.yaml", "--rpm", "9"]);
    assert_eq!((code, &told["sound"], &told["format"]), (Some(0), &true.into(), &1.into()));
    assert_eq!(told["warnings"][0]["code"], "pick-up-limit");
    assert!(told["warnings"][0]["place"]["line"].is_u64());
    let (code, told) = json(&["check", "--json", "starter-loop.yaml", "--set", "circuit.wheel.pokets=3"]);
    assert_eq!((code, &told["sound"]), (Some(2), &false.into()));
    assert!(told["problems"][0]["mend"].as_str().is_some_and(|mend| mend.contains("`pockets`")));
    assert_eq!(told["problems"][0]["place"]["setting"], 0);
}

#[test]
fn codes_that_do_not_exist_are_refused() {
    let told = machine::read(STARTER, &[Setting { key: "allow".to_owned(), value: "[pick-up-limbo, 3]".to_owned() }]);
    let told = told.expect_err("two words that are no codes");
    assert!(told.len() == 2 && told.iter().any(|p| p.mend.contains("`pick-up-limit`")), "{told:#?}");
    assert!(Warning::ALL.iter().all(|w| Warning::with_code(w.code()) == Some(*w)));
}
