//! The build log from outside: same bytes, two twins that say the same, nothing from elsewhere, numbers of the run.
//!
//! The Markdown is read by pulldown-cmark and the HTML by html5ever, neither of which had a hand in writing them.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use crate::support::scenarios;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use proptest::prelude::*;
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use scraper::{Html, Selector};
use sha2::{Digest, Sha256};

const PROGRAM: &str = env!("CARGO_BIN_EXE_marblewright");
/// Little enough to be quick, enough for every sentence.
const SHORT: [&str; 4] = ["--runs", "4", "--hours", "0.2"];

fn scenario(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("scenarios")
        .join(name)
}

fn program(folder: &Path, args: &[&str]) -> Output {
    // Whoever runs the tests may wish for another width.
    Command::new(PROGRAM)
        .current_dir(folder)
        .env_remove("COLUMNS")
        .args(args)
        .output()
        .expect("the program starts")
}

/// Writes a log of `machine` into `folder` and gives what was printed.
fn log(folder: &Path, machine: &Path, args: &[&str]) -> String {
    let machine = machine.to_str().expect("a name");
    let output = program(
        folder,
        &[&["log", machine, "--out", "."], &SHORT[..], args].concat(),
    );
    assert!(
        output.status.success(),
        "{machine} {args:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("text")
}

/// A log of every scenario, made once for all tests that look at them.
struct Made {
    machine: PathBuf,
    text: String,
    markdown: String,
    html: String,
    files: BTreeSet<String>,
}

fn made() -> &'static [Made] {
    static MADE: OnceLock<Vec<Made>> = OnceLock::new();
    let make = |machine: PathBuf| {
        let folder = tempfile::tempdir().expect("a directory");
        // One shows what is assumed; to look at all of them at both ends of everything takes minutes.
        let of_all = ["starter-loop.yaml", "circuit-a.yaml"].map(scenario);
        let looked: &[&str] = match of_all.contains(&machine) {
            true => &[],
            false => &["--no-assumptions"],
        };
        let text = log(folder.path(), &machine, looked);
        let page = |name| read(folder.path(), name);
        Made {
            text,
            markdown: page("log.md"),
            html: page("log.html"),
            files: names(folder.path()),
            machine,
        }
    };
    MADE.get_or_init(|| scenarios().into_iter().map(make).collect())
}

fn read(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn names(folder: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    entries
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect()
}

fn select<'a>(html: &'a Html, what: &str) -> Vec<scraper::ElementRef<'a>> {
    let selector = Selector::parse(what).expect("a selector");
    html.select(&selector).collect()
}

/// What a reader reads, word by word, and each picture with what stands in its place.
#[derive(Debug, PartialEq)]
struct Seen {
    words: Vec<String>,
    alts: Vec<String>,
}

/// The Markdown as a parser of CommonMark with tables reads it; pictures by the names of their files.
fn seen_in_markdown(text: &str) -> (Seen, Vec<String>) {
    let (mut words, mut alts, mut files) = (String::new(), Vec::new(), Vec::new());
    let mut alt: Option<String> = None;
    for event in Parser::new_ext(text, Options::ENABLE_TABLES) {
        match event {
            Event::Start(Tag::Image { dest_url, .. }) => {
                files.push(dest_url.to_string());
                alt = Some(String::new());
            }
            Event::End(TagEnd::Image) => alts.extend(alt.take()),
            Event::Start(Tag::Link { .. }) => panic!("nothing in a log is a link"),
            Event::Html(html) | Event::InlineHtml(html) => {
                panic!("nothing in a log is raw HTML: {html}")
            }
            Event::Text(text) | Event::Code(text) => {
                alt.as_mut().unwrap_or(&mut words).push_str(&text)
            }
            Event::SoftBreak | Event::HardBreak => words.push(' '),
            Event::End(TagEnd::Emphasis | TagEnd::Strong)
            | Event::Start(Tag::Emphasis | Tag::Strong) => {}
            Event::End(_) => words.push(' '),
            _ => {}
        }
    }
    (
        Seen {
            words: split(&words),
            alts,
        },
        files,
    )
}

