//! Maps from outside: what is typed, what is answered, and that parts, threads and refinement change nothing.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::maps;
use crate::maps::{OVER, args, files, workshop};
use crate::program::{PROGRAM, answer, program, stderr, stdout};
use serde_json::Value;

fn json(args: &[&str]) -> Value {
    serde_json::from_str(&answer(args)).expect("one JSON value and nothing else")
}

fn map_of(machine: &str, more: &[&str]) -> Value {
    let all: Vec<String> = args(machine, more);
    let mut all: Vec<&str> = all.iter().map(String::as_str).collect();
    all.extend(["--json", "--no-files"]);
    json(&all)
}

/// The verdicts of a column from the lowest value up, and whether each was simulated.
fn column(map: &Value, across: f64) -> Vec<(String, bool)> {
    let cells = map["cells"].as_array().expect("cells");
    let cells = cells.iter().filter(|cell| cell["across"] == across);
    cells
        .map(|cell| {
            (
                cell["verdict"].as_str().expect("a verdict").to_owned(),
                cell["state"] == "simulated",
            )
        })
        .collect()
}

#[test]
fn a_column_works_in_one_stretch_with_named_failures_around_it() {
    let (_directory, machine) = workshop();
    let map = map_of(&machine, OVER);
    assert_eq!(map["format"], 1);
    for ends in map["columns"].as_array().expect("columns") {
        let verdicts = column(&map, ends["value"].as_f64().expect("a value"));
        let working: Vec<usize> = (0..verdicts.len())
            .filter(|&row| verdicts[row].0 == "works")
            .collect();
        let (first, last) = (working[0], working[working.len() - 1]);
        assert_eq!(working.len(), last - first + 1, "one stretch: {verdicts:?}");
        assert!(
            verdicts[..first]
                .iter()
                .all(|(verdict, _)| verdict == "starved"),
            "{verdicts:?}"
        );
        assert!(
            verdicts[last + 1..]
                .iter()
                .all(|(verdict, _)| verdict == "backlog"),
            "{verdicts:?}"
        );
        assert_eq!(
            (&ends["below"]["verdict"], &ends["below"]["at"]),
            (&"starved".into(), &"lift".into())
        );
        assert_eq!(
            (&ends["above"]["verdict"], &ends["above"]["at"]),
            (&"backlog".into(), &"ramp".into())
        );
    }
    assert_eq!(
        (&map["along"]["own"], &map["across"]["own"]),
        (&16.0.into(), &9.0.into())
    );
}

/// The demo machine, a few loads at two speeds: the same answer as the picture of the README, coarser.
#[test]
fn the_demo_machine_starves_with_few_marbles_and_piles_up_with_many() {
    let map = json(&[
        "map",
        "--over",
        "marbles=10..90/10",
        "--over",
        "rpm=4.5..18/13.5",
        "--hours",
        "0.4",
        "--runs",
        "12",
        "--json",
        "--no-files",
    ]);
    let slow: Vec<String> = column(&map, 4.5)
        .into_iter()
        .map(|(verdict, _)| verdict)
        .collect();
    let works = slow.iter().filter(|verdict| *verdict == "works").count();
    assert!(works >= 3, "{slow:?}");
    // Marbles on the way go before those in the hand, so the last ones never find room.
    assert_eq!(
        (slow[0].as_str(), slow[8].as_str()),
        ("starved", "overflow"),
        "{slow:?}"
    );
    assert!(
        column(&map, 18.0)
            .iter()
            .all(|(verdict, _)| verdict != "works"),
        "too fast to pick up"
    );
    assert!(
        map["answer"]
            .as_str()
            .expect("a sentence")
            .contains("marbles at 4.5 rpm: none is sure; nowhere at 18 rpm"),
        "{}",
        map["answer"]
    );
}

