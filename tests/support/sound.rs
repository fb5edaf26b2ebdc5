//! What must hold of every problem that a reader tells.

use marblewright::machine::{Place, Problem, Setting};

/// Asserts that each problem points into the text or at a setting, and says something.
pub fn assert_sound(problems: &[Problem], text: &str, settings: &[Setting]) {
    assert!(
        !problems.is_empty(),
        "nothing wrong, and yet refused:\n{text}"
    );
    for problem in problems {
        assert!(
            !problem.what.is_empty() && !problem.help.is_empty(),
            "{problem:?}"
        );
        match problem.place {
            Some(Place::File {
                start,
                end,
                line,
                column,
            }) => {
                assert!(
                    start <= end && text.get(start..end).is_some(),
                    "{problem:?} is beside its text:\n{text}"
                );
                assert!(line >= 1 && column >= 1, "{problem:?}");
            }
            Some(Place::Setting(n)) => assert!(n < settings.len(), "{problem:?}"),
            None => {}
        }
    }
}
