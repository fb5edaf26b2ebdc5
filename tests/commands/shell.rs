//! At home in a shell: completions, manual pages, exit codes, colours, places that cannot be written.

use std::path::Path;
use std::process::{Command, Output};

const PROGRAM: &str = env!("CARGO_BIN_EXE_marblewright");

fn program(args: &[&str]) -> Output {
    let scenarios = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    Command::new(PROGRAM)
        .current_dir(scenarios)
        .args(args)
        .output()
        .expect("starts")
}

fn stdout(args: &[&str]) -> String {
    let output = program(args);
    assert!(
        output.status.success(),
        "{args:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("text")
}

/// The commands, as `--help` lists them.
fn commands() -> Vec<String> {
    let help = stdout(&["--help"]);
    let list = help
        .split("Commands:")
        .nth(1)
        .expect("a list of commands")
        .split("\n\n")
        .next()
        .expect("its lines");
    let names = list
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    names
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .map(str::to_owned)
        .collect()
}

/// What Bash offers after these words, the last of them half-typed; `None` where there is no Bash.
fn offered(words: &[&str]) -> Option<Vec<String>> {
    let script = r#"
        source <("$PROGRAM" completions bash)
        marblewright() { "$PROGRAM" "$@"; }
        COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); COMP_TYPE=9
        _clap_complete_marblewright marblewright "${COMP_WORDS[$COMP_CWORD]}" "${COMP_WORDS[$((COMP_CWORD - 1))]}" 2>/dev/null
        printf '%s\n' "${COMPREPLY[@]}"
    "#;
    let scenarios = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    let mut bash = Command::new("bash");
    bash.current_dir(scenarios)
        .env("PROGRAM", PROGRAM)
        .args(["-c", script, "bash", "marblewright"])
        .args(words);
    let output = bash.output().ok()?;
    Some(
        String::from_utf8(output.stdout)
            .expect("text")
            .lines()
            .map(str::to_owned)
            .collect(),
    )
}

#[test]
fn bash_completes_commands_files_codes_and_the_keys_of_the_file_that_was_named() {
    let Some(run) = offered(&["ru"]) else { return };
    assert_eq!(run, ["run"]);
    for (words, expected) in [
        (&["check", "star"][..], "starter-loop.yaml"),
        (
            &["check", "starter-loop.yaml", "--allow", "pick"],
            "pick-up-limit",
        ),
        (
            &["check", "starter-loop.yaml", "--set", "circuit.zig"],
            "circuit.zig-zag.segments=",
        ),
        (
            &["check", "starter-loop.yaml", "--set", "circuit.wheel.po"],
            "circuit.wheel.pockets=",
        ),
        (
            &["check", "harbour-weir.yaml", "--set", "workable.backlog.ba"],
            "workable.backlog.basin=",
        ),
        (
            &["run", "--set", "circuit.lantern-cup.ga"],
            "circuit.lantern-cup.gathers=",
        ),
        (&["run", "--set", "marbles.di"], "marbles.diameter="),
        (&["completions", "zs"], "zsh"),
        (&["handbook", "ru"], "rules"),
    ] {
        let offered = offered(words).expect("Bash is there");
        assert!(
            offered.iter().any(|word| word == expected),
            "{words:?}: {offered:?}"
        );
        let typed = words.last().expect("a word");
        assert!(
            offered.iter().all(|word| word.starts_with(typed)),
            "{words:?}: {offered:?}"
        );
    }
    let other =
        offered(&["check", "harbour-weir.yaml", "--set", "circuit.wheel"]).expect("Bash is there");
    assert!(
        other.iter().all(|word| !word.contains("wheel")),
        "the weir's file has no `wheel`: {other:?}"
    );
}

#[test]
fn every_key_that_is_offered_can_be_set() {
    let keys = marblewright::machine::keys::keys(include_str!("../../scenarios/lantern-walk.yaml"));
    assert!(keys.len() > 100);
    for key in keys {
        let setting = marblewright::machine::Setting {
            key: key.clone(),
            value: "wobble".to_owned(),
        };
        let read = marblewright::machine::read(
            include_str!("../../scenarios/lantern-walk.yaml"),
            &[setting],
        );
        let unknown = |what: &str| {
            what.contains("does not know a key") || what.contains("no element called `circuit")
        };
        assert!(
            read.err()
                .is_none_or(|problems| problems.iter().all(|p| !unknown(&p.what))),
            "{key}"
        );
    }
}

#[test]
fn every_shell_gets_lines_that_name_the_program() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let text = stdout(&["completions", shell]);
        assert!(
            text.contains("marblewright") && text.contains("COMPLETE"),
            "{shell}: {text}"
        );
        assert!(
            !text.contains(PROGRAM),
            "{shell} finds the program wherever it is installed"
        );
    }
}

