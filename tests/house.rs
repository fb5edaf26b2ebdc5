//! The house stays as DEVELOPERS.md draws it: which part may import which, and no file or function grows out of hand.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use pulldown_cmark::{Event, Parser, Tag, TagEnd};

/// The parts from top to bottom; each may import itself and those after it. Parts of one row do not import each other
/// upwards either: `report` stands above `charts`, `findings` above `stats`.
const ORDER: [&str; 14] = [
    "cli", "handbook", "kinds", "report", "charts", "study", "sheet", "findings", "stats",
    "engine", "circuit", "machine", "physics", "contact",
];
const LONGEST_FILE: usize = 520;
const LONGEST_FUNCTION: usize = 70;

/// What stands at the top of the tree beside files whose names begin with a dot.
const TOP: [&str; 10] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "benches",
    "reports",
    "scenarios",
    "src",
    "tests",
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file with that ending in a folder and those inside it, but for what builds leave behind.
fn files(folder: &Path, ending: &str, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() && path.file_name().is_some_and(|name| name != "target") {
            files(&path, ending, found);
        } else if path.extension().is_some_and(|end| end == ending) {
            found.push(path);
        }
    }
}

fn sources() -> Vec<(String, String)> {
    let src = root().join("src");
    let mut found = Vec::new();
    files(&src, "rs", &mut found);
    found.sort();
    let name = |path: &Path| {
        path.strip_prefix(&src)
            .expect("inside src")
            .to_string_lossy()
            .replace('\\', "/")
    };
    found
        .iter()
        .map(|path| (name(path), std::fs::read_to_string(path).expect("text")))
        .collect()
}

/// The code without its tests, which may look anywhere.
fn code(text: &str) -> &str {
    text.split("#[cfg(test)]\nmod tests").next().unwrap_or(text)
}

