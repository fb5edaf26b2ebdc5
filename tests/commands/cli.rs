//! The command line from outside: arguments in; exit code, standard output, standard error and files out.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::program::{self, PROGRAM, program, stderr, stdout};
use crate::support::scenarios;
use serde_json::Value;

/// A small machine whose wheel has all it needs for `--set`.
const MACHINE: &str = "
format: 1
title: Two ways home
marbles: { count: 12 }
drive: { speed: 9 rpm }
start: ramp
circuit:
  ramp:
    ramp: { time: 1 s, places: 30 }
    to: lift
  lift:
    pocket-wheel: { pockets: 16, lift: 180 deg }
    to: chute
  chute:
    slide: { time: 0.8 s }
    to: bowl
  bowl:
    bowl: { swirl: 2 s, shares: [1, 1] }
    to: [bells, stairs]
  bells:
    track: { time: { normal: { mean: 5 s, sd: 0.2 s } } }
    to: ramp
  stairs:
    track: { time: 7 s }
    to: ramp
";

/// Asserts exit code 0 and an empty standard error, and gives standard output.
fn answer(args: &[&str]) -> String {
    let output = program(args);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{args:?}:\n{}",
        stderr(&output)
    );
    assert!(output.stderr.is_empty(), "{args:?}:\n{}", stderr(&output));
    stdout(&output)
}

/// Asserts exit code 2, one problem and nothing on standard output, and gives standard error.
fn refusal(args: &[&str]) -> String {
    let output = program(args);
    let text = stderr(&output);
    assert_eq!(output.status.code(), Some(2), "{args:?}:\n{text}");
    assert!(
        output.stdout.is_empty() && !text.contains("panicked"),
        "{args:?}:\n{text}"
    );
    assert_eq!(text.matches("error: ").count(), 1, "{args:?}:\n{text}");
    text
}

#[test]
fn json_is_one_object_with_every_promised_key() {
    // Faster than its pick-up limit, and asked all the same.
    let fast = [
        "run",
        "--marbles",
        "40",
        "--rpm",
        "12",
        "--allow",
        "pick-up-limit",
        "--no-assumptions",
    ];
    let text = answer(
        &[
            &fast[..],
            &["--runs", "5", "--hours", "0.2", "--json", "--no-files"],
        ]
        .concat(),
    );
    let json: Value = serde_json::from_str(&text).expect("one JSON value and nothing else");
    assert_eq!(json["marbles"], 40);
    assert_eq!(json["rpm"], 12.0);
    assert_eq!(json["runs"], 5);
    assert_eq!(json["hours"], 0.2);
    assert_eq!(json["seed"], 1);
    for key in ["throughput_per_min", "lap_s", "time_to_jam_h"] {
        estimate(&json[key], key);
    }
    has(
        &json["outcomes"],
        "outcomes",
        &["ran", "jammed", "gridlocked", "ran_dry"],
    );
    let wheels = json["wheels"].as_object().expect("wheels by name");
    assert!(!wheels.is_empty());
    for (name, wheel) in wheels {
        has(
            wheel,
            name,
            &[
                "fill",
                "empty_streak_max",
                "missed",
                "pinched",
                "carried_over",
            ],
        );
    }
    let elements = json["elements"].as_object().expect("elements by name");
    assert!(elements.len() > wheels.len());
    for (name, element) in elements {
        let keys = [
            "backlog_mean",
            "backlog_p95",
            "backlog_peak",
            "full_share",
            "entries",
            "spills",
            "arches",
        ];
        has(element, name, &keys);
        let places = element
            .get("places")
            .unwrap_or_else(|| panic!("{name} says its places"));
        assert!(places.is_null() || places.is_u64(), "{name}: {places}");
    }
    assert!(
        wheels.keys().all(|name| elements.contains_key(name)),
        "a wheel is an element too"
    );
}

/// Asserts that every key holds an estimate.
fn has(object: &Value, name: &str, keys: &[&str]) {
    for key in keys {
        estimate(&object[key], &format!("{name}.{key}"));
    }
}

/// Asserts that it is `{value, low, high}`, each a number or null.
fn estimate(value: &Value, name: &str) {
    for key in ["value", "low", "high"] {
        let figure = value
            .get(key)
            .unwrap_or_else(|| panic!("{name} has `{key}`: {value}"));
        assert!(
            figure.is_number() || figure.is_null(),
            "{name}.{key}: {figure}"
        );
    }
}

#[test]
fn without_a_command_it_runs_the_demo_machine() {
    let short = answer(&["--runs", "2", "--hours", "0.05", "--no-files"]);
    let long = answer(&["run", "--runs", "2", "--hours", "0.05", "--no-files"]);
    assert_eq!(short, long);
    assert!(short.lines().count() > 10);
}

