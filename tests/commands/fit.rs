//! `fit` from outside: readings in; laws, pictures and a changed machine file out, or a refusal that harms nothing.

use std::fs;
use std::path::{Path, PathBuf};

use crate::program::{answer_in, program_in, text};
use crate::support::sound;
use marblewright::machine::kind::time_key;
use marblewright::machine::{self, edit};
use marblewright::study::readings;
use proptest::prelude::*;

const TIMES: &str = "# by hand\nelement,seconds\nbell-track,5.42\nbell-track,5.91\nbell-track,5.60\nbell-track,5.33\n\
                     bell-track,5.75\nbell-track,6.10\nbell-track,5.52\nbell-track,5.48\nbell-track,5.66\nbell-track,5.83\n\
                     bell-track,5.70\nbell-track,>6\n";
const SLOPES: &str = "length,slope,seconds\n600 mm,2 deg,2.49\n600 mm,2 deg,2.53\n600 mm,3 deg,1.93\n900 mm,4 deg,2.0\n";

fn refusal(args: &[&str], folder: &Path) -> String {
    let output = program_in(args, folder);
    assert_eq!(
        output.status.code(),
        Some(2),
        "{args:?}:\n{}",
        text(&output.stdout)
    );
    text(&output.stderr)
}

/// A directory with `times.csv` and a scenario in it.
fn workshop(times: &str, scenario: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a directory");
    fs::write(folder.path().join("times.csv"), times).expect("the table");
    let machine = folder.path().join("machine.yaml");
    let scenarios = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    fs::copy(scenarios.join(scenario), &machine).expect("a machine");
    (folder, machine)
}

#[test]
fn readings_become_a_law_and_a_picture() {
    let (folder, _) = workshop(TIMES, "lantern-walk.yaml");
    let said = answer_in(&["fit", "times.csv", "--out", "out"], folder.path());
    assert!(
        said.contains("12 readings, 1 of them cut short") && said.contains("bell-track:  time: {"),
        "{said}"
    );
    assert!(
        said.contains("exponential") && said.contains("refused"),
        "{said}"
    );
    let picture = fs::read(folder.path().join("out/fit-bell-track.png")).expect("a picture");
    assert_eq!(&picture[..8], b"\x89PNG\r\n\x1a\n");
    assert!(folder.path().join("out/fit-bell-track-narrow.png").exists());
    let again = answer_in(
        &["fit", "times.csv", "--no-files", "--threads", "1", "--json"],
        folder.path(),
    );
    let both: serde_json::Value = serde_json::from_str(&again).expect("one JSON object");
    assert_eq!(both["elements"]["bell-track"]["cut_short"], 1);
    assert_eq!(
        again,
        answer_in(
            &["fit", "times.csv", "--no-files", "--threads", "2", "--json"],
            folder.path()
        )
    );
}

/// Every line but the one that was meant is as it was, whatever the ends of lines, and a byte order mark stays.
#[test]
fn the_machine_file_keeps_all_else() {
    for dressed in [false, true] {
        let (folder, machine) = workshop(TIMES, "lantern-walk.yaml");
        let mut before = fs::read_to_string(&machine).expect("text");
        if dressed {
            before = format!("\u{feff}{}", before.replace('\n', "\r\n"));
            fs::write(&machine, &before).expect("written");
        }
        let said = answer_in(
            &["fit", "times.csv", "--into", "machine.yaml", "--no-files"],
            folder.path(),
        );
        assert!(said.contains("time was computed, is now {"), "{said}");
        let after = fs::read_to_string(&machine).expect("text");
        let added: Vec<&str> = after
            .split('\n')
            .filter(|line| !before.split('\n').any(|old| old == *line))
            .collect();
        let [line] = added[..] else {
            panic!("{added:?}")
        };
        assert!(line.trim_start().starts_with("time: { "), "{line}");
        assert_eq!(after.replacen(&format!("{line}\n"), "", 1), before);
        answer_in(&["check", "machine.yaml"], folder.path());
        assert_eq!(
            fs::read_dir(folder.path()).expect("a directory").count(),
            2,
            "nothing is left beside it"
        );
    }
}

