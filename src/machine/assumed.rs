//! What a machine file leaves open and the program assumes: each constant with its default and the range it may be in.

use std::f64::consts::PI;

use super::model::{Kind, Machine, Segment};
use super::units::{ANGLE, LENGTH};
use super::yaml::{Node, Value};
use crate::physics::material::{RESTITUTION_RANGE, ROLLING_LEVER_RANGE_M, SLIDING_FRICTION_RANGE};

/// Standard deviation of the marbles' diameter where none is given, metres, and its range. Assumed, no source.
pub const DIAMETER_SPREAD_M: (f64, f64, f64) = (0.0001, 0.00002, 0.0002);
/// Standard deviation of pockets off their circle where none is given, metres, and its range. Assumed, no source.
pub const PITCH_ERROR_M: (f64, f64, f64) = (0.0002, 0.0, 0.0005);
/// Standard deviation of a ramp's slope where none is given, radians, and its range. Assumed, no source.
pub const SLOPE_ERROR_RAD: (f64, f64, f64) = (0.2 * PI / 180.0, 0.0, 0.5 * PI / 180.0);
/// Height of the fall onto a return floor where none is given, metres, and its range. Assumed, no source.
pub const FLOOR_FALL_M: (f64, f64, f64) = (0.1, 0.02, 0.3);
/// Share of the energy lost in a bend: by default what rubbing on its wall takes. A range, no source.
pub const BEND_LOSS_RANGE: (f64, f64) = (0.0, 0.5);

/// A constant that a file may leave open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// Lever arm of rolling resistance.
    RollingResistance,
    /// Bounce of a marble on wood.
    Restitution,
    /// Sliding friction of a marble on wood.
    Friction,
    /// Energy lost in bends.
    BendLoss,
    /// Spread of the marbles' diameter.
    DiameterSpread,
    /// Pockets off their pitch circle.
    PitchError,
    /// Slopes off what was meant.
    SlopeError,
    /// Height of the fall onto the return floor.
    FloorFall,
}

/// A constant that this file leaves open.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumption {
    /// Which.
    pub what: What,
    /// The elements that lack it, where it belongs to elements.
    pub elements: Vec<usize>,
}

/// An end of an assumed constant's range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The low one.
    Low,
    /// The high one.
    High,
}

impl What {
    /// What a maker calls it.
    pub fn name(self) -> &'static str {
        match self {
            What::RollingResistance => "rolling resistance",
            What::Restitution => "restitution",
            What::Friction => "friction",
            What::BendLoss => "loss in bends",
            What::DiameterSpread => "spread of marble diameters",
            What::PitchError => "pockets off their circle",
            What::SlopeError => "error of slopes",
            What::FloorFall => "fall onto the floor",
        }
    }

    /// The key that settles it.
    pub fn key(self) -> &'static str {
        match self {
            What::RollingResistance => "assume.rolling-resistance",
            What::Restitution => "assume.restitution",
            What::Friction => "assume.friction",
            What::BendLoss => "assume.bend-loss",
            What::DiameterSpread => "marbles.spread",
            What::PitchError => "pitch-error",
            What::SlopeError => "slope-error",
            What::FloorFall => "fall",
        }
    }

    /// Whether marbles roll home over a floor otherwise by it.
    pub fn touches_floors(self) -> bool {
        matches!(self, What::RollingResistance | What::Restitution | What::Friction | What::FloorFall)
    }

    /// Its value at an end of its range.
    pub fn value(self, end: End) -> f64 {
        let (low, high) = match self {
            What::RollingResistance => ROLLING_LEVER_RANGE_M,
            What::Restitution => RESTITUTION_RANGE,
            What::Friction => SLIDING_FRICTION_RANGE,
            What::BendLoss => BEND_LOSS_RANGE,
            What::DiameterSpread => (DIAMETER_SPREAD_M.1, DIAMETER_SPREAD_M.2),
            What::PitchError => (PITCH_ERROR_M.1, PITCH_ERROR_M.2),
            What::SlopeError => (SLOPE_ERROR_RAD.1, SLOPE_ERROR_RAD.2),
            What::FloorFall => (FLOOR_FALL_M.1, FLOOR_FALL_M.2),
        };
        if end == End::Low { low } else { high }
    }

    /// A value of it with its unit.
    pub fn show(self, value: f64) -> String {
        match self {
            What::Restitution | What::Friction => super::units::plain(value),
            What::BendLoss => format!("{} %", super::units::plain(value * 100.0)),
            What::SlopeError => ANGLE.show(value),
            What::RollingResistance | What::DiameterSpread | What::PitchError | What::FloorFall => LENGTH.show(value),
        }
    }
}

impl Assumption {
    /// What is assumed of `machine`, with its unit.
    pub fn assumed(&self, machine: &Machine) -> String {
        let shown = |value| self.what.show(value);
        match self.what {
            What::RollingResistance => shown(machine.assume.rolling_m),
            What::Restitution => shown(machine.assume.restitution),
            What::Friction => shown(machine.assume.friction),
            What::BendLoss => "what rubbing on the wall takes".to_owned(),
            What::DiameterSpread => shown(machine.marbles.spread_m),
            What::PitchError => shown(PITCH_ERROR_M.0),
            What::SlopeError => shown(SLOPE_ERROR_RAD.0),
            What::FloorFall => shown(FLOOR_FALL_M.0),
        }
    }

