//! The chapters about the machine itself, and how to get the page again.

use super::page::{PagePart, PageTable, Text};
use super::{Log, Reproduction, pictures};
use crate::findings::sentences::Finding;
use crate::findings::verdict_text::conditions;
use crate::findings::words::{count, duration, figure, percent, setting};
use crate::machine::model::Tending;
use crate::machine::text::{lines, one_line};
use crate::report::assumptions::finding;
use crate::report::bench::{is_worrying, wheel_faces};
use crate::sheet::dimensions::{DimensionGroup, dimensions};
use crate::sheet::{Row, RowVerdict, Section, Units, sheet};
use crate::study::assumptions::{Moved, VariantResult};

/// What is asked of the machine, and what counts as a yes.
pub fn question(log: &Log) -> Vec<PagePart> {
    let setting = setting(log.circuit.marbles, log.summary.rpm);
    let (hours, runs) = (
        duration(log.summary.hours * 3600.0),
        count(log.summary.runs as u64, "run"),
    );
    let asked = format!(
        "Will this machine run by itself for {hours} with {setting}? {runs} of {hours} were simulated, marble by marble, with seed {}.",
        log.summary.seed
    );
    vec![
        PagePart::Chapter(Text::plain("The question")),
        PagePart::Paragraph(Text::plain(&asked)),
        PagePart::Paragraph(Text::plain("It works if")),
        PagePart::List(
            good_enough(log)
                .iter()
                .map(|text| Text::sentence(text))
                .collect(),
        ),
    ]
}

fn good_enough(log: &Log) -> Vec<String> {
    let mut all = conditions(log.circuit, &log.machine.workable);
    all.push(match log.machine.tending {
        Tending::Stop => "nobody clears a jam".to_owned(),
        Tending::ClearAfter(time_s) => {
            format!("somebody clears each jam after {}", duration(time_s))
        }
    });
    all
}

/// The sentences of `run`.
pub fn answer(log: &Log) -> Vec<PagePart> {
    let key = "`!` marks what a maker would want to change; ± is half of a 95 % interval. Every rare event names a seed \
               and a run, by which `marblewright why` tells its story.";
    let (first, rest) = (
        log.findings.first(),
        log.findings.get(1..).unwrap_or_default(),
    );
    let mut blocks = vec![PagePart::Chapter(Text::plain("The answer"))];
    blocks.extend(first.map(|answer| PagePart::Paragraph(one_told(answer).strong())));
    blocks.extend([bullets(rest), PagePart::Paragraph(Text::sentence(key))]);
    blocks
}

/// Findings as a list, with a mark where they are not what a maker hopes for.
pub fn bullets(findings: &[Finding]) -> PagePart {
    PagePart::List(findings.iter().map(one_told).collect())
}

fn one_told(finding: &Finding) -> Text {
    let text = Text::sentence(&finding.text);
    if finding.good { text } else { text.marked("!") }
}

/// Its circuit and its dimensions.
pub fn machine(log: &Log, circuit: Vec<PagePart>) -> Vec<PagePart> {
    let key = "Every dimension as meant, in millimetres and in inches as on a tape (to the nearest 1/32 in brackets), \
               where those are two; keys are those of the machine file, with items of a list counted from 0. `file`: given; `assumed`: the \
               file leaves it open, and this is what the program takes; `computed`: follows from the others.";
    let mut blocks = vec![PagePart::Chapter(Text::plain("The machine"))];
    blocks.extend(pictures::profile(log));
    blocks.extend(circuit);
    blocks.push(PagePart::Paragraph(Text::sentence(key)));
    for part in dimensions(log.machine, log.written) {
        blocks.push(PagePart::Heading(Text::plain(&part.title)));
        blocks.push(PagePart::Table(dimension_table(&part)));
    }
    blocks
}

fn dimension_table(part: &DimensionGroup) -> PageTable {
    let mut rows = Vec::new();
    for of in &part.dimensions {
        rows.push(vec![
            Text::code(&of.key),
            Text::plain(&of.metric),
            Text::plain(&of.inches),
            Text::plain(&of.from.phrase()),
        ]);
    }
    let about = format!("Dimensions of {}", part.title);
    PageTable::words(&about, &["key", "metric", "inches", "from"], rows)
}

/// What the dimensions mean, and the faces of the wheels.
pub fn bench_sheet(log: &Log) -> Vec<PagePart> {
    let key = "What the dimensions mean before a marble runs. `tight` works with little to spare, `won't work` has to be \
               changed; both say what mends it. Margins are the program's own unless a standard is named; a mock-up of \
               the pick-up tells more than any sheet.";
    let mut blocks = vec![
        PagePart::Chapter(Text::plain("The bench sheet")),
        PagePart::Paragraph(Text::sentence(key)),
    ];
    for section in sheet(log.machine, Units::Both) {
        blocks.push(PagePart::Heading(Text::sentence(&section.title)));
        blocks.push(PagePart::Table(section_table(&section)));
    }
    for face in wheel_faces(log.machine) {
        blocks.push(pictures::wheel_face(&log.machine.title, face));
    }
    blocks
}