#[test]
fn leaving_cells_out_finds_the_same_edges_as_the_full_map() {
    let (_directory, machine) = workshop();
    let (few, all) = (
        map_of(&machine, OVER),
        map_of(&machine, &[OVER, &["--every-cell"]].concat()),
    );
    assert_eq!(few["columns"], all["columns"]);
    let verdicts = |map: &Value| {
        [8.0, 10.0, 12.0].map(|rpm| {
            column(map, rpm)
                .into_iter()
                .map(|cell| cell.0)
                .collect::<Vec<_>>()
        })
    };
    assert_eq!(verdicts(&few), verdicts(&all));
    let simulated = |map: &Value| {
        [8.0, 10.0, 12.0].map(|rpm| column(map, rpm).iter().filter(|cell| cell.1).count())
    };
    assert!(
        simulated(&few).iter().sum::<usize>() * 4 < simulated(&all).iter().sum::<usize>() * 3,
        "{:?}",
        simulated(&few)
    );
}

/// A cell is what `run` says of that machine: no other luck, no other circuit.
#[test]
fn a_cell_shows_what_run_shows() {
    let (_directory, machine) = workshop();
    let map = map_of(&machine, OVER);
    let cells = map["cells"].as_array().expect("cells");
    let cell = cells
        .iter()
        .find(|cell| cell["verdict"] == "works" && cell["state"] == "simulated")
        .expect("a cell");
    let [runs, rpm, load] =
        ["runs", "across", "along"].map(|key| cell[key].as_f64().expect("a number").to_string());
    let run = json(&[
        "run",
        &machine,
        "--marbles",
        &load,
        "--rpm",
        &rpm,
        "--runs",
        &runs,
        "--hours",
        "0.05",
        "--json",
        "--no-files",
    ]);
    assert_eq!(
        cell["figures"]["throughput_per_min"],
        run["throughput_per_min"]
    );
    assert_eq!(
        cell["figures"]["fill"]["lift"],
        run["wheels"]["lift"]["fill"]
    );
    assert_eq!(
        cell["figures"]["backlog_p95"]["ramp"],
        run["elements"]["ramp"]["backlog_p95"]
    );
}

#[test]
fn parts_threads_and_the_order_of_the_keys_change_no_byte() {
    let (directory, machine) = workshop();
    let place = |name: &str| directory.path().join(name).display().to_string();
    let whole = place("whole");
    answer_to(
        &machine,
        &[OVER, &["--threads", "1", "--out", &whole]].concat(),
    );
    let two = place("two");
    let reversed = [
        &OVER[2..4],
        &OVER[..2],
        &OVER[4..],
        &["--threads", "2", "--out", &two],
    ]
    .concat();
    answer_to(&machine, &reversed);
    let parts = place("parts");
    for part in ["3/4", "1/4", "4/4", "2/4"] {
        answer_to(
            &machine,
            &[OVER, &["--part", part, "--out", &parts]].concat(),
        );
    }
    let said = answer(&["gather", &parts, "--out", &place("joined")]);
    assert!(said.contains("Perhaps works from"), "{said}");
    let files = files(Path::new(&whole));
    assert_eq!(
        files.keys().collect::<Vec<_>>(),
        ["map.csv", "map.json", "map.png"]
    );
    for other in ["two", "joined"] {
        assert!(maps::files(Path::new(&place(other))) == files, "{other}");
    }
}

fn answer_to(machine: &str, more: &[&str]) -> String {
    let all = args(machine, more);
    answer(&all.iter().map(String::as_str).collect::<Vec<_>>())
}

/// On one machine a map in parts is made by GNU parallel, from Debian's package `parallel`.
#[test]
fn gnu_parallel_makes_the_parts_of_a_map() {
    let version = Command::new("parallel").arg("--version").output();
    if !version.is_ok_and(|output| stdout(&output).contains("GNU parallel")) {
        println!("note: GNU parallel is not installed; nothing was tested with it");
        return;
    }
    let (directory, machine) = workshop();
    let place = |name: &str| directory.path().join(name).display().to_string();
    let mut all = vec![
        "--will-cite".to_owned(),
        "--jobs".to_owned(),
        "2".to_owned(),
        PROGRAM.to_owned(),
    ];
    all.extend(args(
        &machine,
        &[
            OVER,
            &["--threads", "1", "--part", "{}/4", "--out", &place("parts")],
        ]
        .concat(),
    ));
    all.extend([":::", "1", "2", "3", "4"].map(str::to_owned));
    let output = Command::new("parallel")
        .args(&all)
        .output()
        .expect("parallel starts");
    assert!(output.status.success(), "{}", stderr(&output));
    answer(&["gather", &place("parts"), "--out", &place("joined")]);
    answer_to(&machine, &[OVER, &["--out", &place("whole")]].concat());
    assert!(files(Path::new(&place("joined"))) == files(Path::new(&place("whole"))));
}

