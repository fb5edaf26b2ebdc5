//! The machine as meant: checked, immutable, in SI units. What the file's text becomes once nothing is wrong with it.

use std::f64::consts::PI;

pub use super::allow::Warning;
pub use super::assumed::Assumption;
pub use super::kind::{KINDS, Kind};
pub use super::knobs::CostClass;
pub use super::law::TimeLaw;
pub use super::model_lift::*;
pub use super::model_parts::*;
pub use super::model_supply::Supply;
pub use super::model_wheel::{Lift, PickUp, PocketWheel, TurnedBy, WheelShape};
use super::units::System;
pub use super::workmanship::Workmanship;
use crate::physics::G;
pub use crate::physics::rolling::Channel;

/// A whole machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// What its maker calls it.
    pub title: String,
    /// The marbles.
    pub marbles: Marbles,
    /// What turns the wheels.
    pub drive: Drive,
    /// Index of the element where marbles are poured in.
    pub start: usize,
    /// The elements, in the order of the file.
    pub elements: Vec<Element>,
    /// What the maker calls good enough.
    pub workable: Workable,
    /// Who clears a jam, and when.
    pub tending: Tending,
    /// Workshop constants that no handbook settles.
    pub assume: Assume,
    /// What the file leaves open of these and of workmanship.
    pub assumed: Vec<Assumption>,
    /// Warnings that its maker does not want to hear again.
    pub allow: Vec<Warning>,
    /// In what order its maker weighs the costs of changes.
    pub mend_order: Vec<CostClass>,
    /// How exactly its workshop works.
    pub workshop: Workmanship,
    /// In which units its maker measures: those of the marbles in the file.
    pub units: System,
}

/// The marbles.
#[derive(Clone, Debug, PartialEq)]
pub struct Marbles {
    /// The load: how many.
    pub count: u32,
    /// Diameter in metres; `None` where the file gives no dimension that needs it.
    pub diameter_m: Option<f64>,
    /// Standard deviation of the diameter, metres.
    pub spread_m: f64,
    /// What they are made of.
    pub material: Material,
}

/// What a marble is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// Soda-lime glass.
    Glass,
    /// Bearing steel.
    Steel,
    /// Alumina ceramic.
    Ceramic,
    /// Beech or a like hardwood.
    Wood,
}

/// What turns the wheels.
#[derive(Clone, Debug, PartialEq)]
pub struct Drive {
    /// Turns of the drive a minute.
    pub rpm: f64,
    /// The motor behind it, where the file describes one.
    pub motor: Option<Motor>,
}

/// A geared direct-current motor and its battery.
#[derive(Clone, Debug, PartialEq)]
pub struct Motor {
    /// No-load speed at the gearbox shaft, turns a minute.
    pub no_load_rpm: f64,
    /// Stall torque at the gearbox shaft, N m.
    pub stall_torque_nm: f64,
    /// Current without load, A.
    pub no_load_current_a: f64,
    /// Current at stall, A.
    pub stall_current_a: f64,
    /// Teeth on the motor's gear and on the drive's.
    pub teeth: (u32, u32),
    /// Module of the gears, metres.
    pub module_m: Option<f64>,
    /// Share of full voltage (pulse-width), 0 to 1.
    pub duty: f64,
    /// Voltage at which its speed and torque are as above, if the file tells.
    pub rated_v: Option<f64>,
    /// What it runs on, if the file tells.
    pub supply: Option<Supply>,
}

/// One element of the circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// Its name in the file.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// Where its ways out lead; none for a dead end.
    pub to: Vec<Exit>,
}

/// One way out of an element.
#[derive(Clone, Debug, PartialEq)]
pub struct Exit {
    /// Index of the element it leads to.
    pub to: usize,
    /// Where on a return floor it lets marbles fall; `None`: anywhere.
    pub landing: Option<Landing>,
}

/// A spot on a return floor where marbles land.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Landing {
    /// Across the floor from its left edge, metres.
    pub x_m: f64,
    /// From the back edge towards the mouth, metres.
    pub y_m: f64,
    /// Standard deviation of where they land, metres.
    pub spread_m: f64,
    /// Which way they head, from straight to the mouth towards the right edge.
    pub heading_rad: f64,
}

impl Landing {
    /// Straight away from the mouth, where a file does not say: a lap runs from the mouth to a wheel and back over the floor.
    /// Common practice, no source.
    pub const AWAY_RAD: f64 = PI;
}

/// A ramp whose foot stands at a pocket wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct StartRamp(pub Line);

/// A slide.
#[derive(Clone, Debug, PartialEq)]
pub struct Slide(pub Line);

/// A module's track.
#[derive(Clone, Debug, PartialEq)]
pub struct Track(pub Line);

/// What an element does with a marble it has no place for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhenFull {
    /// The marble waits in the element before.
    Hold,
    /// The marble falls over the open side and is lost.
    Spill,
}

