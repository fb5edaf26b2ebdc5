//! One meaning of "works": whatever is asked, the same runs are judged the same way.
//!
//! ```text
//! cargo test --release --test scenarios works:: -- --ignored --nocapture
//! ```

use std::process::Command;

use marblewright::circuit::draw::nanos;
use marblewright::circuit::{self, Circuit};
use marblewright::findings::sentences::FindingWriter;
use marblewright::findings::summary::LEVEL;
use marblewright::findings::workable::judge_all;
use marblewright::findings::{Runs, StudyScope as About, summarize};
use marblewright::machine::{self, Machine, Setting};
use marblewright::report::compare::CompareStudy;
use marblewright::report::window::WindowStudy;
use marblewright::study::compare::{Design, compare, run_all};
use marblewright::study::map::{self, Axis, Cell, CellOutcome, Follower, Grid};
use marblewright::study::repeat::{Study, repeat};
use marblewright::study::window::Search;

/// Two minutes of machine time.
const HOURS: f64 = 0.03;
/// A few more than can show anything.
const RUNS: u32 = 64;
const PROGRAM: &str = env!("CARGO_BIN_EXE_marblewright");

/// One run in some hundreds jams, and no jam is allowed; two of the commands once said the contrary of the others.
const SELDOM_JAMS: &str = "format: 1
title: Seldom jams
marbles: { count: 30 }
drive: { speed: 9 rpm }
start: ramp
circuit:
  ramp: { ramp: { time: 1 s, places: 40 }, to: wheel }
  wheel: { pocket-wheel: { pockets: 20, lift: 180 deg, pick-up: { take: 0.95, pinch: 0.00001 } }, to: track }
  track: { track: { time: 3 s, places: 40 }, to: ramp }
workable: { least-fill: 0.5, jams-per-8h: 0, spills: 0 }
tending: stop
";

/// What a sentence says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Said {
    Works,
    DoesNotWork,
    NotSure,
}

/// A machine with some settings.
struct Case<'a> {
    text: &'a str,
    settings: Vec<Setting>,
    machine: Machine,
    circuit: Circuit,
}

fn setting(key: &str, value: impl ToString) -> Setting {
    Setting {
        key: key.to_owned(),
        value: value.to_string(),
    }
}

/// What a sentence of `run` or `compare` says.
fn said(text: &str) -> Said {
    let has = |words: &str| text.contains(words);
    match (has(" works"), has(" does not work: "), has(" seems ")) {
        (true, false, false) => Said::Works,
        (false, true, false) => Said::DoesNotWork,
        (false, false, true) => Said::NotSure,
        _ => panic!("says more than one thing, or none: {text}"),
    }
}

impl<'a> Case<'a> {
    /// `None` where these settings make no machine.
    fn new(text: &'a str, settings: Vec<Setting>) -> Option<Self> {
        let machine = machine::read(text, &settings).ok()?;
        let circuit = circuit::circuit(&machine);
        Some(Case {
            text,
            settings,
            machine,
            circuit,
        })
    }

    /// The same circuit held to other limits.
    fn held_to(&self, limits: &[Setting]) -> Self {
        let settings: Vec<Setting> = self.settings.iter().chain(limits).cloned().collect();
        let machine = machine::read(self.text, &settings).expect("sound limits");
        Case {
            text: self.text,
            settings,
            machine,
            circuit: self.circuit.clone(),
        }
    }

    fn run(&self) -> (Said, String) {
        let mut runs = Runs::new(self.circuit.start);
        runs.extend(repeat(
            &self.circuit,
            &Study {
                seed: 1,
                horizon: nanos(HOURS * 3600.0),
            },
            RUNS,
            || (),
        ));
        let about = About {
            title: String::new(),
            rpm: Some(1.0),
            seed: 1,
            hours: HOURS,
        };
        let summary = summarize(&about, &self.circuit, &runs);
        let workable = &self.machine.workable;
        let writer = FindingWriter {
            machine: &self.machine,
            circuit: &self.circuit,
            summary: &summary,
            runs: &runs,
            judgement: &judge_all(&self.circuit, workable, &runs, LEVEL),
        };
        let answer = writer.all().swap_remove(0);
        assert_eq!(
            answer.good,
            said(&answer.text) == Said::Works,
            "{}",
            answer.text
        );
        (said(&answer.text), answer.text)
    }

