//! The pages that the program carries.

use std::process::{Command, Output};

use marblewright::handbook::PAGES;

fn handbook(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_marblewright"))
        .arg("handbook")
        .args(args)
        .output()
        .expect("it starts")
}

#[test]
fn every_page_is_listed_on_one_line_and_printed_as_it_stands() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/handbook");
    let files = std::fs::read_dir(folder)
        .expect("a folder")
        .map(|entry| entry.expect("an entry").path());
    let pages: Vec<_> = files
        .filter(|path| path.extension().is_some_and(|end| end == "md"))
        .collect();
    assert_eq!(pages.len(), PAGES.len());
    let list = String::from_utf8(handbook(&[]).stdout).expect("text");
    assert_eq!(list.lines().count(), pages.len());
    for path in pages {
        let name = path.file_stem().expect("a name").to_str().expect("text");
        let text = list
            .lines()
            .find_map(|line| line.strip_prefix(&format!("{name}  ")))
            .expect(name);
        assert!(text.trim().len() > 8, "{list}");
        let printed = handbook(&[name]);
        assert!(
            printed.status.success() && printed.stderr.is_empty(),
            "{printed:?}"
        );
        assert_eq!(
            printed.stdout,
            std::fs::read(&path).expect("a page"),
            "{name}"
        );
    }
}

#[test]
fn a_page_that_there_is_not_is_refused_with_the_nearest() {
    for (name, help) in [
        ("comands", "did you mean `commands`?"),
        ("zebra", "known here: `first-machine`, "),
    ] {
        let refused = handbook(&[name]);
        let text = String::from_utf8(refused.stderr).expect("text");
        assert!(
            refused.status.code() == Some(2) && refused.stdout.is_empty(),
            "{text}"
        );
        assert!(
            text.starts_with(&format!(
                "error: the handbook has no page `{name}`\n  help: {help}"
            )),
            "{text}"
        );
    }
}
