//! What a machine file leaves open and the program assumes: each constant with its default and the range it may be in.

use std::f64::consts::PI;

use super::model::{Kind, Line, Machine, Segment, TurnedBy};
use super::units::{ANGLE, LENGTH, TORQUE, VELOCITY};
use super::yaml::{Node, Value};
use crate::physics::material::{
    DRILLING_LEVER_RANGE_M, HIT_GRIP_RANGE, MARBLE_FRICTION_RANGE, MARBLE_RESTITUTION_RANGE, RESTITUTION_RANGE,
    ROLLING_LEVER_RANGE_M, SLIDING_FRICTION_RANGE,
};

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

/// Share of the motor's work that passes a pair of gears where none is given, and its range. Assumed, no source.
pub const GEAR_EFFICIENCY: (f64, f64, f64) = (0.9, 0.8, 0.97);
/// Scatter of the speed at which marbles come into a bowl, as a share of it, where none is given, and its range. Assumed,
/// no source.
pub const ENTRY_SCATTER: (f64, f64, f64) = (0.1, 0.03, 0.2);
/// Speed of marbles that come into a bowl from no measured or computed track, metres a second, and its range. Assumed, no
/// source.
pub const ENTRY_M_S: (f64, f64, f64) = (0.5, 0.25, 1.0);
/// Slope on which marbles wait where no dimension tells it, radians, and its range. Assumed, no source.
pub const WAITING_SLOPE_RAD: (f64, f64, f64) = (4.0 * PI / 180.0, 2.0 * PI / 180.0, 8.0 * PI / 180.0);
/// Width of the channel that feeds a wheel where none is given, in marble diameters, and its range. Assumed, no source.
pub const CHANNEL_DIAMETERS: (f64, f64, f64) = (1.15, 1.05, 1.3);

