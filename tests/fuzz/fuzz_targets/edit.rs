//! A text as a machine file that `fit --into` changes: never a panic, and where the change is what was meant, no
//! comment is lost.
#![no_main]

use libfuzzer_sys::fuzz_target;
use marblewright::machine::{self, edit};

fuzz_target!(|text: &str| {
    edit::put(text, &["circuit", "bell", "track", "time"], "2 s");
    edit::put(text, &["assume", "rolling-resistance"], "0.05 mm");
    let Ok(before) = machine::read(text, &[]) else { return };
    for element in &before.elements {
        let path = ["circuit", &element.name, element.kind.name(), "time"];
        let Some(after) = edit::put(text, &path, "{ normal: { mean: 3.25 s, sd: 0.5 s } }") else { continue };
        let Ok(now) = machine::read(&after, &[]) else { continue };
        let others = |one: &&machine::model::Element| one.name != element.name;
        if before.elements.iter().filter(others).eq(now.elements.iter().filter(others)) {
            keeps_comments(text, &after);
        }
    }
});

/// What follows ` #` in a line, or a line that begins with `#`, is in the changed text too.
fn keeps_comments(text: &str, after: &str) {
    for line in text.lines() {
        let at = line.find(" #").or((line.starts_with('#')).then_some(0));
        let kept = at.is_none_or(|at| after.contains(&line[at..]));
        assert!(kept, "{line:?} of\n{text}\nis not in\n{after}");
    }
}
