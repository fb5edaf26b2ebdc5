//! Which constants a machine file leaves open, and so to be assumed.

use super::assumed::{AssumedConstant, Assumption};
use super::description::Description;
use super::kind::each_kind;
use super::model::{Element, Kind, Machine};
use super::yaml::{Value, YamlNode};

/// What the file behind `tree` leaves open of `machine`. Nothing, where it gives no dimension.
pub fn assumptions(machine: &Machine, tree: &YamlNode) -> Vec<Assumption> {
    if machine.marbles.diameter_m.is_none() || !any(machine, is_computed) {
        return Vec::new();
    }
    let mut all = Vec::new();
    for what in OF_THE_MACHINE {
        let path: Vec<&str> = what.key().split('.').collect();
        if matters(what, machine) && !written(tree, &path) {
            let elements = Vec::new();
            all.push(Assumption { what, elements });
        }
    }
    for what in OF_ELEMENTS {
        let elements: Vec<usize> = (0..machine.elements.len())
            .filter(|&n| is_lacking(what, machine, n, tree))
            .collect();
        if !elements.is_empty() {
            all.push(Assumption { what, elements });
        }
    }
    all
}

fn any(machine: &Machine, test: impl Fn(&Kind) -> bool) -> bool {
    machine.elements.iter().any(|element| test(&element.kind))
}

/// What a machine may leave open as a whole.
const OF_THE_MACHINE: [AssumedConstant; 12] = [
    AssumedConstant::RollingResistance,
    AssumedConstant::Restitution,
    AssumedConstant::Friction,
    AssumedConstant::BendLoss,
    AssumedConstant::DiameterSpread,
    AssumedConstant::Drilling,
    AssumedConstant::HitGrip,
    AssumedConstant::GearEfficiency,
    AssumedConstant::EntryScatter,
    AssumedConstant::WaitingSlope,
    AssumedConstant::MarbleFriction,
    AssumedConstant::MarbleRestitution,
];

/// Whether anything in the machine goes by this constant of the whole.
fn matters(what: AssumedConstant, machine: &Machine) -> bool {
    match what {
        AssumedConstant::GearEfficiency => geared(machine),
        AssumedConstant::WaitingSlope => waits_on_no_slope(machine),
        AssumedConstant::BendLoss
        | AssumedConstant::HitGrip
        | AssumedConstant::EntryScatter
        | AssumedConstant::MarbleFriction
        | AssumedConstant::MarbleRestitution => any(machine, |kind| goes_by(kind, what)),
        _ => true,
    }
}

/// Whether element `n` goes by this constant and the file does not give it.
fn is_lacking(what: AssumedConstant, machine: &Machine, n: usize, tree: &YamlNode) -> bool {
    let Element { name, kind, .. } = &machine.elements[n];
    let settled = match what {
        // A motor's own torque counts.
        AssumedConstant::Torque => machine.drive.motor.is_some() && kind.is_on_drive(),
        AssumedConstant::EntrySpeed => is_carried(machine, n),
        _ => false,
    };
    goes_by(kind, what) && !settled && !written(tree, &["circuit", name, kind.name(), what.key()])
}

fn is_computed(kind: &Kind) -> bool {
    each_kind!(kind, of => of.is_computed())
}

fn goes_by(kind: &Kind, what: AssumedConstant) -> bool {
    each_kind!(kind, of => of.goes_by(what))
}

/// Whether a motor whose gears matter sets the speed.
fn geared(machine: &Machine) -> bool {
    match &machine.drive.motor {
        Some(motor) => machine.drive.rpm == 0.0 && motor.teeth.0 != motor.teeth.1,
        None => false,
    }
}

/// The elements that lead to element `n`.
fn feeders(machine: &Machine, n: usize) -> impl Iterator<Item = &Kind> {
    let elements = machine.elements.iter();
    elements
        .filter(move |of| of.to.iter().any(|exit| exit.to == n))
        .map(|of| &of.kind)
}

/// Whether a file moves up, or a wheel picks up, on a slope that no dimension tells.
fn waits_on_no_slope(machine: &Machine) -> bool {
    machine.elements.iter().enumerate().any(|(n, element)| {
        let sloped_before = feeders(machine, n).any(|kind| kind.exit_slope_rad().is_some());
        each_kind!(&element.kind, of => of.lacks_slope(sloped_before))
    })
}

/// Whether marbles come into element `n` with a speed that the one element before gives them.
fn is_carried(machine: &Machine, n: usize) -> bool {
    let from: Vec<&Kind> = feeders(machine, n).collect();
    matches!(from.as_slice(), [one] if each_kind!(*one, of => of.gives_speed()))
}

/// What elements may leave open each for itself.
const OF_ELEMENTS: [AssumedConstant; 8] = [
    AssumedConstant::PitchError,
    AssumedConstant::SlopeError,
    AssumedConstant::FloorFall,
    AssumedConstant::Channel,
    AssumedConstant::EntrySpeed,
    AssumedConstant::CutBack,
    AssumedConstant::Torque,
    AssumedConstant::Inertia,
];

fn written(tree: &YamlNode, path: &[&str]) -> bool {
    let Some((first, rest)) = path.split_first() else {
        return true;
    };
    let Value::Map(entries) = &tree.value else {
        return false;
    };
    entries
        .iter()
        .any(|entry| entry.key == *first && written(&entry.node, rest))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine::{Setting, read};

    const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");

    fn left_open(settings: &[(&str, &str)]) -> Vec<AssumedConstant> {
        let setting = |&(key, value): &(&str, &str)| Setting {
            key: key.to_owned(),
            value: value.to_owned(),
        };
        let settings: Vec<Setting> = settings.iter().map(setting).collect();
        read(STARTER, &settings)
            .expect("sound")
            .assumed
            .iter()
            .map(|assumption| assumption.what)
            .collect()
    }

    #[test]
    fn what_the_file_gives_is_not_assumed_even_where_it_equals_the_default() {
        let all = left_open(&[]);
        assert!(
            all.contains(&AssumedConstant::PitchError)
                && !all.contains(&AssumedConstant::DiameterSpread),
            "{all:?}"
        );
        assert!(!all.contains(&AssumedConstant::BendLoss), "it has no bend");
        let given = left_open(&[
            ("circuit.wheel.pitch-error", "0.2 mm"),
            ("assume.friction", "0.35"),
        ]);
        assert_eq!(given.len() + 2, all.len());
    }

    #[test]
    fn measured_machines_leave_nothing_open() {
        let text = include_str!("../../scenarios/circuit-a.yaml");
        assert_eq!(read(text, &[]).expect("sound").assumed, []);
    }
}