#[test]
fn quiet_prints_only_the_answers() {
    let (_directory, file) = program::workshop(MACHINE);
    let text = answer(&[
        "run",
        &file,
        "--runs",
        "2",
        "--hours",
        "0.05",
        "--no-files",
        "--quiet",
    ]);
    assert_eq!(text.lines().count(), 2, "{text}");
    assert!(
        text.contains(" overflow `") && text.contains("Pouring in: "),
        "{text}"
    );
    assert_eq!(answer(&["check", &file, "--quiet"]), "");
}

#[test]
fn every_scenario_is_sound() {
    let files = scenarios();
    assert!(files.len() >= 2);
    for file in files {
        let text = answer(&["check", &file.display().to_string()]);
        assert!(
            text.contains("is sound") && text.lines().count() == 1,
            "{text}"
        );
    }
}

#[test]
fn help_names_the_commands_and_gives_an_example() {
    for args in [&["--help"][..], &["run", "--help"], &["check", "--help"]] {
        let text = answer(args);
        assert!(text.contains("Example: marblewright"), "{text}");
    }
    // What people come with stands first.
    let help = answer(&["--help"]);
    let asked = ["  new ", "  run ", "  window ", "  mend ", "  compare "];
    let places = asked.map(|name| help.find(&format!("\n{name}")).expect(name));
    assert!(places.is_sorted(), "{help}");
    assert!(help[..places[0]].ends_with("Commands:"), "{help}");
    assert!(answer(&["--version"]).starts_with("marblewright "));
}

#[test]
fn files_that_are_not_there_are_told_with_what_may_be_meant() {
    let (directory, file) = program::workshop(MACHINE);
    assert!(refusal(&["run", "nowhere/at/all.yaml"]).contains("there is no such file"));
    let near = file.replace("machine.yaml", "machin.yaml");
    assert!(refusal(&["check", &near]).contains("did you mean `"));
    assert!(
        refusal(&["run", &directory.path().display().to_string()]).contains("it is a directory")
    );
}

#[test]
fn commands_and_options_that_do_not_exist_are_refused() {
    assert!(refusal(&["chekc"]).contains("did you mean the command `check`?"));
    assert!(refusal(&["zebra"]).contains("one of the commands: new, run"));
    assert!(refusal(&["run", "--marbels", "3"]).contains("`--marbles`"));
    assert!(refusal(&["check"]).contains("<MACHINE>"));
}

#[test]
fn numbers_out_of_bounds_are_refused() {
    for (option, value, said) in [
        ("--runs", "0", "from 1 to 1000000"),
        ("--runs", "-5", "from 1 to 1000000"),
        ("--runs", "2000000", "from 1 to 1000000"),
        ("--runs", "many", "a whole number"),
        ("--hours", "0", "above 0 and up to 10000"),
        ("--hours", "-1", "above 0 and up to 10000"),
        ("--hours", "nan", "above 0 and up to 10000"),
        ("--hours", "1e9", "above 0 and up to 10000"),
        ("--hours", "two", "a number of hours"),
        ("--seed", "x", "a whole number"),
        ("--seed", "-1", "a whole number"),
        ("--threads", "100000", "up to 256"),
        ("--marbles", "0", "from 1 to 10000"),
        ("--marbles", "-4", "from 1 to 10000"),
        ("--marbles", "4.5", "not a whole number"),
        ("--rpm", "0", "from 0.01 rpm"),
        ("--rpm", "-9", "from 0.01 rpm"),
        ("--rpm", "nan", "`speed: nan` is not a speed"),
        ("--rpm", "1e9", "to 1000 rpm"),
    ] {
        let text = refusal(&["run", option, value, "--no-files"]);
        assert!(text.contains(said), "{option} {value}:\n{text}");
    }
}

/// Checks the machine with one `--set`; whether it is sound, and what was said.
fn set(file: &str, setting: &str) -> (bool, String) {
    let output = program(&["check", file, "--set", setting]);
    (output.status.success(), stdout(&output) + &stderr(&output))
}

