//! A marble leaving a tilted pocket of a rising wheel.
//!
//! Angles are of the pocket's centre, past the lowest point (pi = top). The pocket is a round bore whose axis is tilted
//! out of square with the face, so that the marble rolls in at the bottom and out near the top. The marble hangs at the
//! lowest place of its bore and is followed in three stages, all from rigid-body mechanics with no fitted constant:
//!
//! 1. **rolling along the bore**: s'' = (5/7) (-g sin A cos phi - w^2 R sin A - f), A the tilt. As the wheel turns, the
//!    marble also rolls round the bore at w (D - d)/2. Rolling resistance acts against the rolling as a whole, so only its
//!    share along the axis holds the marble: f = (b/r) N s' / sqrt(s'^2 + (w (D - d)/2)^2). A marble that rolls round
//!    already starts out as soon as its axis dips, and is slowed less than one at rest;
//! 2. **over the lip**: it pivots about the edge of the bore until the edge no longer carries it;
//! 3. **free**: nothing pushes it along the wheel's axle any more.
//!
//! Under a guide the marble presses on the plate, which spins it about the bore's contact normal; once free, the turning
//! of that normal (gravity and centrifugal force together) feeds this spin into the rolling. At the guide's end the
//! marble has to come past the edge: out by no more than r - sqrt(r^2 - y^2), y its centre's way past the edge.
//!
//! Held to curves measured in a general 3-D rigid-body engine for tilts of 5 to 10 degrees and 3 to 45 rpm (see
//! `tests/physics/release.rs`). Left out: bouncing between pocket and guide, which counts above about 30 rpm.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::physics::G;
use crate::physics::material::{Marble, SurfaceProperties};
use crate::physics::rolling::Misfit;

/// A round, flat-bottomed pocket drilled in the face of a wheel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PocketShape {
    /// Radius of the circle the pockets stand on, m.
    pub pitch_radius_m: f64,
    /// Diameter of the bore, m, above the marble's.
    pub bore_m: f64,
    /// Depth along the axis, m, above the marble's radius.
    pub depth_m: f64,
    /// Tilt of the pocket's axis out of square with the face, rad, 0 to pi/4.
    pub tilt_rad: f64,
}

/// A plate before the wheel that keeps marbles in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GuidePlate {
    /// Angle where it ends, rad past the lowest point.
    pub end_rad: f64,
    /// Gap between the plate and the front of a marble seated in its pocket, m, at least 0.
    pub gap_m: f64,
}

/// Angles of a release, rad past the lowest point; `None` where the marble is still in at [`CARRIED_OVER_RAD`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Release {
    /// Where it starts out: rolled [`STARTED_M`] along the pocket.
    pub start_rad: Option<f64>,
    /// Where it leaves: its centre crosses the face.
    pub leave_rad: Option<f64>,
    /// Where it is out: its centre one radius before the face, so the wheel no longer carries it.
    pub out_rad: Option<f64>,
    /// How fast it is there along the axle, out of the wheel's face, m/s; 0 where it never is out.
    pub out_speed_m_s: f64,
}

/// A marble still in its pocket three quarters round is carried over: its axis no longer dips outward.
pub const CARRIED_OVER_RAD: f64 = 1.5 * PI;
/// Way along the pocket that counts as started, m.
pub const STARTED_M: f64 = 0.001;

const STEP_S: f64 = 1e-4;

/// Follows a marble out of its pocket at a wheel speed of `speed_rad_s`, above 0.
///
/// # Errors
/// [`Misfit::Impossible`] where the bore does not take the marble, the pocket is no deeper than its radius, or a
/// dimension makes no sense.
pub fn release(
    pocket: &PocketShape,
    marble: &Marble,
    surface: &SurfaceProperties,
    speed_rad_s: f64,
    guide: Option<GuidePlate>,
) -> Result<Release, Misfit> {
    check(pocket, marble, speed_rad_s)?;
    Ok(Leaving::new(pocket, marble, surface, speed_rad_s, guide).follow())
}

