//! `window`, `compare` and `run --precision` from outside: answers, and what is said of bad input.

use std::path::{Path, PathBuf};

use crate::program::{answer, program};
use serde_json::Value;

fn scenario(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("scenarios")
        .join(name)
        .display()
        .to_string()
}

/// Exit code 2, nothing on standard output, nothing written, and a message with all of these.
fn refused(args: &[&str], says: &[&str]) {
    let out: PathBuf =
        std::env::temp_dir().join(format!("marblewright-refused-{}", std::process::id()));
    let output = program(&[args, &["--out", &out.display().to_string()]].concat());
    let message = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(
        (output.status.code(), output.stdout.len(), out.exists()),
        (Some(2), 0, false),
        "{args:?}: {message}"
    );
    for part in says {
        assert!(message.contains(part), "{args:?}: no {part:?} in {message}");
    }
}

fn json(args: &[&str]) -> Value {
    serde_json::from_str(&answer(args)).expect("one JSON object")
}

#[test]
fn a_window_answers_in_sentences_and_json() {
    let loop_file = scenario("starter-loop.yaml");
    let common = [
        "window",
        &loop_file,
        "--from",
        "6",
        "--to",
        "14",
        "--runs",
        "120",
        "--hours",
        "0.2",
        "--no-files",
    ];
    let text = answer(&common);
    assert!(
        text.contains("Works with") || text.contains("shown to work"),
        "{text}"
    );
    assert!(text.contains("loads from 6 to 14"), "{text}");
    let found = json(&[&common[..], &["--json"]].concat());
    assert_eq!(
        (
            found["from"].as_u64(),
            found["to"].as_u64(),
            found["error"].as_f64()
        ),
        (Some(6), Some(14), Some(0.05))
    );
    let loads = found["loads"].as_array().expect("a list");
    assert_eq!(loads.len(), 9);
    // What its runs prove, it is taken to be.
    for load in loads {
        let verdicts = (load["verdict"].as_str(), load["taken_as"].as_str());
        assert!(
            verdicts.0 == Some("unsure") || verdicts.0 == verdicts.1,
            "{load}"
        );
    }
}

#[test]
fn a_window_refuses_what_makes_no_sense() {
    refused(
        &["window", "--from", "60", "--to", "20"],
        &["--from 60 is more than --to 20", "least load first"],
    );
    refused(
        &["window", "--from", "0"],
        &["whole number of marbles from 1 to 10000"],
    );
    refused(&["window", "--to", "many"], &["whole number of marbles"]);
    refused(&["window", "--rpm", "-3"], &["--rpm -3"]);
    refused(&["window", "nowhere.yaml"], &["cannot read nowhere.yaml"]);
}

#[test]
fn a_comparison_names_designs_and_is_the_same_on_any_threads() {
    let file = scenario("storm-wheel.yaml");
    let common = [
        "compare",
        &file,
        "--swap",
        "split=flip-gate",
        "--swap",
        "split=weir",
        "--variant",
        "marbles=30",
    ];
    let common = [
        &common[..],
        &["--runs", "12", "--hours", "0.2", "--no-files", "--json"],
    ]
    .concat();
    let found = json(&common);
    assert_eq!(
        found["designs"],
        serde_json::json!(["the file", "flip-gate", "weir", "marbles=30"])
    );
    let longest = |k: usize| found["splitters"][0]["designs"][k]["longest_run"]["value"].as_f64();
    assert_eq!(longest(1), Some(1.0));
    assert!(longest(2) > longest(0));
    assert_eq!(
        answer(&[&common[..], &["--threads", "1"]].concat()),
        answer(&[&common[..], &["--threads", "3"]].concat())
    );
}

#[test]
fn two_files_are_compared_under_their_names() {
    let (a, b) = (scenario("starter-loop.yaml"), scenario("tide-clock.yaml"));
    let text = answer(&[
        "compare",
        &a,
        &b,
        "--runs",
        "10",
        "--hours",
        "0.2",
        "--no-files",
    ]);
    assert!(
        text.contains("starter-loop") && text.contains("tide-clock") && text.contains("Bonferroni"),
        "{text}"
    );
}

#[test]
fn a_comparison_refuses_what_makes_no_sense() {
    let file = scenario("storm-wheel.yaml");
    refused(
        &["compare", &file],
        &["only one design", "--swap splitter=flip-gate"],
    );
    refused(
        &["compare", &file, &file, "--swap", "split=peg"],
        &["several files", "compare files, or variants"],
    );
    refused(
        &["compare", &file, "--swap", "spilt=peg"],
        &["no element called `spilt`", "did you mean `split`"],
    );
    refused(
        &["compare", &file, "--swap", "split=track"],
        &["needs its dimensions", "bowl, flip-gate, peg, weir"],
    );
    refused(&["compare", &file, "--swap", "split"], &["ELEMENT=KIND"]);
    refused(&["compare", &file, "--variant", "marbles"], &["KEY=VALUE"]);
    refused(
        &["compare", &file, "--variant", "rpm=fast"],
        &["drive.speed"],
    );
}

#[test]
fn a_precision_or_the_budget_ends_a_study() {
    let file = scenario("starter-loop.yaml");
    let common = ["run", &file, "--hours", "0.2", "--no-files", "--json"];
    let with = |more: &[&str]| json(&[&common[..], more].concat());
    let coarse = with(&["--precision", "5%"]);
    let stormy = scenario("storm-wheel.yaml");
    let spent = [
        "run",
        &stormy,
        "--hours",
        "0.2",
        "--no-files",
        "--json",
        "--precision",
        "0.01 %",
        "--runs",
        "30",
    ];
    let spent = json(&spent);
    assert_eq!(coarse["stopped_by"], "precision");
    assert!(coarse["runs"].as_u64() < Some(200));
    assert_eq!(
        (&spent["stopped_by"], spent["runs"].as_u64()),
        (&Value::from("budget"), Some(30))
    );
    assert_eq!(
        with(&["--precision", "5%", "--threads", "1"]),
        with(&["--precision", "5%", "--threads", "3"])
    );
    let text = answer(&[
        "run",
        &file,
        "--hours",
        "0.2",
        "--no-files",
        "--precision",
        "5%",
    ]);
    assert!(
        text.contains("Stopped after") && text.contains("known to 5 %"),
        "{text}"
    );
    refused(&["run", &file, "--precision", "2"], &["as in 2%"]);
    refused(&["run", &file, "--precision", "-2%"], &["as in 2%"]);
}
