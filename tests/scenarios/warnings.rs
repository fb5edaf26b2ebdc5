//! Warnings: each given where it is due, not given where it is not, and silent where it is allowed.

use std::process::{Command, Output};

use marblewright::findings::warnings::{Warned, warnings};
use marblewright::machine::allow::Warning;
use marblewright::machine::units::System;
use marblewright::machine::{self, Setting};

const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");
const LANTERN: &str = include_str!("../../scenarios/lantern-walk.yaml");

fn of(text: &str, settings: &[(&str, &str)], system: System) -> Vec<Warned> {
    let setting = |&(key, value): &(&str, &str)| Setting {
        key: key.to_owned(),
        value: value.to_owned(),
    };
    let settings: Vec<Setting> = settings.iter().map(setting).collect();
    warnings(&machine::read(text, &settings).expect("sound"), system)
}

/// Asserts that these settings alone bring the warning, and that the file can silence it; gives its words.
fn brings(warning: Warning, text: &str, settings: &[(&str, &str)]) -> Warned {
    assert!(
        of(text, &[], System::Millimetres).is_empty(),
        "the machine as it is has nothing to regret"
    );
    let warnings = of(text, settings, System::Millimetres);
    assert_eq!(
        warnings.iter().map(|w| w.warning).collect::<Vec<_>>(),
        [warning],
        "{settings:?}: {warnings:#?}"
    );
    let allow = format!("[{}]", warning.code());
    let silenced = [settings, &[("allow", allow.as_str())]].concat();
    assert!(
        of(text, &silenced, System::Millimetres).is_empty(),
        "allowed, and yet told"
    );
    let warnings = warnings.into_iter().next().expect("one");
    let sentence = |text: &str| !text.is_empty() && !text.contains(". ") && !text.ends_with('.');
    assert!(
        sentence(&warnings.what) && sentence(&warnings.help),
        "one sentence each: {warnings:?}"
    );
    warnings
}

#[test]
fn a_wheel_faster_than_its_pick_up_limit() {
    let warnings = brings(
        Warning::PickUpLimit,
        LANTERN,
        &[("circuit.upper-wheel.gear", "1.9")],
    );
    assert!(
        warnings.what.contains("`upper-wheel`") && warnings.help.contains("the drive at "),
        "{warnings:?}"
    );
    assert!(warnings.what.contains("`run` looks closer"), "{warnings:?}");
}

#[test]
fn the_speed_that_a_warning_asks_for_mends_it() {
    let gear = ("circuit.upper-wheel.gear", "1.9");
    let warnings = brings(Warning::PickUpLimit, LANTERN, &[gear]);
    let words: Vec<&str> = warnings.help.split(' ').collect();
    let at = words
        .iter()
        .position(|word| *word == "rpm")
        .expect("a speed");
    let left = of(
        LANTERN,
        &[gear, ("rpm", words[at - 1])],
        System::Millimetres,
    );
    assert!(left.is_empty(), "{left:#?}");
}

#[test]
fn what_was_measured_is_not_doubted() {
    brings(Warning::PickUpLimit, STARTER, &[("rpm", "9")]);
    assert!(
        of(
            STARTER,
            &[("rpm", "9"), ("circuit.wheel.pick-up", "{ take: 0.9 }")],
            System::Millimetres
        )
        .is_empty()
    );
}

#[test]
fn a_wheel_that_lets_go_too_late() {
    let mouth = ("circuit.wheel.mouth-ends", "143 deg");
    let warnings = brings(Warning::ReleaseLimit, STARTER, &[mouth]);
    assert!(warnings.what.contains("`wheel`"), "{warnings:?}");
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
    let warnings = brings(
        Warning::ShallowPocket,
        STARTER,
        &[("circuit.wheel.depth", "7.5 mm")],
    );
    assert!(warnings.help.contains("8 mm"), "{warnings:?}");
}

#[test]
fn a_wheel_that_carries_less_than_the_one_before() {
    let warnings = brings(
        Warning::SlowerWheel,
        LANTERN,
        &[("circuit.upper-wheel.pockets", "14")],
    );
    assert!(
        warnings.what.starts_with("`upper-wheel`") && warnings.what.contains("`lower-wheel`"),
        "{warnings:?}"
    );
}

#[test]
fn a_ramp_without_places_for_the_load() {
    let warnings = brings(
        Warning::StartRoom,
        STARTER,
        &[("circuit.ramp.when-full", "spill"), ("marbles", "30")],
    );
    assert!(warnings.what.contains("open side"), "{warnings:?}");
    // A floor before the ramp is where the load may rest.
    assert!(of(STARTER, &[("marbles", "30")], System::Millimetres).is_empty());
    let small = [
        ("circuit.floor.room", "3"),
        ("circuit.floor.when-full", "hold"),
        ("marbles", "30"),
    ];
    assert!(
        brings(Warning::StartRoom, STARTER, &small)
            .what
            .contains("come to rest")
    );
}

