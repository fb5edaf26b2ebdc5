//! Parts that people look at.

use super::law::TimeLaw;
use super::model::{Channel, Room, WhenFull};

/// A see-saw that tips by the number of marbles.
#[derive(Clone, Debug, PartialEq)]
pub struct SeeSaw {
    /// How many marbles make it tip.
    pub gathers: u32,
    /// Its beam, where its dimensions are given.
    pub beam: Option<Beam>,
    /// Measured, from the last marble in to the other side down, seconds.
    pub tip_s: Option<f64>,
    /// What happens to marbles that come while it is tipped.
    pub when_full: WhenFull,
}

/// The beam of a see-saw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beam {
    /// From the pivot to where marbles lie, metres.
    pub arm_m: f64,
    /// From one side down to the other side down, radians.
    pub swing_rad: f64,
    /// Its mass, kilograms.
    pub mass_kg: f64,
}

/// An upright loop that marbles roll through.
#[derive(Clone, Debug, PartialEq)]
pub struct UprightLoop {
    /// Radius of what marbles roll on, metres.
    pub radius_m: f64,
    /// What they roll in.
    pub channel: Channel,
    /// Measured time once round.
    pub time: Option<TimeLaw>,
}

/// A gap that marbles fly over.
#[derive(Clone, Debug, PartialEq)]
pub struct Jump {
    /// From the lip to where the landing begins, metres.
    pub gap_m: f64,
    /// Length of the landing, metres.
    pub landing_m: f64,
    /// From the lip down to the landing, metres.
    pub fall_m: f64,
    /// How steeply the lip rises, radians.
    pub rises_rad: f64,
    /// Measured time from the lip to the end of the landing.
    pub time: Option<TimeLaw>,
}

/// A funnel in which marbles circle down to its hole.
#[derive(Clone, Debug, PartialEq)]
pub struct Funnel {
    /// The cone, where its dimensions are given.
    pub cone: Option<Cone>,
    /// Measured time from rim to hole.
    pub swirl: Option<TimeLaw>,
    /// Most marbles at a time.
    pub room: Option<Room>,
    /// From one marble through the hole until the next may follow, seconds.
    pub hole_time_s: Option<f64>,
    /// What happens when it is full.
    pub when_full: WhenFull,
}

/// A cone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cone {
    /// Diameter of the rim, metres.
    pub width_m: f64,
    /// Diameter of the hole, metres.
    pub hole_m: f64,
    /// Slope of the wall, radians.
    pub slope_rad: f64,
}
