//! The bench sheet as text, as JSON and as files.

use crate::charts;
use crate::charts::canvas::Format;
use crate::charts::template::Paper;
use crate::findings::words::figure;
use crate::machine::Machine;
use crate::report::assumptions::finding;
use crate::sheet::face::{Face, faces};
use crate::sheet::{RowVerdict, Section};
use crate::study::assumptions::Sensitivity;

/// The bench sheet of a machine.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Bench {
    /// Version of the layout of its JSON.
    pub format: u32,
    /// The machine's title.
    pub title: String,
    /// What its dimensions mean.
    pub sections: Vec<Section>,
    /// How the answer hangs on what the file leaves open; null where nobody asked.
    pub assumptions: Option<Sensitivity>,
}

/// Widest line of the sheet, letters.
const WIDTH: usize = 118;
/// Letters before the figures.
const INDENT: usize = 31;

impl Bench {
    /// The whole sheet for the terminal.
    pub fn text(&self) -> String {
        let mut parts = vec![format!("{}: bench sheet", self.title)];
        parts.extend(
            self.sections
                .iter()
                .map(|section| section_text(section, false)),
        );
        parts.extend(self.assumptions.iter().map(assumptions_text));
        let marks = match self.sections.iter().any(is_worrying) {
            true => "~ tight, ! won't work.",
            false => "Nothing here is tight (it would be marked ~) or won't work (!).",
        };
        parts.push(format!(
            "{marks} Margins are ours unless a standard is named; a mock-up of the pick-up tells more than any sheet.\n\
             Marbles are small parts; turning wheels pinch fingers."
        ));
        parts.join("\n\n")
    }

    /// Only what is tight or won't work.
    pub fn worries(&self) -> String {
        let worrying = self.sections.iter().filter(|section| is_worrying(section));
        let parts: Vec<String> = worrying
            .map(|section| section_text(section, true))
            .collect();
        if parts.is_empty() {
            "Nothing on the sheet is tight or won't work.".to_owned()
        } else {
            parts.join("\n\n")
        }
    }

    /// The sheet as one JSON object.
    pub fn json(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default()
    }

    /// The files of the sheet but for its pictures: name and bytes.
    pub fn files(&self) -> [(&'static str, Vec<u8>); 2] {
        [
            ("sheet.txt", (self.text() + "\n").into_bytes()),
            ("sheet.json", (self.json() + "\n").into_bytes()),
        ]
    }
}

/// Whether anything in it is tight or won't work.
pub fn is_worrying(section: &Section) -> bool {
    let mut rows = section.rows.iter();
    rows.any(|row| row.verdict != RowVerdict::Fine)
}

/// A picture of each wheel's face: what is drilled so, name of the file and bytes.
pub fn wheel_faces(machine: &Machine) -> Vec<(Face, (String, Vec<u8>))> {
    let mut drawn = Vec::new();
    for face in faces(machine) {
        let picture = charts::wheel_face::picture(&face, &machine.title);
        let name = format!("wheel-face-{}.png", face.names[0]);
        drawn.push((face, (name, picture.png)));
    }
    drawn
}

/// The drilling template of each wheel's face, sheet by sheet: name of the file and bytes.
pub fn templates(machine: &Machine, paper: Paper) -> Vec<(String, Vec<u8>)> {
    let mut all = Vec::new();
    for face in faces(machine) {
        let sheets = charts::template::sheets_of(&face, &machine.title, paper);
        for (n, png) in sheets.into_iter().enumerate() {
            all.push((format!("template-{}-{}.png", face.names[0], n + 1), png));
        }
    }
    all
}

/// The lap as a profile of heights, wide or for a telephone: name of the file and bytes; `None` where the file tells no lengths.
pub fn lap_profile(machine: &Machine, format: Format) -> Option<(String, Vec<u8>)> {
    let picture = charts::profile::picture(machine, format)?;
    Some(("profile.png".to_owned(), picture.png))
}

fn section_text(section: &Section, worries_only: bool) -> String {
    let mut lines = vec![section.title.clone()];
    for row in section
        .rows
        .iter()
        .filter(|row| !worries_only || row.verdict != RowVerdict::Fine)
    {
        let (mark, word) = match row.verdict {
            RowVerdict::Fine => (' ', ""),
            RowVerdict::Tight => ('~', "tight: "),
            RowVerdict::WontWork => ('!', "won't work: "),
        };
        let mut said = wrapped(&row.value);
        if row.verdict != RowVerdict::Fine {
            said.extend(wrapped(&format!("{word}{}", row.help)));
        }
        lines.push(labelled(mark, row.label, &said));
    }
    lines.join("\n")
}

/// Units that stay on the line of their number.
pub const UNITS: [&str; 12] = [
    "mm", "in", "deg", "rpm", "%", "s", "N", "mW", "mA", "A", "g", "oz",
];

/// A text in lines that fit behind the labels.
fn wrapped(text: &str) -> Vec<String> {
    lines(text, WIDTH - INDENT)
}

/// A text in lines of so many letters at most, broken between words but not between a number and its unit.
fn lines(text: &str, width: usize) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let is_unit = UNITS.contains(&word.trim_end_matches([',', ';', ':', '.']));
        match parts.last_mut() {
            Some(last) if is_unit && last.ends_with(|c: char| c.is_ascii_digit() || c == 'N') => {
                last.push(' ');
                last.push_str(word);
            }
            _ => parts.push(word.to_owned()),
        }
    }
    let mut lines: Vec<String> = Vec::new();
    for part in parts {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + part.chars().count() <= width => {
                line.push(' ');
                line.push_str(&part);
            }
            _ => lines.push(part),
        }
    }
    lines
}

fn assumptions_text(of: &Sensitivity) -> String {
    let mut said = vec!["what the file leaves to be assumed".to_owned()];
    for moved in &of.constants {
        let ends = [&moved.low, &moved.high].map(|end| {
            let flow = match end.outcome.throughput_per_min {
                Some(flow) => figure(flow),
                None => "unknown".to_owned(),
            };
            let turns = if end.outcome.works == of.as_assumed.works {
                ""
            } else {
                ", another verdict"
            };
            format!("{flow} a minute at {}{turns}", end.value)
        });
        let text = wrapped(&format!("{}; {}", moved.assumed, ends.join(", ")));
        said.push(labelled(' ', moved.name, &text));
    }
    for line in lines(&finding(of, None).text, WIDTH - 2) {
        said.push(format!("  {line}"));
    }
    said.join("\n")
}

/// A label with its text beside it, each line under the one before.
fn labelled(mark: char, label: &str, text: &[String]) -> String {
    let text = text.join(&format!("\n{:INDENT$}", ""));
    format!("{mark} {label:28} {text}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_but_not_before_a_unit() {
        assert_eq!(
            lines("stalls from 137.5 N mm on", 18),
            ["stalls from", "137.5 N mm on"]
        );
        assert_eq!(lines("one two three", 7), ["one two", "three"]);
    }
}