    fn window(&self, more: u32) -> (Said, String) {
        let load = self.machine.marbles.count;
        let horizon = nanos(HOURS * 3600.0);
        let search = Search {
            axis: Axis::loads(load..=load + more),
            runs: RUNS,
            seed: 1,
            horizon,
            error: 0.05,
        };
        let workable = &self.machine.workable;
        let window = search.window(&self.circuit, workable, |_| {}, || {});
        let (circuit, rpm) = (&self.circuit, None);
        let study = WindowStudy {
            title: "",
            circuit,
            rpm,
            hours: HOURS,
            workable,
            search: &search,
            window: &window,
        };
        let says: Vec<String> = study
            .findings()
            .into_iter()
            .map(|finding| finding.text)
            .collect();
        let about = |text: &String| {
            text.starts_with(&format!("With {load} ")) || text.starts_with("Below: ")
        };
        let works = says[0].starts_with(&format!("Works with {load} "));
        let said = match works {
            true => Said::Works,
            false if more == 0 && says.iter().any(about) => Said::DoesNotWork,
            false => Said::NotSure,
        };
        (said, says.join(" "))
    }

    fn map(&self) -> (Said, String) {
        struct Quiet;
        impl Follower for Quiet {
            fn go_on(&self) -> bool {
                true
            }
            fn ran(&self) {}
            fn finished(&self, _: &Cell) {}
        }
        let question = map::Question {
            version: String::new(),
            machine: self.text.to_owned(),
            settings: self.settings.clone(),
            along: Axis::plain("marbles", f64::from(self.machine.marbles.count), 1.0, 1),
            across: Axis::plain(
                "workable.spills",
                f64::from(self.machine.workable.spills),
                1.0,
                1,
            ),
            seed: 1,
            runs: RUNS,
            hours: HOURS,
            every_cell: true,
        };
        let grid = Grid::new(question).expect("a sound map");
        let cells = grid.simulate(&[0], &[], &Quiet).expect("nobody says stop");
        let said = match (cells[0].sure, cells[0].verdict == CellOutcome::Works) {
            (true, true) => Said::Works,
            (true, false) => Said::DoesNotWork,
            (false, _) => Said::NotSure,
        };
        (said, format!("{said:?} {:?}", cells[0].verdict))
    }

    fn compare(&self) -> (Said, String) {
        let design = |name: &str| Design {
            name: name.to_owned(),
            circuit: self.circuit.clone(),
            workable: self.machine.workable.clone(),
        };
        let designs = [design("one"), design("other")];
        let all = run_all(
            &designs,
            &Study {
                seed: 1,
                horizon: nanos(HOURS * 3600.0),
            },
            RUNS,
            || {},
        );
        let comparison = compare(&designs, &all, HOURS * 3600.0, 0.95);
        let study = CompareStudy {
            title: "",
            seed: 1,
            hours: HOURS,
            designs: &designs,
            comparison: &comparison,
        };
        let says = study.findings();
        let of = |name: &str| {
            says.iter()
                .find(|finding| finding.text.starts_with(name))
                .expect("a sentence each")
        };
        assert_eq!(said(&of("one, ").text), said(&of("other, ").text));
        (said(&of("one, ").text), of("one, ").text.clone())
    }

    /// Asserts that no two say the contrary, and gives what `run` says.
    fn agree(&self) -> Said {
        let voices = [
            self.run(),
            self.compare(),
            self.window(0),
            self.window(2),
            self.map(),
        ];
        let has = |what: Said| voices.iter().any(|(said, _)| *said == what);
        let limits = (&self.settings, &self.machine.workable);
        assert!(
            !(has(Said::Works) && has(Said::DoesNotWork)),
            "{limits:?}: {voices:#?}"
        );
        assert_eq!(
            voices[0].0, voices[1].0,
            "the same runs at the same level: {limits:?}: {voices:#?}"
        );
        voices[0].0
    }

