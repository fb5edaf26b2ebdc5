//! What a machine file leaves open and the program assumes: each constant with its default and the range it may be in.

use std::f64::consts::PI;

use super::description::Description;
use super::kind::each_kind;
use super::model::Machine;
use super::units::{ANGLE, LENGTH, System, TORQUE, VELOCITY};
use crate::physics::material::{
    DRILLING_LEVER_RANGE_M, HIT_GRIP_RANGE, MARBLE_FRICTION_RANGE, MARBLE_RESTITUTION_RANGE,
    RESTITUTION_RANGE, ROLLING_LEVER_RANGE_M, SLIDING_FRICTION_RANGE,
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
pub const WAITING_SLOPE_RAD: (f64, f64, f64) =
    (4.0 * PI / 180.0, 2.0 * PI / 180.0, 8.0 * PI / 180.0);
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
pub enum AssumedConstant {
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
    pub what: AssumedConstant,
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

impl AssumedConstant {
    /// What a maker calls it.
    pub fn name(self) -> &'static str {
        match self {
            AssumedConstant::RollingResistance => "rolling resistance",
            AssumedConstant::Restitution => "restitution",
            AssumedConstant::Friction => "friction",
            AssumedConstant::BendLoss => "loss in bends",
            AssumedConstant::DiameterSpread => "spread of marble diameters",
            AssumedConstant::PitchError => "pockets off their circle",
            AssumedConstant::SlopeError => "error of slopes",
            AssumedConstant::FloorFall => "fall onto the floor",
            AssumedConstant::Drilling => "drilling resistance",
            AssumedConstant::HitGrip => "grip of a hit",
            AssumedConstant::GearEfficiency => "efficiency of gears",
            AssumedConstant::EntryScatter => "scatter of speed into bowls",
            AssumedConstant::WaitingSlope => "slope where none is given",
            AssumedConstant::Channel => "channel before the wheel",
            AssumedConstant::EntrySpeed => "speed into the bowl",
            AssumedConstant::MarbleFriction => "friction between marbles",
            AssumedConstant::MarbleRestitution => "restitution between marbles",
            AssumedConstant::CutBack => "how far the wall is cut back",
            AssumedConstant::Torque => "torque of the drive",
            AssumedConstant::Inertia => "inertia of the wheel",
        }
    }

    /// The key that settles it.
    pub fn key(self) -> &'static str {
        match self {
            AssumedConstant::RollingResistance => "assume.rolling-resistance",
            AssumedConstant::Restitution => "assume.restitution",
            AssumedConstant::Friction => "assume.friction",
            AssumedConstant::BendLoss => "assume.bend-loss",
            AssumedConstant::DiameterSpread => "marbles.spread",
            AssumedConstant::PitchError => "pitch-error",
            AssumedConstant::SlopeError => "slope-error",
            AssumedConstant::FloorFall => "fall",
            AssumedConstant::Drilling => "assume.drilling-resistance",
            AssumedConstant::HitGrip => "assume.hit-grip",
            AssumedConstant::GearEfficiency => "assume.gear-efficiency",
            AssumedConstant::EntryScatter => "assume.entry-scatter",
            AssumedConstant::WaitingSlope => "assume.slope",
            AssumedConstant::Channel => "channel",
            AssumedConstant::EntrySpeed => "entry-speed",
            AssumedConstant::MarbleFriction => "assume.marble-friction",
            AssumedConstant::MarbleRestitution => "assume.marble-restitution",
            AssumedConstant::CutBack => "cut-back",
            AssumedConstant::Torque => "torque",
            AssumedConstant::Inertia => "inertia",
        }
    }

    /// Its range, the low end first.
    pub fn range(self) -> (f64, f64) {
        match self {
            AssumedConstant::RollingResistance => ROLLING_LEVER_RANGE_M,
            AssumedConstant::Restitution => RESTITUTION_RANGE,
            AssumedConstant::Friction => SLIDING_FRICTION_RANGE,
            AssumedConstant::BendLoss => BEND_LOSS_RANGE,
            AssumedConstant::DiameterSpread => (DIAMETER_SPREAD_M.1, DIAMETER_SPREAD_M.2),
            AssumedConstant::PitchError => (PITCH_ERROR_M.1, PITCH_ERROR_M.2),
            AssumedConstant::SlopeError => (SLOPE_ERROR_RAD.1, SLOPE_ERROR_RAD.2),
            AssumedConstant::FloorFall => (FLOOR_FALL_M.1, FLOOR_FALL_M.2),
            AssumedConstant::Drilling => DRILLING_LEVER_RANGE_M,
            AssumedConstant::HitGrip => HIT_GRIP_RANGE,
            AssumedConstant::GearEfficiency => (GEAR_EFFICIENCY.1, GEAR_EFFICIENCY.2),
            AssumedConstant::EntryScatter => (ENTRY_SCATTER.1, ENTRY_SCATTER.2),
            AssumedConstant::WaitingSlope => (WAITING_SLOPE_RAD.1, WAITING_SLOPE_RAD.2),
            AssumedConstant::Channel => (CHANNEL_DIAMETERS.1, CHANNEL_DIAMETERS.2),
            AssumedConstant::EntrySpeed => (ENTRY_M_S.1, ENTRY_M_S.2),
            AssumedConstant::MarbleFriction => MARBLE_FRICTION_RANGE,
            AssumedConstant::MarbleRestitution => MARBLE_RESTITUTION_RANGE,
            AssumedConstant::CutBack => (CUT_BACK_DIAMETERS.1, CUT_BACK_DIAMETERS.2),
            AssumedConstant::Torque => (WHEEL_TORQUE_NM.1, WHEEL_TORQUE_NM.2),
            AssumedConstant::Inertia => (INERTIA_DISCS.1, INERTIA_DISCS.2),
        }
    }

    /// Its value at an end of its range.
    pub fn value(self, end: End) -> f64 {
        let (low, high) = self.range();
        if end == End::Low { low } else { high }
    }

    /// A value of it with its unit.
    pub fn show(self, value: f64) -> String {
        self.show_in(value, System::Millimetres)
    }

    /// The same, lengths in these units.
    pub fn show_in(self, value: f64, system: System) -> String {
        match self {
            AssumedConstant::Restitution
            | AssumedConstant::Friction
            | AssumedConstant::HitGrip
            | AssumedConstant::GearEfficiency
            | AssumedConstant::EntryScatter
            | AssumedConstant::MarbleFriction
            | AssumedConstant::MarbleRestitution => super::units::plain(value),
            AssumedConstant::Torque => TORQUE.show(value),
            AssumedConstant::Inertia => format!("{} plywood discs", super::units::plain(value)),
            AssumedConstant::Channel | AssumedConstant::CutBack => {
                format!("{} diameters", super::units::plain(value))
            }
            AssumedConstant::EntrySpeed => VELOCITY.show(value),
            AssumedConstant::BendLoss => format!("{} %", super::units::plain(value * 100.0)),
            AssumedConstant::SlopeError | AssumedConstant::WaitingSlope => ANGLE.show(value),
            AssumedConstant::RollingResistance
            | AssumedConstant::Drilling
            | AssumedConstant::DiameterSpread
            | AssumedConstant::PitchError
            | AssumedConstant::FloorFall => LENGTH.show_in(value, system),
        }
    }
}

