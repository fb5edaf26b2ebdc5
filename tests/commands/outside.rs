//! Whatever comes from outside, files, words, pipes, signals and full disks: nothing hangs, grows or is obeyed, nothing is
//! left behind, and the exit code says what happened.
#![cfg(unix)]

use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use crate::program::{PROGRAM, program_in, text};
use crate::support::sampled;
use marblewright::charts::excerpt::LARGEST;
use marblewright::machine::text::is_obeyed;

const SMALL: &str = include_str!("../../scenarios/starter-loop.yaml");
/// Few short runs, and no look at what is assumed.
const BRIEFLY: [&str; 6] = [
    "--runs",
    "3",
    "--hours",
    "0.02",
    "--no-assumptions",
    "--quiet",
];

fn workshop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a directory");
    fs::write(folder.path().join("small.yaml"), SMALL).expect("a machine");
    folder
}

/// Processor time that the program takes, seconds, as a shell counts it: other programs may have the processor meanwhile.
fn processor_s(args: &[&str], folder: &Path) -> f64 {
    let line = format!("{PROGRAM} \"$@\" > said || exit 1; times");
    let output = Command::new("bash")
        .args(["-c", &line, "bash"])
        .args(args)
        .current_dir(folder)
        .output()
        .expect("bash");
    assert!(
        output.status.success(),
        "{args:?}: {}",
        text(&output.stderr)
    );
    let text = text(&output.stdout);
    let user = text
        .lines()
        .nth(1)
        .and_then(|line| line.split_whitespace().next())
        .expect("time of children");
    let (minutes, seconds) = user
        .trim_end_matches('s')
        .split_once('m')
        .expect("minutes and seconds");
    60.0 * minutes.parse::<f64>().expect("minutes")
        + seconds.replace(',', ".").parse::<f64>().expect("seconds")
}

#[test]
fn a_circuit_of_gamma_laws_of_any_spread_is_checked_within_a_second() {
    let folder = workshop();
    let cvs = ["1e-9", "1e-6", "3e-4", "0.01", "0.034", "0.3", "2", "10"];
    let mut file = "format: 1\nmarbles: { count: 1 }\nstart: a0\ncircuit:\n".to_owned();
    for n in 0..256 {
        let law = format!("{{ gamma: {{ mean: 1 s, cv: {} }} }}", cvs[n % cvs.len()]);
        file += &format!(
            "  a{n}: {{ slide: {{ time: {law} }}, to: a{} }}\n",
            (n + 1) % 256
        );
    }
    fs::write(folder.path().join("gamma.yaml"), file).expect("a machine");
    let took = processor_s(&["check", "gamma.yaml"], folder.path());
    assert!(took < 1.0, "{took} s");
}

#[test]
fn readings_of_any_spread_are_fitted_as_fast() {
    let folder = workshop();
    let fitted = |spread_s: f64| {
        let reading =
            |k: u32| format!("a,{:.12}\n", 5.21 + spread_s * f64::from(k * 7 % 20) / 20.0);
        fs::write(
            folder.path().join("times.csv"),
            "element,seconds\n".to_owned() + &(0..20).map(reading).collect::<String>(),
        )
        .expect("readings");
        processor_s(&["fit", "times.csv", "--no-files"], folder.path())
    };
    let usual = fitted(2.0);
    let spreads_s = [1e-3, 1e-6, 1e-11, 0.02, 2e-5, 1e-9];
    for spread_s in spreads_s.into_iter().take(sampled(3, 6)) {
        let took = fitted(spread_s);
        assert!(
            took < 2.0 * usual,
            "{spread_s} s apart: {took} s against {usual} s"
        );
    }
    fitted(0.5);
    let misread = |error_s: &str| {
        processor_s(
            &["fit", "times.csv", "--no-files", "--reading-error", error_s],
            folder.path(),
        )
    };
    let negligible = misread("0.0000001s");
    assert!(
        negligible < 2.0 * usual,
        "with a negligible reading error: {negligible} s against {usual} s"
    );
    let usual = misread("0.1s");
    for (spread_s, error_s) in [
        (1e-3, "0.0000001s"),
        (2e-5, "0.00001s"),
        (1e-7, "0.0000001s"),
    ] {
        fitted(spread_s);
        let took = misread(error_s);
        assert!(
            took < 2.0 * usual,
            "{spread_s} s apart, read to {error_s}: {took} s against {usual} s"
        );
    }
}

