//! Every machine in `scenarios/` answers, and answers as it did when its golden results were written.
//!
//! The golden results are numbers, not pictures: three short runs of each machine as `--json` prints them. They are the
//! same in debug and release builds, whatever the threads. After a change that is meant to change answers, write them
//! anew with `UPDATE_EXPECT=1 cargo test --test scenarios scenarios::` and look at the difference.

use std::path::Path;
use std::process::Command;

use crate::support::scenarios;

fn results(machine: &Path, threads: &str) -> String {
    let args = [
        "--runs",
        "3",
        "--hours",
        "0.3",
        "--json",
        "--no-files",
        "--no-assumptions",
        "--threads",
        threads,
    ];
    let run = Command::new(env!("CARGO_BIN_EXE_marblewright"))
        .arg("run")
        .arg(machine)
        .args(args)
        .output();
    let run = run.expect("the program runs");
    assert!(
        run.status.success(),
        "{}: {}",
        machine.display(),
        String::from_utf8_lossy(&run.stderr)
    );
    String::from_utf8(run.stdout).expect("JSON is text")
}

#[test]
fn every_scenario_gives_its_golden_results() {
    for machine in scenarios() {
        let stem = machine
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let golden = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/golden")
            .join(format!("{stem}.json"));
        let now = results(&machine, "1");
        if std::env::var_os("UPDATE_EXPECT").is_some() {
            std::fs::create_dir_all(golden.parent().expect("a folder"))
                .expect("tests/golden can be made");
            std::fs::write(&golden, &now).expect("golden results can be written");
        }
        let then = std::fs::read_to_string(&golden).unwrap_or_default();
        assert!(
            now == then,
            "{stem}: the results differ from tests/golden/{stem}.json"
        );
        assert_eq!(
            now,
            results(&machine, "2"),
            "{stem}: the number of threads changes the results"
        );
    }
}

/// Two machines are made to fail: one jams, one spills.
#[test]
fn the_two_bad_examples_fail_as_meant() {
    let value = |stem: &str, path: &[&str]| {
        let machine = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("scenarios")
            .join(format!("{stem}.yaml"));
        let json: serde_json::Value = serde_json::from_str(&results(&machine, "2")).expect("JSON");
        path.iter()
            .fold(json, |json, key| json[*key].clone())
            .as_f64()
    };
    assert!(value("storm-wheel", &["jams_per_8h", "value"]).is_some_and(|jams| jams > 10.0));
    assert!(
        value("spring-tide", &["elements", "ramp", "spills", "value"])
            .is_some_and(|lost| lost > 5.0)
    );
}