fn check(pocket: &PocketShape, marble: &Marble, speed_rad_s: f64) -> Result<(), Misfit> {
    let fits = pocket.bore_m > marble.diameter_m
        && pocket.depth_m > marble.radius_m()
        && pocket.pitch_radius_m > pocket.bore_m / 2.0
        && (0.0..=PI / 4.0).contains(&pocket.tilt_rad)
        && marble.diameter_m > 0.0
        && speed_rad_s > 0.0
        && speed_rad_s.is_finite();
    fits.then_some(()).ok_or(Misfit::Impossible)
}

/// What pulls at the marble at one angle, per unit of mass, seen on the wheel.
struct Pull {
    /// Distance of the marble's centre from the axle, m.
    radius_m: f64,
    /// Along the pocket's axis, outward through the face.
    along: f64,
    /// Across the axis: the normal force on the bore.
    across: f64,
    /// Share of the contact normal that points away from the axle.
    outward: f64,
    /// Turning of gravity plus centrifugal force in the wheel's plane, rad/s.
    turning: f64,
    /// Cosine between that pull and the radius.
    radial: f64,
}

enum ReleasePhase {
    InBore,
    OnLip {
        lean_rad: f64,
        rate: f64,
        lip_m: f64,
    },
    Free {
        speed_m_s: f64,
    },
}

struct Leaving {
    pitch_radius_m: f64,
    bore_m: f64,
    slack_m: f64,
    face_m: f64,
    sin_tilt: f64,
    cos_tilt: f64,
    marble_radius_m: f64,
    resistance: f64,
    guide_friction: f64,
    speed: f64,
    guide: Option<GuidePlate>,
    angle: f64,
    stage: ReleasePhase,
    /// Rolled along the pocket, m, and its rate.
    along_m: f64,
    along_speed: f64,
    /// Centre's way out along the axle from its seat, m.
    out_m: f64,
    /// Spin about the contact normal, rad/s.
    spin: f64,
}

impl Leaving {
    fn new(
        pocket: &PocketShape,
        marble: &Marble,
        surface: &SurfaceProperties,
        speed: f64,
        guide: Option<GuidePlate>,
    ) -> Leaving {
        Leaving {
            pitch_radius_m: pocket.pitch_radius_m,
            bore_m: pocket.bore_m,
            slack_m: (pocket.bore_m - marble.diameter_m) / 2.0,
            face_m: pocket.depth_m - marble.radius_m(),
            sin_tilt: libm::sin(pocket.tilt_rad),
            cos_tilt: libm::cos(pocket.tilt_rad),
            marble_radius_m: marble.radius_m(),
            resistance: surface.rolling_lever_m / marble.radius_m(),
            guide_friction: surface.sliding_friction,
            speed,
            guide,
            // The axis starts to dip outward a quarter turn past the lowest point.
            angle: FRAC_PI_2,
            stage: ReleasePhase::InBore,
            along_m: 0.0,
            along_speed: 0.0,
            out_m: 0.0,
            spin: 0.0,
        }
    }

    fn follow(mut self) -> Release {
        let mut seen = Release {
            start_rad: None,
            leave_rad: None,
            out_rad: None,
            out_speed_m_s: 0.0,
        };
        while self.angle < CARRIED_OVER_RAD && seen.out_rad.is_none() {
            let before_m = self.out_m;
            self.step();
            seen.out_speed_m_s = (self.out_m - before_m) / STEP_S;
            note(&mut seen.start_rad, self.angle, self.along_m >= STARTED_M);
            note(&mut seen.leave_rad, self.angle, self.out_m >= self.face_m);
            let clear_m = self.face_m + self.marble_radius_m;
            note(&mut seen.out_rad, self.angle, self.out_m >= clear_m);
            self.angle += self.speed * STEP_S;
        }
        if seen.out_rad.is_none() {
            seen.out_speed_m_s = 0.0;
        }
        seen
    }

    fn pull(&self) -> Pull {
        let (sin, cos) = libm::sincos(self.angle);
        let radius_m = self.pitch_radius_m + self.slack_m * cos;
        let centrifugal = self.speed * self.speed * radius_m;
        let outward = (G * cos + centrifugal) * self.cos_tilt;
        let across = (outward * outward + G * G * sin * sin).sqrt();
        let in_plane = centrifugal * centrifugal + 2.0 * centrifugal * G * cos + G * G;
        Pull {
            radius_m,
            along: -(G * cos + centrifugal) * self.sin_tilt,
            across,
            outward: outward / across,
            turning: self.speed * centrifugal * (centrifugal + G * cos) / in_plane,
            radial: (centrifugal + G * cos) / in_plane.sqrt(),
        }
    }

