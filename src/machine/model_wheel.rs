//! A pocket wheel as meant: its dimensions, what turns it, and what was measured of it.

/// A pocket wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct PocketWheel {
    /// Number of pockets.
    pub pockets: u32,
    /// The dimensions, where they are given.
    pub shape: Option<WheelShape>,
    /// What turns it.
    pub turned_by: TurnedBy,
    /// Angle the first pocket has to go to the pick-up at the start, radians.
    pub phase_rad: f64,
    /// Where a marble leaves, if measured.
    pub lift: Option<Lift>,
    /// Measured chances at the pick-up.
    pub pick_up: Option<PickUp>,
    /// Measured chance that a marble at the top gets out in time.
    pub release: Option<f64>,
}

/// What turns a pocket wheel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TurnedBy {
    /// The machine's drive, through gears: turns of the wheel for one turn of the drive.
    Drive {
        /// The ratio.
        ratio: f64,
    },
    /// A motor of its own at this many turns a minute.
    OwnMotor {
        /// Turns a minute.
        rpm: f64,
    },
}

/// The dimensions of a pocket wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct WheelShape {
    /// Axle to pocket centre, metres.
    pub pitch_radius_m: f64,
    /// Diameter of the pockets, metres.
    pub bore_m: f64,
    /// Depth of the pockets, metres.
    pub depth_m: f64,
    /// Pocket axis out of square with the face, radians.
    pub tilt_rad: f64,
    /// Angle past the lowest point where the guide ends, radians; `None`: no guide.
    pub guide_rad: Option<f64>,
    /// Angle past the lowest point where the slide's mouth ends, radians.
    pub mouth_rad: Option<f64>,
    /// Width of the channel that feeds it, metres.
    pub channel_m: Option<f64>,
    /// Whether the channel wall on the leaving side is cut back.
    pub relieved: bool,
    /// Gap between ramp and wheel face, metres.
    pub gap_m: f64,
    /// Standard deviation of pocket centres off the pitch circle, metres.
    pub pitch_error_m: f64,
    /// Standard deviation of the ramp's slope, radians.
    pub slope_error_rad: f64,
}

/// Where a marble leaves the wheel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lift {
    /// After this arc from the pick-up, radians.
    Arc(f64),
    /// After this time, seconds, whatever the speed.
    Time(f64),
}

/// Chances of a waiting marble at each passing pocket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PickUp {
    /// Chance that the pocket takes it.
    pub take: f64,
    /// Chance that it is caught between ramp and wheel.
    pub pinch: f64,
}