    /// Asserts that all agree with each limit set at, just under and just over what the machine does; gives what was said.
    fn agree_at_the_limits(&self) -> Vec<Said> {
        let mut runs = Runs::new(self.circuit.start);
        runs.extend(repeat(
            &self.circuit,
            &Study {
                seed: 1,
                horizon: nanos(HOURS * 3600.0),
            },
            RUNS,
            || (),
        ));
        let about = About {
            title: String::new(),
            rpm: None,
            seed: 1,
            hours: HOURS,
        };
        let summary = summarize(&about, &self.circuit, &runs);
        let fill = summary
            .wheels
            .0
            .iter()
            .filter_map(|(_, wheel)| wheel.fill.value)
            .fold(1.0, f64::min);
        let (deepest, backlog) = summary
            .elements
            .0
            .iter()
            .filter_map(|(name, element)| Some((name, element.backlog_p95.value?)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .expect("elements");
        let jams = summary.jams_per_8h.value.unwrap_or(0.0).min(9e5);
        let spills = summary.spills.value.unwrap_or(0.0).round();
        let easy = || {
            [
                setting("workable.least-fill", 0),
                setting("workable.jams-per-8h", 1_000_000),
            ]
        };
        let one = |more: Setting| self.held_to(&[&easy()[..], &[more]].concat()).agree();
        let mut all = Vec::new();
        for by in [-1.0, 0.0, 1.0] {
            let least_fill = (fill + 0.02 * by).clamp(0.0, 1.0);
            all.push(one(setting("workable.least-fill", least_fill)));
            all.push(one(setting(
                &format!("workable.backlog.{deepest}"),
                (backlog.round() + by).max(0.0),
            )));
            all.push(one(setting(
                "workable.jams-per-8h",
                (jams * (1.0 + 0.2 * by)).max(0.0),
            )));
            all.push(one(setting("workable.spills", (spills + by).max(0.0))));
        }
        all
    }
}

fn scenarios() -> Vec<String> {
    let files = crate::support::scenarios();
    let texts = files
        .iter()
        .map(|path| std::fs::read_to_string(path).expect("a scenario"));
    std::iter::once(SELDOM_JAMS.to_owned())
        .chain(texts)
        .collect()
}

/// Every scenario at so many loads, each at a speed of its own, around the file's: what `run` said.
fn agree_at(settings: usize) -> Vec<Said> {
    let mut all = Vec::new();
    for text in scenarios() {
        let own = machine::read(&text, &[]).expect("a scenario");
        let (load, rpm) = (
            f64::from(own.marbles.count),
            circuit::drive::drive_rpm(&own),
        );
        for k in 0..settings {
            let times = if settings == 1 {
                1.0
            } else {
                0.4 + 1.8 * k as f64 / (settings - 1) as f64
            };
            let turned = if rpm > 0.0 {
                Some(rpm * (0.6 + 0.1 * ((7 * k) % 11) as f64))
            } else {
                None
            };
            let turned = turned
                .filter(|_| settings > 1)
                .map(|rpm| setting("rpm", rpm));
            let load = setting("marbles", (load * times).round().max(1.0));
            let case = Case::new(&text, [load].into_iter().chain(turned).collect());
            all.extend(
                case.map(|case| case.agree_at_the_limits())
                    .unwrap_or_default(),
            );
        }
    }
    all
}

fn counted(all: &[Said]) -> [usize; 3] {
    let many = |what| all.iter().filter(|said| **said == what).count();
    let counts = [Said::Works, Said::DoesNotWork, Said::NotSure].map(many);
    println!(
        "works {}, does not work {}, not sure {}",
        counts[0], counts[1], counts[2]
    );
    counts
}

/// Nothing would be shown if all were always unsure.
#[test]
fn all_commands_agree_on_works_for_every_scenario() {
    let [works, does_not, _] = counted(&agree_at(1));
    assert!(works >= 10 && does_not >= 10, "{works} {does_not}");
}

#[test]
#[ignore = "slow: every scenario at twenty loads and speeds"]
fn all_commands_agree_on_works_at_twenty_loads_and_speeds() {
    let [works, does_not, _] = counted(&agree_at(20));
    assert!(works >= 200 && does_not >= 200, "{works} {does_not}");
}

fn printed(words: &[&str]) -> (Option<i32>, String) {
    let output = Command::new(PROGRAM)
        .args(words)
        .env("COLUMNS", "2000")
        .output()
        .expect("the program starts");
    (
        output.status.code(),
        String::from_utf8_lossy(&output.stdout).trim().to_owned(),
    )
}

/// A jam in one of 200 runs, where no more than 5 % of runs may jam: shown to work, by every command and on the page.
#[test]
fn a_jam_in_few_of_many_runs_is_within_what_all_commands_tolerate() {
    let folder = tempfile::tempdir().expect("a directory");
    let file = folder.path().join("seldom-jams.yaml");
    std::fs::write(&file, SELDOM_JAMS).expect("a file");
    let (file, hours) = (
        file.to_str().expect("a path"),
        ["--hours", "0.05", "--no-files", "--quiet"],
    );
    let (_, run) = printed(&[&["run", file, "--no-assumptions"], &hours[..]].concat());
    let (_, log) = printed(&[&["log", file, "--no-assumptions"], &hours[..]].concat());
    let (_, window) =
        printed(&[&["window", file, "--from", "29", "--to", "31"], &hours[..]].concat());
    assert!(run.starts_with("30 marbles at 9 rpm works: "), "{run}");
    assert_eq!(run.lines().next(), log.lines().next());
    assert!(
        window.starts_with("Works with 29 to at least 31 marbles at 9 rpm"),
        "{window}"
    );
    let tolerated =
        "up to 5 % of runs may lock up for good, come to rest, jam, lose marbles or lack room";
    assert!(
        run.contains(tolerated) && window.contains(tolerated),
        "{run}\n{window}"
    );
    let (code, _) = printed(
        &[
            &["run", file, "--no-assumptions", "--require-workable"],
            &hours[..],
        ]
        .concat(),
    );
    assert_eq!(code, Some(0));
}

/// Two runs of which nothing is wrong prove nothing, and the answer says how many would.
#[test]
fn too_few_runs_are_not_called_proof() {
    let folder = tempfile::tempdir().expect("a directory");
    let file = folder.path().join("seldom-jams.yaml");
    std::fs::write(&file, SELDOM_JAMS).expect("a file");
    let words = [
        "run",
        file.to_str().expect("a path"),
        "--no-assumptions",
        "--hours",
        "0.05",
        "--no-files",
        "--quiet",
    ];
    let (code, said) = printed(&[&words[..], &["--runs", "2", "--require-workable"]].concat());
    assert!(
        said.contains(
            "seems to work, but 2 runs of 3 min are too few (take 59 or more: --runs) to show it"
        ),
        "{said}"
    );
    assert_eq!(code, Some(1));
    assert_eq!(
        printed(&[&words[..], &["--runs", "59", "--require-workable"]].concat()).0,
        Some(0)
    );
}

/// A limit that the file is silent about is marked in the sentence, with its number.
#[test]
fn a_default_is_said_where_it_is_what_fails() {
    let silent = SELDOM_JAMS
        .replace("least-fill: 0.5, ", "")
        .replace("count: 30", "count: 4");
    let case = Case::new(&silent, Vec::new()).expect("a machine");
    let (said, text) = case.run();
    assert_eq!(said, Said::DoesNotWork);
    assert!(
        text.contains("of its pockets carry a marble, where 80 %, the default, is good enough"),
        "{text}"
    );
    let given = Case::new(&silent, vec![setting("workable.least-fill", 0.8)])
        .expect("a machine")
        .run()
        .1;
    assert!(given.contains("where 80 % is good enough"), "{given}");
}
