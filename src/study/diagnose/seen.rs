//! `--seen WHAT=VALUE`: what a maker counted, as it is typed.
//!
//! WHAT is a word of the whole machine, or an element and a word: `lap`, `wheel.misses`. VALUE is a share `12/100`, a count in a time
//! `3/2h`, or readings `48,51,47 s`.

use super::measure::{Exposure, Measurable, Measure, OF_ELEMENTS, OF_THE_WHOLE, SeenCount};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, nanos};
use crate::machine::suggest::did_you_mean;
use crate::machine::units::{DURATION, quantity};

/// What is wrong with one `--seen`: from which letter to which, what, and how to mend it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misseen {
    /// First byte of what is wrong.
    pub start: usize,
    /// One past the last.
    pub end: usize,
    /// What is wrong.
    pub what: String,
    /// How to mend it.
    pub help: String,
}

/// Most pockets or readings, and the longest time, of one count.
const MOST_POCKETS: u32 = 100_000;
const MOST_READINGS: usize = 1000;
const LONGEST_S: f64 = 24.0 * 3600.0;
/// The shortest time over which something is counted.
const SHORTEST_S: f64 = 60.0;

/// A part of what was typed, with its place.
#[derive(Clone, Copy)]
struct Part<'a> {
    start: usize,
    text: &'a str,
}

impl<'a> Part<'a> {
    fn wrong(self, what: impl Into<String>, help: impl Into<String>) -> Misseen {
        Misseen {
            start: self.start,
            end: self.start + self.text.len().max(1),
            what: what.into(),
            help: help.into(),
        }
    }

    fn split(self, at: char) -> Option<(Part<'a>, Part<'a>)> {
        let cut = self.text.find(at)?;
        let (left, right) = (&self.text[..cut], &self.text[cut + at.len_utf8()..]);
        let right_start = self.start + cut + at.len_utf8();
        Some((
            Part { text: left, ..self }.trimmed(),
            Part {
                start: right_start,
                text: right,
            }
            .trimmed(),
        ))
    }

    fn trimmed(self) -> Part<'a> {
        let text = self.text.trim_start();
        Part {
            start: self.start + self.text.len() - text.len(),
            text: text.trim_end(),
        }
    }
}

/// Reads one `--seen`; `watched` is how long the machine was watched where the text does not say.
///
/// # Errors
/// What is wrong with it, and where.
pub fn parse(text: &str, circuit: &Circuit, watched: Nanos) -> Result<SeenCount, Misseen> {
    let whole = Part { start: 0, text }.trimmed();
    let Some((what, value)) = whole.split('=') else {
        let example = example(circuit);
        return Err(whole.wrong(
            "this is not written as WHAT=VALUE",
            format!("write it as in {example}"),
        ));
    };
    let measured = measurable(what, circuit)?;
    match measured {
        Measurable::Misses(_) | Measurable::Empty(_) => share(measured, value),
        Measurable::Lap | Measurable::Time(_) => times(measured, value),
        Measurable::PerMinute => per_minute(value),
        Measurable::Most(_) => most(measured, value, watched),
        Measurable::Carried(_) | Measurable::Jams(_) | Measurable::Spills(_) => {
            counted(measured, value)
        }
    }
}

/// Something that can be typed of this machine.
pub fn example(circuit: &Circuit) -> String {
    match circuit.wheels().next() {
        Some(n) => format!("{}.misses=12/100", circuit.nodes[n].name),
        None => "lap=48 s".to_owned(),
    }
}

fn measurable(what: Part<'_>, circuit: &Circuit) -> Result<Measurable, Misseen> {
    let Some(dot) = what.text.rfind('.') else {
        return Measurable::of_the_whole(what.text).ok_or_else(|| unknown_word(what, circuit));
    };
    let element = Part {
        text: &what.text[..dot],
        ..what
    };
    let word = Part {
        start: what.start + dot + 1,
        text: &what.text[dot + 1..],
    };
    let names: Vec<&str> = circuit
        .nodes
        .iter()
        .map(|plan| plan.name.as_str())
        .collect();
    let Some(n) = names.iter().position(|name| *name == element.text) else {
        let what = format!("there is no element called `{}`", element.text);
        return Err(element.wrong(what, did_you_mean(element.text, names)));
    };
    let Some(measured) = Measurable::of_element(word.text, n) else {
        return Err(word.wrong(
            format!("`{}` is nothing that is counted at an element", word.text),
            did_you_mean(word.text, OF_ELEMENTS),
        ));
    };
    if measured.exists(circuit) {
        Ok(measured)
    } else {
        Err(word.wrong(
            format!(
                "`{}` is a {}, {}",
                element.text,
                circuit.nodes[n].kind,
                cannot(measured)
            ),
            format!(
                "of `{}` there are: {}",
                element.text,
                words_of(circuit, n).join(", ")
            ),
        ))
    }
}

/// The words that can be typed of element `n`.
pub fn words_of(circuit: &Circuit, n: usize) -> Vec<&'static str> {
    let mut words = OF_ELEMENTS.to_vec();
    words.retain(|word| Measurable::of_element(word, n).is_some_and(|what| what.exists(circuit)));
    words
}

fn cannot(measured: Measurable) -> &'static str {
    match measured {
        Measurable::Misses(_) => "which cannot miss a marble",
        Measurable::Empty(_) => "which has no pockets",
        Measurable::Carried(_) => "which carries no marble over a top",
        Measurable::Jams(_) => "where marbles cannot wedge",
        Measurable::Most(_) => "in which no marbles wait",
        _ => "through which marbles are not timed: time a whole lap",
    }
}

