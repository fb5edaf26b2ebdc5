//! What a release asks of the guide, the slide and the next entry.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard};

use crate::physics::material::{Marble, ROLLING_LEVER_RANGE_M, SurfaceProperties};
use crate::physics::release::{CARRIED_OVER_RAD, GuidePlate, PocketShape, Release, release};
use crate::physics::rolling::Misfit;

/// A wheel's pocket, what rolls in it, and how the guide stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiftGeometry {
    /// The pocket.
    pub pocket: PocketShape,
    /// The marble.
    pub marble: Marble,
    /// Bore and guide.
    pub surface: SurfaceProperties,
    /// The guide, if there is one.
    pub guide: Option<GuidePlate>,
}

/// An arc of the wheel, rad past the lowest point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// Where it begins.
    pub from_rad: f64,
    /// Where it ends.
    pub to_rad: f64,
}

/// How a workshop scatters: standard deviations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Of the drilled tilt, rad.
    pub tilt_sd_rad: f64,
    /// Of the lever arm of rolling resistance, m.
    pub rolling_lever_sd_m: f64,
}

impl Spread {
    /// Half a degree of tilt (a drill-press table set by protractor: assumed, no source), and a lever arm whose
    /// assumed range is four standard deviations wide.
    pub const WORKSHOP: Spread = Spread {
        tilt_sd_rad: 0.5 * std::f64::consts::PI / 180.0,
        rolling_lever_sd_m: (ROLLING_LEVER_RANGE_M.1 - ROLLING_LEVER_RANGE_M.0) / 4.0,
    };
}

/// Releases that were followed. A machine is built anew for each question asked of it, and most leave its wheels as they
/// are; following a marble out of a slow one takes milliseconds.
static FOLLOWED: Mutex<BTreeMap<String, Release>> = Mutex::new(BTreeMap::new());
/// Releases remembered at once.
const REMEMBERED: usize = 1000;

fn followed() -> MutexGuard<'static, BTreeMap<String, Release>> {
    FOLLOWED
        .lock()
        .unwrap_or_else(|poisoned| poisoned.into_inner())
}

impl LiftGeometry {
    /// Angle (rad) where the marble leaves at a wheel speed, [`CARRIED_OVER_RAD`] where it does not.
    ///
    /// # Errors
    /// As [`release`].
    pub fn leave_rad(&self, speed_rad_s: f64) -> Result<f64, Misfit> {
        let seen = self.released(speed_rad_s)?;
        Ok(seen.leave_rad.unwrap_or(CARRIED_OVER_RAD))
    }

    /// Angle (rad) where the marble is out at a wheel speed, [`CARRIED_OVER_RAD`] where it does not come out.
    ///
    /// # Errors
    /// As [`release`].
    pub fn out_rad(&self, speed_rad_s: f64) -> Result<f64, Misfit> {
        let seen = self.released(speed_rad_s)?;
        Ok(seen.out_rad.unwrap_or(CARRIED_OVER_RAD))
    }

    /// How fast the marble is out of the wheel's face, along the axle, m/s.
    ///
    /// # Errors
    /// As [`release`].
    pub fn out_speed_m_s(&self, speed_rad_s: f64) -> Result<f64, Misfit> {
        Ok(self.released(speed_rad_s)?.out_speed_m_s)
    }

    fn released(&self, speed_rad_s: f64) -> Result<Release, Misfit> {
        let question = format!("{self:?} {speed_rad_s:?}");
        if let Some(seen) = followed().get(&question) {
            return Ok(*seen);
        }
        let LiftGeometry {
            pocket,
            marble,
            surface,
            guide,
        } = self;
        let seen = release(pocket, marble, surface, speed_rad_s, *guide)?;
        let mut followed = followed();
        if followed.len() >= REMEMBERED {
            followed.clear();
        }
        followed.insert(question, seen);
        Ok(seen)
    }

    /// Highest wheel speed (rad/s, to one part in a thousand) at which the marble is still out before `before_rad`;
    /// `None` where it is not even out in time at `lowest_rad_s`. A marble needs time to roll out, so it comes out
    /// the later the faster the wheel.
    ///
    /// # Errors
    /// As [`release`].
    pub fn top_speed_rad_s(
        &self,
        before_rad: f64,
        lowest_rad_s: f64,
        highest_rad_s: f64,
    ) -> Result<Option<f64>, Misfit> {
        let in_time = |speed: f64| Ok(self.out_rad(speed)? <= before_rad);
        if !in_time(lowest_rad_s)? {
            return Ok(None);
        }
        if in_time(highest_rad_s)? {
            return Ok(Some(highest_rad_s));
        }
        let (mut good, mut bad) = (lowest_rad_s, highest_rad_s);
        while bad - good > 1e-3 * good {
            let middle = (good + bad) / 2.0;
            if in_time(middle)? {
                good = middle;
            } else {
                bad = middle;
            }
        }
        Ok(Some(good))
    }