/// How many marbles an element has room for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Room {
    /// So many.
    Places(u32),
    /// As many as come.
    Unlimited,
}

/// A single file: start ramp, slide or track.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its parts from top to bottom; empty where only times are given.
    pub segments: Vec<Segment>,
    /// What the marble rolls in.
    pub channel: Channel,
    /// Measured speed at which marbles come in, metres a second; `None`: what the element before gives.
    pub entry_m_s: Option<f64>,
    /// Measured travel time, used instead of the computed one.
    pub time: Option<TimeLaw>,
    /// Room; `None`: length over diameter.
    pub room: Option<Room>,
    /// Measured time in which the file moves up one place, seconds.
    pub advance_s: Option<f64>,
    /// What happens when it is full.
    pub when_full: WhenFull,
}

/// A part of a slide or track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment {
    /// Straight and sloping.
    Straight {
        /// Length along the slope, metres.
        length_m: f64,
        /// Slope, radians, positive downhill.
        slope_rad: f64,
    },
    /// A bend in plan.
    Bend {
        /// Radius in plan, metres.
        radius_m: f64,
        /// Angle turned, radians.
        turn_rad: f64,
        /// Slope along the bend, radians.
        slope_rad: f64,
    },
    /// A free fall.
    Drop {
        /// Height, metres.
        height_m: f64,
    },
    /// A flight of steps.
    Steps {
        /// How many.
        count: u32,
        /// Height of each, metres.
        rise_m: f64,
        /// Tread of each, metres.
        run_m: f64,
        /// Slope of the treads, radians.
        slope_rad: f64,
    },
    /// The end of one zig-zag leg: off the end, against a backstop, down onto the next leg.
    Corner {
        /// Height of the fall onto the next leg, metres.
        fall_m: f64,
        /// Distance from the end of the leg to the backstop, metres.
        gap_m: f64,
        /// Thickness of the leg's floor, metres.
        thickness_m: f64,
    },
}

/// How marbles wedge in an opening, and get free again.
#[derive(Clone, Debug, PartialEq)]
pub struct Arch {
    /// Chance that a marble that meets others at the opening wedges with them.
    pub chance: f64,
    /// How long until it frees itself; `None`: never.
    pub clears: Option<TimeLaw>,
}

/// A splitter bowl.
#[derive(Clone, Debug, PartialEq)]
pub struct Bowl {
    /// Measured swirl time.
    pub swirl: Option<TimeLaw>,
    /// Width and depth of the bowl and diameter of its hole circle, metres.
    pub shape: Option<BowlShape>,
    /// Weight of each hole; empty: equal.
    pub shares: Vec<f64>,
    /// Crowding limit.
    pub room: Option<Room>,
    /// How long a marble that goes keeps its hole shut to the next one, seconds.
    pub hole_time_s: Option<f64>,
    /// Marbles wedging at a hole.
    pub arch: Option<Arch>,
    /// What happens when it is full.
    pub when_full: WhenFull,
}

/// The dimensions of a splitter bowl.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BowlShape {
    /// Across the rim, metres.
    pub width_m: f64,
    /// Depth at the middle, metres.
    pub depth_m: f64,
    /// Diameter of the holes, metres.
    pub hole_m: f64,
    /// Radius of the circle the holes stand on, metres.
    pub hole_circle_m: f64,
    /// Whether a fence stands on the rim.
    pub fenced: bool,
    /// How far inward of the rim's own direction marbles head as they come in, radians.
    pub inward_rad: f64,
    /// Speed at which marbles come in; `None`: what the element before gives.
    pub entry_m_s: Option<f64>,
}

/// How far a marble falls through a gate, or how long it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Fall {
    /// Height, metres.
    pub drop_m: f64,
    /// Measured time.
    pub time: Option<TimeLaw>,
}

impl Fall {
    /// Time through it: as measured, else that of a free fall.
    pub fn law(&self) -> TimeLaw {
        let falls = TimeLaw::Fixed {
            time_s: (2.0 * self.drop_m / G).sqrt(),
        };
        self.time.clone().unwrap_or(falls)
    }
}

/// A flip gate.
#[derive(Clone, Debug, PartialEq)]
pub struct FlipGate {
    /// The drop through it.
    pub fall: Fall,
    /// How long the gate takes to go over, seconds.
    pub throw_s: f64,
    /// Its sticking half-way.
    pub stick: Option<Arch>,
}

/// A peg.
#[derive(Clone, Debug, PartialEq)]
pub struct Peg {
    /// The drop past it.
    pub fall: Fall,
    /// Weight of each way; empty: equal.
    pub shares: Vec<f64>,
}

/// A weir.
#[derive(Clone, Debug, PartialEq)]
pub struct Weir {
    /// The drop over it.
    pub fall: Fall,
}

