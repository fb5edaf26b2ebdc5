//! `mend`: against a run of every single change, how often what it shows does not hold, and the command from outside.

use std::fs;
use std::process::{Command, Stdio};
use std::time::Duration;

use crate::program::{PROGRAM, answer, program, stderr, stdout, workshop};
use crate::support::{file, legible};
use marblewright::charts::canvas::Format;
use marblewright::circuit::draw::nanos;
use marblewright::circuit::{circuit, rooms};
use marblewright::findings::workable::{Verdict, judge};
use marblewright::machine::{self, Setting};
use marblewright::report::mend::MendReport;
use marblewright::study::mend::change::Ladder;
use marblewright::study::mend::{
    Alteration, MendFollower, MendFound, MendTrials, Touchable, changeables, mend,
};
use marblewright::study::repeat::{Study, repeat};

/// Six minutes of machine time.
const HOURS: f64 = 0.1;

/// Too few marbles for its wheel.
const HUNGRY: &str =
    "ramp: { ramp: { time: { exponential: { mean: 6 s } }, places: 30 }, to: wheel }
     wheel: { pocket-wheel: { pockets: 10, lift: 180 deg }, to: ramp }";
/// Its ramp has an open side and too few places.
const SPILLING: &str = "ramp: { ramp: { time: 1 s, places: 3, when-full: spill }, to: wheel }
     wheel: { pocket-wheel: { pockets: 10, lift: 180 deg }, to: track }
     track: { track: { time: { uniform: { low: 2 s, high: 14 s } }, places: 40 }, to: ramp }";
/// Its cup asks for more marbles than there are.
const CUP: &str = "ramp: { ramp: { time: 2 s, places: 8 }, to: wheel }
     wheel: { pocket-wheel: { pockets: 10, lift: 180 deg }, to: cup }
     cup: { tipping-cup: { gathers: 8, tip: 0.5 s, reset: 1 s }, to: track }
     track: { track: { time: { uniform: { low: 2 s, high: 4 s } }, places: 12 }, to: ramp }";

fn hungry() -> String {
    let head = "drive: { speed: 7.5 rpm }\nworkable: { jams-per-8h: 20, least-fill: 0.3, backlog: { ramp: 7 } }";
    file(2, head, HUNGRY)
}

fn spilling() -> String {
    let head =
        "drive: { speed: 7.5 rpm }\nworkable: { jams-per-8h: 20, least-fill: 0.2, spills: 0 }";
    file(8, head, SPILLING)
}

fn cup() -> String {
    let head = "drive: { speed: 7.5 rpm }\nworkable: { jams-per-8h: 20, least-fill: 0.1 }";
    file(6, head, CUP)
}

struct Quiet;

impl MendFollower for Quiet {
    fn go_on(&self) -> bool {
        true
    }
    fn planned(&self, _: u64) {}
    fn ran(&self) {}
}

fn study(seed: u64) -> Study {
    Study {
        seed,
        horizon: nanos(HOURS * 3600.0),
    }
}

fn found(text: &str, seed: u64) -> MendFound {
    let machine = machine::read(text, &[]).expect("a sound file");
    let written = machine::written_keys(text, &[]);
    let keys = changeables(&machine, &written, &Touchable::default());
    let trials = MendTrials {
        text,
        settings: &[],
        study: study(seed),
        runs: 200,
        follower: &Quiet,
        made: Default::default(),
    };
    mend(&trials, &keys, &machine.mend_order).expect("nobody stops it")
}

/// What many runs on other luck show of a machine with these settings; a machine that is none is broken.
fn truth(text: &str, settings: &[Setting], runs: u32) -> Verdict {
    let Ok(machine) = machine::read(text, settings) else {
        return Verdict::Broken;
    };
    let circuit = circuit(&machine);
    let runs = repeat(&circuit, &study(4711), runs, || {});
    judge(&circuit, &machine.workable, &runs, 0.999).verdict()
}

fn settings(changes: &[Alteration]) -> Vec<Setting> {
    changes.iter().map(Alteration::setting).collect()
}

