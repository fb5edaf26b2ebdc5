//! Close looks that are kept: with the cache or without it, whole or damaged, answers are the same.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::program::{PROGRAM, QUICK_WHEEL, stderr, stdout, workshop};

fn run(cache: &Path, more: &[&str]) -> Output {
    let (_folder, machine) = workshop(QUICK_WHEEL);
    let run = ["run", &machine, "--runs", "2", "--hours", "0.05"];
    let answer = ["--no-assumptions", "--no-files", "--json"];
    let output = Command::new(PROGRAM)
        .args([&run[..], &answer, more].concat())
        .env("XDG_CACHE_HOME", cache)
        .output()
        .expect("starts");
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    output
}

fn entries(cache: &Path) -> Vec<PathBuf> {
    let folder = cache.join("marblewright");
    let all = fs::read_dir(folder).map_or(Vec::new(), |all| {
        all.map(|entry| entry.expect("an entry").path()).collect()
    });
    let mut all: Vec<PathBuf> = all;
    all.sort();
    all
}

#[test]
#[cfg(target_os = "linux")]
fn a_cache_changes_no_answer() {
    let folder = tempfile::tempdir().expect("a folder");
    let cache = folder.path().join("caches");
    let without = stdout(&run(&cache, &["--no-cache"]));
    assert_eq!(
        entries(&cache),
        Vec::<PathBuf>::new(),
        "nothing is kept where it is not wanted"
    );
    assert_eq!(stdout(&run(&cache, &[])), without);
    let kept = entries(&cache);
    assert!(!kept.is_empty(), "the wheel");
    let whole = fs::read(&kept[0]).expect("an entry");
    assert_eq!(stdout(&run(&cache, &[])), without);
    for damaged in [&whole[..whole.len() / 2], b"not ours", b"\xff\xfe", b""] {
        fs::write(&kept[0], damaged).expect("written");
        assert_eq!(stdout(&run(&cache, &[])), without);
        assert_eq!(
            fs::read(&kept[0]).expect("an entry"),
            whole,
            "it is made anew"
        );
    }
    // With one thread, too.
    fs::remove_file(&kept[0]).expect("gone");
    assert_eq!(stdout(&run(&cache, &["--threads", "1"])), without);
    assert_eq!(fs::read(&kept[0]).expect("an entry"), whole);
}

#[test]
#[cfg(target_os = "linux")]
fn a_cache_that_cannot_be_written_is_a_note() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("caches");
    fs::write(&file, "in the way").expect("written");
    let output = run(&file, &[]);
    let text = stderr(&output);
    assert_eq!(
        text.matches("note: close looks are not kept in ").count(),
        1,
        "{text}"
    );
    let whole = folder.path().join("others");
    assert_eq!(stdout(&output), stdout(&run(&whole, &[])));
}
