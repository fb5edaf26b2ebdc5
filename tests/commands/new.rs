//! `new`: every choice gives a sound machine that works, and no file is lost.

use std::fs;

use crate::program::{GIVEN, answer_in, program_in, text};
use crate::support::sampled;
use marblewright::machine::starter::{Choices, RETURNS, Return, SPLITTERS, Splitter, bounds};
use marblewright::machine::starter_lifts::{LIFTS, LiftChoice};
use marblewright::machine::starter_shows::{SHOWS, Show};
use marblewright::sheet::{RowVerdict, Units, heights, sheet};
use marblewright::{machine, study};

/// Every combination that does not clash, for a marble, a number of wheels and of pockets.
fn combinations(marble_m: f64, inches: bool, wheels: u32, pockets: u32) -> Vec<Choices> {
    let mut all = Vec::new();
    for (_, splitter) in SPLITTERS {
        for modules in bounds::MODULES {
            for (_, home) in RETURNS {
                let title = "A \"test\": #1 \\ ü".to_owned();
                all.push(Choices {
                    title,
                    inches,
                    marble_m,
                    lift: LiftChoice::Wheels,
                    wheels,
                    pockets,
                    splitter,
                    modules,
                    show: Show::None,
                    home,
                    pace: 1.0,
                });
            }
        }
    }
    all.retain(|choices| choices.clash().is_none());
    all
}

/// Sound, a lap lifts what it falls, and where the whole `bench` sheet is asked for, nothing on it won't work.
fn hold(choices: &Choices, load: u32, bench: bool) {
    let text = choices.text(load);
    let machine = machine::read(&text, &[])
        .unwrap_or_else(|problems| panic!("{choices:?}: {problems:#?}\n{text}"));
    assert_eq!(
        (machine.title.as_str(), machine.marbles.count),
        (choices.title.as_str(), load)
    );
    let lap = heights::lap(&machine, Units::Millimetres);
    assert!(!lap.rows.is_empty(), "{choices:?}: its heights are known");
    let rest = bench
        .then(|| sheet(&machine, Units::Millimetres))
        .into_iter()
        .flatten();
    for section in rest.chain([lap]) {
        for row in section.rows {
            assert!(
                row.verdict != RowVerdict::WontWork,
                "{choices:?}: {}: {} {}",
                section.title,
                row.label,
                row.value
            );
        }
    }
}

#[test]
fn every_combination_of_choices_is_sound() {
    let (step, mut block, mut held) = (sampled(10, 1), 0, 0);
    // The wheels of a block are alike: one sheet tells of all.
    for (marble_m, inches) in [
        (0.008, false),
        (0.03, false),
        (0.0127, true),
        (0.015875, true),
    ] {
        for wheels in [1, 3] {
            for pockets in [*bounds::POCKETS.start(), *bounds::POCKETS.end()] {
                // Every tenth, another tenth each time: each combination comes with several wheels.
                let all = combinations(marble_m, inches, wheels, pockets).into_iter();
                for (n, choices) in all.skip(block % step).step_by(step).enumerate() {
                    hold(
                        &choices,
                        24,
                        n == 0
                            && wheels as usize == sampled(1, 3)
                            && pockets == 10
                            && marble_m > 0.015,
                    );
                    held += 1;
                }
                block += 1;
            }
        }
    }
    assert_eq!(held, 4 * 2 * 2 * 2 * 10 / step);
}

#[test]
fn every_splitter_and_way_home_finds_a_load_that_works() {
    let fewest = |choices: &Choices| {
        matches!(
            (choices.splitter, choices.modules),
            (Splitter::Bowl, 3) | (_, 1 | 2)
        )
    };
    let all = combinations(0.016, false, 1, 18).into_iter().filter(fewest);
    for choices in all.step_by(sampled(2, 1)) {
        let load = study::starter::load(&choices);
        assert!(load.is_some(), "{choices:?}");
    }
}

