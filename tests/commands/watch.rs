//! `run --watch`: an answer for each save, what got better, and an end by Ctrl-C.

use std::fs;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

const PROGRAM: &str = env!("CARGO_BIN_EXE_marblewright");
const PATIENCE: Duration = Duration::from_secs(60);
/// A ring whose flow is set by an escapement.
const RING: &str = "format: 1\ntitle: Ring\nmarbles: { count: 3 }\nstart: track\ncircuit:\n  \
    track: { track: { time: { normal: { mean: 2 s, sd: 0.2 s } }, places: 9, advance: 0.1 s }, to: gate }\n  \
    gate: { escapement: { time: 5 s, places: 3 }, to: track }\n";

/// The program at work, and the lines that it prints.
struct Watching {
    child: Child,
    lines: Receiver<String>,
}

impl Watching {
    fn new(folder: &std::path::Path) -> Self {
        let mut child = Command::new(PROGRAM)
            .args([
                "run",
                "ring.yaml",
                "--watch",
                "--runs",
                "20",
                "--hours",
                "0.1",
            ])
            .current_dir(folder)
            .env_remove("COLUMNS")
            .stdout(Stdio::piped())
            .spawn()
            .expect("it starts");
        let out = BufReader::new(child.stdout.take().expect("its output"));
        let (send, lines) = channel();
        std::thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                if send.send(line).is_err() {
                    return;
                }
            }
        });
        Watching { child, lines }
    }

    /// The next lines up to one that holds `words`.
    fn until(&self, words: &str) -> String {
        let mut all = String::new();
        loop {
            let line = self.lines.recv_timeout(PATIENCE);
            let line = line.unwrap_or_else(|_| panic!("no {words:?} in {all}"));
            all += &format!("{line}\n");
            if line.contains(words) {
                return all;
            }
        }
    }
}

impl Drop for Watching {
    /// A test that fails leaves nothing running.
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn each_save_has_its_answer_and_says_what_got_better_until_it_is_ended() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("ring.yaml");
    fs::write(&file, RING).expect("written");
    let mut watching = Watching::new(folder.path());
    let first = watching.until("Ctrl-C ends it");
    assert!(
        first.starts_with("Ring\n") && first.contains("20 runs; watching ring.yaml"),
        "{first}"
    );
    assert!(!first.contains("was "), "nothing came before: {first}");
    assert!(
        !first.contains('\u{1b}'),
        "no terminal, no control: {first}"
    );
    fs::write(&file, RING.replace("time: 5 s", "time: 2.5 s")).expect("written");
    let faster = watching.until("Ctrl-C ends it");
    assert!(faster.contains("better: was 11.8"), "{faster}");
    fs::write(&file, RING.replace("places: 9", "places: nine")).expect("written");
    let wrong = watching.until("1 problem to mend");
    assert!(wrong.contains("nine"), "{wrong}");
    fs::write(&file, RING).expect("written");
    let slower = watching.until("Ctrl-C ends it");
    assert!(
        slower.contains("worse: was 23.8"),
        "against the last answer: {slower}"
    );
    let id = watching.child.id().to_string();
    Command::new("kill")
        .args(["-INT", &id])
        .status()
        .expect("a signal");
    assert_eq!(watching.child.wait().expect("it ends").code(), Some(130));
    let left: Vec<_> = fs::read_dir(folder.path()).expect("a folder").collect();
    assert_eq!(left.len(), 1, "no files but the machine's");
}

#[test]
fn there_has_to_be_a_file_to_watch() {
    let output = Command::new(PROGRAM)
        .args(["run", "--watch"])
        .output()
        .expect("it starts");
    assert_eq!(output.status.code(), Some(2));
    let says = String::from_utf8_lossy(&output.stderr);
    assert!(says.contains("there is no file to watch"), "{says}");
}
