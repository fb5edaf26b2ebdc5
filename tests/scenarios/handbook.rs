//! README and handbook keep their word: what stands in them as typed and printed is typed and printed again.
//!
//! A block of ```console``` holds commands after `$ ` and what they print; one of ```yaml NAME``` or ```csv NAME``` holds a
//! file. A page starts in an empty directory with `scenarios` in it. `console slow` is left to the slow version:
//!
//! ```text
//! cargo test --release --test scenarios handbook:: -- --ignored
//! UPDATE_EXPECT=1 cargo test --release --test scenarios handbook:: -- --include-ignored
//! ```

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// One piece of a page, with its text between the fences; what is not a block has no `info`.
struct Piece {
    info: Option<String>,
    text: String,
}

fn pieces(page: &str) -> Vec<Piece> {
    let mut all = vec![Piece {
        info: None,
        text: String::new(),
    }];
    for line in page.lines() {
        let inside = all.last().is_some_and(|piece| piece.info.is_some());
        match line.strip_prefix("```") {
            Some(_) if inside => all.push(Piece {
                info: None,
                text: String::new(),
            }),
            Some(info) => all.push(Piece {
                info: Some(info.to_owned()),
                text: String::new(),
            }),
            None => {
                let piece = all.last_mut().expect("never empty");
                piece.text += line;
                piece.text += "\n";
            }
        }
    }
    all
}

fn page(pieces: &[Piece]) -> String {
    let text = |piece: &Piece| match &piece.info {
        Some(info) => format!("```{info}\n{}```\n", piece.text),
        None => piece.text.clone(),
    };
    pieces.iter().map(text).collect()
}

/// What `command` prints, on both streams, to somebody whose terminal is 120 letters wide.
fn printed(command: &str, folder: &Path) -> String {
    let program = Path::new(env!("CARGO_BIN_EXE_marblewright"))
        .parent()
        .expect("a directory");
    let script =
        format!("cargo() {{ shift 2; [ \"$1\" = -- ] && shift; marblewright \"$@\"; }}; {command}");
    let path = format!(
        "{}:{}",
        program.display(),
        std::env::var("PATH").unwrap_or_default()
    );
    let mut bash = Command::new("bash");
    bash.current_dir(folder)
        .args(["-c", &format!("exec 2>&1; {script}")])
        .stdin(Stdio::null());
    bash.env("PATH", path)
        .env("COLUMNS", "120")
        .env("NO_COLOR", "1");
    let output = bash.output().expect("a shell");
    String::from_utf8(output.stdout).expect("text")
}

/// Runs the commands of a block and gives the block as it ought to be.
fn replayed(block: &str, folder: &Path) -> String {
    let commands = block.lines().filter_map(|line| line.strip_prefix("$ "));
    commands
        .map(|command| format!("$ {command}\n{}", printed(command, folder)))
        .collect()
}

fn check(name: &str, slow: bool) {
    let path = PathBuf::from(ROOT).join(name);
    let text = fs::read_to_string(&path).expect("a page");
    let mut pieces = pieces(&text);
    assert_eq!(page(&pieces), text, "{name} is read as it stands");
    let folder = tempfile::tempdir().expect("a directory");
    std::os::unix::fs::symlink(
        Path::new(ROOT).join("scenarios"),
        folder.path().join("scenarios"),
    )
    .expect("a link");
    let mut wrong = Vec::new();
    for piece in &mut pieces {
        match piece
            .info
            .as_deref()
            .map(|info| info.split(' ').collect::<Vec<_>>())
            .as_deref()
        {
            Some(["console"]) => {}
            Some(["console", "slow"]) if slow => {}
            Some(["yaml" | "csv", file]) => {
                fs::write(folder.path().join(file), &piece.text).expect("written");
                continue;
            }
            _ => continue,
        }
        let now = replayed(&piece.text, folder.path());
        if now != piece.text {
            wrong.push(format!(
                "{name} says:\n{}\nbut it prints:\n{now}",
                piece.text
            ));
            piece.text = now;
        }
    }
    if std::env::var_os("UPDATE_EXPECT").is_some() {
        fs::write(&path, page(&pieces)).expect("written");
        return;
    }
    assert!(
        wrong.is_empty(),
        "{}\nUPDATE_EXPECT=1 writes it anew",
        wrong.join("\n")
    );
}

#[test]
fn readme() {
    check("README.md", false);
}

/// The newcomer's path, from nothing to a build log.
#[test]
fn from_a_sketch_to_a_build_log() {
    check("src/handbook/first-machine.md", false);
}

/// The path of whoever's machine does not work.
#[test]
fn from_a_machine_that_fails_to_a_diagnosis() {
    check("src/handbook/mending.md", false);
}

#[test]
fn commands() {
    check("src/handbook/commands.md", false);
}

#[test]
fn the_machine_file() {
    check("src/handbook/machine-file.md", false);
}

#[test]
#[ignore = "slow: the large studies in the pages"]
fn slow_blocks() {
    check("README.md", true);
    check("src/handbook/commands.md", true);
}

/// Each key that the reader knows is named in the page of the machine file.
#[test]
fn every_key_is_told() {
    let page =
        fs::read_to_string(Path::new(ROOT).join("src/handbook/machine-file.md")).expect("a page");
    let words: Vec<&str> = page
        .split(|c: char| !(c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'))
        .collect();
    let keys = marblewright::machine::about::sentences()
        .map(|(key, _)| key.rsplit('.').next().unwrap_or(key));
    let kinds = marblewright::machine::model::KINDS;
    let missing: Vec<&str> = keys
        .chain(kinds)
        .filter(|key| !words.contains(key))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
}