fn unknown_word(what: Part<'_>, circuit: &Circuit) -> Misseen {
    let name = |plan: &crate::circuit::plan::Plan| plan.name == what.text;
    let (problem, help) = match circuit.nodes.iter().position(name) {
        Some(n) => (
            format!("`{}` is an element: say what was counted there", what.text),
            format!(
                "write it as in {}.{}",
                what.text,
                words_of(circuit, n).first().unwrap_or(&"spills")
            ),
        ),
        None => (
            format!(
                "`{}` is nothing that is counted of a whole machine",
                what.text
            ),
            did_you_mean(what.text, OF_THE_WHOLE),
        ),
    };
    what.wrong(problem, help)
}

fn whole_number(part: Part<'_>) -> Result<u32, Misseen> {
    part.text.parse().map_err(|_| {
        part.wrong(
            format!("`{}` is no count", part.text),
            "write a whole number, as in 12",
        )
    })
}

fn share(what: Measurable, value: Part<'_>) -> Result<SeenCount, Misseen> {
    let Some((top, bottom)) = value.split('/') else {
        return Err(value.wrong(
            "of how many pockets?",
            format!("write it as in {}/100", value.text),
        ));
    };
    let (such, of) = (whole_number(top)?, whole_number(bottom)?);
    if of == 0 || of > MOST_POCKETS {
        return Err(bottom.wrong(
            format!("nothing is counted of {of} pockets"),
            format!("write of how many pockets, 1 to {MOST_POCKETS}, as in 12/100"),
        ));
    }
    if such > of {
        return Err(top.wrong(
            format!("{such} of {of} is more than all"),
            "write the count first, then of how many, as in 12/100",
        ));
    }
    Ok(SeenCount {
        measure: Measure {
            what,
            exposure: Exposure::Of(of),
        },
        value: f64::from(such),
    })
}

/// A time over which something was counted: `2h`, `90 min`.
fn watched_for(part: Part<'_>) -> Result<Nanos, Misseen> {
    match quantity(part.text, &DURATION) {
        Ok(time_s) if (SHORTEST_S..=LONGEST_S).contains(&time_s) => Ok(nanos(time_s)),
        _ => Err(part.wrong(
            format!("`{}` is not how long something is counted", part.text),
            "write a time from 1 min to 24 h with its unit, as in 3/2h",
        )),
    }
}

fn counted(what: Measurable, value: Part<'_>) -> Result<SeenCount, Misseen> {
    let Some((top, bottom)) = value.split('/') else {
        return Err(value.wrong(
            "over how long was this counted?",
            format!("write it as in {}/2h", value.text),
        ));
    };
    let such = whole_number(top)?;
    let exposure = Exposure::During(watched_for(bottom)?);
    Ok(SeenCount {
        measure: Measure { what, exposure },
        value: f64::from(such),
    })
}

fn most(what: Measurable, value: Part<'_>, watched: Nanos) -> Result<SeenCount, Misseen> {
    let (top, time) = match value.split('/') {
        Some((top, bottom)) => (top, watched_for(bottom)?),
        None => (value, watched),
    };
    Ok(SeenCount {
        measure: Measure {
            what,
            exposure: Exposure::During(time),
        },
        value: f64::from(whole_number(top)?),
    })
}

fn readings_of<T>(
    value: Part<'_>,
    read: impl Fn(Part<'_>) -> Result<T, Misseen>,
) -> Result<Vec<T>, Misseen> {
    let (mut all, mut rest) = (Vec::new(), value);
    while let Some((one, more)) = rest.split(',') {
        all.push(read(one)?);
        rest = more;
    }
    all.push(read(rest)?);
    if all.len() > MOST_READINGS {
        return Err(value.wrong(
            "these are too many readings",
            format!("give {MOST_READINGS} at most"),
        ));
    }
    Ok(all)
}

fn mean(readings: &[f64]) -> f64 {
    readings.iter().sum::<f64>() / readings.len() as f64
}

/// Stopwatch readings; a unit may stand behind the last alone.
fn times(what: Measurable, value: Part<'_>) -> Result<SeenCount, Misseen> {
    let unit = value.text.trim_start_matches(|c: char| !c.is_alphabetic());
    let readings = readings_of(value, |part| {
        let bare = !part.text.contains(char::is_alphabetic);
        let text = if bare {
            format!("{} {unit}", part.text)
        } else {
            part.text.to_owned()
        };
        match quantity(&text, &DURATION) {
            Ok(time_s) if time_s > 0.0 && time_s <= LONGEST_S => Ok(time_s),
            _ => Err(part.wrong(
                format!("`{}` is no reading of a stopwatch", part.text),
                "write times above 0 with their unit, as in 48 s or 48,51,47 s",
            )),
        }
    })?;
    let exposure = Exposure::Readings(readings.len() as u32);
    Ok(SeenCount {
        measure: Measure { what, exposure },
        value: mean(&readings),
    })
}

/// Counts of a minute each.
fn per_minute(value: Part<'_>) -> Result<SeenCount, Misseen> {
    let readings = readings_of(value, |part| match part.text.parse::<f64>() {
        Ok(marbles) if (0.0..=1e6).contains(&marbles) => Ok(marbles),
        _ => Err(part.wrong(
            format!("`{}` is no number of marbles in a minute", part.text),
            "write the count of one minute, or of several, as in 31 or 31,29,32",
        )),
    })?;
    let exposure = Exposure::Readings(readings.len() as u32);
    Ok(SeenCount {
        measure: Measure {
            what: Measurable::PerMinute,
            exposure,
        },
        value: mean(&readings),
    })
}