/// Each scenario, each element that can take a time: the edited file is the same machine but for that time.
#[test]
fn every_element_of_every_scenario_can_be_given_a_time() {
    let scenarios = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let mut edited = 0;
    for file in fs::read_dir(scenarios).expect("scenarios/") {
        let path = file.expect("a file").path();
        let Ok(text) = fs::read_to_string(&path) else {
            continue;
        };
        let Ok(before) = machine::read(&text, &[]) else {
            continue;
        };
        for element in &before.elements {
            let Some(key) = time_key(element.kind.name()) else {
                continue;
            };
            let place = ["circuit", &element.name, element.kind.name(), key];
            let after = edit::put(&text, &place, "{ normal: { mean: 3.25 s, sd: 0.5 s } }")
                .expect("an edit");
            let now = machine::read(&after, &[])
                .unwrap_or_else(|problems| panic!("{problems:#?}\n{after}"));
            for (old, new) in before.elements.iter().zip(&now.elements) {
                assert!(
                    old == new || old.name == element.name,
                    "{}: {}",
                    path.display(),
                    old.name
                );
            }
            let new = now
                .elements
                .iter()
                .find(|new| new.name == element.name)
                .expect("the element");
            assert!(
                format!("{new:?}").contains("Normal { mean_s: 3.25, sd_s: 0.5 }"),
                "{new:?}"
            );
            edited += 1;
        }
    }
    assert!(edited > 30, "{edited}");
}

#[test]
fn what_cannot_be_written_leaves_the_file_alone() {
    for (times, options, hint) in [
        (
            "element,seconds\nbel-track,5\n",
            &[][..],
            "did you mean `bell-track`?",
        ),
        ("element,seconds\nlower-wheel,5\n", &[], "follow no law"),
        (
            "element,seconds\nbell-track,5\nbell-track,6\n",
            &[],
            "no law was taken for `bell-track`",
        ),
        (
            "element,seconds\nbell-track,5\nbell-track,>6\n",
            &["--law", "samples"],
            "no law was taken",
        ),
        ("element,seconds\nbell-track,5.1.2\n", &[], "times.csv:2:12"),
    ] {
        let (folder, machine) = workshop(times, "lantern-walk.yaml");
        let before = fs::read(&machine).expect("bytes");
        let args = [
            &["fit", "times.csv", "--into", "machine.yaml", "--no-files"],
            options,
        ]
        .concat();
        let said = refusal(&args, folder.path());
        assert!(said.contains(hint), "{times}: {said}");
        assert_eq!(fs::read(&machine).expect("bytes"), before);
    }
}

#[test]
fn few_readings_are_said_to_be_few() {
    let (folder, _) = workshop(
        "element,seconds\nbell,5.1\nbell,5.3\nbell,4.9\nbell,5.2\n",
        "lantern-walk.yaml",
    );
    let said = answer_in(&["fit", "times.csv", "--no-files"], folder.path());
    assert!(
        said.contains("Few readings: 4") && said.contains("--law samples"),
        "{said}"
    );
    let said = answer_in(
        &["fit", "times.csv", "--no-files", "--law", "samples"],
        folder.path(),
    );
    assert!(
        said.contains("bell:  time: { samples: [5.1 s, 5.3 s, 4.9 s, 5.2 s] }"),
        "{said}"
    );
}

