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

use marblewright::handbook::{HandbookPage, PAGES};

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

/// A shell with the program on its path, at a terminal 120 letters wide.
fn shell(script: &str, folder: &Path) -> Command {
    let program = Path::new(env!("CARGO_BIN_EXE_marblewright"))
        .parent()
        .expect("a directory");
    let path = format!(
        "{}:{}",
        program.display(),
        std::env::var("PATH").unwrap_or_default()
    );
    let mut bash = Command::new("bash");
    bash.current_dir(folder)
        .args(["-c", script])
        .stdin(Stdio::null())
        .env("PATH", path)
        .env("COLUMNS", "120")
        .env("NO_COLOR", "1");
    bash
}

/// What `command` prints, on both streams, to somebody whose terminal is 120 letters wide.
fn printed(command: &str, folder: &Path) -> String {
    let script = format!(
        "exec 2>&1; cargo() {{ shift 2; [ \"$1\" = -- ] && shift; marblewright \"$@\"; }}; {command}"
    );
    let output = shell(&script, folder).output().expect("a shell");
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

/// By the README alone, in an empty folder: from a sketch to a page that moves, in ten typed lines and ten minutes.
#[test]
fn ten_lines_of_the_readme_lead_to_a_build_log() {
    let readme = fs::read_to_string(Path::new(ROOT).join("README.md")).expect("a page");
    let block = pieces(&readme)
        .into_iter()
        .find(|piece| piece.info.as_deref() == Some("sh"))
        .expect("what to type");
    assert!(block.text.lines().count() <= 10, "{}", block.text);
    let folder = tempfile::tempdir().expect("a directory");
    // Building is what `cargo test` has done; the rest is one shell that goes from line to line as a hand would.
    let script = format!(
        "cargo() {{ [ \"$*\" = 'install --path .' ]; }}; set -e\n{}",
        block.text
    );
    let begin = std::time::Instant::now();
    let output = shell(&script, folder.path()).output().expect("a shell");
    let took = begin.elapsed();
    let text = String::from_utf8_lossy(&output.stdout).into_owned()
        + &String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{text}");
    assert!(took.as_secs() < 600, "{took:?}");
    let told = |line: &str| line.starts_with("warning") || line.starts_with("error");
    assert!(
        !text.lines().any(told),
        "nothing that needs explaining: {text}"
    );
    assert!(text.contains(" works: all "), "{text}");
    let pages: Vec<PathBuf> = ["log.html", "log.md", "profile.png", "window.png"]
        .map(|name| folder.path().join("porch-light/reports/machine").join(name))
        .into_iter()
        .filter(|path| !path.exists())
        .collect();
    assert!(pages.is_empty(), "not made: {pages:?}");
    let made = folder.path().join("porch-light/reports/machine/log.html");
    let html = fs::read_to_string(made).expect("a page");
    assert!(html.contains("First machine") && html.contains("<canvas"));
}

/// One test a page, so that they share the cores.
macro_rules! replayed {
    ($($test:ident $page:literal,)*) => {
        $(#[test]
        fn $test() {
            check(concat!("src/handbook/", $page, ".md"), false);
        })*
        const REPLAYED: &[&str] = &[$($page),*];
    };
}

replayed! {
    from_a_sketch_to_a_first_answer "first-machine",
    from_there_to_a_build_log "build-log",
    from_a_machine_that_fails_to_a_diagnosis "mending",
    the_commands "commands",
    a_first_file "new",
    what_dimensions_mean "sheet",
    what_happens "run",
    how_many_marbles "window",
    where_it_works "map",
    what_to_change "mend",
    which_design "compare",
    of_a_hundred_makers "tolerance",
    the_story_of_one_run "why",
    seen_in_motion "film",
    a_page_to_show "log",
    from_stopwatch_to_file "fit",
    what_is_wrong_with_it "diagnose",
    the_machine_file "machine-file",
}

/// Pages of the handbook that show something typed or a file to type.
fn pages_to_replay() -> Vec<&'static str> {
    let shown = |page: &&HandbookPage| {
        pieces(page.text).iter().any(|piece| {
            let info = piece.info.as_deref().unwrap_or_default();
            info.starts_with("console") || info.starts_with("csv ") || info.starts_with("yaml ")
        })
    };
    PAGES.iter().filter(shown).map(|page| page.name).collect()
}

#[test]
fn no_page_is_left_out() {
    let mut replayed = REPLAYED.to_vec();
    let mut pages = pages_to_replay();
    replayed.sort_unstable();
    pages.sort_unstable();
    assert_eq!(pages, replayed);
}

/// One task a page, at a sitting.
#[test]
fn every_page_is_short() {
    for page in PAGES {
        let lines = page.text.lines().count();
        assert!(lines < 150, "{}: {lines} lines", page.name);
    }
    let readme = fs::read_to_string(Path::new(ROOT).join("README.md")).expect("a page");
    let lines = readme.lines().count();
    assert!(lines <= 90, "README.md in two screens: {lines} lines");
}

#[test]
#[ignore = "slow: the large studies in the pages"]
fn slow_blocks() {
    check("README.md", true);
    for page in pages_to_replay() {
        check(&format!("src/handbook/{page}.md"), true);
    }
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