fn seen_in_html(html: &Html) -> Seen {
    let block = ["h1", "h2", "h3", "p", "li", "th", "td", "figcaption", "pre"].join(", ");
    // What moves has no twin.
    let moves = |element: &scraper::ElementRef| {
        let mut around = element.ancestors().filter_map(scraper::ElementRef::wrap);
        around.any(|of| of.value().attr("class") == Some("player"))
    };
    let texts: Vec<String> = select(html, &block)
        .iter()
        .filter(|element| !moves(element))
        .map(|element| element.text().collect())
        .collect();
    let alt = |img: scraper::ElementRef| img.value().attr("alt").unwrap_or_default().to_owned();
    Seen {
        words: split(&texts.join(" ")),
        alts: select(html, "img").into_iter().map(alt).collect(),
    }
}

fn split(text: &str) -> Vec<String> {
    text.split_whitespace().map(str::to_owned).collect()
}

fn parsed(html: &str) -> Html {
    let page = Html::parse_document(html);
    assert!(page.errors.is_empty(), "{:?}", page.errors);
    page
}

/// Nothing but what is in the page: no script but the player's, known to the page's policy by its checksum; no address but
/// the data of pictures and places in the page.
fn assert_needs_nothing(html: &Html, text: &str) {
    for banned in [
        "link", "iframe", "object", "embed", "form", "base", "video", "svg",
    ] {
        assert!(select(html, banned).is_empty(), "<{banned}>");
    }
    for element in select(html, "*") {
        for (name, value) in element.value().attrs() {
            let loads = [
                "src",
                "href",
                "srcset",
                "action",
                "data",
                "background",
                "poster",
                "ping",
            ]
            .contains(&name);
            let inside = match name {
                "src" | "srcset" => value.starts_with("data:image/png;base64,"),
                "href" => value.starts_with('#'),
                _ => false,
            };
            assert!(!loads || inside, "{name}={value:.60}");
            assert!(!name.starts_with("on") && name != "style", "{name}");
        }
    }
    let style: String = select(html, "style")
        .iter()
        .flat_map(|style| style.text())
        .collect();
    assert!(
        !style.contains("url(") && !style.contains("@import") && !style.contains('$'),
        "{style}"
    );
    assert!(text.contains("default-src 'none'"));
    let mut checksums = Vec::new();
    for script in select(html, "script") {
        let code: String = script.text().collect();
        match script.value().attr("type") {
            Some("application/json") => {
                let data: serde_json::Value = serde_json::from_str(&code).expect("data");
                match script.value().attr("id") {
                    Some("run") => assert!(data["stays"].is_string()),
                    _ => assert_near(&data),
                }
            }
            other => {
                assert_eq!(other, None);
                let checksum = STANDARD.encode(Sha256::digest(code.as_bytes()));
                checksums.push(format!("'sha256-{checksum}'"));
            }
        }
    }
    if !checksums.is_empty() {
        let policy = format!("; script-src {}\"", checksums.join(" "));
        assert!(text.contains(&policy), "{policy}");
    }
}

/// Pockets from near: each scene ends with what it says, and no marble stands off the page's two views and the way to them.
fn assert_near(data: &serde_json::Value) {
    let scenes = data["scenes"].as_array().expect("scenes");
    assert!(!scenes.is_empty());
    for scene in scenes {
        let stills = scene["stills"].as_array().expect("stills");
        let speeds: Vec<f64> = stills
            .iter()
            .map(|still| still["speed"].as_f64().expect("a speed"))
            .collect();
        let says = scene["deed"].as_str().expect("words");
        let last = speeds.last().expect("a still");
        assert_eq!(says.contains("stalls"), *last < 20.0, "{says}: {speeds:?}");
        let times: Vec<f64> = stills
            .iter()
            .map(|still| still["ms"].as_f64().expect("a time"))
            .collect();
        assert!(times.is_sorted() && times[0] < 0.0, "{times:?}");
        let marked = &scene["marked"];
        let is_there = |still: &serde_json::Value| {
            let marbles = still["marbles"].as_array().expect("marbles");
            marbles.iter().any(|marble| marble[0] == *marked)
        };
        assert!(stills.iter().any(is_there), "{says}");
    }
}