    /// The arc a guide must cover so that the marble leaves at `leave_rad`: from a margin before the quarter turn, where
    /// the pocket's axis starts to dip outward, to the end found by bisection to a hundredth of a degree.
    /// `None` where an unguided marble leaves later than that anyway.
    ///
    /// # Errors
    /// As [`release`].
    pub fn guide_arc(
        &self,
        leave_rad: f64,
        speed_rad_s: f64,
        gap_m: f64,
        margin_rad: f64,
    ) -> Result<Option<Arc>, Misfit> {
        let leaves_with = |end_rad: f64| {
            let guide = Some(GuidePlate { end_rad, gap_m });
            LiftGeometry { guide, ..*self }.leave_rad(speed_rad_s)
        };
        let quarter = std::f64::consts::FRAC_PI_2;
        let (mut early, mut late) = (quarter, leave_rad);
        if leaves_with(early)? > leave_rad {
            return Ok(None);
        }
        while late - early > 1e-4 {
            let middle = (early + late) / 2.0;
            if leaves_with(middle)? > leave_rad {
                late = middle;
            } else {
                early = middle;
            }
        }
        Ok(Some(Arc {
            from_rad: quarter - margin_rad,
            to_rad: early,
        }))
    }

    /// Chance that a marble is out before `end_rad`, the far side of the slide's mouth, when tilt and rolling resistance
    /// scatter: the out angle is taken as normal, its spread from the slopes at the nominal dimensions. `None` where it
    /// does not come out at the nominal dimensions.
    ///
    /// # Errors
    /// As [`release`].
    pub fn chance_out_before(
        &self,
        end_rad: f64,
        speed_rad_s: f64,
        spread: &Spread,
    ) -> Result<Option<f64>, Misfit> {
        let (mean, sd) = (
            self.out_rad(speed_rad_s)?,
            self.out_sd_rad(speed_rad_s, spread)?,
        );
        Ok(sd.map(|sd| chance_below(end_rad, mean, sd)))
    }

    /// Standard deviation (rad) of the angle where marbles are out when tilt and rolling resistance scatter, from the
    /// slopes at the nominal dimensions. `None` where they do not come out there.
    ///
    /// # Errors
    /// As [`release`].
    pub fn out_sd_rad(&self, speed_rad_s: f64, spread: &Spread) -> Result<Option<f64>, Misfit> {
        let mean = self.out_rad(speed_rad_s)?;
        if mean >= CARRIED_OVER_RAD {
            return Ok(None);
        }
        let (tilt_sd, lever_sd) = (spread.tilt_sd_rad, spread.rolling_lever_sd_m);
        let by_tilt = self.tilted(tilt_sd).out_rad(speed_rad_s)? - mean;
        let by_lever = self.dragged(lever_sd).out_rad(speed_rad_s)? - mean;
        Ok(Some((by_tilt * by_tilt + by_lever * by_lever).sqrt()))
    }

    fn tilted(mut self, by_rad: f64) -> LiftGeometry {
        self.pocket.tilt_rad += by_rad;
        self
    }

    fn dragged(mut self, by_m: f64) -> LiftGeometry {
        self.surface.rolling_lever_m += by_m;
        self
    }
}

fn chance_below(x: f64, mean: f64, sd: f64) -> f64 {
    if sd > 0.0 {
        libm::erfc((mean - x) / (sd * std::f64::consts::SQRT_2)) / 2.0
    } else if x >= mean {
        1.0
    } else {
        0.0
    }
}

/// Height above the lowest point as a share of the pitch circle's diameter: (1 - cos phi)/2.
pub fn height_share(angle_rad: f64) -> f64 {
    (1.0 - libm::cos(angle_rad)) / 2.0
}

/// Width (m) of a slide's mouth that catches a marble which leaves at `leave_rad` and is out at `out_rad`: the chord its
/// pocket covers meanwhile, one marble, and `clearance_m` at each side. Plain geometry of the pitch circle.
pub fn mouth_width_m(
    pitch_radius_m: f64,
    leave_rad: f64,
    out_rad: f64,
    marble_diameter_m: f64,
    clearance_m: f64,
) -> f64 {
    let chord_m = 2.0 * pitch_radius_m * libm::sin((out_rad - leave_rad) / 2.0);
    chord_m + marble_diameter_m + 2.0 * clearance_m
}

/// How far (m) the place where marbles leave must stand above the next entry: the fall of a slide of `run_m` (along the
/// level) at `slope_rad`, drops on the way, and a margin for workmanship.
pub fn step_above_entry_m(run_m: f64, slope_rad: f64, drops_m: f64, margin_m: f64) -> f64 {
    run_m * libm::tan(slope_rad) + drops_m + margin_m
}
