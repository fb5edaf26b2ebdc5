//! The bench sheet: what the dimensions of a machine mean, before a marble runs.

pub mod dimensions;
mod drives;
pub mod entry;
pub mod face;
pub mod heights;
pub mod pocket_exit;
pub mod profile;
mod supplies;
pub mod units;

use crate::circuit;
use crate::circuit::draw::{Draw, seconds};
use crate::circuit::plan::{Circuit, Plan, Role};
use crate::circuit::workshop::Workshop;
use crate::machine::Machine;
use crate::machine::kind::each_kind;
use entry::{SheetEntry, SheetView};
pub use units::Units;
use units::degrees;

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
    /// How much, with its unit, and why.
    pub value: String,
    /// The numbers in it.
    pub figures: Vec<Figure>,
    /// What to think of it.
    pub verdict: RowVerdict,
    /// What would fix it; empty where nothing needs to be.
    pub help: String,
}

/// A number of a row, for programs that read the sheet: whatever units are shown, it is in SI units, degrees and rpm.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Figure {
    /// What it is.
    pub name: &'static str,
    /// How much.
    pub value: f64,
    /// Of what: `m`, `s`, `m/s`, `deg`, `rpm`, `kg`, `N m`, `W`, `A`, `V`, `h`; `1` for a count, a ratio or a share.
    pub unit: &'static str,
}

/// What to think of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RowVerdict {
    /// As it should be, or only stated.
    Fine,
    /// Works with little to spare.
    Tight,
    /// Will not work.
    WontWork,
}

impl RowVerdict {
    /// By how far `x` is above what is needed: fine from `fine` on, tight from `tight` on.
    pub fn at_least(x: f64, fine: f64, tight: f64) -> Self {
        match x {
            x if x >= fine => RowVerdict::Fine,
            x if x >= tight => RowVerdict::Tight,
            _ => RowVerdict::WontWork,
        }
    }

    /// By how far `x` is below what is allowed: fine up to `fine`, tight up to `tight`.
    pub fn at_most(x: f64, fine: f64, tight: f64) -> Self {
        RowVerdict::at_least(-x, -fine, -tight)
    }
}

impl Row {
    /// A figure that is only stated.
    pub fn plain(label: &'static str, value: impl Into<String>) -> Self {
        Row {
            label,
            value: value.into(),
            figures: Vec::new(),
            verdict: RowVerdict::Fine,
            help: String::new(),
        }
    }

    /// A figure with a verdict, and help where that is not fine.
    pub fn judged(
        label: &'static str,
        value: impl Into<String>,
        verdict: RowVerdict,
        help: impl Into<String>,
    ) -> Self {
        let help = if verdict == RowVerdict::Fine {
            String::new()
        } else {
            help.into()
        };
        Row {
            verdict,
            help,
            ..Row::plain(label, value)
        }
    }

    /// The same row with numbers: name, value and unit of each.
    pub fn with<const N: usize>(self, figures: [(&'static str, f64, &'static str); N]) -> Self {
        Row {
            figures: figures
                .map(|(name, value, unit)| Figure { name, value, unit })
                .to_vec(),
            ..self
        }
    }

    /// A length.
    pub fn length(label: &'static str, length_m: f64, units: Units) -> Self {
        Row::plain(label, units.length(length_m)).with([("length", length_m, "m")])
    }

    /// An angle.
    pub fn angle(label: &'static str, angle_rad: f64) -> Self {
        Row::plain(label, degrees(angle_rad)).with([("angle", angle_rad.to_degrees(), "deg")])
    }
}

/// The whole sheet: marbles, drive, heights, then element by element in the order of the file.
pub fn sheet(machine: &Machine, units: Units) -> Vec<Section> {
    let circuit = circuit::outline(machine);
    let about = [
        drives::marbles(machine, units),
        drives::drive(machine, units),
        heights::lap(machine, units),
    ];
    let elements = (0..machine.elements.len()).map(|n| element(machine, &circuit, n, units));
    about
        .into_iter()
        .chain(elements)
        .filter(|section| !section.rows.is_empty())
        .collect()
}

fn element(machine: &Machine, circuit: &Circuit, n: usize, units: Units) -> Section {
    let element = &machine.elements[n];
    let view = SheetView {
        circuit,
        n,
        workshop: Workshop::new(machine, element),
        units,
    };
    let rows = each_kind!(&element.kind, of => of.rows(&view));
    Section {
        title: format!("{} ({})", element.name, element.kind.name()),
        rows,
    }
}

/// Room and times of an element that has little else to tell.
pub fn timed(plan: &Plan) -> Vec<Row> {
    let draw = match &plan.role {
        Role::Server(time) => Some(time),
        _ => plan.travel.first(),
    };
    let mut rows = vec![room("room", plan)];
    rows.extend(draw.map(|draw| takes("takes", draw, "")));
    rows.extend(passes(plan));
    rows
}

/// How many marbles it has room for.
pub fn room(label: &'static str, plan: &Plan) -> Row {
    match plan.places() {
        Some(n) => Row::plain(label, format!("{n} marbles")).with([("places", f64::from(n), "1")]),
        None => Row::plain(label, "any number of marbles"),
    }
}

/// How long from one marble through its gate to the next, where that takes any time.
pub fn passes(plan: &Plan) -> Option<Row> {
    (plan.advance > 0).then(|| time("one passes every", seconds(plan.advance)))
}

/// A time.
pub fn time(label: &'static str, time_s: f64) -> Row {
    Row::plain(label, format!("{time_s:.2} s")).with([("time", time_s, "s")])
}

/// Median and 5 to 95 % of a time, and what it is from.
pub fn takes(label: &'static str, draw: &Draw, from: &str) -> Row {
    let [low, middle, high] = quantiles_s(draw);
    let value = spread(draw) + from;
    Row::plain(label, value).with([
        ("median", middle, "s"),
        ("low_5", low, "s"),
        ("high_95", high, "s"),
    ])
}

fn quantiles_s(draw: &Draw) -> [f64; 3] {
    [0.05, 0.5, 0.95].map(|p| seconds(draw.quantile(p)))
}

/// Median and 5 to 95 % of a time.
pub fn spread(draw: &Draw) -> String {
    let [low, middle, high] = quantiles_s(draw);
    if low == high {
        format!("{middle:.2} s")
    } else {
        format!("{middle:.2} s, 9 in 10 from {low:.2} to {high:.2} s")
    }
}