fn section_table(section: &Section) -> PageTable {
    let columns = if is_worrying(section) { 3 } else { 2 };
    let mut rows = Vec::new();
    for row in &section.rows {
        let mut cells = vec![Text::plain(row.label), Text::sentence(&row.value)];
        cells.push(verdict(row));
        cells.truncate(columns);
        rows.push(cells);
    }
    let about = format!("Bench sheet of {}", section.title);
    PageTable::words(&about, &["figure", "value", "verdict"][..columns], rows)
}

fn verdict(row: &Row) -> Text {
    match row.verdict {
        RowVerdict::Fine => Text::default(),
        RowVerdict::Tight => Text::sentence(&row.help).marked("tight:"),
        RowVerdict::WontWork => Text::sentence(&row.help).marked("won't work:"),
    }
}

/// What the file leaves open, and how far that moves the answer.
pub fn assumptions(log: &Log) -> Vec<PagePart> {
    let mut blocks = vec![PagePart::Chapter(Text::plain(
        "Assumptions, and how much they matter",
    ))];
    let Some(of) = log.sensitivity else {
        let text = "Nobody looked how the answer hangs on what the file leaves to be assumed (`--no-assumptions`).";
        blocks.push(PagePart::Paragraph(Text::sentence(text)));
        return blocks;
    };
    if of.constants.is_empty() {
        let text = finding(of, None).text;
        blocks.push(PagePart::Paragraph(Text::sentence(&text)));
        return blocks;
    }
    let most = match of.matters_most {
        Some(name) => {
            format!("Most hangs on {name}: measure it first, and write it into the file.")
        }
        None => "None moves the answer noticeably.".to_owned(),
    };
    let text = format!(
        "No handbook settles these. Each was taken to both ends of its range, one at a time, in {} on the same luck. As \
         assumed: {}. {most} Arches at a mouth are an upper estimate: a vibrating machine shakes some loose.",
        count(u64::from(of.runs), "short run"),
        outcome(&of.as_assumed)
    );
    blocks.push(PagePart::Paragraph(Text::sentence(&text)));
    blocks.push(PagePart::Table(PageTable::words(
        "What is assumed and how far it moves the answer",
        &[
            "constant",
            "assumed",
            "at the low end",
            "at the high end",
            "settled by",
        ],
        of.constants.iter().map(moved_row).collect(),
    )));
    blocks
}

fn moved_row(of: &Moved) -> Vec<Text> {
    let [low, high] = [&of.low, &of.high]
        .map(|end| Text::plain(&format!("{}: {}", end.value, outcome(&end.outcome))));
    vec![
        Text::plain(of.name),
        Text::plain(&of.assumed),
        low,
        high,
        Text::code(of.key),
    ]
}

fn outcome(of: &VariantResult) -> String {
    let flow = match of.throughput_per_min {
        Some(flow) => figure(flow),
        None => "an unknown number of".to_owned(),
    };
    let fill = match of.least_fill {
        Some(fill) => format!(", emptiest wheel {} full", percent(fill)),
        None => String::new(),
    };
    let works = if of.works { "works" } else { "does not work" };
    format!("{flow} marbles a minute{fill}, {works}")
}

/// What every builder has to know; the README says the same.
const CAUTIONS: [&str; 6] = [
    "Marbles are small parts: a choking hazard, not for children under three.",
    "Turning wheels and gears have pinch points: keep fingers, hair and sleeves away, and guard what others can reach.",
    "Fuse batteries and never mix cells; a stalled motor draws its full stall current and gets hot.",
    "Saws, drills and routers injure: follow their makers' instructions.",
    "A simulation is no safety check.",
    "Local rules and qualified people come before anything said here.",
];

/// The cautions.
pub fn cautions() -> Vec<PagePart> {
    vec![
        PagePart::Chapter(Text::plain("Cautions")),
        PagePart::List(CAUTIONS.map(Text::plain).to_vec()),
    ]
}

/// How to get the page again.
pub fn reproduction(log: &Log) -> Vec<PagePart> {
    let Reproduction {
        version,
        command,
        file,
        text,
    } = log.reproduction;
    let with = match file {
        Some(_) => format!("With marblewright {version} and the machine file below saved as "),
        None => format!("With marblewright {version}, whose built-in machine this is"),
    };
    let mut how = Text(vec![super::page::Span::Plain(with)]);
    if let Some(file) = file {
        how.push(Text::code(file));
    }
    how.push(Text::sentence(":"));
    let same = format!(
        "The seed is {}. The same file, version, seed and options give this page again to the last byte, on any computer \
         and any number of threads.",
        log.summary.seed
    );
    vec![
        PagePart::Chapter(Text::plain("To repeat it")),
        PagePart::Paragraph(how),
        PagePart::Verbatim(one_line(command)),
        PagePart::Paragraph(Text::plain(&same)),
        PagePart::Heading(Text::plain("The machine file")),
        PagePart::Verbatim(lines(text)),
    ]
}
