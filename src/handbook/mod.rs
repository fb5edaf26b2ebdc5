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
pub const PAGES: [HandbookPage; 24] = [
    HandbookPage {
        name: "first-machine",
        about: "from a sketch to a first answer: a file, its sheet, its runs",
        text: include_str!("first-machine.md"),
    },
    HandbookPage {
        name: "build-log",
        about: "from there to a build log: load, splitter, stopwatch, page",
        text: include_str!("build-log.md"),
    },
    HandbookPage {
        name: "mending",
        about: "a machine that fails, is mended, built and diagnosed",
        text: include_str!("mending.md"),
    },
    HandbookPage {
        name: "commands",
        about: "which command answers what; options, exit codes",
        text: include_str!("commands.md"),
    },
    HandbookPage {
        name: "new",
        about: "a first file; is it sound; mistakes and warnings",
        text: include_str!("new.md"),
    },
    HandbookPage {
        name: "sheet",
        about: "what the dimensions mean: speeds, heights, what to drill",
        text: include_str!("sheet.md"),
    },
    HandbookPage {
        name: "run",
        about: "what happens, and what it means to work",
        text: include_str!("run.md"),
    },
    HandbookPage {
        name: "window",
        about: "how many marbles work, or which values of any key",
        text: include_str!("window.md"),
    },
    HandbookPage {
        name: "map",
        about: "where it works: load by speed, or any two keys",
        text: include_str!("map.md"),
    },
    HandbookPage {
        name: "mend",
        about: "what to change so that it works; what would break it",
        text: include_str!("mend.md"),
    },
    HandbookPage {
        name: "compare",
        about: "which of several designs is better",
        text: include_str!("compare.md"),
    },
    HandbookPage {
        name: "tolerance",
        about: "of a hundred makers, how many have a machine that works",
        text: include_str!("tolerance.md"),
    },
    HandbookPage {
        name: "why",
        about: "the story of one run",
        text: include_str!("why.md"),
    },
    HandbookPage {
        name: "film",
        about: "see it run; pockets from near",
        text: include_str!("film.md"),
    },
    HandbookPage {
        name: "log",
        about: "a page to show",
        text: include_str!("log.md"),
    },
    HandbookPage {
        name: "fit",
        about: "from stopwatch readings to times in the file",
        text: include_str!("fit.md"),
    },
    HandbookPage {
        name: "diagnose",
        about: "what is wrong with the machine that stands",
        text: include_str!("diagnose.md"),
    },
    HandbookPage {
        name: "editor",
        about: "keys in your editor, completions in your shell",
        text: include_str!("editor.md"),
    },
    HandbookPage {
        name: "machine-file",
        about: "every kind and key, units, time laws",
        text: include_str!("machine-file.md"),
    },
    HandbookPage {
        name: "workshop",
        about: "how exactly a workshop works",
        text: include_str!("workshop.md"),
    },
    HandbookPage {
        name: "model",
        about: "how it works: the model, its statistics, and its limits",
        text: include_str!("model.md"),
    },
    HandbookPage {
        name: "close-look",
        about: "how marbles are followed at wheels, on floors and in bowls",
        text: include_str!("close-look.md"),
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