/// No cluster is at hand: the script of one task runs here with the variables that Slurm sets (sbatch(1), job arrays).
#[test]
fn the_slurm_script_makes_the_parts_of_a_map() {
    let (directory, machine) = workshop();
    let place = |name: &str| directory.path().join(name).display().to_string();
    let (parts, whole) = (place("parts"), place("whole"));
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/schedulers/map.slurm");
    let folder = Path::new(PROGRAM)
        .parent()
        .expect("a folder")
        .display()
        .to_string();
    let path = format!("{folder}:{}", std::env::var("PATH").unwrap_or_default());
    for task in ["1", "2", "3", "4"] {
        let mut bash = Command::new("bash");
        bash.arg(&script)
            .args([&machine, &parts])
            .args(OVER)
            .env("PATH", &path);
        bash.env("SLURM_ARRAY_TASK_ID", task)
            .env("SLURM_ARRAY_TASK_COUNT", "4")
            .env("SLURM_CPUS_PER_TASK", "2");
        let output = bash.output().expect("bash starts");
        assert!(output.status.success(), "{}", stderr(&output));
    }
    answer(&["gather", &parts, "--out", &place("joined")]);
    answer_to(&machine, &[OVER, &["--out", &whole]].concat());
    assert!(files(Path::new(&place("joined"))) == files(Path::new(&whole)));
}

#[test]
fn gather_refuses_what_is_not_one_whole_map() {
    let (directory, machine) = workshop();
    let parts = directory.path().join("parts");
    let place = parts.display().to_string();
    let refused = |more: &[&str]| {
        let output = program(&[&["gather", &place], more].concat());
        assert_eq!(output.status.code(), Some(2));
        assert!(!parts.join("map.json").exists());
        stderr(&output)
    };
    fs::create_dir(&parts).expect("a directory");
    assert!(refused(&[]).contains("there are no parts of a map in"));
    answer_to(
        &machine,
        &[OVER, &["--part", "2/3", "--out", &place]].concat(),
    );
    assert!(refused(&[]).contains("2 of 3 parts are missing: 1/3, 3/3"));
    answer_to(
        &machine,
        &[OVER, &["--part", "1/3", "--out", &place]].concat(),
    );
    answer_to(
        &machine,
        &[OVER, &["--part", "3/3", "--seed", "2", "--out", &place]].concat(),
    );
    assert!(refused(&[]).contains("are not of one map: seed 2 there, 1 here"));
    answer_to(
        &machine,
        &[OVER, &["--part", "3/3", "--out", &place]].concat(),
    );
    let third = parts.join("part-3-of-3.json");
    let text = fs::read_to_string(&third).expect("a part");
    fs::write(&third, &text[..text.len() / 2]).expect("written");
    assert!(refused(&[]).contains("it is no part of a map"));
    let mut part: Value = serde_json::from_str(&text).expect("JSON");
    part["cells"].as_array_mut().expect("cells").pop();
    fs::write(&third, part.to_string()).expect("written");
    assert!(refused(&[]).contains("its cells are not those of this part"));
    assert!(refused(&["nowhere.json"]).contains("there is no such file"));
}

