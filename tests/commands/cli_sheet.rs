//! The bench sheet from outside: what is printed and what is written.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::program::given;

const STARTER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/starter-loop.yaml");

fn sheet(folder: &Path, args: &[&str]) -> String {
    let mut sheet = Command::new(env!("CARGO_BIN_EXE_marblewright"));
    let output = sheet
        .current_dir(folder)
        .arg("sheet")
        .arg(STARTER)
        .args(args)
        .output()
        .expect("the program starts");
    assert!(
        output.status.success(),
        "{args:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(output.stderr.is_empty());
    String::from_utf8(output.stdout).expect("text")
}

fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut names: Vec<String> = entries
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    names
}

#[test]
fn the_sheet_and_the_faces_go_where_out_says_and_nowhere_with_no_files() {
    let folder = tempfile::tempdir().expect("a directory");
    let at = folder.path();
    let alone = sheet(at, &["--no-files", "--no-assumptions"]);
    assert!(names(at).is_empty());
    let text = sheet(at, &["--out", "there", "--no-assumptions"]);
    let all = [
        "profile.png",
        "sheet.json",
        "sheet.txt",
        "wheel-face-wheel.png",
    ];
    assert_eq!(names(&at.join("there")), all);
    assert!(all.iter().all(|name| text.contains(name)), "{text}");
    assert_eq!(
        fs::read_to_string(at.join("there/sheet.txt")).expect("text"),
        alone
    );
    sheet(at, &["--no-assumptions", "--quiet"]);
    assert_eq!(
        names(&at.join("reports/starter-loop")),
        all,
        "reports/<machine> by default"
    );
}

#[test]
fn json_is_one_object_with_the_sections_and_what_is_assumed() {
    let folder = tempfile::tempdir().expect("a directory");
    let given = given();
    let mut open = vec!["--no-files", "--json"];
    open.extend(given.iter().map(String::as_str));
    let text = sheet(folder.path(), &open);
    let json: serde_json::Value = serde_json::from_str(&text).expect("one JSON object");
    assert!(
        json["sections"]
            .as_array()
            .is_some_and(|sections| sections.len() > 4)
    );
    let constants = json["assumptions"]["constants"]
        .as_array()
        .expect("constants");
    assert!(
        constants.iter().any(|one| one["key"] == "assume.friction"),
        "{constants:?}"
    );
    let without = sheet(folder.path(), &["--no-files", "--json", "--no-assumptions"]);
    let json: serde_json::Value = serde_json::from_str(&without).expect("one JSON object");
    assert!(json["assumptions"].is_null());
}

/// Names and units of figures by row, of the sheet's parts about a kind of element.
fn figures(section: &serde_json::Value) -> Vec<(&str, &str, f64)> {
    let rows = section["rows"].as_array().expect("rows");
    let all = rows
        .iter()
        .flat_map(|row| row["figures"].as_array().expect("figures"));
    all.map(|one| {
        let text = |key: &str| one[key].as_str().expect("text");
        (
            text("name"),
            text("unit"),
            one["value"].as_f64().expect("a number"),
        )
    })
    .collect()
}

/// The bore of the wheel is that of its file.
#[test]
fn json_has_every_number_of_the_text_with_its_unit() {
    let folder = tempfile::tempdir().expect("a directory");
    let text = sheet(
        folder.path(),
        &["--no-files", "--json", "--no-assumptions", "--units", "in"],
    );
    let json: serde_json::Value = serde_json::from_str(&text).expect("one JSON object");
    let units = [
        "m", "s", "m/s", "deg", "rpm", "kg", "N m", "W", "A", "V", "h", "1",
    ];
    for section in json["sections"].as_array().expect("sections") {
        for row in section["rows"].as_array().expect("rows") {
            let numbers = row["value"]
                .as_str()
                .expect("text")
                .contains(|c: char| c.is_ascii_digit());
            assert_eq!(
                numbers,
                row["figures"].as_array().is_some_and(|all| !all.is_empty()),
                "{row}"
            );
        }
        assert!(
            figures(section)
                .iter()
                .all(|(_, unit, value)| units.contains(unit) && value.is_finite())
        );
    }
    let file = fs::read_to_string(STARTER).expect("a file");
    let wheel = json["sections"].as_array().into_iter().flatten();
    let wheel = wheel.filter(|section| {
        section["title"]
            .as_str()
            .is_some_and(|title| title.contains("pocket-wheel"))
    });
    let found: Vec<(&str, &str, f64)> = wheel.flat_map(figures).collect();
    let bore = found.iter().find(|one| one.0 == "width").expect("a bore");
    assert!(
        bore.1 == "m" && file.contains(&format!("bore: {:.0} mm", bore.2 * 1e3)),
        "{bore:?}"
    );
}

#[test]
fn quiet_tells_only_what_worries() {
    let folder = tempfile::tempdir().expect("a directory");
    let quiet = ["--no-files", "--quiet", "--no-assumptions"];
    assert_eq!(
        sheet(folder.path(), &quiet),
        "Nothing on the sheet is tight or won't work.\n"
    );
    let fast = sheet(folder.path(), &[&quiet[..], &["--rpm", "16"]].concat());
    assert!(
        fast.contains("won't work: ") && !fast.contains("indexing angle"),
        "{fast}"
    );
}

#[test]
fn units_are_mm_inches_or_both() {
    let folder = tempfile::tempdir().expect("a directory");
    let shown = |units| {
        sheet(
            folder.path(),
            &["--no-files", "--no-assumptions", "--units", units],
        )
    };
    assert!(shown("mm").contains("pocket spacing               42.3 mm\n"));
    assert!(shown("in").contains("pocket spacing               1.665 in (1 21/32)\n"));
    assert!(shown("both").contains("pocket spacing               42.3 mm = 1.665 in (1 21/32)\n"));
}

/// `run` says without being asked how the answer hangs on what is assumed, and keeps quiet where told to.
#[test]
fn run_says_how_sure_it_is() {
    let run = |args: &[&str]| {
        let few = [
            "run",
            STARTER,
            "--runs",
            "2",
            "--hours",
            "0.1",
            "--no-files",
        ];
        let output = Command::new(env!("CARGO_BIN_EXE_marblewright"))
            .args(few)
            .args(given())
            .args(args)
            .output()
            .expect("starts");
        String::from_utf8(output.stdout).expect("text")
    };
    assert_eq!(run(&[]).matches("How sure?").count(), 1);
    assert!(!run(&["--no-assumptions"]).contains("How sure?"));
    let json: serde_json::Value = serde_json::from_str(&run(&["--json"])).expect("one JSON object");
    assert_eq!(
        json["runs"], 2,
        "the keys of the results stay where they were"
    );
    assert!(
        json["assumptions"]["constants"]
            .as_array()
            .is_some_and(|all| !all.is_empty())
    );
}