    fn step(&mut self) {
        let pull = self.pull();
        match self.stage {
            ReleasePhase::InBore => self.roll(&pull),
            ReleasePhase::OnLip {
                lean_rad,
                rate,
                lip_m,
            } => self.pivot(&pull, lean_rad, rate, lip_m),
            ReleasePhase::Free { speed_m_s } => self.out_m += speed_m_s * STEP_S,
        }
    }

    fn roll(&mut self, pull: &Pull) {
        let round = self.speed * self.slack_m;
        let rolling = (self.along_speed * self.along_speed + round * round).sqrt();
        let held = self.resistance * pull.across * self.along_speed / rolling;
        let spun = 2.0 / 7.0 * self.marble_radius_m * pull.turning * self.spin;
        self.spin += pull.turning * self.along_speed / self.marble_radius_m * STEP_S;
        self.along_speed += (5.0 / 7.0 * (pull.along - held) - spun) * STEP_S;
        let before_m = self.along_m;
        self.along_m += self.along_speed * STEP_S;
        if self.along_m < 0.0 {
            (self.along_m, self.along_speed) = (0.0, self.along_speed.max(0.0));
        }
        let hang_m = self.slack_m * pull.outward * self.sin_tilt;
        self.out_m = self.along_m * self.cos_tilt + hang_m;
        self.keep_behind_guide(pull, hang_m, before_m);
        let contact_m =
            self.along_m * self.cos_tilt + self.bore_m / 2.0 * pull.outward * self.sin_tilt;
        if contact_m >= self.face_m {
            self.stage = ReleasePhase::OnLip {
                lean_rad: 0.0,
                rate: self.along_speed / self.marble_radius_m,
                lip_m: self.along_m,
            };
        }
    }

    /// Holds the marble behind the plate, and past its end behind the edge it has to come round.
    fn keep_behind_guide(&mut self, pull: &Pull, hang_m: f64, before_m: f64) {
        let Some(guide) = self.guide else { return };
        let r = self.marble_radius_m;
        let hang_back_m = self.slack_m * libm::sin(self.angle);
        let past_m = pull.radius_m * (self.angle - guide.end_rad) - hang_back_m;
        let round_edge_m = if past_m <= 0.0 {
            0.0
        } else {
            r - (r * r - past_m * past_m).max(0.0).sqrt()
        };
        let limit_m = guide.gap_m + round_edge_m;
        if past_m >= r || self.out_m <= limit_m {
            return;
        }
        if past_m <= 0.0 {
            self.rub(pull);
        }
        self.out_m = limit_m;
        self.along_m = (limit_m - hang_m) / self.cos_tilt;
        let followed = (self.along_m - before_m) / STEP_S;
        self.along_speed = self.along_speed.min(followed).max(0.0);
    }

    /// The plate spins the marble about its contact normal until their surfaces move alike.
    fn rub(&mut self, pull: &Pull) {
        let alike = self.speed * pull.radius_m / self.marble_radius_m;
        let press = pull.along.max(0.0);
        let gain = 2.5 * self.guide_friction * press * pull.radial / self.marble_radius_m;
        self.spin = (self.spin + gain * STEP_S).clamp(-alike, alike);
    }

    fn pivot(&mut self, pull: &Pull, lean_rad: f64, rate: f64, lip_m: f64) {
        let r = self.marble_radius_m;
        let (sin, cos) = libm::sincos(lean_rad);
        let rate = rate + 5.0 / 7.0 / r * (pull.across * sin + pull.along * cos) * STEP_S;
        let lean_rad = lean_rad + rate * STEP_S;
        let (sin, cos) = libm::sincos(lean_rad);
        let dip = pull.outward * self.sin_tilt;
        self.along_m = lip_m + r * sin;
        self.out_m = self.along_m * self.cos_tilt + (self.bore_m / 2.0 - r * cos) * dip;
        let carried = pull.across * cos - pull.along * sin >= r * rate * rate;
        self.stage = if carried {
            ReleasePhase::OnLip {
                lean_rad,
                rate,
                lip_m,
            }
        } else {
            ReleasePhase::Free {
                speed_m_s: r * rate * (cos * self.cos_tilt + sin * dip),
            }
        };
    }
}