/// How far a relieved wall stops short where no length is given, in marble diameters, and its range. Assumed, no source.
pub const CUT_BACK_DIAMETERS: (f64, f64, f64) = (1.5, 1.2, 2.5);
/// Greatest torque of what turns a wheel where nothing is said of it, at the wheel, N m, and its range: small gearmotors.
/// Assumed, no source.
pub const WHEEL_TORQUE_NM: (f64, f64, f64) = (0.5, 0.2, 1.0);
/// Inertia of a wheel where none is given, over that of a plywood disc that holds its pockets, and its range. Assumed, no
/// source.
pub const INERTIA_DISCS: (f64, f64, f64) = (1.0, 0.5, 2.0);

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
    /// Lever arm of drilling friction.
    Drilling,
    /// Slip that one hit stops.
    HitGrip,
    /// Work that passes a pair of gears.
    GearEfficiency,
    /// Scatter of the speed into a bowl.
    EntryScatter,
    /// Slope on which marbles wait where no dimension tells it.
    WaitingSlope,
    /// Width of the channel before a wheel.
    Channel,
    /// Speed into a bowl.
    EntrySpeed,
    /// Sliding friction of marbles on each other.
    MarbleFriction,
    /// Bounce of marbles on each other.
    MarbleRestitution,
    /// How far a relieved wall stops short.
    CutBack,
    /// Greatest torque of a wheel's drive.
    Torque,
    /// Inertia of a wheel.
    Inertia,
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
            What::Drilling => "drilling resistance",
            What::HitGrip => "grip of a hit",
            What::GearEfficiency => "efficiency of gears",
            What::EntryScatter => "scatter of the speed into bowls",
            What::WaitingSlope => "slope where none is given",
            What::Channel => "channel before the wheel",
            What::EntrySpeed => "speed into the bowl",
            What::MarbleFriction => "friction between marbles",
            What::MarbleRestitution => "restitution between marbles",
            What::CutBack => "how far the wall is cut back",
            What::Torque => "torque of the drive",
            What::Inertia => "inertia of the wheel",
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
            What::Drilling => "assume.drilling-resistance",
            What::HitGrip => "assume.hit-grip",
            What::GearEfficiency => "assume.gear-efficiency",
            What::EntryScatter => "assume.entry-scatter",
            What::WaitingSlope => "assume.slope",
            What::Channel => "channel",
            What::EntrySpeed => "entry-speed",
            What::MarbleFriction => "assume.marble-friction",
            What::MarbleRestitution => "assume.marble-restitution",
            What::CutBack => "cut-back",
            What::Torque => "torque",
            What::Inertia => "inertia",
        }
    }

    /// Whether marbles roll home over a floor otherwise by it.
    pub fn touches_floors(self) -> bool {
        matches!(
            self,
            What::RollingResistance
                | What::Restitution
                | What::Friction
                | What::FloorFall
                | What::Drilling
                | What::HitGrip
        )
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
            What::Drilling => DRILLING_LEVER_RANGE_M,
            What::HitGrip => HIT_GRIP_RANGE,
            What::GearEfficiency => (GEAR_EFFICIENCY.1, GEAR_EFFICIENCY.2),
            What::EntryScatter => (ENTRY_SCATTER.1, ENTRY_SCATTER.2),
            What::WaitingSlope => (WAITING_SLOPE_RAD.1, WAITING_SLOPE_RAD.2),
            What::Channel => (CHANNEL_DIAMETERS.1, CHANNEL_DIAMETERS.2),
            What::EntrySpeed => (ENTRY_M_S.1, ENTRY_M_S.2),
            What::MarbleFriction => MARBLE_FRICTION_RANGE,
            What::MarbleRestitution => MARBLE_RESTITUTION_RANGE,
            What::CutBack => (CUT_BACK_DIAMETERS.1, CUT_BACK_DIAMETERS.2),
            What::Torque => (WHEEL_TORQUE_NM.1, WHEEL_TORQUE_NM.2),
            What::Inertia => (INERTIA_DISCS.1, INERTIA_DISCS.2),
        };
        if end == End::Low { low } else { high }
    }

    /// A value of it with its unit.
    pub fn show(self, value: f64) -> String {
        match self {
            What::Restitution
            | What::Friction
            | What::HitGrip
            | What::GearEfficiency
            | What::EntryScatter
            | What::MarbleFriction
            | What::MarbleRestitution => super::units::plain(value),
            What::Torque => TORQUE.show(value),
            What::Inertia => format!("{} plywood discs", super::units::plain(value)),
            What::Channel | What::CutBack => format!("{} diameters", super::units::plain(value)),
            What::EntrySpeed => VELOCITY.show(value),
            What::BendLoss => format!("{} %", super::units::plain(value * 100.0)),
            What::SlopeError | What::WaitingSlope => ANGLE.show(value),
            What::RollingResistance | What::Drilling => LENGTH.show(value),
            What::DiameterSpread | What::PitchError | What::FloorFall => LENGTH.show(value),
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
            What::Drilling => shown(machine.assume.drilling_m()),
            What::HitGrip => shown(machine.assume.hit_grip),
            What::GearEfficiency => shown(machine.assume.gear_efficiency),
            What::EntryScatter => shown(machine.assume.entry_scatter),
            What::WaitingSlope => shown(machine.assume.slope_rad),
            What::Channel => shown(CHANNEL_DIAMETERS.0),
            What::EntrySpeed => shown(ENTRY_M_S.0),
            What::MarbleFriction => shown(machine.assume.marble_friction),
            What::MarbleRestitution => shown(machine.assume.marble_restitution),
            What::CutBack => shown(CUT_BACK_DIAMETERS.0),
            What::Torque => shown(WHEEL_TORQUE_NM.0),
            What::Inertia => shown(INERTIA_DISCS.0),
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
            What::Drilling => machine.assume.drilling = Some(value),
            What::HitGrip => machine.assume.hit_grip = value,
            What::GearEfficiency => machine.assume.gear_efficiency = value,
            What::EntryScatter => machine.assume.entry_scatter = value,
            What::WaitingSlope => machine.assume.slope_rad = value,
            What::MarbleFriction => machine.assume.marble_friction = value,
            What::MarbleRestitution => machine.assume.marble_restitution = value,
            _ => {
                let marble_m = machine.marbles.diameter_m.unwrap_or(0.0);
                let in_marbles = matches!(self.what, What::Channel | What::CutBack);
                let value = if in_marbles { value * marble_m } else { value };
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
                    What::Channel => shape.channel_m = Some(value),
                    What::CutBack => shape.cut_back = Some(value),
                    What::Torque => shape.torque_nm = Some(value),
                    What::Inertia => shape.inertia_kg_m2 = Some(value * shape.disc_inertia_kg_m2()),
                    _ => {}
                }
            }
        }
        Kind::Bowl(bowl) => {
            if let Some(shape) = &mut bowl.shape {
                shape.entry_m_s = Some(value);
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
    whole(What::Drilling, ["assume", "drilling-resistance"], has(&by_dimensions));
    whole(What::HitGrip, ["assume", "hit-grip"], has(&hits));
    whole(What::GearEfficiency, ["assume", "gear-efficiency"], geared(machine));
    whole(
        What::EntryScatter,
        ["assume", "entry-scatter"],
        has(&|kind| matches!(kind, Kind::Bowl(_)) && by_dimensions(kind)),
    );
    whole(What::WaitingSlope, ["assume", "slope"], waits_on_no_slope(machine));
    let meets_a_wheel = has(&|kind| concerns(What::Channel, kind));
    whole(What::MarbleFriction, ["assume", "marble-friction"], meets_a_wheel);
    whole(What::MarbleRestitution, ["assume", "marble-restitution"], meets_a_wheel);
    for what in OF_ELEMENTS {
        let lacks = |n: &usize| {
            let element = &machine.elements[*n];
            concerns(what, &element.kind)
                && (what != What::Torque || !has_motor(machine, &element.kind))
                && (what != What::EntrySpeed || !is_carried(machine, *n))
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

/// Whether marbles hit wood after a fall in it.
fn hits(kind: &Kind) -> bool {
    match kind {
        Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line) => {
            let falls =
                |s: &Segment| matches!(s, Segment::Drop { .. } | Segment::Steps { .. } | Segment::Corner { .. });
            line.time.is_none() && line.segments.iter().any(falls)
        }
        Kind::ReturnFloor(_) => by_dimensions(kind),
        _ => false,
    }
}

/// Whether a motor whose gears matter sets the speed.
fn geared(machine: &Machine) -> bool {
    let drive = &machine.drive;
    drive.rpm == 0.0 && drive.motor.as_ref().is_some_and(|motor| motor.teeth.0 != motor.teeth.1)
}

/// The elements that lead to element `n`.
fn feeders(machine: &Machine, n: usize) -> impl Iterator<Item = &Kind> {
    let leads = move |of: &&super::model::Element| of.to.iter().any(|exit| exit.to == n);
    machine.elements.iter().filter(leads).map(|of| &of.kind)
}

fn rolls(line: &Line) -> bool {
    line.segments.iter().any(|s| !matches!(s, Segment::Drop { .. } | Segment::Corner { .. }))
}

/// Whether a file moves up, or a wheel picks up, on a slope that no dimension tells.
fn waits_on_no_slope(machine: &Machine) -> bool {
    let is_sloped = |kind: &Kind| match kind {
        Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line) => rolls(line),
        Kind::ReturnFloor(floor) => floor.shape.is_some(),
        _ => false,
    };
    machine.elements.iter().enumerate().any(|(n, element)| match &element.kind {
        Kind::Ramp(line) | Kind::Slide(line) | Kind::Track(line) => line.advance_s.is_none() && !rolls(line),
        Kind::PocketWheel(wheel) => {
            wheel.shape.is_some() && wheel.pick_up.is_none() && !feeders(machine, n).any(is_sloped)
        }
        _ => false,
    })
}

/// Whether marbles come into element `n` with a speed that a slide or track gives them.
fn is_carried(machine: &Machine, n: usize) -> bool {
    let from: Vec<&Kind> = feeders(machine, n).collect();
    matches!(from.as_slice(), [Kind::Slide(line) | Kind::Track(line)] if !line.segments.is_empty())
}

/// Whether the motor that turns this wheel, and so its torque, is known.
fn has_motor(machine: &Machine, kind: &Kind) -> bool {
    let Kind::PocketWheel(wheel) = kind else { return false };
    machine.drive.motor.is_some() && matches!(wheel.turned_by, TurnedBy::Drive { .. })
}

/// What elements may leave open each for itself.
const OF_ELEMENTS: [What; 8] = [
    What::PitchError,
    What::SlopeError,
    What::FloorFall,
    What::Channel,
    What::EntrySpeed,
    What::CutBack,
    What::Torque,
    What::Inertia,
];

fn concerns(what: What, kind: &Kind) -> bool {
    match kind {
        Kind::PocketWheel(wheel) => {
            let Some(shape) = wheel.shape.as_ref().filter(|_| wheel.pick_up.is_none()) else { return false };
            match what {
                What::PitchError | What::SlopeError | What::Channel | What::Torque | What::Inertia => true,
                What::CutBack => shape.relieved,
                _ => false,
            }
        }
        Kind::Bowl(_) => what == What::EntrySpeed && by_dimensions(kind),
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
