//! Every dimension of a machine as meant, in both systems of units, and where each comes from: the file, an assumption of
//! this program, or a computation.

pub mod lister;

use std::collections::BTreeSet;

use crate::circuit::drive::drive_rpm;
use crate::circuit::{self, Circuit};
use crate::machine::Machine;
use crate::machine::kind::each_kind;
use crate::machine::model::{Material, Motor, Supply};
use crate::machine::workmanship::WorkshopError;
use crate::sheet::entry::SheetEntry;
use lister::Lister;

/// The dimensions of the marbles, the drive or an element.
#[derive(Clone, Debug, PartialEq)]
pub struct DimensionGroup {
    /// What it is: `lift (pocket-wheel)`.
    pub title: String,
    /// The dotted key that its dimensions' keys stand below: `circuit.lift.pocket-wheel`.
    pub path: String,
    /// Its dimensions in the order of the README's table of kinds.
    pub dimensions: Vec<Dimension>,
}

/// One dimension.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// Its key below the part, as `--set` takes it: `segments.0.length`; items of a list count from 0.
    pub key: String,
    /// It in millimetres, degrees, seconds and so on, or in words.
    pub metric: String,
    /// It in inches as on a tape, a slope as a ratio; empty where it is the same in both systems.
    pub inches: String,
    /// Where it comes from.
    pub from: From,
}

/// Where a dimension comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum From {
    /// The file, or the command line.
    Given,
    /// This program assumes it; with the range it may be in where one is stated.
    Assumed(Option<(String, String)>),
    /// It follows from others.
    Computed,
}

impl From {
    /// It in words.
    pub fn phrase(&self) -> String {
        match self {
            From::Given => "file".to_owned(),
            From::Assumed(None) => "assumed".to_owned(),
            From::Assumed(Some((low, high))) => format!("assumed, {low} to {high}"),
            From::Computed => "computed".to_owned(),
        }
    }
}

/// All dimensions of `machine`; `written` has the dotted keys that its file or the command line gives.
pub fn dimensions(machine: &Machine, written: &BTreeSet<String>) -> Vec<DimensionGroup> {
    let circuit = circuit::outline(machine);
    let whole = [
        marbles(machine, written),
        drive(machine, written),
        assume(machine, written),
        workshop(machine, written),
    ];
    let elements = (0..machine.elements.len()).map(|n| element(machine, &circuit, n, written));
    whole
        .into_iter()
        .chain(elements)
        .filter(|part| !part.dimensions.is_empty())
        .collect()
}

fn marbles(machine: &Machine, written: &BTreeSet<String>) -> DimensionGroup {
    let of = &machine.marbles;
    let mut list = Lister::new(machine, written, "marbles", None);
    list.count("count", of.count);
    if let Some(diameter) = of.diameter_m {
        list.length("diameter", diameter);
        list.length("spread", of.spread_m);
        let material = match of.material {
            Material::Glass => "glass",
            Material::Steel => "steel",
            Material::Ceramic => "ceramic",
            Material::Wood => "wood",
        };
        list.word("material", material);
    }
    list.part("marbles".to_owned())
}

fn drive(machine: &Machine, written: &BTreeSet<String>) -> DimensionGroup {
    let mut list = Lister::new(machine, written, "drive", None);
    match &machine.drive.motor {
        Some(motor) => {
            list.under("motor", |list| motor_of(motor, list));
            list.computed("speed", format!("{:.2} rpm", drive_rpm(machine)));
        }
        None if machine.drive.rpm > 0.0 => list.rpm("speed", machine.drive.rpm),
        None => {}
    }
    list.part("drive".to_owned())
}

fn motor_of(motor: &Motor, list: &mut Lister) {
    list.rpm("no-load-speed", motor.no_load_rpm);
    list.torque("stall-torque", motor.stall_torque_nm);
    list.current("no-load-current", motor.no_load_current_a);
    list.current("stall-current", motor.stall_current_a);
    list.word(
        "teeth",
        &format!(
            "{} on the motor, {} on the drive",
            motor.teeth.0, motor.teeth.1
        ),
    );
    list.lengths("module", motor.module_m);
    list.number("duty", motor.duty);
    list.voltages("voltage", motor.rated_v);
    match motor.supply {
        Some(Supply::Cells { count, .. }) if !list.is_written("cells.kind") => {
            list.count("cells", count);
        }
        Some(supply) => list.under("cells", |list| supply_of(supply, list)),
        None => {}
    }
}

fn supply_of(supply: Supply, list: &mut Lister) {
    match supply {
        Supply::Cells {
            of,
            count,
            printed_ah,
        } => {
            list.word("kind", of.name);
            list.count("count", count);
            list.charge("capacity", printed_ah);
        }
        Supply::Adapter { volts, most_a } => {
            list.word("kind", "mains-adapter");
            list.voltages("voltage", Some(volts));
            list.current("current", most_a);
        }
    }
}

/// What no handbook settles, where any dimension makes it matter.
fn assume(machine: &Machine, written: &BTreeSet<String>) -> DimensionGroup {
    let mut list = Lister::new(machine, written, "assume", None);
    let of = &machine.assume;
    if !machine.assumed.is_empty() || written.contains("assume") {
        list.length("rolling-resistance", of.rolling_m);
        list.number("restitution", of.restitution);
        list.number("friction", of.friction);
        let loss = match of.bend_loss {
            Some(loss) => format!("{} %", loss * 100.0),
            None => "what rubbing on the wall takes".to_owned(),
        };
        list.word("bend-loss", &loss);
        list.length("drilling-resistance", of.drilling_m());
        list.number("hit-grip", of.hit_grip);
        list.number("gear-efficiency", of.gear_efficiency);
        list.number("entry-scatter", of.entry_scatter);
        list.angle("slope", of.slope_rad);
        list.number("marble-friction", of.marble_friction);
        list.number("marble-restitution", of.marble_restitution);
    }
    list.part("constants of the workshop".to_owned())
}

/// How exactly the workshop works, where the file says anything of it.
fn workshop(machine: &Machine, written: &BTreeSet<String>) -> DimensionGroup {
    let mut list = Lister::new(machine, written, "workshop", None);
    if written.contains("workshop") {
        for what in WorkshopError::ALL {
            let sd = machine.workshop.sd(what, machine.marbles.material);
            match what {
                WorkshopError::Speed => list.number(what.key(), sd),
                WorkshopError::Slope | WorkshopError::Tilt => list.angle(what.key(), sd),
                _ => list.length(what.key(), sd),
            }
        }
    }
    list.part("errors of the workshop".to_owned())
}

fn element(
    machine: &Machine,
    circuit: &Circuit,
    n: usize,
    written: &BTreeSet<String>,
) -> DimensionGroup {
    let (element, plan) = (&machine.elements[n], &circuit.nodes[n]);
    let kind = element.kind.name();
    let mut list = Lister::new(
        machine,
        written,
        &format!("circuit.{}.{kind}", element.name),
        Some(n),
    );
    each_kind!(&element.kind, of => of.list(plan, &mut list));
    for exit in &element.to {
        let name = &machine.elements[exit.to].name;
        if let Some(landing) = exit.landing {
            list.landing(&element.name, name, &landing);
        }
    }
    list.part(format!("{} ({kind})", element.name))
}