#[test]
fn set_changes_any_key_of_the_file() {
    let (_directory, file) = program::workshop(MACHINE);
    for setting in [
        "title=Another name",
        "marbles.count=7",
        "marbles=7",
        "rpm=7",
        "rpm=7 rpm",
        "drive.speed=7 rpm",
        "circuit.lift.pocket-wheel.pockets=24",
        "circuit.lift.pockets=24",
        "circuit.bowl.shares.1=2",
        "circuit.bowl.shares[1]=2",
        "circuit.bowl.to.0=stairs",
        "circuit.bells.time.normal.mean=4 s",
        "circuit.bells.time={ samples: [4.8 s, 5.1 s] }",
        "circuit.ramp.places=40",
        "circuit.ramp.ramp.places=40",
        "circuit.ramp.when-full=spill",
        "circuit.lift.pick-up.take=0.9",
        "circuit.stairs={ track: { time: 3 s }, to: ramp }",
        "workable.backlog.ramp=9",
        "workable={ least-fill: 0.5 }",
        "tending=clear after 2 min",
    ] {
        let sets_one = setting.starts_with("circuit.bowl.to");
        let (sound, said) = set(&file, setting);
        // One way for both holes leaves the other track without marbles: the setting was heard.
        assert!(
            if sets_one {
                said.contains("no marble can reach `bells`")
            } else {
                sound
            },
            "{setting}:\n{said}"
        );
    }
    assert!(set(&file, "title=Another name").1.contains("Another name"));
    assert!(set(&file, "marbles=7").1.contains("7 marbles"));
}

#[test]
fn settings_are_heard_in_order_and_by_the_run() {
    let (_directory, file) = program::workshop(MACHINE);
    let run = |settings: &[&str]| {
        let mut args = vec![
            "run",
            &file,
            "--runs",
            "2",
            "--hours",
            "0.05",
            "--json",
            "--no-files",
        ];
        args.extend(settings.iter().flat_map(|setting| ["--set", setting]));
        serde_json::from_str::<Value>(&answer(&args)).expect("JSON")
    };
    assert_eq!(run(&[])["marbles"], 12);
    assert_eq!(run(&["marbles=5", "marbles.count=6"])["marbles"], 6);
    assert_eq!(run(&["rpm=4.5"])["rpm"], 4.5);
    assert_eq!(
        run(&["circuit.ramp.places=3"])["elements"]["ramp"]["places"],
        3
    );
    assert_eq!(
        run(&["circuit.ramp.places=unlimited"])["elements"]["ramp"]["places"],
        Value::Null
    );
    assert_ne!(
        run(&["circuit.lift.pockets=4"])["wheels"],
        run(&[])["wheels"]
    );
}

#[test]
fn settings_that_lead_nowhere_say_so() {
    let (_directory, file) = program::workshop(MACHINE);
    for (setting, said) in [
        ("circuit.lfit.pockets=24", "did you mean `lift`?"),
        ("circuit.lift.pokcets=24", "did you mean `pockets`?"),
        ("drvie.speed=4 rpm", "did you mean `drive`?"),
        ("circuit.bowl.shares.2=2", "count items from 0 to 1"),
        ("circuit.bowl.shares.one=2", "count items from 0 to 1"),
        ("circuit.lift.pockets.more=2", "single value"),
        ("circuit=none", "keys and values are due"),
        ("marbles=", "`count` is empty"),
        (".=3", "an empty step"),
        ("=3", "the key before `=` is missing"),
        ("marbles", "KEY=VALUE"),
    ] {
        let text = refusal(&["check", &file, "--set", setting]);
        assert!(text.contains(said), "{setting}:\n{text}");
    }
}

/// Every file of a directory by name.
fn files(directory: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(directory)
        .expect("a directory")
        .map(|entry| entry.expect("an entry"));
    entries
        .map(|entry| {
            (
                entry.file_name().into_string().expect("a name"),
                fs::read(entry.path()).expect("a file"),
            )
        })
        .collect()
}

#[test]
fn same_seed_same_bytes_whatever_the_threads() {
    let (directory, file) = program::workshop(MACHINE);
    let run = |name: &str, threads: &str, seed: &str| {
        let out = directory.path().join(name);
        let out_text = out.display().to_string();
        let args = [
            "run",
            &file,
            "--runs",
            "6",
            "--hours",
            "0.1",
            "--json",
            "--threads",
            threads,
            "--seed",
            seed,
        ];
        let json = answer(&[&args[..], &["--out", &out_text]].concat());
        (json, files(&out))
    };
    let one = run("one", "1", "7");
    assert!(
        one.1.contains_key("runs.csv")
            && one.1.contains_key("elements.csv")
            && one.1.contains_key("results.json")
    );
    assert!(one == run("again", "1", "7"), "twice with one thread");
    assert!(one == run("two", "2", "7"), "one thread and two");
    assert!(
        one.0 != run("other", "1", "8").0,
        "another seed is other luck"
    );
}