#[test]
fn every_scenario_makes_a_log_whose_twins_say_the_same_and_need_nothing_else() {
    for Made {
        machine,
        text,
        markdown,
        html,
        files,
    } in made()
    {
        let page = parsed(html);
        assert_needs_nothing(&page, html);
        let (markdown, linked) = seen_in_markdown(markdown);
        let twin = seen_in_html(&page);
        assert_eq!(markdown.alts, twin.alts, "{}", machine.display());
        assert!(markdown.alts.iter().all(|alt| alt.len() > 15));
        let apart = markdown
            .words
            .iter()
            .zip(&twin.words)
            .position(|(a, b)| a != b)
            .unwrap_or(0);
        let near = |words: &[String]| {
            words
                .iter()
                .skip(apart.saturating_sub(5))
                .take(12)
                .cloned()
                .collect::<Vec<_>>()
        };
        let (a, b) = (near(&markdown.words), near(&twin.words));
        assert!(
            markdown.words == twin.words,
            "{}: {a:?} is not {b:?}",
            machine.display()
        );
        let linked: BTreeSet<String> = linked
            .into_iter()
            .chain(["log.md", "log.html"].map(str::to_owned))
            .collect();
        assert_eq!(linked, *files, "{}", machine.display());
        assert!(
            files.iter().all(|name| text.contains(name.as_str())),
            "{text}"
        );
    }
}

#[test]
fn pictures_in_the_page_are_the_files_beside_it() {
    let folder = tempfile::tempdir().expect("a directory");
    log(
        folder.path(),
        &scenario("storm-wheel.yaml"),
        &["--window", "--swap", "split=flip-gate", "--why"],
    );
    let html = parsed(&read(folder.path(), "log.html"));
    let (_, files) = seen_in_markdown(&read(folder.path(), "log.md"));
    let pictures = select(&html, "img");
    assert_eq!(pictures.len(), files.len());
    for wanted in [
        "circuit.png",
        "window.png",
        "differences.png",
        "shares.png",
        "why.png",
    ] {
        assert!(
            files.iter().any(|name| name == wanted),
            "{wanted} in {files:?}"
        );
    }
    for (picture, file) in pictures.iter().zip(&files) {
        let data = picture
            .value()
            .attr("src")
            .and_then(|src| src.split_once(','))
            .expect("data")
            .1;
        let bytes = STANDARD.decode(data).expect("base64");
        assert!(
            bytes == fs::read(folder.path().join(file)).expect("a file"),
            "{file}"
        );
        let header = png::Decoder::new(std::io::Cursor::new(&bytes))
            .read_info()
            .expect("a PNG");
        let size = |name| {
            picture
                .value()
                .attr(name)
                .and_then(|size| size.parse::<u32>().ok())
        };
        assert_eq!(
            (size("width"), size("height")),
            (Some(header.info().width), Some(header.info().height)),
            "{file}"
        );
    }
}

#[test]
fn the_same_bytes_whatever_the_threads_the_place_and_the_directory_of_the_file() {
    let once = |threads: &str| {
        let folder = tempfile::tempdir().expect("a directory");
        fs::create_dir(folder.path().join("deep")).expect("a directory");
        let machine = folder.path().join("deep/starter-loop.yaml");
        fs::copy(scenario("starter-loop.yaml"), &machine).expect("copied");
        log(
            folder.path(),
            &machine,
            &["--threads", threads, "--window", "--variant", "rpm=4"],
        );
        fs::remove_dir_all(folder.path().join("deep")).expect("removed");
        let page = read(folder.path(), "log.md") + &read(folder.path(), "log.html");
        assert!(
            !page.contains(folder.path().to_str().expect("a path")),
            "the page names a directory"
        );
        let files = names(folder.path());
        files
            .into_iter()
            .map(|name| (fs::read(folder.path().join(&name)).expect("bytes"), name))
            .collect::<Vec<_>>()
    };
    let (one, two) = (once("1"), once("2"));
    assert!(one.len() > 6);
    for ((one, name), (two, _)) in one.iter().zip(&two) {
        assert!(one == two, "{name} differs");
    }
    assert_eq!(one.len(), two.len());
}

