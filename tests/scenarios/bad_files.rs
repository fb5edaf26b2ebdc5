//! Machine files that are wrong, each in one way, and what the program says about them.
//!
//! `bad_files/NAME.yaml` is run (with the arguments of `NAME.args`, one a line, where there are any) and must end with exit
//! code 2 and the text of `NAME.err`. After a change to a message: `UPDATE_EXPECT=1 cargo test --test scenarios bad_files::`, then read
//! the differences.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const PROGRAM: &str = env!("CARGO_BIN_EXE_marblewright");

fn directory() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_files")
}

/// Runs `file` of the directory, with nothing to be written but into `out`.
fn run(file: &str, args: &[String], out: &Path) -> Output {
    let mut command = Command::new(PROGRAM);
    command
        .current_dir(directory())
        .args(["run", file, "--runs", "1", "--hours", "0.01", "--out"])
        .arg(out);
    command.args(args).output().expect("the program starts")
}

/// The names of all files of the directory that end in `.yaml`, without that, in order.
fn names() -> Vec<String> {
    let files = fs::read_dir(directory()).expect("the directory of bad files");
    let paths = files.map(|file| file.expect("an entry").path());
    let mut names: Vec<String> = paths
        .filter(|path| path.extension().is_some_and(|ending| ending == "yaml"))
        .map(|path| {
            path.file_stem()
                .expect("a name")
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    names
}

fn args(name: &str) -> Vec<String> {
    let text = fs::read_to_string(directory().join(format!("{name}.args"))).unwrap_or_default();
    text.lines().map(str::to_owned).collect()
}

/// What must hold of any refusal, whatever its words; returns standard error.
fn refusal(name: &str, output: &Output, out: &Path) -> String {
    let stderr = String::from_utf8(output.stderr.clone()).expect("messages are UTF-8");
    assert_eq!(
        output.status.code(),
        Some(2),
        "{name} ends with exit code 2:\n{stderr}"
    );
    assert!(
        output.stdout.is_empty(),
        "{name} prints nothing on standard output"
    );
    assert!(!out.exists(), "{name} writes nothing");
    assert!(
        !stderr.contains("panicked"),
        "{name} does not panic:\n{stderr}"
    );
    let odd = stderr.chars().find(|c| c.is_control() && *c != '\n');
    assert_eq!(
        odd, None,
        "{name} sends no control characters to the terminal"
    );
    assert!(
        stderr.lines().all(|line| line.chars().count() <= 300),
        "{name} prints no endless line:\n{stderr}"
    );
    stderr
}

/// The problems in a text of messages, one paragraph each.
fn problems(stderr: &str) -> Vec<&str> {
    stderr.split("error: ").skip(1).collect()
}

/// Whether a problem says where it is: a line and column of the file, or the words of the command line.
fn has_place(name: &str, problem: &str) -> bool {
    let in_file = problem.lines().any(|line| {
        let at = line.trim_start().strip_prefix(&format!("--> {name}.yaml:"));
        at.is_some_and(|at| at.split(':').all(|n| n.parse::<u32>().is_ok_and(|n| n > 0)))
    });
    in_file || problem.contains("\n  in --")
}

/// Files that as a whole are not a machine: there is no line to point at.
const PLACELESS: [&str; 2] = ["binary", "utf-16"];
/// What the arguments' reader refuses, in its own form.
const USAGE: [&str; 2] = ["set-without-a-key", "set-without-equals"];

#[test]
fn every_bad_file_is_refused_with_its_place_and_a_way_to_mend_it() {
    let update = std::env::var_os("UPDATE_EXPECT").is_some();
    let out = tempfile::tempdir().expect("a directory").path().join("out");
    let mut changed = Vec::new();
    let names = names();
    assert!(names.len() >= 50);
    for name in &names {
        let stderr = refusal(name, &run(&format!("{name}.yaml"), &args(name), &out), &out);
        let expected = directory().join(format!("{name}.err"));
        if update {
            fs::write(&expected, &stderr).expect("the snapshot is written");
        } else if fs::read_to_string(&expected).ok().as_deref() != Some(&stderr) {
            changed.push(format!("{name} now says:\n{stderr}"));
        }
        if USAGE.contains(&name.as_str()) {
            continue;
        }
        let problems = problems(&stderr);
        assert!(!problems.is_empty(), "{name} has a problem:\n{stderr}");
        for problem in problems {
            assert_eq!(
                problem.matches("help: ").count(),
                1,
                "{name} says one way to mend it:\n{stderr}"
            );
            assert!(
                PLACELESS.contains(&name.as_str()) || has_place(name, problem),
                "{name} says where:\n{stderr}"
            );
        }
    }
    assert!(
        changed.is_empty(),
        "{}\n{} of {} messages changed",
        changed.join("\n"),
        changed.len(),
        names.len()
    );
}

#[test]
fn no_snapshot_is_left_without_its_file() {
    for file in fs::read_dir(directory()).expect("the directory of bad files") {
        let path = file.expect("an entry").path();
        if path
            .extension()
            .is_some_and(|ending| ending == "err" || ending == "args")
        {
            assert!(
                path.with_extension("yaml").exists(),
                "{} belongs to no machine file",
                path.display()
            );
        }
    }
}

#[test]
fn problems_come_in_the_order_of_the_file() {
    let out = Path::new("nowhere");
    for name in [
        "several-problems",
        "several-that-cannot-be",
        "wrong-type-everywhere",
        "more-problems-than-are-shown",
    ] {
        let stderr = refusal(name, &run(&format!("{name}.yaml"), &[], out), out);
        let place = format!("--> {name}.yaml:");
        let lines: Vec<u32> = stderr
            .lines()
            .filter_map(|line| {
                line.trim_start()
                    .strip_prefix(&place)?
                    .split(':')
                    .next()?
                    .parse()
                    .ok()
            })
            .collect();
        assert!(lines.len() > 3 && lines.is_sorted(), "{name}: {lines:?}");
    }
}

#[test]
fn a_directory_is_no_machine_file() {
    let directory = tempfile::tempdir().expect("a directory");
    let out = directory.path().join("out");
    let stderr = refusal(
        "a directory",
        &run(&directory.path().display().to_string(), &[], &out),
        &out,
    );
    assert!(
        stderr.contains("it is a directory") && stderr.contains("help: "),
        "{stderr}"
    );
}

#[test]
fn a_huge_file_is_refused_without_reading_it_all() {
    let directory = tempfile::tempdir().expect("a directory");
    let (file, out) = (
        directory.path().join("huge.yaml"),
        directory.path().join("out"),
    );
    // A sparse file: a gigabyte to read, no room on disk.
    fs::File::create(&file)
        .and_then(|made| made.set_len(1 << 30))
        .expect("a huge file");
    let stderr = refusal(
        "a huge file",
        &run(&file.display().to_string(), &[], &out),
        &out,
    );
    assert!(
        stderr.contains("larger than 1 MiB") && stderr.contains("help: "),
        "{stderr}"
    );
}

#[test]
fn large_files_just_within_the_limit_are_refused_quickly() {
    let directory = tempfile::tempdir().expect("a directory");
    let (file, out) = (
        directory.path().join("large.yaml"),
        directory.path().join("out"),
    );
    let base =
        fs::read_to_string(directory_of_scenarios().join("circuit-a.yaml")).expect("a scenario");
    let keys: String = (0..60_000).map(|n| format!("extra-{n}: {n}\n")).collect();
    let aliases = format!(
        "a: &a [{}]\nb: [{}]\n",
        "x,".repeat(200_000),
        "*a,".repeat(200_000)
    );
    let words = format!("title: {}\n", "word ".repeat(200_000));
    let braces = "{".repeat(1_000_000);
    let bells = format!("? {}", "\u{7}".repeat(1_000_000));
    for (name, text) in [
        ("many keys", format!("{base}{keys}")),
        ("many aliases", aliases),
        ("one long line", words),
        ("open braces", braces),
        ("control characters", bells),
    ] {
        fs::write(&file, text).expect("a large file");
        let before = std::time::Instant::now();
        refusal(name, &run(&file.display().to_string(), &[], &out), &out);
        let taken = before.elapsed();
        assert!(taken.as_secs() < 10, "{name} took {taken:?}");
    }
}

fn directory_of_scenarios() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios")
}