impl Assumption {
    /// What is assumed of `machine`, with its unit.
    pub fn assumed(&self, machine: &Machine) -> String {
        self.assumed_in(machine, System::Millimetres)
    }

    /// The same, lengths in these units.
    pub fn assumed_in(&self, machine: &Machine, system: System) -> String {
        match self.usual(machine) {
            Some(value) => self.what.show_in(value, system),
            None => "what rubbing on the wall takes".to_owned(),
        }
    }

    /// The same as a number; `None` for the loss in bends, which goes by the bend.
    pub fn usual(&self, machine: &Machine) -> Option<f64> {
        Some(match self.what {
            AssumedConstant::RollingResistance => machine.assume.rolling_m,
            AssumedConstant::Restitution => machine.assume.restitution,
            AssumedConstant::Friction => machine.assume.friction,
            AssumedConstant::BendLoss => return None,
            AssumedConstant::DiameterSpread => machine.marbles.spread_m,
            AssumedConstant::PitchError => PITCH_ERROR_M.0,
            AssumedConstant::SlopeError => SLOPE_ERROR_RAD.0,
            AssumedConstant::FloorFall => FLOOR_FALL_M.0,
            AssumedConstant::Drilling => machine.assume.drilling_m(),
            AssumedConstant::HitGrip => machine.assume.hit_grip,
            AssumedConstant::GearEfficiency => machine.assume.gear_efficiency,
            AssumedConstant::EntryScatter => machine.assume.entry_scatter,
            AssumedConstant::WaitingSlope => machine.assume.slope_rad,
            AssumedConstant::Channel => CHANNEL_DIAMETERS.0,
            AssumedConstant::EntrySpeed => ENTRY_M_S.0,
            AssumedConstant::MarbleFriction => machine.assume.marble_friction,
            AssumedConstant::MarbleRestitution => machine.assume.marble_restitution,
            AssumedConstant::CutBack => CUT_BACK_DIAMETERS.0,
            AssumedConstant::Torque => WHEEL_TORQUE_NM.0,
            AssumedConstant::Inertia => INERTIA_DISCS.0,
        })
    }

