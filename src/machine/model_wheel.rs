//! A pocket wheel as meant: its dimensions, what turns it, and what was measured of it.

use std::f64::consts::PI;

use super::assumed::CUT_BACK_DIAMETERS;

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
    /// Whether the channel wall on the leaving side is cut back and fenced.
    pub relieved: bool,
    /// How far that wall stops short of the wheel, metres; `None`: see [`WheelShape::cut_back_m`].
    pub cut_back: Option<f64>,
    /// Whether the walls' ends are cut square to the ramp, not upright.
    pub square_ends: bool,
    /// From the middle of the channel to where the guide starts, metres.
    pub guide_from_m: Option<f64>,
    /// Whether the edge of a guide that does not start at the wall leads marbles in, and does not scrape them off.
    pub lead_in: bool,
    /// Whether a fence stands on the open side; `None`: where the wall is relieved.
    pub fence: Option<bool>,
    /// Greatest torque of its drive at the wheel, N m.
    pub torque_nm: Option<f64>,
    /// Moment of inertia of wheel and drive, kg m2.
    pub inertia_kg_m2: Option<f64>,
    /// Gap between ramp and wheel face, metres.
    pub gap_m: f64,
    /// Standard deviation of pocket centres off the pitch circle, metres.
    pub pitch_error_m: f64,
    /// Standard deviation of the ramp's slope, radians.
    pub slope_error_rad: f64,
    /// How much too high the ramp's end stands in one build, metres; no key of the file.
    pub ramp_end_off_m: f64,
}

/// Birch plywood, kg/m3, and how much thicker than its pockets a wheel is, metres. Common practice, no source.
const PLYWOOD: (f64, f64) = (680.0, 0.004);

impl WheelShape {
    /// How far the wall on the leaving side stops short of the wheel, metres: as given, else so many diameters of a
    /// relieved one.
    pub fn cut_back_m(&self, marble_m: f64) -> f64 {
        self.cut_back.unwrap_or(if self.relieved {
            CUT_BACK_DIAMETERS.0 * marble_m
        } else {
            0.0
        })
    }

    /// Moment of inertia of a plywood disc that just holds the pockets, kg m2.
    pub fn disc_inertia_kg_m2(&self) -> f64 {
        let radius = self.pitch_radius_m + self.bore_m;
        let mass = PLYWOOD.0 * PI * radius * radius * (self.depth_m + PLYWOOD.1);
        mass * radius * radius / 2.0
    }

    /// Moment of inertia as given, else that of such a disc, kg m2.
    pub fn inertia_kg_m2(&self) -> f64 {
        self.inertia_kg_m2
            .unwrap_or_else(|| self.disc_inertia_kg_m2())
    }

    /// Whether a fence stands on the open side: as said, else where the wall is relieved.
    pub fn is_fenced(&self) -> bool {
        self.fence.unwrap_or(self.relieved)
    }
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