#[test]
fn tables_of_runs_are_written_while_more_are_made() {
    let folder = workshop();
    let mut child = at_work(
        &[
            "run",
            "small.yaml",
            "--every-run",
            "--runs",
            "1000000",
            "--hours",
            "0.02",
            "--out",
            "out",
        ],
        folder.path(),
    );
    let begun = || -> Vec<u64> {
        let entries = fs::read_dir(folder.path().join("out"))
            .into_iter()
            .flatten()
            .flatten();
        let tables = entries.filter(|entry| entry.file_name().to_string_lossy().contains(".csv"));
        tables
            .filter_map(|entry| Some(entry.metadata().ok()?.len()))
            .collect()
    };
    let deadline = std::time::Instant::now() + Duration::from_secs(60);
    while begun().iter().filter(|&&bytes| bytes > 100_000).count() < 2 {
        assert!(
            std::time::Instant::now() < deadline && child.try_wait().expect("its status").is_none(),
            "{:?}",
            begun()
        );
        std::thread::sleep(Duration::from_millis(50));
    }
    Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .expect("a signal");
    assert_eq!(child.wait().expect("it ends").code(), Some(130));
    assert!(begun().is_empty(), "nothing half-written");
}

#[test]
fn words_that_are_no_text_are_refused_in_a_sentence() {
    let folder = workshop();
    let all: [&[&[u8]]; 4] = [
        &[b"run", b"/x\xff"],
        &[b"--set", b"a=\xff"],
        &[b"check", b"a\xff"],
        &[b"\xff"],
    ];
    for words in all {
        let output = Command::new(PROGRAM)
            .args(words.iter().map(|word| OsStr::from_bytes(word)))
            .current_dir(folder.path())
            .output()
            .expect("it starts");
        let said = text(&output.stderr);
        assert!(
            output.status.code() == Some(2)
                && said.starts_with("error: ")
                && said.contains("\n  help: "),
            "{said}"
        );
    }
}

/// Letters that a terminal obeys, and marks that turn the order of letters; some as YAML writes them, some as they are.
const OBEYED: &str = r"\e[2Jcolours\e]0;owned\a bell\b\r over\x7F\x9b31m \u202Egnp.exe\u2066 \u200F\u061C\u2028 line\n\n   9 marbles works: it ran through";

#[test]
fn nothing_from_outside_is_obeyed_by_a_terminal_or_stands_on_a_page() {
    let folder = workshop();
    let file = "a \u{1b}[31m\u{7}\r\u{9b}\u{202e}\n   works.yaml";
    let machine = format!(
        "title: \"{OBEYED}\"\n# \u{202e} \u{2066}\n{}",
        SMALL.replace("title:", "# title:")
    );
    fs::write(folder.path().join(file), machine).expect("a machine");
    let broken = "broken \u{1b}]0;\u{202e}.yaml";
    fs::write(
        folder.path().join(broken),
        format!("format: 1\nfrom\u{202e}at: \"{OBEYED}\"\n"),
    )
    .expect("a file");
    fs::write(
        folder.path().join("times.csv"),
        "element,seconds\nb\u{1b}[2J\u{202e},3\n\u{9b}31m,x\n",
    )
    .expect("readings");
    let brief = ["--runs", "2", "--hours", "0.02", "--out", "out"];
    let clean = |text: &str, of: &str| {
        let odd = text.chars().find(|&c| is_obeyed(c) && c != '\n');
        assert_eq!(odd, None, "{of}: {text:?}");
        assert!(
            !text
                .lines()
                .any(|line| line.starts_with("   9 marbles works")),
            "{of}: a forged answer: {text}"
        );
    };
    for (command, of) in [
        ("check", file),
        ("check", broken),
        ("check", "\u{1b}\u{202e}nowhere"),
        ("run", file),
        ("window", file),
        ("mend", file),
        ("why", file),
        ("sheet", file),
        ("log", file),
        ("fit", "times.csv"),
    ] {
        let more: &[&str] = match command {
            "check" => &[],
            "sheet" | "fit" => &["--out", "out"],
            _ => &brief,
        };
        let output = program_in(&[&[command, of], more].concat(), folder.path());
        clean(&text(&output.stdout), command);
        clean(&text(&output.stderr), command);
    }
    let pages = [
        "log.md",
        "log.html",
        "results.json",
        "elements.csv",
        "sheet.txt",
    ];
    for name in pages {
        let page = fs::read_to_string(folder.path().join("out").join(name)).expect(name);
        clean(&page, name);
    }
}

#[test]
fn results_are_written_before_pictures_and_the_exit_code_says_what_is_missing() {
    let folder = workshop();
    let out = folder.path().join("out");
    fs::create_dir_all(out.join("circuit.png")).expect("a directory in the way");
    let output = program_in(
        &[&["run", "small.yaml", "--out", "out"], &BRIEFLY[..]].concat(),
        folder.path(),
    );
    let (answer, said) = (text(&output.stdout), text(&output.stderr));
    assert_eq!(output.status.code(), Some(3), "{said}");
    assert!(
        answer.contains("14 marbles") && said.contains("cannot write out/circuit.png"),
        "{answer}{said}"
    );
    assert!(!said.contains("machine file"), "{said}");
    for name in ["results.json", "runs.csv", "elements.csv"] {
        assert!(out.join(name).exists(), "{name} is there");
    }
}