#[test]
fn files_go_where_out_says_and_nowhere_with_no_files() {
    let (directory, file) = program::workshop(MACHINE);
    let out = directory.path().join("deep/er");
    let run = |args: &[&str]| {
        let all = [&["run", &file, "--runs", "2", "--hours", "0.02"][..], args].concat();
        let output = Command::new(PROGRAM)
            .current_dir(directory.path())
            .args(all)
            .output()
            .expect("starts");
        assert!(output.status.success(), "{}", stderr(&output));
        stdout(&output)
    };
    run(&["--no-files"]);
    assert_eq!(
        files(directory.path()).keys().collect::<Vec<_>>(),
        ["machine.yaml"]
    );
    let text = run(&["--out", "deep/er", "--full"]);
    let written = files(&out);
    assert!(written.len() >= 3 && written.values().all(|bytes| !bytes.is_empty()));
    assert!(
        written.keys().all(|name| text.contains(name.as_str())),
        "{text}"
    );
    run(&[]);
    assert_eq!(
        files(&directory.path().join("reports/machine")),
        written,
        "reports/<machine> by default"
    );
}

#[test]
fn places_that_cannot_be_written_are_refused_before_the_work() {
    let (directory, file) = program::workshop(MACHINE);
    let taken = format!("{file}/inside");
    for out in [file.as_str(), &taken, "/dev/null/reports", "/proc/reports"] {
        // Hours and runs that would take days, were the place not tried first.
        let text = refusal(&[
            "run", &file, "--hours", "10000", "--runs", "1000000", "--out", out,
        ]);
        assert!(
            text.contains("cannot ") && text.contains("help: "),
            "{out}:\n{text}"
        );
    }
    assert_eq!(files(directory.path()).len(), 1, "nothing was left behind");
}

#[cfg(unix)]
#[test]
fn a_read_only_directory_is_refused() {
    use std::os::unix::fs::PermissionsExt;
    let (directory, file) = program::workshop(MACHINE);
    let locked = directory.path().join("locked");
    fs::create_dir(&locked).expect("a directory");
    fs::set_permissions(&locked, fs::Permissions::from_mode(0o555)).expect("locked");
    if fs::write(locked.join("try"), "").is_ok() {
        // The superuser may write anywhere: there is nothing to refuse.
        return;
    }
    let out = locked.display().to_string();
    assert!(refusal(&["run", &file, "--out", &out]).contains("permission denied"));
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_is_success() {
    let (directory, file) = program::workshop(MACHINE);
    let out = directory.path().join("out");
    let out_text = out.display().to_string();
    let run = [
        "run", &file, "--runs", "2", "--hours", "0.02", "--out", &out_text,
    ];
    for args in [
        &run[..],
        &[&run[..], &["--json"]].concat(),
        &["check", &file],
        &["--help"],
        &["schema"],
    ] {
        let mut child = Command::new(PROGRAM)
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("starts");
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("ends");
        assert_eq!(
            output.status.code(),
            Some(0),
            "{args:?}:\n{}",
            stderr(&output)
        );
        assert!(output.stderr.is_empty(), "{args:?}:\n{}", stderr(&output));
    }
    assert!(
        files(&out).contains_key("results.json"),
        "the files are written all the same"
    );
}

#[cfg(unix)]
#[test]
fn a_closed_standard_error_keeps_the_exit_code() {
    let mut child = Command::new(PROGRAM)
        .args(["check", "nowhere.yaml"])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("starts");
    drop(child.stderr.take());
    assert_eq!(child.wait().expect("ends").code(), Some(2));
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let (_directory, file) = program::workshop(MACHINE);
    let full = fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .expect("the full device");
    let output = Command::new(PROGRAM)
        .args(["check", &file])
        .stdout(full)
        .output()
        .expect("starts");
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("the disk is full"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn require_workable_is_the_only_way_to_exit_code_1() {
    let (_directory, file) = program::workshop(MACHINE);
    let run = |args: &[&str]| {
        let short = [
            "run",
            &file,
            "--runs",
            "60",
            "--hours",
            "0.02",
            "--no-files",
            "--no-assumptions",
        ];
        program(&[&short[..], &["--set", "workable.jams-per-8h=0"], args].concat())
            .status
            .code()
    };
    // Twelve marbles cannot fill every pocket.
    assert_eq!(run(&["--set", "workable.least-fill=1"]), Some(0));
    assert_eq!(
        run(&["--set", "workable.least-fill=1", "--require-workable"]),
        Some(1)
    );
    assert_eq!(
        run(&["--set", "workable.least-fill=0", "--require-workable"]),
        Some(0)
    );
}

#[test]
fn the_shortest_run_still_answers() {
    let (_directory, file) = program::workshop(MACHINE);
    for hours in ["1e-300", "1e-12", "0.0001"] {
        let text = answer(&[
            "run",
            &file,
            "--runs",
            "1",
            "--hours",
            hours,
            "--no-files",
            "--json",
        ]);
        serde_json::from_str::<Value>(&text).expect("JSON");
        answer(&["run", &file, "--runs", "1", "--hours", hours, "--no-files"]);
    }
}
