//! The bench sheet: what the dimensions of a machine mean, before a marble runs.

mod lines;
mod rest;
mod wheels;

use crate::circuit;
use crate::circuit::workshop::Workshop;
use crate::machine::Machine;
use crate::machine::model::Kind;

/// One part of the sheet: an element, the drive or the marbles.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Section {
    /// What it is about.
    pub title: String,
    /// Its figures.
    pub rows: Vec<Row>,
}

/// One figure.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Row {
    /// What it is.
    pub label: &'static str,
    /// How much, with its unit.
    pub value: String,
    /// What to think of it.
    pub verdict: Verdict,
    /// What would mend it; empty where nothing needs mending.
    pub mend: String,
}

/// What to think of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// As it should be, or only told.
    Fine,
    /// Works with little to spare.
    Tight,
    /// Will not work.
    WontWork,
}

impl Row {
    fn told(label: &'static str, value: String) -> Self {
        Row { label, value, verdict: Verdict::Fine, mend: String::new() }
    }

    fn judged(label: &'static str, value: String, verdict: Verdict, mend: impl Into<String>) -> Self {
        let mend = if verdict == Verdict::Fine { String::new() } else { mend.into() };
        Row { label, value, verdict, mend }
    }
}

/// In which units lengths are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Units {
    /// Millimetres.
    Millimetres,
    /// Inches.
    Inches,
}

impl Units {
    /// A length in metres as text.
    pub fn length(self, metres: f64) -> String {
        match self {
            Units::Millimetres => format!("{:.1} mm", metres * 1e3),
            Units::Inches => format!("{:.3} in", metres / 0.0254),
        }
    }
}

fn degrees(radians: f64) -> String {
    format!("{:.1} deg", radians.to_degrees())
}

/// The whole sheet, element by element in the order of the file.
pub fn sheet(machine: &Machine, units: Units) -> Vec<Section> {
    let circuit = circuit::circuit(machine);
    let elements = machine.elements.iter().zip(&circuit.nodes).map(|(element, plan)| {
        let workshop = Workshop::new(machine, element);
        let rows = match &element.kind {
            Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line) => lines::rows(line, plan, &workshop, units),
            Kind::PocketWheel(wheel) => wheels::rows(wheel, &workshop, units),
            Kind::ReturnFloor(_) | Kind::Bowl(_) | Kind::Escapement(_) => rest::timed(plan),
            _ => Vec::new(),
        };
        Section { title: format!("{} ({})", element.name, element.kind.name()), rows }
    });
    let about = [rest::marbles(machine), rest::drive(machine)];
    about.into_iter().chain(elements).filter(|section| !section.rows.is_empty()).collect()
}