/// So many steps of every key are run.
const GRID: u32 = 12;

/// Against every single change on a grid: what is shown is not broken, nothing cheaper works, and nothing much less does.
fn agrees(text: &str) -> MendFound {
    let machine = machine::read(text, &[]).expect("a sound file");
    let keys = changeables(
        &machine,
        &machine::written_keys(text, &[]),
        &Touchable::default(),
    );
    let found = found(text, 1);
    assert_eq!(truth(text, &[], 300), Verdict::Broken, "it is to be mended");
    for one in &found.shown {
        let said = truth(text, &settings(&one.changes), 300);
        assert_ne!(said, Verdict::Broken, "{:?}", one.changes);
    }
    let first = found.shown.first().expect("a mend");
    let [change] = first.changes.as_slice() else {
        panic!("one change suffices: {:?}", first.changes);
    };
    for ladder in Ladder::all(&keys) {
        let along = (1..=GRID).filter_map(|steps| ladder.change(steps));
        let works: Vec<u32> = along
            .filter(|one| truth(text, &[one.setting()], 300) == Verdict::Met)
            .map(|one| one.steps)
            .collect();
        let Some(&least) = works.first() else {
            continue;
        };
        let rank = |class| machine.mend_order.iter().position(|one| *one == class);
        let (its, cheapest) = (rank(ladder.of.knob.class), rank(change.class()));
        assert!(
            its >= cheapest,
            "{} by {least} steps is cheaper than {change:?}",
            ladder.of.key
        );
        let shown = found
            .shown
            .iter()
            .find(|mend| mend.changes[0].ladder() == ladder);
        if its == cheapest && found.shown.len() < 5 {
            let shown = shown.expect(&ladder.of.key).changes[0].steps;
            assert!(
                shown <= least + 2,
                "{}: {shown} steps, {least} do",
                ladder.of.key
            );
            println!("{}: {shown} steps, and {least} do", ladder.of.key);
        }
    }
    found
}

#[test]
fn a_hungry_wheel_agrees_with_every_single_change() {
    let found = agrees(&hungry());
    assert_eq!(found.shown[0].changes[0].of.key, "marbles.count");
}

#[test]
fn an_open_side_agrees_with_every_single_change() {
    agrees(&spilling());
}

#[test]
fn a_cup_agrees_with_every_single_change() {
    agrees(&cup());
}

/// Of a machine that works: what is said to break it does.
#[test]
fn what_would_break_it_does() {
    let text = hungry().replace("count: 2", "count: 9");
    let found = found(&text, 1);
    assert!(found.base.judgement.works());
    assert!(found.shown.len() >= 2, "{:?}", found.shown);
    for one in &found.shown {
        let said = truth(&text, &settings(&one.changes), 300);
        assert_eq!(said, Verdict::Broken, "{:?}", one.changes);
    }
}

/// Too few marbles for the wheel, and no room for more: neither alone helps.
#[test]
fn pairs_are_tried_where_no_single_change_suffices() {
    let head =
        "drive: { speed: 7.5 rpm }\nworkable: { jams-per-8h: 20, least-fill: 0.3, spills: 0 }";
    let ramp = "ramp: { ramp: { time: 6 s, places: 3, when-full: spill }, to: wheel }
         wheel: { pocket-wheel: { pockets: 10, lift: 180 deg }, to: ramp }";
    let text = file(2, head, ramp);
    let machine = machine::read(&text, &[]).expect("a sound file");
    let touch = Touchable {
        only: vec!["marbles".to_owned(), "places".to_owned()],
        not: Vec::new(),
    };
    let keys = changeables(&machine, &machine::written_keys(&text, &[]), &touch);
    assert_eq!(keys.len(), 2);
    for ladder in Ladder::all(&keys) {
        let along = (1..=GRID).filter_map(|steps| ladder.change(steps));
        let mut alone = along.map(|one| truth(&text, &[one.setting()], 100));
        assert!(
            alone.all(|said| said != Verdict::Met),
            "{ladder:?} suffices"
        );
    }
    let trials = MendTrials {
        text: &text,
        settings: &[],
        study: study(1),
        runs: 200,
        follower: &Quiet,
        made: Default::default(),
    };
    let found = mend(&trials, &keys, &machine.mend_order).expect("nobody stops it");
    let first = &found.shown.first().expect("a pair").changes;
    assert_eq!(first.len(), 2);
    assert_ne!(
        truth(&text, &settings(first), 300),
        Verdict::Broken,
        "{first:?}"
    );
}