#[test]
fn cups_that_gather_more_than_there_is() {
    let warnings = brings(
        Warning::Gathers,
        LANTERN,
        &[("circuit.lantern-cup.gathers", "35")],
    );
    assert!(
        warnings.what.contains("`lantern-cup`") && warnings.what.contains("never tips"),
        "{warnings:?}"
    );
    let second = (
        "circuit.cup-track",
        "{ tipping-cup: { gathers: 30 }, to: floor }",
    );
    let together = brings(Warning::Gathers, LANTERN, &[second]);
    assert!(together.what.contains("34"), "{together:?}");
}

#[test]
fn a_slope_on_which_marbles_come_to_rest() {
    let warnings = brings(
        Warning::Stall,
        LANTERN,
        &[("circuit.cup-track.slope", "0.1 deg")],
    );
    assert!(
        warnings.what.contains("`cup-track`") && warnings.what.contains(" mm along it"),
        "{warnings:?}"
    );
    let inches = of(
        LANTERN,
        &[("circuit.cup-track.slope", "0.1 deg")],
        System::Inches,
    );
    assert!(inches[0].what.contains(" in along it"), "{inches:?}");
}

#[test]
fn an_adapter_that_a_stalled_motor_asks_too_much_of() {
    let motor = |most: &str| {
        format!(
            "{{ motor: {{ no-load-speed: 6 rpm, stall-torque: 1 N m, stall-current: 0.9 A, voltage: 6 V, cells: {{ kind: mains-adapter, voltage: 6 V, current: {most} }} }} }}"
        )
    };
    let weak = motor("0.5 A");
    let warnings = brings(Warning::Supply, STARTER, &[("drive", &weak)]);
    assert!(
        warnings.what.contains("0.5 A") && warnings.what.contains("0.9 A"),
        "{warnings:?}"
    );
    let strong = motor("0.9 A");
    assert!(of(STARTER, &[("drive", &strong)], System::Millimetres).is_empty());
}

fn program(args: &[&str]) -> Output {
    let scenarios = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    Command::new(env!("CARGO_BIN_EXE_marblewright"))
        .current_dir(scenarios)
        .args(args)
        .output()
        .expect("starts")
}

#[test]
fn check_and_run_tell_them_on_standard_error() {
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    let fast = ["starter-loop.yaml", "--rpm", "9"];
    let check = program(&[&["check"], &fast[..]].concat());
    assert_eq!(check.status.code(), Some(0));
    assert!(text(check.stdout).contains("is sound"));
    let warnings = text(check.stderr);
    assert!(
        warnings.contains("[pick-up-limit]")
            && warnings.contains("--> starter-loop.yaml:")
            && warnings.contains("help: "),
        "{warnings}"
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
        (
            output.status.code(),
            serde_json::from_slice(&output.stdout).expect("one JSON value"),
        )
    };
    let (code, warnings) = json(&["check", "--json", "starter-loop.yaml", "--rpm", "9"]);
    assert_eq!(
        (code, &warnings["sound"], &warnings["format"]),
        (Some(0), &true.into(), &1.into())
    );
    assert_eq!(warnings["warnings"][0]["code"], "pick-up-limit");
    assert!(warnings["warnings"][0]["place"]["line"].is_u64());
    let (code, warnings) = json(&[
        "check",
        "--json",
        "starter-loop.yaml",
        "--set",
        "circuit.wheel.pokets=3",
    ]);
    assert_eq!((code, &warnings["sound"]), (Some(2), &false.into()));
    assert!(
        warnings["problems"][0]["help"]
            .as_str()
            .is_some_and(|help| help.contains("`pockets`"))
    );
    assert_eq!(warnings["problems"][0]["place"]["setting"], 0);
}

#[test]
fn codes_that_do_not_exist_are_refused() {
    let warnings = machine::read(
        STARTER,
        &[Setting {
            key: "allow".to_owned(),
            value: "[pick-up-limbo, 3]".to_owned(),
        }],
    );
    let warnings = warnings.expect_err("two words that are no codes");
    assert!(
        warnings.len() == 2 && warnings.iter().any(|p| p.help.contains("`pick-up-limit`")),
        "{warnings:#?}"
    );
    assert!(
        Warning::ALL
            .iter()
            .all(|w| Warning::with_code(w.code()) == Some(*w))
    );
}