#[test]
fn ranges_that_make_no_map_are_refused_before_anything_is_written() {
    let (directory, machine) = workshop();
    let out = directory.path().join("out");
    let place = out.display().to_string();
    for (over, said) in [
        (&["--over", "marbles"][..], "KEY=FROM..TO/STEP"),
        (&["--over", "rpm=5..80"], "KEY=FROM..TO/STEP"),
        (&["--over", "marbles=80..5/5"], "from the low value"),
        (&["--over", "marbles=5..80/0"], "a number above 0"),
        (&["--over", "marbles=5..80/-5"], "a number above 0"),
        (&["--over", "marbles=0..9000/1"], "up to 500"),
        (
            &["--over", "marbels=5..80/5"],
            "does not know a key `marbels`",
        ),
        (
            &["--over", "circuit.lfit.pockets=10..20/1"],
            "there is no element called `lfit`",
        ),
        (&["--over", "circuit.lift.bore=16..24/1"], "has no unit"),
        (
            &["--over", "circuit.lift.bore=16mm..1in/1mm"],
            "in one unit",
        ),
        (
            &[
                "--over",
                "circuit.lift.pockets=10..20/1",
                "--over",
                "circuit.lift.pockets=10..20/1",
            ],
            "both sides of the map",
        ),
        (
            &[
                "--over",
                "rpm=4..9/1",
                "--over",
                "drive.speed=4rpm..9rpm/1rpm",
            ],
            "both sides of the map",
        ),
        (
            &[
                "--over",
                "rpm=4..9/1",
                "--over",
                "marbles=4..9/1",
                "--over",
                "marbles=4..9/1",
            ],
            "more than twice",
        ),
        (
            &["--over", "rpm=1..400/1", "--over", "marbles=1..400/1"],
            "20000 are allowed",
        ),
        (&["--over", "title=4..9/1"], "title"),
        (&["--part", "0/4"], "K/N"),
        (&["--part", "5/4"], "K/N"),
        (&["--resume", "--no-files"], "does not go with"),
    ] {
        let output = program(&[&["map", &machine, "--out", &place], over].concat());
        let text = stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{over:?}: {text}");
        assert!(
            text.contains(said) && text.contains("error: ") && !text.contains("panicked"),
            "{over:?}: {text}"
        );
        assert!(output.stdout.is_empty() && !out.exists(), "{over:?}");
    }
}

/// Bounds of the machine cut a map short; they do not end it.
#[test]
fn cells_that_cannot_be_built_are_a_class_of_their_own() {
    let (_directory, machine) = workshop();
    let over = [
        "--over",
        "marbles=0..20/10",
        "--over",
        "rpm=8..10/2",
        "--hours",
        "0.05",
        "--runs",
        "10",
    ];
    let map = map_of(&machine, &over);
    let lowest = &map["cells"][0];
    assert_eq!(
        (&lowest["verdict"], &lowest["state"]),
        (&"impossible".into(), &"impossible".into())
    );
    assert!(
        lowest["why"]
            .as_str()
            .expect("a reason")
            .contains("from 1 to 10000"),
        "{lowest}"
    );
    assert!(
        answer_to(&machine, &[&over[..], &["--no-files"]].concat())
            .contains("2 cells can't be built")
    );
}

#[test]
fn the_answer_comes_short_or_in_a_table_and_any_key_can_be_varied() {
    let (_directory, machine) = workshop();
    let quiet = answer_to(&machine, &[OVER, &["--no-files", "--quiet"]].concat());
    assert!(
        // Twenty runs a cell show of none that what must not happen is rare.
        quiet.starts_with("Perhaps works from ") && quiet.lines().count() == 1,
        "{quiet}"
    );
    let table = answer_to(&machine, &[OVER, &["--no-files"]].concat());
    assert!(
        table.contains(" rpm ") && table.contains("least") && table.contains("starved (lift)"),
        "{table}"
    );
    let over = [
        "--over",
        "circuit.lift.pockets=10..22/4",
        "--over",
        "circuit.stairs.time=6s..8s/1s",
    ];
    let other = answer_to(
        &machine,
        &[
            &over[..],
            &["--no-files", "--hours", "0.05", "--runs", "10"],
        ]
        .concat(),
    );
    assert!(
        other.contains("pockets of lift") && other.contains("time of stairs"),
        "{other}"
    );
}