/// On thirty lots of luck: a rate of 5 % would give more than five wrong ones less than once in a hundred times.
#[test]
fn mends_that_are_shown_work_on_other_luck() {
    let text = hungry();
    let mut wrong = 0;
    for seed in 0..30 {
        let found = found(&text, 100 + seed);
        assert!(!found.shown.is_empty(), "seed {seed}");
        let broken =
            |changes: &[Alteration]| truth(&text, &settings(changes), 1000) == Verdict::Broken;
        wrong += u32::from(found.shown.iter().any(|one| broken(&one.changes)));
    }
    println!("{wrong} of 30 searches show a mend that does not work");
    assert!(wrong <= 5, "{wrong}");
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("threads").install(|| found(&spilling(), 3))
    };
    assert_eq!(on(1), on(3));
}

#[test]
fn the_picture_is_legible() {
    for text in [
        hungry(),
        spilling(),
        cup(),
        hungry().replace("count: 2", "count: 9"),
    ] {
        let (machine, found) = (
            machine::read(&text, &[]).expect("a machine"),
            found(&text, 1),
        );
        let report = MendReport {
            title: "A machine",
            circuit: &rooms(&machine),
            rpm: Some(7.5),
            hours: HOURS,
            study: study(1),
            runs_each: 200,
            workable: &machine.workable,
            found: &found,
        };
        for format in [Format::Wide, Format::Narrow] {
            legible::assert_picture(&report.picture(format));
        }
    }
}

#[test]
fn the_first_mend_is_written_into_the_file_and_nothing_else_is() {
    // A comment, and a layout of its own.
    let text = hungry().replace(
        "marbles: { count: 2 }",
        "marbles:   # by hand\n  count: 2   # few",
    );
    let (folder, path) = workshop(&text);
    let out = folder.path().join("out").display().to_string();
    let said = answer(&["mend", &path, "--hours", "0.1", "--write", "--out", &out]);
    assert!(said.contains("Cheapest mend: add "), "{said}");
    assert!(said.contains("is kept as"), "{said}");
    let json = fs::read_to_string(folder.path().join("out/mend.json")).expect("results");
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let first = &json["mends"][0]["changes"][0];
    assert_eq!(
        (&first["key"], &first["from"]),
        (&"marbles.count".into(), &"2".into())
    );
    let to = first["to"].as_str().expect("a value");
    let now = fs::read_to_string(&path).expect("the file");
    assert_eq!(now, text.replace("count: 2 ", &format!("count: {to} ")));
    let before = fs::read_to_string(format!("{path}.before")).expect("the old file");
    assert_eq!(before, text);
    assert!(folder.path().join("out/mend.png").exists());
    let said = answer(&["mend", &path, "--hours", "0.1", "--no-files", "--quiet"]);
    assert!(
        said.contains("works") && said.lines().count() == 1,
        "{said}"
    );
}

#[test]
fn a_splitter_that_gives_its_place_to_another_is_written() {
    // The weir sends all to the first way as long as that has room, so that the second wheel is hungry.
    let head = "drive: { speed: 7.5 rpm }\nworkable: { jams-per-8h: 20, least-fill: 0.1 }";
    let elements = "ramp: { ramp: { time: 1 s, places: 30 }, to: split }
         split: { weir: { time: 0.2 s }, to: [one, two] }
         one: { pocket-wheel: { pockets: 10, lift: 90 deg }, to: ramp }
         two: { pocket-wheel: { pockets: 10, lift: 90 deg }, to: ramp }";
    let (_folder, path) = workshop(&file(6, head, elements));
    let output = program(&[
        "mend",
        &path,
        "--hours",
        "0.1",
        "--no-files",
        "--only",
        "split",
        "--write",
    ]);
    let said = stdout(&output) + &stderr(&output);
    if output.status.success() {
        let now = fs::read_to_string(&path).expect("the file");
        assert!(!now.contains("weir"), "{now}");
        assert!(said.contains("in the place of `split`"), "{said}");
    } else {
        assert!(said.contains("no mend number 1"), "{said}");
    }
}