/// Every lift but the wheel, and every part, in millimetres and in inches: sound, with a sheet on which nothing won't work, and a
/// load that works.
#[test]
fn every_lift_and_every_part_makes_a_machine_that_works() {
    let plain = |inches| Choices {
        title: "Test".to_owned(),
        inches,
        marble_m: if inches { 0.015875 } else { 0.016 },
        lift: LiftChoice::Chain,
        wheels: 1,
        pockets: 10,
        splitter: Splitter::None,
        modules: 1,
        show: Show::None,
        home: Return::Slide,
        pace: 1.0,
    };
    let lifts = LIFTS[1..].iter().map(|(_, lift)| Choices {
        lift: *lift,
        ..plain(false)
    });
    let shows = SHOWS[1..].iter().map(|(_, show)| Choices {
        show: *show,
        ..plain(true)
    });
    for choices in lifts.chain(shows) {
        let load = study::starter::load(&choices);
        hold(&choices, load.expect("a load that works"), true);
    }
}

#[test]
fn what_a_weir_slows_does_not_jump() {
    let folder = tempfile::tempdir().expect("a directory");
    let asked = ["new", "--splitter", "weir", "--part", "jump"];
    let refused = program_in(&asked, folder.path());
    assert!(text(&refused.stderr).contains("too slowly for a jump"));
    let asked = ["new", "--lift", "screw-lift", "--pockets", "12"];
    let refused = program_in(&asked, folder.path());
    assert!(text(&refused.stderr).contains("has no pockets"));
}

#[test]
#[ignore = "minutes: cargo test --release --test commands new:: -- --ignored"]
fn every_combination_finds_a_load_that_works() {
    for (marble_m, inches) in [(0.01, false), (0.025, false), (0.015875, true)] {
        for wheels in bounds::WHEELS {
            for pockets in [12, 24] {
                for choices in combinations(marble_m, inches, wheels, pockets) {
                    assert!(study::starter::load(&choices).is_some(), "{choices:?}");
                }
            }
        }
    }
}

#[test]
fn without_a_terminal_the_defaults_make_a_machine_that_works() {
    let folder = tempfile::tempdir().expect("a directory");
    let said = answer_in(&["new"], folder.path());
    assert!(said.starts_with("Written machine.yaml: "), "{said}");
    answer_in(&["check", "machine.yaml"], folder.path());
    let run = [
        "run",
        "machine.yaml",
        "--runs",
        "60",
        "--hours",
        "0.5",
        "--no-files",
        "--quiet",
        "--require-workable",
    ];
    answer_in(&run, folder.path());
}

#[test]
fn options_are_written_and_inches_stay_inches() {
    let folder = tempfile::tempdir().expect("a directory");
    let options = [
        "new",
        "tide.yaml",
        "--units",
        "in",
        "--marble",
        "3/4 in",
        "--splitter",
        "flip-gate",
        "--return",
        "slide",
    ];
    answer_in(&options, folder.path());
    let written = fs::read_to_string(folder.path().join("tide.yaml")).expect("the file");
    assert!(
        written.contains("diameter: 3/4 in")
            && written.contains("flip-gate")
            && !written.contains(" mm,"),
        "{written}"
    );
}

#[test]
fn a_file_is_replaced_only_by_force() {
    let folder = tempfile::tempdir().expect("a directory");
    let file = folder.path().join("machine.yaml");
    fs::write(&file, "mine").expect("a file");
    for args in [
        &["new"][..],
        &["new", "--from", "storm-wheel", "machine.yaml"],
    ] {
        let refused = program_in(args, folder.path());
        assert_eq!(refused.status.code(), Some(2));
        assert!(
            text(&refused.stderr).contains("--force"),
            "{}",
            text(&refused.stderr)
        );
        assert_eq!(fs::read_to_string(&file).expect("the file"), "mine");
    }
    answer_in(
        &["new", "--from", "storm-wheel", "machine.yaml", "--force"],
        folder.path(),
    );
    assert!(
        fs::read_to_string(&file)
            .expect("the file")
            .contains("Storm wheel")
    );
    assert_eq!(
        fs::read_dir(folder.path()).expect("a directory").count(),
        1,
        "nothing is left beside it"
    );
}