/// A bell, chime or drum.
#[derive(Clone, Debug, PartialEq)]
pub struct Bell {
    /// The drop onto it.
    pub fall: Fall,
    /// From the way of the marble to the normal of its face, radians.
    pub angle_rad: f64,
    /// Restitution of a marble on it; `None`: as on wood.
    pub restitution: Option<f64>,
}

/// An escapement.
#[derive(Clone, Debug, PartialEq)]
pub struct Escapement {
    /// Time each marble takes.
    pub time: TimeLaw,
    /// Room, the marble in it included.
    pub room: Room,
    /// What happens when it is full.
    pub when_full: WhenFull,
}

/// A gate that another place opens.
#[derive(Clone, Debug, PartialEq)]
pub struct TripGate {
    /// The element whose marbles open it.
    pub trip: String,
    /// Marbles that it lets go for each trip.
    pub lets: u32,
    /// Most marbles that it may have to let go.
    pub keeps: u32,
    /// Marbles that it lets go before anything trips it.
    pub first: u32,
    /// How long it stays shut after letting one go, seconds.
    pub shut_s: f64,
    /// Room.
    pub room: Room,
    /// What happens when it is full.
    pub when_full: WhenFull,
}

/// A tipping cup.
#[derive(Clone, Debug, PartialEq)]
pub struct TippingCup {
    /// How many marbles make it tip.
    pub gathers: u32,
    /// From the last marble in to the marbles out, seconds.
    pub tip_s: f64,
    /// From the last marble out until it takes the next, seconds.
    pub reset_s: f64,
    /// What happens to marbles that come while it is tipped.
    pub when_full: WhenFull,
}

/// A return floor.
#[derive(Clone, Debug, PartialEq)]
pub struct ReturnFloor {
    /// The dimensions, where they are given.
    pub shape: Option<FloorShape>,
    /// Measured time from landing to the mouth.
    pub time: Option<TimeLaw>,
    /// How many marbles lie on it before they go over the surround.
    pub room: Option<Room>,
    /// Measured time between two marbles through the mouth, seconds.
    pub mouth_time_s: Option<f64>,
    /// Speed at which lone marbles come out of the mouth, metres a second, where a study knows it; no key of the file.
    pub mouth_m_s: Option<f64>,
    /// Marbles wedging at the mouth.
    pub arch: Option<Arch>,
    /// What happens when it is full.
    pub when_full: WhenFull,
}

/// The dimensions of a return floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FloorShape {
    /// Across the valley, metres.
    pub width_m: f64,
    /// Along the valley, metres.
    pub depth_m: f64,
    /// Pitch of each side towards the valley, radians.
    pub cross_rad: f64,
    /// Pitch of the valley towards the mouth, radians.
    pub valley_rad: f64,
    /// Width of the mouth, metres.
    pub mouth_m: f64,
    /// Half the angle between the funnel's walls before the mouth, radians; `None`: an end wall without a funnel.
    pub funnel_rad: Option<f64>,
    /// Height of the fall onto it, metres.
    pub fall_m: f64,
}

/// What the maker calls good enough.
#[derive(Clone, Debug, PartialEq)]
pub struct Workable {
    /// Least fill of every wheel, 0 to 1.
    pub least_fill: f64,
    /// Most jams in eight hours.
    pub jams_per_8h: f64,
    /// Most marbles spilled in a run.
    pub spills: u32,
    /// Deepest backlog allowed, by element.
    pub backlog: Vec<(usize, u32)>,
    /// Which of these the file leaves to their defaults.
    pub unset: Unset,
}

/// Limits of the `workable` section that the file is silent about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Unset {
    /// `least-fill`.
    pub least_fill: bool,
    /// `jams-per-8h`.
    pub jams_per_8h: bool,
    /// `spills`.
    pub spills: bool,
}

/// Who clears a jam, and when.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tending {
    /// Nobody: the first jam ends the run.
    Stop,
    /// Somebody, after so many seconds.
    ClearAfter(f64),
}

/// Workshop constants that no handbook settles; each has a stated default and range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Assume {
    /// Lever arm of rolling resistance, metres.
    pub rolling_m: f64,
    /// Restitution of a marble on wood.
    pub restitution: f64,
    /// Share of kinetic energy lost in a bend; `None`: what rubbing on the wall of a flat channel takes.
    pub bend_loss: Option<f64>,
    /// Sliding friction of a marble on wood.
    pub friction: f64,
    /// Lever arm of drilling friction, metres; `None`: see [`Assume::drilling_m`].
    pub drilling: Option<f64>,
    /// Share of the slip that one hit stops.
    pub hit_grip: f64,
    /// Share of the motor's work that passes a pair of gears.
    pub gear_efficiency: f64,
    /// Scatter of the speed at which marbles come into a bowl, as a share of it.
    pub entry_scatter: f64,
    /// Slope on which marbles wait where no dimension tells it, radians.
    pub slope_rad: f64,
    /// Sliding friction of marbles on each other.
    pub marble_friction: f64,
    /// Restitution of marbles on each other.
    pub marble_restitution: f64,
}