#[test]
fn what_may_be_touched_is_heeded() {
    let (_folder, path) = workshop(&hungry());
    let asked = |options: &[&str]| {
        let common = ["mend", &path, "--hours", "0.1", "--no-files", "--json"];
        let json = answer(&[&common[..], options].concat());
        let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        let mends = json["mends"].as_array().expect("mends").clone();
        let keys = mends
            .iter()
            .flat_map(|one| one["changes"].as_array().expect("changes").clone());
        keys.map(|one| one["key"].as_str().expect("a key").to_owned())
            .collect::<Vec<_>>()
    };
    let all = asked(&[]);
    assert!(all.contains(&"marbles.count".to_owned()), "{all:?}");
    let without = asked(&["--not", "marbles"]);
    assert!(
        !without.is_empty() && !without.contains(&"marbles.count".to_owned()),
        "{without:?}"
    );
    let only = asked(&["--only", "rpm", "pockets"]);
    assert!(!only.is_empty(), "{only:?}");
    assert!(
        only.iter()
            .all(|key| key == "drive.speed" || key.ends_with(".pockets")),
        "{only:?}"
    );
}

/// Who would rather drill than change the load says so in the file.
#[test]
fn the_order_of_costs_is_the_maker_s() {
    let text = hungry() + "mend: { order: [redrill] }\n";
    let first = &found(&text, 1).shown[0].changes[0].clone();
    assert!(first.of.key.ends_with(".pockets"), "{first:?}");
}

#[test]
fn the_command_refuses_what_makes_no_sense() {
    let (_folder, path) = workshop(&hungry());
    let order = hungry() + "mend: { order: [turn, saw] }\n";
    let (_other, wrong) = workshop(&order);
    for (args, says) in [
        (
            vec![path.as_str(), "--only", "boer"],
            "`boer` names nothing",
        ),
        (
            vec![&path, "--only", "marbles", "--not", "marbles"],
            "leave nothing",
        ),
        (
            vec![&path, "--write", "--set", "marbles.count=3"],
            "--write does not go together with --set",
        ),
        (vec![&path, "--write", "9"], "number of a mend"),
        (vec!["--write"], "the built-in machine is none"),
        (vec![&wrong], "`saw`, which is none of the words known here"),
    ] {
        let output = program(&[&["mend"], &args[..], &["--no-files"]].concat());
        let said = stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{args:?}: {said}");
        assert!(said.contains(says), "{args:?}: {said}");
        assert!(output.stdout.is_empty(), "{args:?}");
    }
    assert_eq!(fs::read_to_string(&path).expect("the file"), hungry());
}

/// Who presses Ctrl-C hears what was found so far, and nothing is written into the file.
#[cfg(unix)]
#[test]
fn ctrl_c_says_what_is_known_and_writes_nothing() {
    let (_folder, path) = workshop(&hungry());
    let child = Command::new(PROGRAM)
        .args([
            "mend",
            &path,
            "--hours",
            "300",
            "--runs",
            "2000",
            "--no-files",
            "--write",
        ])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    std::thread::sleep(Duration::from_millis(1500));
    let pid = child.id().to_string();
    let killed = Command::new("kill").args(["-INT", &pid]).status();
    assert!(killed.expect("kill").success());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(130), "{}", stderr(&output));
    assert!(stderr(&output).contains("Stopped"), "{}", stderr(&output));
    assert_eq!(fs::read_to_string(&path).expect("the file"), hungry());
}
