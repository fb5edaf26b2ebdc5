//! The handbook: pages for whoever uses the program, which it carries inside.

/// One page of the handbook.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HandbookPage {
    /// What it is asked for by: lower-case words joined by `-`, and the name of its file without the ending.
    pub name: &'static str,
    /// What it is for, on one line.
    pub about: &'static str,
    /// The whole page, as Markdown.
    pub text: &'static str,
}

/// All pages, the newcomer's first.
pub const PAGES: [HandbookPage; 7] = [
    HandbookPage {
        name: "first-machine",
        about: "from a sketch to a build log: one machine all the way",
        text: include_str!("first-machine.md"),
    },
    HandbookPage {
        name: "mending",
        about: "a machine that fails, is mended, built and diagnosed",
        text: include_str!("mending.md"),
    },
    HandbookPage {
        name: "commands",
        about: "each command with what it prints",
        text: include_str!("commands.md"),
    },
    HandbookPage {
        name: "machine-file",
        about: "every kind and key, units, time laws",
        text: include_str!("machine-file.md"),
    },
    HandbookPage {
        name: "model",
        about: "how it works: the model, its physics, its statistics, and its limits",
        text: include_str!("model.md"),
    },
    HandbookPage {
        name: "rules",
        about: "the rules of a run: what happens when, to the nanosecond",
        text: include_str!("rules.md"),
    },
    HandbookPage {
        name: "cautions",
        about: "marbles, motors, tools",
        text: include_str!("cautions.md"),
    },
];

/// The page of that name, if there is one.
pub fn page(name: &str) -> Option<HandbookPage> {
    PAGES.into_iter().find(|page| page.name == name)
}