#[test]
fn imports_point_downwards() {
    let rank = |part: &str| {
        ORDER
            .iter()
            .position(|known| *known == part)
            .unwrap_or(ORDER.len())
    };
    let mut wrong = Vec::new();
    for (name, text) in sources() {
        let Some((part, _)) = name.split_once('/') else {
            continue;
        };
        for line in code(&text)
            .lines()
            .filter(|line| !line.trim_start().starts_with("//"))
        {
            for above in ORDER.iter().filter(|above| rank(above) < rank(part)) {
                if line.contains(&format!("crate::{above}::"))
                    || line.contains(&format!("crate::{{{above}"))
                {
                    wrong.push(format!("{name}: {}", line.trim()));
                }
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "these look upwards:\n{}",
        wrong.join("\n")
    );
}

#[test]
fn files_and_functions_stay_short() {
    let mut long = Vec::new();
    for (name, text) in sources() {
        let lines: Vec<&str> = text.lines().collect();
        if lines.len() > LONGEST_FILE {
            long.push(format!("{name} has {} lines", lines.len()));
        }
        let mut start = None;
        for (n, line) in lines.iter().enumerate() {
            let body = line.trim_start();
            let indent = line.len() - body.len();
            if body.starts_with("fn ")
                || body.starts_with("pub fn ")
                || body.starts_with("pub(super) fn ")
            {
                start = Some((n, indent));
            }
            if let Some((from, depth)) = start
                && body == "}"
                && indent == depth
            {
                if n - from > LONGEST_FUNCTION {
                    long.push(format!(
                        "{name}:{}: a function of {} lines",
                        from + 1,
                        n - from
                    ));
                }
                start = None;
            }
        }
    }
    assert!(long.is_empty(), "too long:\n{}", long.join("\n"));
}

/// Functions that take two bare numbers of one kind all the same, as `file name`, or as a name that stands so anywhere.
const SWAPPABLE: [&str; 15] = [
    // The fields of an event as they lie in it; the engine makes one at three places.
    "engine/event.rs new",
    // Seed, run and horizon: the order in which options are given and answers print them, from there down to the generator.
    "engine/run.rs simulate",
    "engine/run.rs whole",
    "engine/run.rs new",
    "engine/rest.rs simulate_to_rest",
    "engine/streams.rs stream",
    // What a watcher hears with every event: a value made for it would be taken apart at once.
    "scheduled",
    // Successes and trials, as every textbook has them; more successes than trials give no interval.
    "stats/proportion.rs clopper_pearson",
    "stats/proportion.rs wilson",
    "findings/made_up.rs at_most",
    "findings/made_up.rs about",
    // The two ends of a stretch of time in its order, which hold nothing when swapped.
    "findings/queue.rs grown",
    "findings/replay.rs between",
    "findings/replay.rs stretches",
    // A seed and how much is looked at, with one caller that has both as fields.
    "contact/pick_up_chances.rs loops",
];
const MOST_PARAMETERS: usize = 5;

/// How deep in brackets the text is after `next`; an arrow closes nothing.
fn depth_after(depth: usize, before: char, next: char) -> usize {
    match next {
        '(' | '[' | '{' | '<' => depth + 1,
        '>' if before == '-' => depth,
        ')' | ']' | '}' | '>' => depth.saturating_sub(1),
        _ => depth,
    }
}

/// What stands in the brackets that `text` begins with, and what comes after them.
fn bracketed(text: &str) -> (&str, &str) {
    let (mut depth, mut before) = (0, ' ');
    for (at, next) in text.char_indices() {
        depth = depth_after(depth, before, next);
        if depth == 0 {
            return (&text[1..at], &text[at + 1..]);
        }
        before = next;
    }
    ("", "")
}

/// Every function of some code with its parameters, but for itself.
fn functions(code: &str) -> Vec<(&str, Vec<&str>)> {
    let mut found = Vec::new();
    for (at, _) in code.match_indices("fn ") {
        let line = code[..at].rsplit('\n').next().unwrap_or("");
        let rest = &code[at + 3..];
        let end = rest.find(|c: char| !c.is_alphanumeric() && c != '_');
        let (name, mut rest) = rest.split_at(end.unwrap_or(0));
        if name.is_empty() || line.contains("//") || line.ends_with(char::is_alphanumeric) {
            continue;
        }
        if rest.starts_with('<') {
            rest = bracketed(rest).1;
        }
        let (inside, _) = bracketed(rest);
        let (mut depth, mut before) = (0, ' ');
        let mut parameters: Vec<&str> = inside
            .split(|next| {
                depth = depth_after(depth, before, next);
                before = next;
                next == ',' && depth == 0
            })
            .map(str::trim)
            .collect();
        parameters.retain(|one| !one.is_empty() && one.split_whitespace().last() != Some("self"));
        parameters.retain(|one| !one.ends_with("&self"));
        found.push((name, parameters));
    }
    found
}

/// The first kind of number of which two parameters are, with nothing round it.
fn swappable(parameters: &[&str]) -> Option<&'static str> {
    let number = |one: &str| {
        one.rsplit_once(": ")
            .map_or("", |(_, kind)| kind)
            .to_owned()
    };
    let kinds: Vec<String> = parameters.iter().map(|one| number(one)).collect();
    // Times of the engine are `Nanos`, which is but a name.
    let names = [("usize", "usize"), ("u32", "u32"), ("u64", "Nanos")];
    let twice = |(kind, alias): &(&str, &str)| {
        kinds
            .iter()
            .filter(|one| one == kind || one == alias)
            .count()
            > 1
    };
    names.into_iter().find(twice).map(|(kind, _)| kind)
}

/// A call with two indices in the wrong order compiles: what goes together is one value, or has a type of its own.
#[test]
fn no_two_numbers_of_a_call_can_be_swapped() {
    let made_up = "fn a<F: Fn(u8) -> u8>(&mut self, (x, y): (u32, u32), n: usize, f: F, w: usize) -> usize { }\n\
                   fn b(n: usize, range: Range<usize>, of: [u32; 2], most: u32) { }\n\
                   fn c(from: Nanos, to: u64) { }";
    let of_made_up: Vec<_> = functions(made_up)
        .into_iter()
        .map(|(name, parameters)| (name, parameters.len(), swappable(&parameters)))
        .collect();
    assert_eq!(
        of_made_up,
        [
            ("a", 4, Some("usize")),
            ("b", 4, None),
            ("c", 2, Some("u64"))
        ]
    );
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for (file, text) in sources() {
        for (name, parameters) in functions(code(&text)) {
            seen += 1;
            let place = format!("{file} {name}");
            let known = SWAPPABLE.contains(&name) || SWAPPABLE.contains(&place.as_str());
            if let Some(kind) = swappable(&parameters).filter(|_| !known) {
                wrong.push(format!("{place}: two bare {kind}"));
            }
            if parameters.len() > MOST_PARAMETERS {
                wrong.push(format!("{place}: {} parameters", parameters.len()));
            }
        }
    }
    assert!(seen > 2000, "{seen}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// One name, one type: a reader who meets it anywhere knows what it is.
#[test]
fn no_two_types_share_a_name() {
    let mut defined: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (name, text) in sources() {
        let lines = code(&text).lines().map(|line| {
            line.trim_start()
                .trim_start_matches("pub ")
                .trim_start_matches("pub(super) ")
        });
        // `Output` belongs to the traits of operators.
        for line in lines.filter(|line| !line.starts_with("type Output")) {
            let kind = ["struct ", "enum ", "trait ", "type "]
                .iter()
                .find_map(|kind| line.strip_prefix(kind));
            let Some(rest) = kind else { continue };
            let end = rest
                .find(|c: char| !c.is_alphanumeric() && c != '_')
                .unwrap_or(rest.len());
            defined
                .entry(rest[..end].to_owned())
                .or_default()
                .push(name.clone());
        }
    }
    assert!(defined.len() > 300, "{}", defined.len());
    defined.retain(|_, places| places.len() > 1);
    assert!(defined.is_empty(), "{defined:#?}");
}

/// The code with its string literals left out.
fn outside_of_texts(code: &str) -> String {
    let (mut kept, mut inside, mut escaped) = (String::new(), false, false);
    for c in code.replace("'\"'", "' '").chars() {
        match c {
            '"' if !escaped => inside = !inside,
            _ if !inside => kept.push(c),
            _ => {}
        }
        escaped = inside && c == '\\' && !escaped;
    }
    kept
}

/// Names are those of a textbook of simulation, statistics or mechanics, and comments use ordinary words of today.
#[test]
fn words_are_those_of_the_field() {
    let dialect = [
        "told",
        "teller",
        "court",
        "ruling",
        "snag",
        "rouse",
        "spared",
        "luck",
        "nought",
        "reckon",
        "tally",
        "hand_waits",
    ];
    let mut found = Vec::new();
    for (name, text) in sources() {
        // What a user reads, texts and the command line's help, has warmer words.
        let help = name.starts_with("cli/");
        for line in outside_of_texts(code(&text))
            .lines()
            .filter(|line| !(help && line.trim_start().starts_with("///")))
        {
            let words = line
                .split(|c: char| !c.is_alphanumeric() && c != '_')
                .map(str::to_lowercase);
            found.extend(
                words
                    .filter(|word| dialect.contains(&word.as_str()))
                    .map(|word| format!("{name}: {word}")),
            );
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// Nothing below the command line prints, or asks the clock or the environment.
#[test]
fn only_the_command_line_speaks() {
    let forbidden = [
        "println!",
        "eprintln!",
        "print!(",
        "Instant::now",
        "SystemTime",
        "std::env::",
        "std::fs::",
        "HashMap",
    ];
    let mut found = Vec::new();
    for (name, text) in sources()
        .into_iter()
        .filter(|(name, _)| !name.starts_with("cli/") && name != "main.rs")
    {
        for line in code(&text)
            .lines()
            .filter(|line| !line.trim_start().starts_with("//"))
        {
            found.extend(
                forbidden
                    .iter()
                    .filter(|word| line.contains(**word))
                    .map(|word| format!("{name}: {word}")),
            );
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// One writer cleans what is printed, so nothing else may have the terminal. Scripts for a shell are printed as they are.
#[test]
fn all_that_is_printed_passes_one_writer() {
    let allowed = ["cli/print.rs", "cli/completions.rs"];
    let mut found = Vec::new();
    for (name, text) in sources()
        .into_iter()
        .filter(|(name, _)| !allowed.contains(&name.as_str()))
    {
        let asks = |line: &str| {
            line.contains("is_terminal()")
                || line.contains("stdout().flush()")
                || line.contains("DrawTarget")
        };
        for line in code(&text).lines().filter(|line| !asks(line)) {
            let prints = ["io::stdout()", "io::stderr()", "println!", "print!("]
                .iter()
                .any(|word| line.contains(word));
            found.extend(prints.then(|| format!("{name}: {}", line.trim())));
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// Files are read where something is asked of them; they are made by one writer, whole or not at all, by a map's journal, and by the
/// cache of close looks.
#[test]
fn one_writer_makes_files() {
    let (reads, makes) = (
        ["use std::fs;", "std::fs::", "File::open"],
        [
            "tempfile",
            "create_dir",
            "remove_file",
            ".create(",
            "fs::write",
            "File::create",
            "rename(",
        ],
    );
    let with = |words: &[&str]| -> Vec<String> {
        let uses = |text: &str| {
            let mut lines = code(text)
                .lines()
                .filter(|line| !line.trim_start().starts_with("//"));
            lines.any(|line| words.iter().any(|word| line.contains(word)))
        };
        sources()
            .into_iter()
            .filter(|(_, text)| uses(text))
            .map(|(name, _)| name)
            .collect()
    };
    assert_eq!(
        with(&reads),
        [
            "cli/cache.rs",
            "cli/gather.rs",
            "cli/journal.rs",
            "cli/source.rs",
            "cli/usage.rs",
            "cli/write.rs"
        ]
    );
    assert_eq!(
        with(&makes),
        ["cli/cache.rs", "cli/journal.rs", "cli/write.rs"]
    );
}

/// Where single kinds of element are named all the same, but for their own files and the list of them.
const NAMES_KINDS: [&str; 15] = [
    // The dimensions themselves.
    "machine/model.rs",
    "machine/model_lift.rs",
    "machine/model_parts.rs",
    "machine/model_wheel.rs",
    // Whether an element is a wheel or a return floor, for which several rooms look.
    "machine/description.rs",
    // A first machine is written as a maker would: what shares marbles out there is one of four kinds that may be chosen.
    "machine/starter.rs",
    "machine/starter_heights.rs",
    "machine/starter_lifts.rs",
    "machine/starter_parts.rs",
    "machine/starter_shows.rs",
    "cli/new.rs",
    // A wheel's speed and its place, which the drive, the close look and several rooms ask of its dimensions.
    "circuit/drive.rs",
    "circuit/wheel_shape.rs",
    "circuit/wheel_place.rs",
    // A made-up machine for tests, whose start is called after what it is.
    "findings/made_up.rs",
];

/// The kinds of element by type, and as the file writes them.
fn kinds() -> Vec<(String, String)> {
    let registry = std::fs::read_to_string(root().join("src/machine/kind.rs")).expect("text");
    let list = registry
        .split("\nregistry! {")
        .nth(1)
        .and_then(|rest| rest.split("\n}").next())
        .expect("the kinds");
    let mut kinds = Vec::new();
    for line in list.lines() {
        let Some((held, name)) = line.trim().split_once(") = ") else {
            continue;
        };
        let kind = held.split('(').next().expect("a type");
        kinds.push((kind.to_owned(), name.trim_end_matches(',').to_owned()));
    }
    kinds
}

/// All that is particular to a kind stands in its own file: a room asks any kind through a trait, and names none.
#[test]
fn only_its_own_file_knows_a_kind() {
    let kinds = kinds();
    assert!(
        kinds.len() > 8 && kinds.contains(&("TippingCup".to_owned(), "\"tipping-cup\"".to_owned())),
        "{kinds:?}"
    );
    let (mut found, mut needed) = (Vec::new(), Vec::new());
    for (file, text) in sources() {
        let own = file.starts_with("kinds/") || file == "machine/kind.rs";
        // What touches what is a package of its own, which knows no machine.
        if own || file.starts_with("contact/") {
            continue;
        }
        let lines: Vec<&str> = code(&text)
            .lines()
            .filter(|line| !line.trim_start().starts_with("//"))
            .collect();
        let code = lines.join("\n");
        let bare = outside_of_texts(&code);
        let words: Vec<&str> = bare
            .split(|c: char| !c.is_alphanumeric() && c != '_')
            .collect();
        for (kind, name) in &kinds {
            let named = words.contains(&kind.as_str()) || code.contains(name);
            if named && NAMES_KINDS.contains(&file.as_str()) {
                needed.push(file.clone());
            } else if named {
                found.push(format!("{file}: {kind}"));
            }
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
    for file in NAMES_KINDS {
        assert!(
            needed.iter().any(|known| known == file),
            "{file} names none"
        );
    }
}

/// A kind is added by its own file, its dimensions and a line in each of two lists.
#[test]
fn the_recipe_for_a_kind_names_every_place() {
    let page = std::fs::read_to_string(root().join("DEVELOPERS.md")).expect("a page");
    let recipe = page
        .split("### An element kind")
        .nth(1)
        .and_then(|rest| rest.split("###").next())
        .expect("a recipe");
    let lists = ["machine/kind.rs", "kinds/mod.rs", "machine/model_parts.rs"];
    for place in lists {
        assert!(recipe.contains(&format!("`{place}`")), "{place}");
    }
    for (kind, _) in kinds() {
        let named = |(file, text): &(String, String)| {
            let bare = outside_of_texts(code(text));
            let mut words = bare.split(|c: char| !c.is_alphanumeric() && c != '_');
            file.starts_with("kinds/") && words.any(|word| word == kind)
        };
        let mut places: Vec<String> = Vec::new();
        for source in sources().iter().filter(|source| named(source)) {
            let inside = source.0.split('/').nth(1).unwrap_or_default();
            places.push(inside.trim_end_matches(".rs").to_owned());
        }
        places.dedup();
        assert_eq!(places.len(), 1, "{kind}: {places:?}");
    }
}

/// A file that a page for contributors names is there.
#[test]
fn every_file_named_is_there() {
    let mut missing = Vec::new();
    for page in ["DEVELOPERS.md", "tests/EVIDENCE.md"] {
        let text = std::fs::read_to_string(root().join(page)).expect("a page");
        for name in text
            .split('`')
            .filter(|name| name.contains('/') && name.ends_with(".rs"))
        {
            let places = ["", "src", "tests"].map(|place| root().join(place).join(name));
            if !name.contains(' ') && !places.iter().any(|place| place.exists()) {
                missing.push(format!("{page}: {name}"));
            }
        }
    }
    assert!(missing.is_empty(), "{missing:#?}");
}

/// What was measured is told with the command that measures it again and the day.
#[test]
fn papers_are_short_and_evidence_has_its_command_and_day() {
    let page = std::fs::read_to_string(root().join("DEVELOPERS.md")).expect("a page");
    assert!(
        page.len() <= 15_000,
        "DEVELOPERS.md has {} bytes",
        page.len()
    );
    let evidence = std::fs::read_to_string(root().join("tests/EVIDENCE.md")).expect("a page");
    let day = |word: &str| {
        let parts: Vec<&str> = word
            .trim_matches(|c: char| !c.is_ascii_digit())
            .split('-')
            .collect();
        parts.iter().map(|part| part.len()).eq([4, 2, 2])
            && parts.iter().all(|part| part.parse::<u16>().is_ok())
    };
    for section in evidence.split("\n## ").skip(1) {
        let title = section.lines().next().unwrap_or_default();
        let commands = ["cargo ", "tests/", "benches/", ".ci/"].map(|start| format!("`{start}"));
        assert!(
            commands.iter().any(|command| section.contains(command)),
            "{title}: by which command?"
        );
        assert!(
            section.split_whitespace().any(day),
            "{title}: on which day?"
        );
    }
}

/// Whatever is public counts as used: only behind private modules does the compiler name what no command reaches.
#[test]
fn only_the_command_line_is_public() {
    let library = std::fs::read_to_string(root().join("src/lib.rs")).expect("text");
    let lines: Vec<&str> = library.lines().collect();
    let public =
        (0..lines.len()).filter(|&n| lines[n].starts_with("pub ") || lines[n].starts_with("pub("));
    let open: Vec<&str> = public
        .filter(|&n| lines[n - 1] != r#"#[cfg(feature = "tests")]"#)
        .map(|n| lines[n])
        .collect();
    assert_eq!(open, ["pub mod cli;"]);
    for part in ORDER
        .iter()
        .filter(|part| !["cli", "contact"].contains(part))
    {
        let private = format!("#[cfg(not(feature = \"tests\"))]\nmod {part};\n");
        assert!(library.contains(&private), "`{part}` is not private");
    }
    let manifest = include_str!("../Cargo.toml");
    assert!(
        !manifest.lines().any(|line| line.starts_with("default =")),
        "the door is open by default"
    );
    let silenced = sources()
        .into_iter()
        .filter(|(_, text)| text.contains("dead_code") || text.contains("(unused"));
    assert_eq!(
        silenced.map(|(name, _)| name).collect::<Vec<_>>(),
        Vec::<String>::new(),
        "the compiler is told to look away"
    );
}

#[test]
fn nothing_else_stands_at_the_top() {
    let entries = std::fs::read_dir(root())
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name());
    let mut names: Vec<String> = entries
        .map(|name| name.to_string_lossy().into_owned())
        .collect();
    names.retain(|name| !name.starts_with('.') && name != "target");
    names.sort();
    assert_eq!(names, TOP);
}

/// A clone stays small: the rest is made by `reports/make_samples.sh`.
#[test]
fn samples_stay_small() {
    fn bytes(folder: &Path) -> u64 {
        let entries = std::fs::read_dir(folder)
            .expect("a folder")
            .map(|entry| entry.expect("an entry"));
        let size =
            |entry: std::fs::DirEntry| entry.metadata().map(|data| data.len()).expect("a size");
        entries
            .map(|entry| {
                if entry.path().is_dir() {
                    bytes(&entry.path())
                } else {
                    size(entry)
                }
            })
            .sum()
    }
    let bytes = bytes(&root().join("reports/samples"));
    assert!(bytes <= 2_000_000, "{bytes} bytes");
}

/// What a heading is linked to by.
fn anchor(heading: &str) -> String {
    let kept = heading.to_lowercase().replace(' ', "-");
    kept.chars()
        .filter(|letter| letter.is_alphanumeric() || "-_".contains(*letter))
        .collect()
}

/// The anchors of a page, and what it links to or shows.
fn anchors_and_links(page: &str) -> (Vec<String>, Vec<String>) {
    let (mut anchors, mut links, mut heading) = (Vec::new(), Vec::new(), None);
    let options = pulldown_cmark::Options::ENABLE_TABLES;
    for event in Parser::new_ext(page, options) {
        match event {
            Event::Start(Tag::Heading { .. }) => heading = Some(String::new()),
            Event::End(TagEnd::Heading(_)) => {
                anchors.extend(heading.take().map(|text| anchor(&text)))
            }
            Event::Text(text) | Event::Code(text) => {
                heading.iter_mut().for_each(|heading| *heading += &text)
            }
            Event::Start(Tag::Link { dest_url, .. } | Tag::Image { dest_url, .. }) => {
                links.push(dest_url.to_string())
            }
            _ => {}
        }
    }
    (anchors, links)
}

#[test]
fn every_page_links_to_what_is_there() {
    let mut pages = vec![root().join("README.md"), root().join("DEVELOPERS.md")];
    ["src", "tests", "reports"]
        .iter()
        .for_each(|folder| files(&root().join(folder), "md", &mut pages));
    assert!(pages.len() > 10, "{pages:?}");
    let mut wrong = Vec::new();
    for page in &pages {
        let text = std::fs::read_to_string(page).expect("text");
        for link in anchors_and_links(&text)
            .1
            .iter()
            .filter(|link| !link.contains("://"))
        {
            let (file, place) = link.split_once('#').unwrap_or((link, ""));
            let target = if file.is_empty() {
                page.clone()
            } else {
                page.parent().expect("a folder").join(file)
            };
            let there = target.exists()
                && (place.is_empty() || {
                    let text = std::fs::read_to_string(&target).expect("a page");
                    anchors_and_links(&text)
                        .0
                        .iter()
                        .any(|anchor| anchor == place)
                });
            if !there {
                wrong.push(format!("{}: {link}", page.display()));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "these lead nowhere:\n{}",
        wrong.join("\n")
    );
}
