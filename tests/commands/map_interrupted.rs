//! Maps that are interrupted at any moment, and resumed, end in the same bytes; nothing half-written is ever seen.
#![cfg(unix)]

use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::Duration;

use crate::maps::{OVER, args, files, workshop};
use crate::program::{PROGRAM, program, stderr};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Interruptions of the main test.
const TIMES: u32 = 50;

fn start(machine: &str, out: &Path, more: &[&str]) -> Child {
    start_over(OVER, machine, out, more)
}

fn start_over(over: &[&str], machine: &str, out: &Path, more: &[&str]) -> Child {
    let out = out.display().to_string();
    let all = args(
        machine,
        &[over, &["--threads", "2", "--out", &out], more].concat(),
    );
    Command::new(PROGRAM)
        .args(&all)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts")
}

/// Ends the child by SIGINT or SIGKILL after a while; whether it was still at work.
fn interrupt(mut child: Child, after: Duration, kill: bool) -> bool {
    std::thread::sleep(after);
    if child.try_wait().expect("its status").is_none() {
        if kill {
            child.kill().expect("a signal");
        } else {
            let pid = child.id().to_string();
            Command::new("kill")
                .args(["-INT", &pid])
                .status()
                .expect("a signal");
        }
    }
    let output = child.wait_with_output().expect("it ends");
    let stopped = |status: ExitStatus| status.signal().is_some() || status.code() == Some(130);
    assert!(
        output.status.success() || stopped(output.status),
        "{}: {}",
        output.status,
        stderr(&output)
    );
    stopped(output.status)
}

#[test]
fn interrupted_fifty_times_at_random_moments_a_map_ends_in_the_same_bytes() {
    let (directory, machine) = workshop();
    let whole = directory.path().join("whole");
    assert!(
        start(&machine, &whole, &[])
            .wait()
            .expect("it ends")
            .success()
    );
    let expected = files(&whole);
    let mut luck = ChaCha8Rng::seed_from_u64(20);
    let (mut interrupted, mut finished) = (0, 0);
    while interrupted < TIMES || finished == 0 {
        let out = directory.path().join(format!("map-{finished}"));
        let after = Duration::from_micros(luck.next_u64() % 100_000);
        if interrupt(
            start(&machine, &out, &["--resume"]),
            after,
            luck.next_u64() % 2 == 0,
        ) {
            interrupted += 1;
            if out.exists() {
                for (name, bytes) in files(&out)
                    .iter()
                    .filter(|(name, _)| expected.contains_key(*name))
                {
                    assert!(bytes == &expected[name], "{name} is whole or not there");
                }
            }
        } else {
            assert!(
                files(&out) == expected,
                "nothing is missing, nothing is left over"
            );
            finished += 1;
        }
    }
    println!("{interrupted} interruptions, {finished} maps finished");
}

#[test]
fn an_interrupted_map_says_what_is_kept_and_how_to_go_on() {
    let (directory, machine) = workshop();
    let out = directory.path().join("a map");
    let long = ["--runs", "80", "--hours", "1"];
    let mut child = start_over(&OVER[..4], &machine, &out, &long);
    let journal = out.join("map.journal");
    while !fs::read_to_string(&journal).is_ok_and(|text| text.lines().count() > 2) {
        assert!(
            child.try_wait().expect("its status").is_none(),
            "it is at work"
        );
        std::thread::sleep(Duration::from_millis(5));
    }
    let pid = child.id().to_string();
    Command::new("kill")
        .args(["-INT", &pid])
        .status()
        .expect("a signal");
    let output = child.wait_with_output().expect("it ends");
    let said = stderr(&output);
    assert_eq!(output.status.code(), Some(130), "{said}");
    assert!(
        said.contains("What was finished is kept in") && said.contains("/a map' --runs 80"),
        "{said}"
    );
    assert!(said.trim_end().ends_with("--resume"), "{said}");
    assert_eq!(files(&out).into_keys().collect::<Vec<_>>(), ["map.journal"]);
    let place = out.display().to_string();
    // Begun again without --resume, or as another map, nothing that was finished is lost.
    let again = program(&as_words(&args(
        &machine,
        &[&OVER[..4], &long, &["--out", &place]].concat(),
    )));
    assert!(
        again.status.code() == Some(2) && stderr(&again).contains("add --resume"),
        "{}",
        stderr(&again)
    );
    let other = [
        &OVER[..4],
        &long,
        &["--seed", "7", "--out", &place, "--resume"],
    ]
    .concat();
    let other = program(&as_words(&args(&machine, &other)));
    assert!(other.status.code() == Some(2), "{}", stderr(&other));
    assert!(
        stderr(&other).contains("it belongs to another map: seed 1 there, 7 here"),
        "{}",
        stderr(&other)
    );
}

fn as_words(words: &[String]) -> Vec<&str> {
    words.iter().map(String::as_str).collect()
}

/// A journal torn anywhere in its last line, or in its first, is gone on with; one that is not as it was written is refused.
#[test]
fn a_torn_last_line_is_left_out_and_a_damaged_line_is_not() {
    let (directory, machine) = workshop();
    let (whole, out) = (directory.path().join("whole"), directory.path().join("out"));
    assert!(
        start(&machine, &whole, &[])
            .wait()
            .expect("it ends")
            .success()
    );
    fs::create_dir(&out).expect("a directory");
    let journal = out.join("map.journal");
    let text = loop {
        assert!(
            interrupt(
                start(&machine, &out, &["--resume"]),
                Duration::from_millis(60),
                true
            ) || !journal.exists()
        );
        match fs::read_to_string(&journal) {
            Ok(text) if text.lines().count() > 3 => break text,
            _ => {}
        }
    };
    for length in [0, 1, text.len() / 2, text.len() - 1] {
        fs::write(&journal, &text[..length]).expect("written");
        assert!(
            start(&machine, &out, &["--resume"])
                .wait()
                .expect("it ends")
                .success()
        );
        assert!(files(&out) == files(&whole), "torn at {length}");
    }
    // Every digit of the second line, one at a time, and then a letter.
    let second = text.find('\n').expect("a line end") + 1;
    let end = second + text[second..].find('\n').expect("a line end");
    let digits: Vec<usize> = (second..end)
        .filter(|&at| text.as_bytes()[at].is_ascii_digit())
        .collect();
    let mut other = digits
        .iter()
        .step_by(digits.len() / 12)
        .map(|&at| {
            let digit = if &text[at..=at] == "9" { "8" } else { "9" };
            format!("{}{digit}{}", &text[..at], &text[at + 1..])
        })
        .collect::<Vec<String>>();
    other.push(text.replacen("\"column\":", "\"colunm\":", 1));
    for changed in other {
        fs::write(&journal, &changed).expect("written");
        let child = start(&machine, &out, &["--resume"])
            .wait_with_output()
            .expect("it ends");
        let said = stderr(&child);
        assert!(
            child.status.code() == Some(2) && said.contains("line 2 is not as it was written"),
            "{said}"
        );
    }
}