    /// `machine` with this constant at an end of its range.
    pub fn at(&self, machine: &Machine, end: End) -> Machine {
        let (value, mut machine) = (self.what.value(end), machine.clone());
        match self.what {
            What::RollingResistance => machine.assume.rolling_m = value,
            What::Restitution => machine.assume.restitution = value,
            What::Friction => machine.assume.friction = value,
            What::BendLoss => machine.assume.bend_loss = Some(value),
            What::DiameterSpread => machine.marbles.spread_m = value,
            What::PitchError | What::SlopeError | What::FloorFall => {
                for &n in &self.elements {
                    set(self.what, value, &mut machine.elements[n].kind);
                }
            }
        }
        machine
    }
}

fn set(what: What, value: f64, kind: &mut Kind) {
    match kind {
        Kind::PocketWheel(wheel) => {
            if let Some(shape) = &mut wheel.shape {
                match what {
                    What::PitchError => shape.pitch_error_m = value,
                    What::SlopeError => shape.slope_error_rad = value,
                    _ => {}
                }
            }
        }
        Kind::ReturnFloor(floor) => {
            if let Some(shape) = &mut floor.shape {
                shape.fall_m = value;
            }
        }
        _ => {}
    }
}

/// What the file behind `tree` leaves open of `machine`. Nothing, where it gives no dimension.
pub fn assumptions(machine: &Machine, tree: &Node) -> Vec<Assumption> {
    let has = |test: &dyn Fn(&Kind) -> bool| machine.elements.iter().any(|element| test(&element.kind));
    if machine.marbles.diameter_m.is_none() || !has(&by_dimensions) {
        return Vec::new();
    }
    let mut all = Vec::new();
    let mut whole = |what: What, path: [&str; 2], matters: bool| {
        all.extend((matters && !written(tree, &path)).then_some(Assumption { what, elements: Vec::new() }));
    };
    whole(What::RollingResistance, ["assume", "rolling-resistance"], true);
    whole(What::Restitution, ["assume", "restitution"], true);
    whole(What::Friction, ["assume", "friction"], true);
    whole(What::BendLoss, ["assume", "bend-loss"], has(&bends));
    whole(What::DiameterSpread, ["marbles", "spread"], true);
    for what in [What::PitchError, What::SlopeError, What::FloorFall] {
        let lacks = |n: &usize| {
            let element = &machine.elements[*n];
            concerns(what, &element.kind)
                && !written(tree, &["circuit", &element.name, element.kind.name(), what.key()])
        };
        let elements: Vec<usize> = (0..machine.elements.len()).filter(lacks).collect();
        all.extend((!elements.is_empty()).then_some(Assumption { what, elements }));
    }
    all
}

fn by_dimensions(kind: &Kind) -> bool {
    match kind {
        Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line) => !line.segments.is_empty() && line.time.is_none(),
        Kind::PocketWheel(wheel) => wheel.shape.is_some(),
        Kind::Bowl(bowl) => bowl.shape.is_some() && bowl.swirl.is_none(),
        Kind::ReturnFloor(floor) => floor.shape.is_some() && floor.time.is_none(),
        _ => false,
    }
}

fn bends(kind: &Kind) -> bool {
    let (Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line)) = kind else { return false };
    line.segments.iter().any(|segment| matches!(segment, Segment::Bend { .. }))
}

fn concerns(what: What, kind: &Kind) -> bool {
    match kind {
        Kind::PocketWheel(wheel) => what != What::FloorFall && wheel.shape.is_some() && wheel.pick_up.is_none(),
        Kind::ReturnFloor(_) => what == What::FloorFall && by_dimensions(kind),
        _ => false,
    }
}

fn written(tree: &Node, path: &[&str]) -> bool {
    let Some((first, rest)) = path.split_first() else { return true };
    let Value::Map(entries) = &tree.value else { return false };
    entries.iter().any(|entry| entry.key == *first && written(&entry.node, rest))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine::{Setting, read};

    const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");

    fn left_open(settings: &[(&str, &str)]) -> Vec<What> {
        let setting = |&(key, value): &(&str, &str)| Setting { key: key.to_owned(), value: value.to_owned() };
        let settings: Vec<Setting> = settings.iter().map(setting).collect();
        read(STARTER, &settings).expect("sound").assumed.iter().map(|assumption| assumption.what).collect()
    }

    #[test]
    fn what_the_file_gives_is_not_assumed_even_where_it_equals_the_default() {
        let all = left_open(&[]);
        assert!(all.contains(&What::PitchError) && !all.contains(&What::DiameterSpread), "{all:?}");
        assert!(!all.contains(&What::BendLoss), "it has no bend");
        let given = left_open(&[("circuit.wheel.pitch-error", "0.2 mm"), ("assume.friction", "0.35")]);
        assert_eq!(given.len() + 2, all.len());
    }

    #[test]
    fn measured_machines_leave_nothing_open() {
        let text = include_str!("../../scenarios/circuit-a.yaml");
        assert_eq!(read(text, &[]).expect("sound").assumed, []);
    }

    #[test]
    fn an_end_of_the_range_changes_that_constant_alone() {
        let machine = read(STARTER, &[]).expect("sound");
        for assumption in &machine.assumed {
            let [low, high] = [End::Low, End::High].map(|end| assumption.at(&machine, end));
            assert!(low != machine && high != machine && low != high, "{assumption:?}");
        }
    }
}