/// The command and the machine file are taken from the page alone.
#[test]
fn the_page_makes_itself_again() {
    let (first, second) = (
        tempfile::tempdir().expect("a directory"),
        tempfile::tempdir().expect("a directory"),
    );
    let changes = [
        "--marbles",
        "16",
        "--set",
        "title='Two words, 5 % & a $'",
        "--swap",
        "zig-zag={ track: { time: 2 s } }",
    ];
    log(
        first.path(),
        &scenario("starter-loop.yaml"),
        &[&changes[..], &["--why", "--seed", "7"]].concat(),
    );
    let html = parsed(&read(first.path(), "log.html"));
    let verbatim: Vec<String> = select(&html, "pre")
        .iter()
        .map(|pre| pre.text().collect())
        .collect();
    let [.., command, file] = verbatim.as_slice() else {
        panic!("a command and a file")
    };
    assert_eq!(
        *file,
        fs::read_to_string(scenario("starter-loop.yaml")).expect("text")
    );
    fs::write(second.path().join("starter-loop.yaml"), file).expect("written");
    let script = format!(
        "marblewright() {{ \"$PROGRAM\" \"$@\"; }}\n{} --out .",
        command.trim()
    );
    let sh = Command::new("sh")
        .current_dir(second.path())
        .env("PROGRAM", PROGRAM)
        .args(["-c", &script])
        .output();
    let sh = sh.expect("a shell");
    assert!(
        sh.status.success(),
        "{command}: {}",
        String::from_utf8_lossy(&sh.stderr)
    );
    for name in ["log.md", "log.html"] {
        assert!(
            read(first.path(), name) == read(second.path(), name),
            "{name} differs: {command}"
        );
    }
}

#[test]
fn a_hostile_title_is_a_title_and_nothing_else() {
    let title = "<script>alert(1)</script> | a|b ` `` **c** _d_ [e](javascript:f) ![g](http://h/i.png) <b> &amp; &lt; \
                 <!-- j --> # k ~~l~~ $m$ \\ \\| \" ' </title></h1> 1. 2) - + = {{n}} <img src=x onerror=o>";
    let folder = tempfile::tempdir().expect("a directory");
    let machine = folder.path().join("hostile.yaml");
    let text = fs::read_to_string(scenario("starter-loop.yaml")).expect("text");
    let quoted = serde_json::to_string(title).expect("a string");
    fs::write(
        &machine,
        text.replace("title: Starter loop", &format!("title: {quoted}")),
    )
    .expect("written");
    log(folder.path(), &machine, &[]);
    let page = read(folder.path(), "log.html");
    let html = parsed(&page);
    assert_needs_nothing(&html, &page);
    for place in ["h1", "title"] {
        let texts: Vec<String> = select(&html, place)
            .iter()
            .map(|element| element.text().collect())
            .collect();
        assert_eq!(
            texts.iter().map(|text| split(text)).collect::<Vec<_>>(),
            [split(title)],
            "{place}"
        );
    }
    let (markdown, _) = seen_in_markdown(&read(folder.path(), "log.md"));
    assert!(
        markdown.words.starts_with(&split(title)),
        "{:?}",
        &markdown.words[..40]
    );
    assert!(markdown.words == seen_in_html(&html).words);
}

mod any_text {
    use super::*;
    use marblewright::report::log::files;
    use marblewright::report::log::page::{Page, PageFigure, PagePart, PageTable, Text};
    use marblewright::report::rows::Alignment;