#[test]
fn every_machine_listed_can_be_copied() {
    let folder = tempfile::tempdir().expect("a directory");
    let list = answer_in(&["new", "--list"], folder.path());
    let names: Vec<&str> = list
        .lines()
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(names.len() >= 7);
    for name in names {
        answer_in(&["new", "--from", name], folder.path());
        answer_in(&["check", &format!("{name}.yaml")], folder.path());
    }
    let refused = program_in(&["new", "--from", "storm-weel"], folder.path());
    assert!(
        text(&refused.stderr).contains("did you mean `storm-wheel`?"),
        "{}",
        text(&refused.stderr)
    );
}

#[test]
fn what_cannot_be_is_refused_with_a_way_out() {
    let folder = tempfile::tempdir().expect("a directory");
    for (args, hint) in [
        (&["new", "--marble", "16"][..], "with its unit"),
        (&["new", "--splitter", "bowel"], "did you mean `bowl`?"),
        (
            &["new", "--splitter", "flip-gate", "--modules", "3"],
            "--modules 2",
        ),
        (
            &["new", "--splitter", "none", "--modules", "2"],
            "--splitter",
        ),
        (&["new", "--wheels", "9"], "from 1 to 3"),
    ] {
        let refused = program_in(args, folder.path());
        assert_eq!(refused.status.code(), Some(2), "{args:?}");
        assert!(
            text(&refused.stderr).contains(hint),
            "{args:?}: {}",
            text(&refused.stderr)
        );
    }
    assert_eq!(
        fs::read_dir(folder.path()).expect("a directory").count(),
        0,
        "nothing was written"
    );
}

#[test]
fn marbles_given_in_inches_make_a_file_in_inches() {
    let folder = tempfile::tempdir().expect("a directory");
    for (name, marble, inches) in [
        ("a.yaml", "5/8 in", true),
        ("b.yaml", "½ in", true),
        ("c.yaml", "16 mm", false),
    ] {
        answer_in(&["new", name, "--marble", marble], folder.path());
        let written = fs::read_to_string(folder.path().join(name)).expect("the file");
        let ramp = written
            .lines()
            .find(|line| line.contains("ramp: {"))
            .expect("a ramp");
        assert_eq!(
            (ramp.contains(" in,"), ramp.contains(" mm,")),
            (inches, !inches),
            "{marble}: {ramp}"
        );
    }
    answer_in(
        &["new", "d.yaml", "--marble", "5/8 in", "--units", "mm"],
        folder.path(),
    );
    let written = fs::read_to_string(folder.path().join("d.yaml")).expect("the file");
    assert!(
        written.contains(" mm,") && !written.contains(" in,"),
        "what is asked for outright holds: {written}"
    );
}

#[test]
fn a_first_machine_works_whatever_is_assumed_and_its_heights_are_explained() {
    let folder = tempfile::tempdir().expect("a directory");
    for &wheels in &["1", "2"][..sampled(1, 2)] {
        answer_in(
            &["new", "machine.yaml", "--wheels", wheels, "--force"],
            folder.path(),
        );
        // Few constants, or all.
        let given: Vec<String> = GIVEN[..sampled(GIVEN.len(), 0)]
            .iter()
            .map(|(key, value)| format!("--set={}={value}", key.replace(".wheel.", ".wheel-1.")))
            .collect();
        let mut ask = vec!["sheet", "machine.yaml", "--no-files"];
        ask.extend(given.iter().map(String::as_str));
        let sheet = answer_in(&ask, folder.path());
        let words = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
        let holds = [
            "it works at either end of each",
            "none moves the answer noticeably",
        ];
        assert!(
            holds.iter().any(|says| words.contains(says)),
            "{wheels} wheels: {sheet}"
        );
        let left = words.split("height left over ").nth(1).expect("heights");
        let far: f64 = left
            .split(' ')
            .next()
            .expect("a figure")
            .parse()
            .expect("millimetres");
        assert!(
            far < 40.0
                || left
                    .split(" mm")
                    .nth(1)
                    .is_some_and(|rest| rest.starts_with(": more than")),
            "{left}"
        );
    }
}