#[test]
fn a_limit_on_the_size_of_files_costs_pictures_only() {
    let folder = workshop();
    let line = format!(
        "ulimit -f 24; exec {PROGRAM} run small.yaml --out out {}",
        BRIEFLY.join(" ")
    );
    let output = Command::new("sh")
        .args(["-c", &line])
        .current_dir(folder.path())
        .output()
        .expect("a shell");
    assert_eq!(
        output.status.code(),
        Some(3),
        "{:?} {}",
        output.status,
        text(&output.stderr)
    );
    let mut names: Vec<String> = fs::read_dir(folder.path().join("out"))
        .expect("a directory")
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .into_string()
                .expect("text")
        })
        .collect();
    names.sort();
    assert_eq!(
        names,
        ["elements.csv", "results.json", "runs.csv"],
        "and nothing half-written"
    );
}

#[test]
fn what_a_killed_program_left_is_swept_and_what_another_writes_stays() {
    let folder = workshop();
    let out = folder.path().join("out");
    fs::create_dir(&out).expect("a directory");
    fs::write(out.join(".unfinished-circuit.png-x1"), "half").expect("a leftover");
    let other = fs::File::create(out.join(".unfinished-map.csv-x2")).expect("another's file");
    other.lock().expect("a lock");
    let output = program_in(
        &[&["run", "small.yaml", "--out", "out"], &BRIEFLY[..]].concat(),
        folder.path(),
    );
    assert!(output.status.success(), "{}", text(&output.stderr));
    assert!(
        !out.join(".unfinished-circuit.png-x1").exists()
            && out.join(".unfinished-map.csv-x2").exists()
    );
}

/// Pegs with two ways each, which cross in every direction.
fn pegs(count: usize) -> String {
    let mut file =
        "format: 1\nmarbles: { count: 5, diameter: 16 mm }\nstart: p0\ncircuit:\n".to_owned();
    for n in 0..count {
        let (next, far) = ((n + 1) % count, (n * 7 + 3) % count);
        let far = if far == n { (n + 2) % count } else { far };
        file += &format!("  p{n}: {{ peg: {{ time: 1 s }}, to: [p{next}, p{far}] }}\n");
    }
    file
}

#[test]
fn a_picture_has_a_largest_size_and_the_largest_circuit_is_drawn_in_seconds() {
    let folder = workshop();
    for count in [80, 256] {
        fs::write(folder.path().join("pegs.yaml"), pegs(count)).expect("a machine");
        let took = processor_s(
            &[&["run", "pegs.yaml", "--out", "out"], &BRIEFLY[..]].concat(),
            folder.path(),
        );
        assert!(
            took < 5.0,
            "{count}: {took} s, most of it for pictures, with a program that is not optimised"
        );
        let png = fs::read(folder.path().join("out/circuit.png")).expect("a picture");
        let side = |at: usize| {
            f64::from(u32::from_be_bytes(
                png[at..at + 4].try_into().expect("four bytes"),
            ))
        };
        assert!(
            side(16) * side(20) <= 1.01 * LARGEST,
            "{count}: {} by {}",
            side(16),
            side(20)
        );
    }
    let film = program_in(&["film", "pegs.yaml", "--out", "out"], folder.path());
    assert!(film.status.code() == Some(2) && text(&film.stderr).contains("too large for a film"));
}