#[test]
fn slopes_become_a_rolling_resistance() {
    let (folder, machine) = workshop(SLOPES, "lantern-walk.yaml");
    assert!(refusal(&["fit", "times.csv"], folder.path()).contains("--marble"));
    let said = answer_in(&["fit", "times.csv", "--marble", "15mm"], folder.path());
    assert!(said.contains("assume: { rolling-resistance: 0.0"), "{said}");
    let before = fs::read_to_string(&machine).expect("text");
    let said = answer_in(
        &["fit", "times.csv", "--into", "machine.yaml"],
        folder.path(),
    );
    assert!(
        said.contains("rolling-resistance was 0.04 mm, is now 0.0"),
        "{said}"
    );
    let after = fs::read_to_string(&machine).expect("text");
    assert!(
        after
            .strip_prefix(&before)
            .is_some_and(|added| added.starts_with("assume: { rolling-resistance: ")),
        "{after}"
    );
    let fast = SLOPES
        .replace("2.49", "2.1")
        .replace("2.53", "2.1")
        .replace("1.93", "1.7")
        .replace(",2.0", ",1.8");
    fs::write(folder.path().join("times.csv"), fast).expect("written");
    assert!(
        refusal(
            &["fit", "times.csv", "--into", "machine.yaml"],
            folder.path()
        )
        .contains("faster than one without")
    );
    assert_eq!(fs::read_to_string(&machine).expect("text"), after);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// No text makes the reader of tables panic, and what it refuses has a place inside the text.
    #[test]
    fn no_table_breaks_the_reader(text in "((element|length|slope|seconds|[a-zü\"#;\\t ]{0,4})[,\n\r]){0,6}([-0-9.,>#\" \na-zäµ/%\r]|mm|deg| s|in){0,60}") {
        check(&text);
    }

    #[test]
    fn no_bytes_break_the_reader(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        check(&String::from_utf8_lossy(&bytes));
        check(&format!("element,seconds\n{}", String::from_utf8_lossy(&bytes)));
        check(&format!("length,slope,seconds\n{}", String::from_utf8_lossy(&bytes)));
    }

    /// No text makes the editor panic, whether it can edit it or not.
    #[test]
    fn no_text_breaks_the_editor(text in "(circuit:|bell:|track:|time:|[{}\\[\\]&*a:,#'\"] ?|\n *|ü|\\| ?|- ){0,24}") {
        let _ = edit::put(&text, &["circuit", "bell", "track", "time"], "2 s");
    }
}

fn check(text: &str) {
    if let Err(problems) = readings::read(text) {
        assert!(
            problems
                .iter()
                .all(|problem| matches!(problem.place, Some(machine::Place::File { .. }))),
            "{problems:?}"
        );
        sound::assert_sound(&problems, text, &[]);
    }
}

#[test]
fn elements_with_too_few_readings_are_left_and_the_others_fitted() {
    let (folder, machine) = workshop(
        &format!("{TIMES}stair-track,4.1\nstair-track,4.3\n"),
        "lantern-walk.yaml",
    );
    let before = fs::read_to_string(&machine).expect("the machine");
    let said = answer_in(
        &["fit", "times.csv", "--no-files", "--into", "machine.yaml"],
        folder.path(),
    );
    assert!(
        said.contains("machine.yaml: stair-track: left as it is, no law was taken for it"),
        "{said}"
    );
    assert!(
        said.contains("machine.yaml: bell-track: time was "),
        "{said}"
    );
    let after = fs::read_to_string(&machine).expect("the machine");
    let steps = before
        .lines()
        .find(|line| line.contains("steps: { count: 9"))
        .expect("the stair track");
    assert!(
        after.contains(steps) && after != before,
        "only the other track is another: {after}"
    );
    fs::write(
        folder.path().join("few.csv"),
        "element,seconds\nstair-track,4.1\nstair-track,4.3\n",
    )
    .expect("readings");
    let refused = refusal(
        &["fit", "few.csv", "--no-files", "--into", "machine.yaml"],
        folder.path(),
    );
    assert!(
        refused.contains("no law was taken for `stair-track`"),
        "{refused}"
    );
    assert_eq!(fs::read_to_string(&machine).expect("the machine"), after);
}
