//! The pictures of a page, each with a caption that says what to see in it.

use std::iter::zip;

use super::page::{PageFigure, PagePart, Text};
use super::{Log, Tale};
use crate::charts::canvas::Format;
use crate::charts::{self, ChartData, time_distance};
use crate::findings::limit::Causes;
use crate::findings::story::Story;
use crate::findings::summary::ElementSummary;
use crate::findings::words::{count, estimate, percent, setting};
use crate::report::bench::lap_profile;
use crate::report::compare::CompareStudy;
use crate::report::mend::MendReport;
use crate::report::tolerance::ToleranceStudy;
use crate::report::window::WindowStudy;
use crate::report::{courses, rhythm_chart};
use crate::sheet::face::Face;
use crate::study::close_up::CloseUp;
use crate::study::map::Map;

/// A picture for a desk and for a telephone.
fn both(drawn: impl Fn(Format) -> Vec<u8>) -> [Vec<u8>; 2] {
    [Format::Wide, Format::Narrow].map(drawn)
}

/// A picture with its drawing for a telephone.
fn two_widths(
    (name, png): (String, Vec<u8>),
    narrow: Option<Vec<u8>>,
    alt: &str,
    caption: &str,
) -> PagePart {
    PagePart::Figure(PageFigure {
        name,
        png,
        narrow,
        alt: Text::sentence(alt),
        caption: Text::sentence(caption),
    })
}

/// The lap as a profile of heights; `None` where the file tells no lengths.
pub fn profile(log: &Log) -> Option<PagePart> {
    let wide = lap_profile(log.machine, Format::Wide)?;
    let narrow = lap_profile(log.machine, Format::Narrow).map(|(_, png)| png);
    let alt = "The lap seen from the side, unrolled and to scale: what falls, what is lifted, and what is left over.";
    let caption = "From the file's heights and lengths alone. Follow the line from the ramp where marbles are poured in: the blue \
                   arcs lift, all else falls. At its end the upright bar is the height left over; where it is red, the parts \
                   cannot be put together as drawn. What is dashed is not known from the file and takes height of its own.";
    Some(two_widths(wide, narrow, alt, caption))
}

/// The drawn circuit, and the other charts of the runs.
pub fn of_runs(log: &Log) -> (Vec<PagePart>, Vec<PagePart>) {
    let (mut drawn, mut others) = (Vec::new(), Vec::new());
    let courses = courses(log.circuit, &log.study, log.runs);
    let [wide, narrow] = [Format::Wide, Format::Narrow].map(|format| {
        charts::of_run(&ChartData {
            circuit: log.circuit,
            summary: log.summary,
            runs: log.runs,
            courses: &courses,
            format,
        })
    });
    for (file, (_, narrow)) in zip(wide, narrow) {
        let (alt, caption) = match file.0.as_str() {
            "circuit.png" => circuit(log),
            "marbles.png" => marbles(log),
            "backlog.png" => backlog(log),
            "fill.png" => fill(log),
            _ => jams(log),
        };
        // One chart belongs to the machine rather than to its runs.
        if file.0 == "circuit.png" {
            drawn.push(two_widths(file, Some(narrow), &alt, &caption));
        } else {
            others.push(two_widths(file, Some(narrow), &alt, &caption));
        }
    }
    (drawn, others)
}

/// The bells' rhythm, where there are any.
pub fn rhythm(log: &Log) -> Option<PagePart> {
    let drawn = |format| rhythm_chart(log.strikes, log.summary, format);
    let (wide, narrow) = (drawn(Format::Wide)?, drawn(Format::Narrow)?);
    let bells = log.strikes.iter().flat_map(|strikes| &strikes.bells);
    let names: Vec<String> = bells.map(|bell| bell.name.clone()).collect();
    let alt = format!("A minute of strikes on {}.", names.join(", "));
    let caption = "How the bells sound: a mark for each marble that strikes, over a minute of the first run. Marks close together are \
                   marbles that came in a bunch; an even line is a machine that keeps time.";
    Some(two_widths(wide, Some(narrow.1), &alt, caption))
}

/// What is said in place of a picture, and under it.
type AltAndCaption = (String, String);

fn circuit(log: &Log) -> AltAndCaption {
    let nodes = &log.circuit.nodes;
    let mut leads = Vec::new();
    for of in nodes {
        let to = of.ways.iter().map(|way| nodes[way.to].name.as_str());
        let to: Vec<&str> = to.collect();
        leads.push(if to.is_empty() {
            format!("{} ends", of.name)
        } else {
            format!("{} to {}", of.name, to.join(", "))
        });
    }
    let alt = format!("The circuit as boxes and arrows: {}.", leads.join("; "));
    let deepest = match deepest(log) {
        Some((name, of)) => format!(
            " Most marbles wait at `{name}`: {} on average.",
            estimate(&of.backlog_mean)
        ),
        None => String::new(),
    };
    let marked = match log.summary.causes.as_ref().and_then(Causes::limit) {
        Some(trial) if trial.element.is_some() => ", and for the box marked as limiting the flow",
        _ => "",
    };
    let caption = format!(
        "What leads where. Follow the thick arrows: they carry most, the number beside each is marbles a minute. In the \
         boxes look for dark bars, where marbles wait{marked}.{deepest}"
    );
    (alt, caption)
}