fn at_work(args: &[&str], folder: &Path) -> Child {
    let mut command = Command::new(PROGRAM);
    command
        .args(args)
        .current_dir(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("it starts")
}

#[test]
fn every_command_that_is_interrupted_ends_with_130_and_leaves_nothing_half_written() {
    let folder = workshop();
    let readings: String = (0..300)
        .map(|k| format!("a,{}\n", 4.0 + f64::from(k * 7 % 300) / 100.0))
        .collect();
    fs::write(
        folder.path().join("times.csv"),
        format!("element,seconds\n{readings}"),
    )
    .expect("readings");
    let long = ["--hours", "5000", "--out", "out"];
    let commands: [&[&str]; 6] = [
        &["run", "small.yaml"],
        &["window", "small.yaml"],
        &["compare", "small.yaml", "--variant", "rpm=2"],
        &["log", "small.yaml"],
        &["film", "small.yaml", "--from", "9000:00:00", "--out", "out"],
        &[
            "fit",
            "times.csv",
            "--reading-error",
            "0.1s",
            "--out",
            "out",
        ],
    ];
    for command in commands {
        let more: &[&str] = if command.contains(&"--out") {
            &[]
        } else {
            &long
        };
        let mut child = at_work(&[command, more].concat(), folder.path());
        std::thread::sleep(Duration::from_millis(400));
        assert!(
            child.try_wait().expect("its status").is_none(),
            "{command:?} is at work"
        );
        Command::new("kill")
            .args(["-INT", &child.id().to_string()])
            .status()
            .expect("a signal");
        assert_eq!(
            child.wait().expect("it ends").code(),
            Some(130),
            "{command:?}"
        );
    }
    let left = fs::read_dir(folder.path().join("out")).map_or(0, Iterator::count);
    assert_eq!(left, 0, "nothing half-written");
}

#[test]
fn a_pipe_is_not_a_plain_file_and_is_not_waited_for() {
    let folder = workshop();
    let made = Command::new("mkfifo")
        .arg(folder.path().join("pipe"))
        .status()
        .expect("mkfifo");
    assert!(made.success());
    for command in [
        &["check", "pipe"][..],
        &["fit", "pipe"],
        &["gather", "pipe"],
    ] {
        let mut child = at_work(command, folder.path());
        std::thread::sleep(Duration::from_millis(50));
        let ended = (0..100).any(|_| {
            std::thread::sleep(Duration::from_millis(50));
            child.try_wait().expect("its status").is_some()
        });
        if !ended {
            child.kill().expect("it is still there");
        }
        assert!(ended, "{command:?} waits");
    }
    let refused = program_in(&["check", "pipe"], folder.path());
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        text(&refused.stderr).contains("it is not a plain file"),
        "{}",
        text(&refused.stderr)
    );
}

#[test]
fn help_that_nobody_can_read_is_no_success() {
    if !Path::new("/dev/full").exists() {
        return;
    }
    for args in ["--help", "--version", "help run"] {
        let full = fs::File::options()
            .write(true)
            .open("/dev/full")
            .expect("a full device");
        let output = Command::new(PROGRAM)
            .args(args.split(' '))
            .stdout(full)
            .output()
            .expect("it starts");
        assert_eq!(output.status.code(), Some(2), "{args}");
        assert!(
            text(&output.stderr).contains("the disk is full"),
            "{args}: {}",
            text(&output.stderr)
        );
    }
}

#[test]
fn a_file_whose_name_is_all_dots_has_a_directory_of_its_own() {
    let folder = workshop();
    for name in ["..yaml", "....yaml", " .yaml"] {
        fs::copy(folder.path().join("small.yaml"), folder.path().join(name)).expect("a machine");
        let output = program_in(&[&["run", name], &BRIEFLY[..]].concat(), folder.path());
        assert!(output.status.success(), "{name}: {}", text(&output.stderr));
        assert!(
            folder.path().join("reports/machine/results.json").exists(),
            "{name}"
        );
        fs::remove_dir_all(folder.path().join("reports")).expect("removed");
    }
}

#[test]
fn what_was_nearly_typed_is_offered() {
    let folder = workshop();
    for (args, hint) in [
        (&["rum", "small.yaml"][..], "did you mean `run`?"),
        (&["rum"], "did you mean the command `run`?"),
        (&["chekc", "small.yaml", "--json"], "did you mean `check`?"),
        (
            &["check", "small.yaml", "--set", "wheel.pockets=20"],
            "did you mean `circuit.wheel.pocket-wheel.pockets`?",
        ),
        (
            &["check", "small.yaml", "--set", "wheel.to=floor"],
            "did you mean `circuit.wheel.to`?",
        ),
        (
            &["check", "small.yaml", "--rpm", "5,5"],
            "has a comma in its number",
        ),
        (
            &[
                "check",
                "small.yaml",
                "--set",
                "circuit.ramp.length=-3/4 in",
            ],
            "-0.75 in",
        ),
        (
            &["check", "small.yaml", "--set", "start=[ramp, wheel]"],
            "marbles are poured in at one",
        ),
    ] {
        let refused = program_in(args, folder.path());
        let said = text(&refused.stderr);
        assert!(
            refused.status.code() == Some(2) && said.contains(hint),
            "{args:?}: {said}"
        );
    }
    let read = program_in(
        &["check", "small.yaml", "--set", "circuit.ramp.length=17½ in"],
        folder.path(),
    );
    assert!(read.status.success(), "{}", text(&read.stderr));
}

#[test]
fn every_command_with_an_answer_takes_units() {
    let commands = [
        "run", "check", "film", "sheet", "why", "window", "compare", "map", "gather", "fit", "log",
        "mend", "new",
    ];
    for command in commands {
        let output = program_in(&[command, "--units", "in", "--help"], Path::new("."));
        assert!(
            output.status.success(),
            "{command}: {}",
            text(&output.stderr)
        );
    }
}