    fn page(text: &str) -> Page {
        let table = PageTable {
            about: text.to_owned(),
            header: vec![Text::plain("a"), Text::plain(text)],
            sides: vec![Alignment::Left, Alignment::Right],
            rows: vec![vec![Text::code(text), Text::plain(text).marked("!")]],
        };
        let figure = PageFigure {
            name: "a b.png".to_owned(),
            png: Vec::new(),
            narrow: None,
            alt: Text::plain(text),
            caption: Text::plain(text),
        };
        let blocks = vec![
            PagePart::Chapter(Text::plain(text)),
            PagePart::Paragraph(Text::plain(text)),
            PagePart::List(vec![Text::plain(text).strong(), Text::code(text)]),
            PagePart::Table(table),
            PagePart::Figure(figure),
            PagePart::Verbatim(text.to_owned()),
            PagePart::Heading(Text::plain("end")),
        ];
        Page {
            title: text.to_owned(),
            blocks,
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        /// Letters that mean something to a parser are drawn often.
        #[test]
        fn reads_the_same_in_both_twins(text in "([ -~]|[`|\\\\*_<>&#~$!\\[\\]()\\-+=.:0-9\n]|\\PC){0,40}") {
            prop_assume!(!text.trim().is_empty());
            let all = files(&page(&text));
            let (markdown, html) = (String::from_utf8(all[0].1.clone()).unwrap(), String::from_utf8(all[1].1.clone()).unwrap());
            let html = parsed(&html);
            let seen = seen_in_markdown(&markdown).0;
            let twin = seen_in_html(&html);
            prop_assert_eq!(&seen.words, &twin.words, "{}", markdown);
            prop_assert_eq!(
                seen.alts.iter().map(|alt| split(alt)).collect::<Vec<_>>(),
                twin.alts.iter().map(|alt| split(alt)).collect::<Vec<_>>()
            );
            prop_assert!(twin.words.starts_with(&split(&text)), "{:?}", twin.words);
        }
    }
}

/// Cells of every row of the page's tables whose header begins with these words.
fn rows(html: &Html, header: &str) -> Vec<Vec<String>> {
    let cells = |row: &scraper::ElementRef, what: &str| -> Vec<String> {
        let selector = Selector::parse(what).expect("a selector");
        row.select(&selector)
            .map(|cell| cell.text().collect::<String>().replace('\u{a0}', " "))
            .collect()
    };
    let headed = |table: &scraper::ElementRef| {
        let rows = Selector::parse("thead tr").expect("a selector");
        table
            .select(&rows)
            .any(|row| cells(&row, "th").join(" ").starts_with(header))
    };
    let body = Selector::parse("tbody tr").expect("a selector");
    let tables = select(html, "table").into_iter().filter(headed);
    tables
        .flat_map(|table| {
            table
                .select(&body)
                .map(|row| cells(&row, "td"))
                .collect::<Vec<_>>()
        })
        .collect()
}

#[test]
fn numbers_are_those_of_the_run() {
    for name in ["storm-wheel.yaml", "harbour-weir.yaml"] {
        let folder = tempfile::tempdir().expect("a directory");
        let machine = scenario(name);
        let text = log(folder.path(), &machine, &["--json"]);
        let json: serde_json::Value = serde_json::from_str(&text).expect("one JSON object");
        let args = [
            &[
                "run",
                machine.to_str().expect("a name"),
                "--no-files",
                "--full",
            ],
            &SHORT[..],
        ]
        .concat();
        let run = program(folder.path(), &[&args[..], &["--json"]].concat());
        let run: serde_json::Value = serde_json::from_slice(&run.stdout).expect("JSON");
        assert_eq!(json["results"], run);
        let html = parsed(&read(folder.path(), "log.html"));
        for row in rows(&html, "element places backlog") {
            let (element, mean) = (
                &run["elements"][&row[0]],
                row[2].split(' ').next().expect("a figure"),
            );
            let value = element["backlog_mean"]["value"].as_f64().expect("a figure");
            let decimals = mean
                .split_once('.')
                .map_or(0, |(_, decimals)| decimals.len());
            let text: f64 = mean.parse().expect("a number");
            assert!(
                (text - value).abs() <= 0.5001 * 10f64.powi(-(decimals as i32)),
                "{name} {}: {mean}, {value}",
                row[0]
            );
        }
        let lifts = ["wheel fill", "lift fill"].map(|header| rows(&html, header).len());
        assert_eq!(
            lifts[0] + lifts[1],
            run["wheels"].as_object().expect("wheels").len()
        );
        // The sentences are those that `run` prints.
        let printed = String::from_utf8(program(folder.path(), &args).stdout).expect("text");
        let page = seen_in_html(&html).words.join(" ");
        let sentences: Vec<&str> = printed
            .lines()
            .skip(1)
            .take_while(|line| line.starts_with("   ") || line.starts_with("!  "))
            .collect();
        assert!(sentences.len() > 4);
        for sentence in sentences {
            let words = split(&sentence[3..].replace('`', "")).join(" ");
            assert!(page.contains(&words), "{name}: `{words}`");
        }
    }
}

/// Inches of a cell, from what a tape shows and from the decimals: `1.776 in (1 25/32)`, `5/8 in`.
fn inches(cell: &str) -> (f64, f64) {
    let (before, after) = cell.split_once(" in").expect("inches");
    let tape = |text: &str| -> f64 {
        let part = |part: &str| match part.split_once('/') {
            Some((top, bottom)) => {
                top.parse::<f64>().expect("top") / bottom.parse::<f64>().expect("bottom")
            }
            None => part.parse().expect("a number"),
        };
        let (sign, text) = text
            .strip_prefix('-')
            .map_or((1.0, text), |text| (-1.0, text));
        sign * text.split(' ').map(part).sum::<f64>()
    };
    let bracket = after.trim().trim_matches(['(', ')']);
    (
        tape(before),
        if bracket.is_empty() {
            tape(before)
        } else {
            tape(bracket)
        },
    )
}

/// An inch is 25.4 mm exactly (international yard and pound agreement, 1959); 1 N m is 141.612 ounce inches (NIST SP 811,
/// appendix B.8, from memory).
#[test]
fn both_systems_of_units_tell_the_same_dimension() {
    let mut lengths = 0;
    for Made { html, .. } in made() {
        for row in rows(&parsed(html), "key metric inches") {
            let [key, metric, inch, from] = row.as_slice() else {
                panic!("four cells: {row:?}")
            };
            assert!(
                ["file", "computed"].contains(&from.as_str()) || from.starts_with("assumed"),
                "{row:?}"
            );
            if let Some(mm) = metric.strip_suffix(" mm") {
                let mm: f64 = mm.parse().expect("a number");
                let (decimal, tape) = inches(inch);
                assert!(
                    (decimal * 25.4 - mm).abs() <= 0.0005 * 25.4 + 1e-9,
                    "{key}: {metric}, {inch}"
                );
                assert!(
                    (tape * 25.4 - mm).abs() <= 25.4 / 64.0 + 1e-9,
                    "{key}: {metric}, {inch}"
                );
                lengths += 1;
            } else if let Some((_, run)) = inch.split_once("1 in ") {
                let (degrees, run): (f64, f64) = (
                    metric.trim_end_matches(" deg").parse().expect("deg"),
                    run.parse().expect("run"),
                );
                assert!(
                    (1.0 / libm::tan(degrees.to_radians()) / run - 1.0).abs() < 0.006,
                    "{key}: {metric}, {inch}"
                );
            } else if let Some(torque) = metric.strip_suffix(" N m") {
                let ounces: f64 = inch
                    .trim_end_matches(" oz in")
                    .parse()
                    .expect("ounce inches");
                assert!(
                    (torque.parse::<f64>().expect("a torque") * 141.612 / ounces - 1.0).abs()
                        < 0.001,
                    "{row:?}"
                );
            } else {
                assert!(!metric.ends_with(" m") && !inch.contains(" in"), "{row:?}");
            }
        }
    }
    assert!(lengths > 100, "{lengths} lengths");
}

/// Whatever number the file gives stands in the page, as given.
#[test]
fn every_dimension_of_the_file_is_in_the_table() {
    for Made { machine, html, .. } in made() {
        let html = parsed(html);
        let given: BTreeSet<String> = rows(&html, "key metric inches")
            .into_iter()
            .filter(|row| row[3] == "file")
            .map(|row| row[0].clone())
            .collect();
        let text = fs::read_to_string(machine).expect("text");
        let keys = marblewright::machine::written_keys(&text, &[]);
        let leaf = |key: &&String| {
            !keys
                .iter()
                .any(|other| other.starts_with(&format!("{key}.")))
        };
        let mut asked = 0;
        for key in keys.iter().filter(leaf).filter(|key| !key.is_empty()) {
            let parts: Vec<&str> = key.split('.').collect();
            let below = match parts.as_slice() {
                ["circuit", _, "to", ..]
                | ["workable" | "allow" | "mend", ..]
                | ["format" | "title" | "start" | "tending"] => {
                    continue;
                }
                ["circuit", _, _, below @ ..] | [_, below @ ..] => below.join("."),
                [] => continue,
            };
            // Laws and lists stand in one row.
            let stands = given
                .iter()
                .any(|text| below == *text || below.starts_with(&format!("{text}.")));
            assert!(
                stands,
                "{}: {key} as {below} in {given:?}",
                machine.display()
            );
            asked += 1;
        }
        assert!(asked > 8, "{}", machine.display());
    }
}

#[test]
fn quiet_and_no_files_are_heeded() {
    let folder = tempfile::tempdir().expect("a directory");
    let quiet = log(
        folder.path(),
        &scenario("starter-loop.yaml"),
        &["--quiet", "--no-files"],
    );
    assert_eq!(quiet.lines().count(), 1);
    assert!(quiet.contains("14 marbles at 3 rpm"), "{quiet}");
    assert!(names(folder.path()).is_empty());
    let json = log(folder.path(), &scenario("starter-loop.yaml"), &["--json"]);
    let json: serde_json::Value = serde_json::from_str(&json).expect("one JSON object");
    let files: BTreeSet<String> = serde_json::from_value(json["files"].clone()).expect("names");
    assert_eq!(files, names(folder.path()));
    assert_eq!(json["directory"], ".");
}

#[test]
fn bad_input_ends_with_2_and_writes_nothing() {
    let folder = tempfile::tempdir().expect("a directory");
    let at = folder.path();
    fs::write(
        at.join("bad.yaml"),
        "format: 1\nmarbles: { count: 20, diameter: 16 }\n",
    )
    .expect("written");
    let starter = scenario("starter-loop.yaml");
    let starter = starter.to_str().expect("a name");
    for args in [
        &["log", "bad.yaml"][..],
        &["log", "none.yaml"],
        &["log", starter, "--swap", "nowhere=peg"],
        &["log", starter, "--swap", "zig-zag"],
        &["log", starter, "--runs", "0"],
        &["log", starter, "--why", "--hours", "60"],
        &["log", starter, "--set", "circuit.wheel.pockets=none"],
        &["log", starter, "--out", "bad.yaml"],
    ] {
        let output = program(at, args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(
            output.stdout.is_empty() && !output.stderr.is_empty(),
            "{args:?}"
        );
        assert_eq!(
            names(at),
            BTreeSet::from(["bad.yaml".to_owned()]),
            "{args:?}"
        );
    }
}

#[test]
fn the_cautions_are_told_as_in_the_readme() {
    let page = seen_in_html(&parsed(&made()[0].html)).words.join(" ");
    let readme = split(
        &fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).expect("text"),
    )
    .join(" ");
    for word in [
        "choking",
        "pinch points",
        "atteries",
        "motor",
        "drills",
        "safety check",
        "Local rules",
        "qualified people",
    ] {
        assert!(page.contains(word) && readme.contains(word), "{word}");
    }
}
