//! `tolerance` from outside: answers, the same on any number of threads, and what is said of bad input.

use std::path::PathBuf;

use serde_json::Value;

use crate::program::{answer, program};
use crate::support::file;

/// A ring that works up to 6.06 rpm (see tests/stats/tolerance.rs).
fn ring(folder: &std::path::Path) -> String {
    let head =
        "drive: { speed: 5.9 rpm }\nworkshop: { speed: 0.03 }\nworkable: { least-fill: 0.585 }";
    let text = file(
        12,
        head,
        "ramp: { ramp: { time: 2 s, places: 20, advance: 0.1 s }, to: wheel }
         wheel: { pocket-wheel: { pockets: 20, lift: 4 s }, to: track }
         track: { track: { time: 3.9 s, places: 30, advance: 0.1 s }, to: ramp }",
    );
    let path = folder.join("ring.yaml");
    std::fs::write(&path, text).expect("written");
    path.display().to_string()
}

#[test]
fn it_says_how_many_makers_have_a_machine_that_works_and_what_decides() {
    let folder = tempfile::tempdir().expect("a folder");
    let ring = ring(folder.path());
    let common = [
        "tolerance",
        &ring,
        "--makers",
        "60",
        "--runs",
        "1",
        "--hours",
        "0.25",
    ];
    let text = answer(&[&common[..], &["--no-files"]].concat());
    for part in [
        "of 100 makers have a machine that works with 12 marbles at 5.9 rpm",
        "`wheel` is starved",
        "What decides is the speed of the drive (made to ±3 %)",
        "For 95 of 100 machines to work: make the speed of the drive to ±",
        "assumed where `workshop` in the file gives none",
    ] {
        assert!(
            text.replace("\n   ", " ").contains(part),
            "no {part:?} in\n{text}"
        );
    }
    let out = folder.path().join("out");
    let out_text = out.display().to_string();
    let json: Value = serde_json::from_str(&answer(
        &[
            &common[..],
            &["--json", "--out", &out_text, "--threads", "1"],
        ]
        .concat(),
    ))
    .expect("one JSON object");
    let works = json["works"]["value"].as_f64().expect("a share");
    let each = json["each"].as_array().expect("makers");
    let counted = each.iter().filter(|maker| maker["works"] == true).count();
    assert_eq!((each.len(), counted as f64 / 60.0), (60, works));
    assert_eq!(json["errors"][0]["key"], "machine.speed");
    assert!(
        json["errors"][0]["total"]["value"]
            .as_f64()
            .expect("an index")
            > 0.5
    );
    assert_eq!(
        json["interpolation"],
        Value::Null,
        "nothing is to be looked at"
    );
    // Each maker's machine is that of its own speed, beyond the limit or not.
    for maker in each {
        let rpm = 5.9 * (1.0 + maker["amounts"][0].as_f64().expect("an amount"));
        assert_eq!(maker["works"], rpm < 20.0 * 3.0 / 9.9, "{rpm} rpm");
    }
    let bytes = std::fs::read(out.join("tolerance.json")).expect("written");
    let png = std::fs::read(out.join("tolerance.png")).expect("written");
    assert_eq!(&png[..4], b"\x89PNG");
    let again = folder.path().join("again").display().to_string();
    answer(&[&common[..], &["--quiet", "--out", &again, "--threads", "3"]].concat());
    for (name, made) in [("tolerance.json", bytes), ("tolerance.png", png)] {
        let other = std::fs::read(PathBuf::from(&again).join(name)).expect("written");
        assert_eq!(other, made, "{name} on three threads");
    }
}

#[test]
fn bad_input_is_one_clear_error() {
    let folder = tempfile::tempdir().expect("a folder");
    let ring = ring(folder.path());
    let out = folder.path().join("never");
    let out_text = out.display().to_string();
    for (args, says) in [
        (
            &["--makers", "0"][..],
            "whole number of makers from 1 to 100000",
        ),
        (&["--runs", "0.5"], "whole number of runs from 1 to 1000"),
        (&["--hours", "0"], "hours from 0.01 to"),
        (&["--set", "workshop.speed=3 %"], "is not a plain number"),
        (&["--set", "workshop.bore=0.2"], "has no unit"),
        (&["--set", "workshop.slope=20 deg"], "too large"),
        (&["--set", "workshop.borre=1 mm"], "did you mean `bore`?"),
    ] {
        let all = [&["tolerance", &ring, "--out", &out_text][..], args].concat();
        let output = program(&all);
        let message = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(
            (output.status.code(), output.stdout.len(), out.exists()),
            (Some(2), 0, false),
            "{args:?}: {message}"
        );
        assert!(message.contains(says), "{args:?}: no {says:?} in {message}");
    }
}