fn note(first: &mut Option<f64>, angle: f64, reached: bool) {
    if reached && first.is_none() {
        *first = Some(angle);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::material::GLASS_KG_M3;

    const MARBLE: Marble = Marble {
        diameter_m: 0.014,
        density_kg_m3: GLASS_KG_M3,
    };
    const POCKET: PocketShape = PocketShape {
        pitch_radius_m: 0.120,
        bore_m: 0.018,
        depth_m: 1.0,
        tilt_rad: 0.12,
    };

    fn leaving(speed: f64, angle: f64) -> Leaving {
        let surface = SurfaceProperties {
            rolling_lever_m: 0.0,
            ..SurfaceProperties::WOOD
        };
        Leaving {
            angle,
            ..Leaving::new(&POCKET, &MARBLE, &surface, speed, None)
        }
    }

    /// Gravity and centrifugal force added as vectors, down and outward, and their sum's direction followed as the wheel
    /// turns on by a little.
    #[test]
    fn the_pull_turns_as_gravity_and_centrifugal_force_do() {
        for (speed, angle) in [(0.5, 1.7), (3.0, 2.0), (6.0, 2.9), (12.0, 3.6), (9.0, 4.5)] {
            let pull = leaving(speed, angle).pull();
            let centrifugal = speed * speed * pull.radius_m;
            // Down is the first axis, the way the wheel turns at its lowest point the second.
            let sum = |angle: f64| {
                let (sin, cos) = angle.sin_cos();
                [G + centrifugal * cos, centrifugal * sin]
            };
            let turned = |by: f64| {
                let [down, round] = sum(angle + by);
                libm::atan2(round, down)
            };
            let turning = (turned(1e-6) - turned(-1e-6)) / 2e-6 * speed;
            assert!(
                (pull.turning - turning).abs() < 1e-6 * (1.0 + turning.abs()),
                "{} {turning}",
                pull.turning
            );
            let [down, round] = sum(angle);
            let radial =
                (down * libm::cos(angle) + round * libm::sin(angle)) / libm::hypot(down, round);
            assert!(
                (pull.radial - radial).abs() < 1e-12,
                "{} {radial}",
                pull.radial
            );
        }
    }

    /// With nothing to pull along the bore, rolling and spin only turn into each other: 7/10 v^2 + 1/5 (r spin)^2 stays.
    #[test]
    fn spin_and_rolling_share_their_energy() {
        let mut marble = Leaving {
            spin: 30.0,
            along_m: 0.3,
            along_speed: 0.05,
            ..leaving(2.0, 3.0)
        };
        let energy =
            |m: &Leaving| 0.7 * m.along_speed.powi(2) + 0.2 * (m.marble_radius_m * m.spin).powi(2);
        let (before, spin) = (energy(&marble), marble.spin);
        let pull = Pull {
            radius_m: 0.12,
            along: 0.0,
            across: 9.0,
            outward: 0.5,
            turning: 4.0,
            radial: 0.9,
        };
        for _ in 0..3000 {
            marble.roll(&pull);
        }
        assert!(
            (marble.spin / spin - 1.0).abs() > 0.05,
            "{} rad/s",
            marble.spin
        );
        assert!(
            (energy(&marble) / before - 1.0).abs() < 1e-3,
            "{} of {before}",
            energy(&marble)
        );
    }

    /// Friction mu of a plate that presses by p turns a solid ball up by mu p r / (2/5 r^2), by the share of it that is square
    /// to the contact normal.
    #[test]
    fn a_plate_spins_a_marble_by_its_friction() {
        for radial in [1.0, 0.5] {
            let mut marble = leaving(6.0, 2.0);
            let pull = Pull {
                radius_m: 0.12,
                along: 3.0,
                across: 9.0,
                outward: 0.5,
                turning: 0.0,
                radial,
            };
            marble.rub(&pull);
            let expected =
                radial * SurfaceProperties::WOOD.sliding_friction * 3.0 / (0.4 * 0.007) * STEP_S;
            assert!(
                (marble.spin / expected - 1.0).abs() < 1e-9,
                "{} {expected}",
                marble.spin
            );
        }
    }
}