    /// `machine` with this constant at an end of its range.
    pub fn at(&self, machine: &Machine, end: End) -> Machine {
        self.set(machine, self.what.value(end))
    }

    /// `machine` with this constant at a value, in the unit of its range.
    pub fn set(&self, machine: &Machine, value: f64) -> Machine {
        let mut machine = machine.clone();
        match self.what {
            AssumedConstant::RollingResistance => machine.assume.rolling_m = value,
            AssumedConstant::Restitution => machine.assume.restitution = value,
            AssumedConstant::Friction => machine.assume.friction = value,
            AssumedConstant::BendLoss => machine.assume.bend_loss = Some(value),
            AssumedConstant::DiameterSpread => machine.marbles.spread_m = value,
            AssumedConstant::Drilling => machine.assume.drilling = Some(value),
            AssumedConstant::HitGrip => machine.assume.hit_grip = value,
            AssumedConstant::GearEfficiency => machine.assume.gear_efficiency = value,
            AssumedConstant::EntryScatter => machine.assume.entry_scatter = value,
            AssumedConstant::WaitingSlope => machine.assume.slope_rad = value,
            AssumedConstant::MarbleFriction => machine.assume.marble_friction = value,
            AssumedConstant::MarbleRestitution => machine.assume.marble_restitution = value,
            _ => {
                let marble_m = machine.marbles.diameter_m.unwrap_or(0.0);
                let in_marbles = matches!(
                    self.what,
                    AssumedConstant::Channel | AssumedConstant::CutBack
                );
                let value = if in_marbles { value * marble_m } else { value };
                for &n in &self.elements {
                    each_kind!(&mut machine.elements[n].kind, of => of.assume(self.what, value));
                }
            }
        }
        machine
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine::read;

    const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");

    #[test]
    fn an_end_of_the_range_changes_that_constant_alone() {
        let machine = read(STARTER, &[]).expect("sound");
        for assumption in &machine.assumed {
            let [low, high] = [End::Low, End::High].map(|end| assumption.at(&machine, end));
            assert!(
                low != machine && high != machine && low != high,
                "{assumption:?}"
            );
        }
    }
}