fn marbles(log: &Log) -> AltAndCaption {
    let alt = format!(
        "Bands over time: how many of {} marbles are at each element in one run.",
        log.circuit.marbles
    );
    let caption = "Where the marbles are in the first run. The thickest band is where most of them are; a band that keeps \
                   growing is a pile that builds up, one that pulses is filled and emptied in turn.";
    (alt, caption.to_owned())
}

fn backlog(log: &Log) -> AltAndCaption {
    let (alt, text) = match deepest(log) {
        Some((name, of)) => (
            format!("Curves of marbles waiting at each element over time, deepest at {name}."),
            format!(
                " The deepest is `{name}`: {} on average, {} at worst.",
                estimate(&of.backlog_mean),
                estimate(&of.backlog_peak)
            ),
        ),
        None => ("Marbles hardly wait anywhere.".to_owned(), String::new()),
    };
    let caption = format!(
        "Marbles waiting, element by element. A level line is a machine in balance; one that climbs ends at the \
         element's room, drawn where it is near.{text}"
    );
    (alt, caption)
}

/// The element at which most wait on average, if any does.
fn deepest<'a>(log: &Log<'a>) -> Option<(&'a str, &'a ElementSummary)> {
    let mut all: Vec<(f64, &str, &ElementSummary)> = Vec::new();
    for (name, of) in &log.summary.elements.0 {
        all.push((of.backlog_mean.value.unwrap_or(0.0), name, of));
    }
    let waiting = all.into_iter().filter(|(waits, ..)| *waits > 0.0);
    let (_, name, of) = waiting.max_by(|a, b| a.0.total_cmp(&b.0))?;
    Some((name, of))
}

fn fill(log: &Log) -> AltAndCaption {
    let mut known = Vec::new();
    for (name, of) in &log.summary.wheels.0 {
        known.extend(of.fill.value.map(|fill| (name, fill)));
    }
    let enough = percent(log.machine.workable.least_fill);
    let text = match known.iter().min_by(|a, b| a.1.total_cmp(&b.1)) {
        Some((name, fill)) => format!(
            " The emptiest is `{name}`, {} full; {enough} is good enough.",
            percent(*fill)
        ),
        None => String::new(),
    };
    let (seats, lift) = log.circuit.carriers();
    let caption = format!(
        "Share of passing {seats} that carry a marble, {lift} by {lift}. A dip is a stretch of empty {seats}: fewer marbles \
         came home just before.{text}"
    );
    let alt =
        format!("Curves of the share of {seats} of each {lift} that carry a marble, over time.");
    (alt, caption)
}

fn jams(log: &Log) -> AltAndCaption {
    let jammed = log.runs.totals.jammed.runs;
    if jammed == 0 {
        let alt = format!(
            "No jam was seen in {}.",
            count(log.runs.count() as u64, "run")
        );
        let caption = "None was seen, which does not prove that none can happen: the bar reaches as far as these runs \
                       leave open.";
        return (alt, caption.to_owned());
    }
    let alt = format!(
        "What stopped marbles in {jammed} of {}, by cause.",
        count(log.runs.count() as u64, "run")
    );
    let caption = "What stopped marbles, the most frequent first, and the share of runs still without a jam as time goes on. \
                   A curve that drops early is a machine that needs somebody beside it.";
    (alt, caption.to_owned())
}

/// The face of a wheel.
pub fn wheel_face(machine: &str, (face, file): (Face, (String, Vec<u8>))) -> PagePart {
    let names: Vec<String> = face.names.iter().map(|name| format!("`{name}`")).collect();
    let (names, pockets) = (names.join(", "), count(u64::from(face.pockets), "pocket"));
    let alt = format!("Drawing to scale of the face of {names} with {pockets}.");
    let caption = format!(
        "What to drill: the face of {names} to scale, {pockets}. Look where the marble is picked up at the bottom, where \
         it leaves, and how far the slide's mouth has to reach; the section shows how the pockets lean."
    );
    let narrow = charts::wheel_face::narrow_picture(&face, machine).png;
    two_widths(file, Some(narrow), &alt, &caption)
}