#[test]
fn every_command_has_a_manual_page_with_its_example() {
    let directory = tempfile::tempdir().expect("a directory");
    let out = directory.path().display().to_string();
    stdout(&["completions", "man", "--out", &out]);
    let commands = commands();
    assert!(commands.len() >= 5, "{commands:?}");
    for name in commands
        .iter()
        .map(|name| format!("marblewright-{name}"))
        .chain(["marblewright".to_owned()])
    {
        let page =
            std::fs::read_to_string(directory.path().join(format!("{name}.1"))).expect(&name);
        assert!(
            page.contains(".TH ")
                && page.contains(".SH OPTIONS")
                && page.contains("Example: marblewright"),
            "{name}"
        );
    }
    assert!(stdout(&["completions", "man"]).contains(".TH marblewright"));
}

#[test]
fn every_command_says_how_it_is_used() {
    for command in commands() {
        let help = stdout(&[&command, "--help"]);
        assert!(help.contains("Example: marblewright"), "{help}");
    }
}

#[test]
fn colours_are_for_those_who_want_them() {
    let help = |variables: &[(&str, &str)]| {
        let output = Command::new(PROGRAM)
            .arg("--help")
            .envs(variables.iter().copied())
            .output()
            .expect("starts");
        output.stdout.contains(&0x1b)
    };
    assert!(
        help(&[("CLICOLOR_FORCE", "1")]),
        "colours, where they are forced"
    );
    assert!(
        !help(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]),
        "none with NO_COLOR"
    );
    assert!(!help(&[]), "none in a file or a pipe");
}

#[test]
fn exit_codes_are_as_documented() {
    let short = [
        "run",
        "starter-loop.yaml",
        "--runs",
        "1",
        "--hours",
        "0.02",
        "--no-files",
    ];
    let with = |more: &[&str]| program(&[&short[..], more].concat()).status.code();
    let hopeless = ["--set", "workable.least-fill=1"];
    assert_eq!(with(&hopeless), Some(0), "answered");
    assert_eq!(
        with(&[&hopeless[..], &["--require-workable"]].concat()),
        Some(1),
        "not workable"
    );
    assert_eq!(
        with(&["--set", "circuit.wheel.pokets=3"]),
        Some(2),
        "a bad file"
    );
    assert_eq!(with(&["--frobnicate"]), Some(2), "bad usage");
    assert_eq!(
        program(&["completions", "zsch"]).status.code(),
        Some(2),
        "bad usage"
    );
    // However wide the lines are.
    let documented = stdout(&["--help"])
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    for said in [
        "0 answered",
        "1 not workable",
        "2 bad input or usage",
        "130 interrupted",
    ] {
        assert!(documented.contains(said), "{documented}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn it_works_in_a_directory_that_cannot_be_written() {
    let directory = tempfile::tempdir().expect("a directory");
    let out = directory.path().join("answer");
    let run = |more: &[&str]| {
        let mut command = Command::new(PROGRAM);
        command
            .current_dir("/proc")
            .args(["run", "--runs", "1", "--hours", "0.02"])
            .args(more)
            .output()
            .expect("starts")
    };
    let output = run(&["--out", &out.display().to_string()]);
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(Path::new(&out).join("results.json").exists());
    assert!(run(&["--no-files"]).status.success());
    let refused = run(&[]);
    let text = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(
        refused.status.code() == Some(2) && text.contains("help: choose another place"),
        "{text}"
    );
}

#[test]
fn options_before_a_command_are_told_where_they_belong() {
    for (args, line) in [
        (
            &["--marbles", "9", "run", "starter-loop.yaml"][..],
            "`marblewright run starter-loop.yaml --marbles 9`",
        ),
        (&["--no-files", "sheet"], "`marblewright sheet --no-files`"),
    ] {
        let output = program(args);
        let text = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(
            output.status.code() == Some(2) && output.stdout.is_empty(),
            "{text}"
        );
        assert!(
            text.contains("options stand before the command") && text.contains(line),
            "{text}"
        );
    }
}

#[test]
fn an_escapement_that_holds_marbles_back_does_what_it_is_for() {
    let text = stdout(&[
        "run",
        "tide-clock.yaml",
        "--runs",
        "2",
        "--hours",
        "0.2",
        "--no-files",
        "--full",
    ]);
    let tick = text
        .lines()
        .find(|line| line.contains("`tick` is full"))
        .expect("it is full nearly always");
    assert!(
        tick.starts_with("   `tick`") && tick.contains("as an escapement is meant to"),
        "{tick}"
    );
    // The same room in a track before a slow element is worth a mark.
    let text = stdout(&[
        "run",
        "tide-clock.yaml",
        "--runs",
        "2",
        "--hours",
        "0.2",
        "--no-files",
        "--full",
        "--set",
        "circuit.queue.places=2",
    ]);
    let queue = text.lines().find(|line| line.contains("`queue` is full"));
    assert!(queue.is_some_and(|line| line.starts_with('!')), "{text}");
}
