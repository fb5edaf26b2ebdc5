//! Lifts that are no pocket wheel, as meant: how each carries marbles, what turns it, and what was measured of it.

use super::model_wheel::{PickUp, TurnedBy};

/// A lift that something turns.
#[derive(Clone, Debug, PartialEq)]
pub struct DrivenLift<T> {
    /// How it carries marbles.
    pub carries: T,
    /// What turns it.
    pub turned_by: TurnedBy,
    /// Measured chances where marbles come in.
    pub pick_up: Option<PickUp>,
    /// Measured chance that a marble at the top gets out in time.
    pub release: Option<f64>,
}

/// How a lift carries, whichever kind it is. A *seat* is what takes marbles along: a cup, a thread, a step, a tray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lifting {
    /// What a seat is called.
    pub seat: &'static str,
    /// Seats that pass the foot in one turn of its shaft.
    pub a_turn: f64,
    /// Marbles that a seat takes.
    pub holds: u32,
    /// Seats that pass before the same one comes again.
    pub seats: u32,
    /// Seats that pass while a marble goes up; not always whole.
    pub up: f64,
    /// From where marbles come in to where they go out, metres.
    pub rise_m: f64,
    /// How marbles come in.
    pub roll_in: RollIn,
    /// How a seat comes back to the foot.
    pub back: WayBack,
}

/// How a seat of a lift comes back to the foot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WayBack {
    /// Down the other side, as the cups of a chain.
    OtherSide,
    /// Not at all: another is there, as in a screw, and a marble that it has not let go falls back.
    Falls,
    /// The way it came, and stands at the foot then.
    SameWay,
}

/// How marbles come into a seat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RollIn {
    /// Share of the time from seat to seat in which one is open to marbles.
    pub open: f64,
    /// How far a marble rolls until it is in, metres; `None` where its size is not known.
    pub far_m: Option<f64>,
    /// On what slope, radians; `None`: that of the element before.
    pub slope_rad: Option<f64>,
}

/// A chain or belt of cups over two sprockets.
pub type ChainLift = DrivenLift<CupChain>;

/// The cups of a chain.
#[derive(Clone, Debug, PartialEq)]
pub struct CupChain {
    /// How many.
    pub cups: u32,
    /// Marbles in each.
    pub holds: u32,
    /// From cup to cup along the chain, metres.
    pub pitch_m: f64,
    /// From where marbles come in to where they go out, metres.
    pub rise_m: f64,
    /// Pitch diameter of the sprocket that drives it, metres.
    pub sprocket_m: f64,
    /// Height of a cup's opening, metres; `None`: all of the pitch.
    pub mouth_m: Option<f64>,
}

/// A screw beside a rail.
pub type ScrewLift = DrivenLift<Screw>;

/// The thread of a screw, between whose turns marbles lie; a rail beside it keeps them from turning with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Screw {
    /// Turns of the thread from where marbles come in to where they go out.
    pub turns: f64,
    /// From turn to turn of the thread, metres.
    pub pitch_m: f64,
    /// Thickness of the thread, metres.
    pub thread_m: f64,
}

/// A stair of two combs, one of which moves up and down.
pub type StairLift = DrivenLift<StairCombs>;

/// The combs of a stair.
#[derive(Clone, Debug, PartialEq)]
pub struct StairCombs {
    /// How many steps a marble is lifted by.
    pub steps: u32,
    /// Height of a step, metres.
    pub step_m: f64,
    /// How far the moving comb goes up and down, metres.
    pub stroke_m: f64,
    /// How far a marble rolls from comb to comb, metres.
    pub tread_m: f64,
    /// Slope of the treads, radians.
    pub slope_rad: f64,
}

/// A tray that goes up and down with one marble.
pub type StrokeLift = DrivenLift<Tray>;

/// The way of a tray.
#[derive(Clone, Debug, PartialEq)]
pub struct Tray {
    /// From where the marble comes in to where it goes out, metres.
    pub stroke_m: f64,
    /// Share of a turn of its crank or cam in which it stands at the foot.
    pub dwell: f64,
}

/// An arm that swings up with one marble.
pub type SwingArm = DrivenLift<Swing>;

/// The swing of an arm.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// From the pivot to the marble in its cup, metres.
    pub arm_m: f64,
    /// How far below level it stands where it picks up, radians.
    pub down_rad: f64,
    /// How far above level it stands where it lets go, radians.
    pub up_rad: f64,
    /// Share of a turn of its crank or cam in which it stands at the foot.
    pub dwell: f64,
}