/// The string-line chart of a story.
pub fn story(log: &Log, tale: &Tale, story: &Story) -> PagePart {
    let setting = setting(log.circuit.marbles, log.summary.rpm);
    let drawn = time_distance::IncidentChart {
        title: &log.machine.title,
        setting: &setting,
        circuit: log.circuit,
        replay: tale.replay,
        story,
    };
    let alt = format!(
        "String-line chart of run {}: {}",
        tale.replay.id.run,
        story.incident.line(log.circuit)
    );
    let caption = "One line a marble: elements in order of travel downwards, time along. A level stretch is a marble that \
                   waits; where many lie together a queue builds up. The marked instant is the one described.";
    let [wide, narrow] = both(|format| time_distance::picture(&drawn, format).png);
    two_widths(("why.png".to_owned(), wide), Some(narrow), &alt, caption)
}

/// How a marble wedges.
pub fn wedged(log: &Log, story: &Story, close_up: &CloseUp) -> PagePart {
    let wheel = &log.circuit.nodes[story.incident.node].name;
    let alt = format!(
        "Four stills to scale, from the side and along the ramp: a marble wedges at {wheel}."
    );
    let caption = format!(
        "How a marble wedges at `{wheel}`: half in its pocket, it is carried against the wall, and the wheel stands. It is one of {} that the close look followed; look what the wall would have to give way to.",
        count(close_up.pockets as u64, "pocket")
    );
    let strip = charts::close_up::stills(close_up, wheel, &log.machine.title);
    let narrow = charts::close_up::narrow_stills(close_up, wheel);
    two_widths(
        ("close-up.png".to_owned(), strip),
        Some(narrow),
        &alt,
        &caption,
    )
}

/// The ladder of changes.
pub fn mend(report: &MendReport) -> PagePart {
    let caption = "What decides, as the machine is and after each change. Look which dot lies beyond the upright line, and how far \
                   the bar has carried it.";
    let [wide, narrow] = both(|format| report.picture(format).png);
    let alt = format!("{}.", report.headline());
    two_widths(("mend.png".to_owned(), wide), Some(narrow), &alt, caption)
}

/// Makers by what became of their machines, and what decides.
pub fn tolerance(study: &ToleranceStudy) -> PagePart {
    let caption = "Makers by what became of their machines, and for each error how many answers turn if it alone is drawn anew. \
                   Look which bar reaches farther than what other runs of the same machines turn: that is what to make exactly.";
    let [wide, narrow] = both(|format| study.picture(format).png);
    let alt = format!("{}.", study.headline());
    two_widths(
        ("tolerance.png".to_owned(), wide),
        Some(narrow),
        &alt,
        caption,
    )
}

/// The chart of a workable window.
pub fn window(study: &WindowStudy) -> PagePart {
    let caption = "What decides, by the number of marbles. The shaded stretch works; look which curve crosses its dashed \
                   bound first on either side: that is what breaks there.";
    let [wide, narrow] = both(|format| study.picture(format).png);
    let alt = format!("{}.", study.headline());
    two_widths(("window.png".to_owned(), wide), Some(narrow), &alt, caption)
}

/// The charts of a comparison.
pub fn comparison(study: &CompareStudy) -> Vec<PagePart> {
    let mut parts = Vec::new();
    let repeat = study.repeat();
    for file in charts::compare::of_comparison(study.comparison, study.title, &repeat) {
        let (alt, caption) = match file.0.as_str() {
            "shares.png" => (
                "Bars: the share of marbles that takes each way, by design.",
                "How evenly each design shares the marbles out. Parts of equal length are an even share; at the \
                 right how many go the same way on end.",
            ),
            _ => (
                "Differences between the designs with their intervals.",
                "How far the designs differ from the file. A mark whose line stays clear of zero is a \
                 difference that these runs show; blue is better, red is worse, grey is not settled.",
            ),
        };
        let about = (study.title, repeat.as_str());
        let narrow = match file.0.as_str() {
            "shares.png" => charts::compare::shares(study.comparison, about, Format::Narrow),
            _ => Some(charts::compare::differences(
                study.comparison,
                about,
                Format::Narrow,
            )),
        };
        parts.push(two_widths(
            file,
            narrow.map(|narrow| narrow.png),
            alt,
            caption,
        ));
    }
    parts
}

/// A map.
pub fn map(map: &Map) -> PagePart {
    let (along, across) = (
        map.grid.question.along.name(),
        map.grid.question.across.name(),
    );
    let caption = format!(
        "Each cell is one machine: {along} upwards, {across} along. Look for the field that works and for the letters at \
         its edges: they say what breaks first there. Pale cells stand between two that are alike and were not simulated."
    );
    let [wide, narrow] = both(|format| charts::map::picture(map, format).png);
    let alt = format!("{}.", map.answer());
    two_widths(("map.png".to_owned(), wide), Some(narrow), &alt, &caption)
}
