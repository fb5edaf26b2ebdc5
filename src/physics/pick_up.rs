//! From the start ramp into a passing pocket: taken, missed or pinched?
//!
//! The head of the queue leans on the wheel's face. When the leading edge of a pocket has passed its foremost point it
//! starts to roll in, s = a t^2 / 2 with a = (5/7) g (sin t - c cos t). The trailing edge meets it once the pocket has
//! moved by
//!
//! L(s) = sqrt((D/2)^2 - o^2) + sqrt((D/2 - q)^2 - o^2),  q = sqrt(2 r s - s^2), at most r,
//!
//! o the height by which marble and pocket miss each other (misfit of the ramp, a pocket drilled off its circle). With
//! the centre just across the face (s = r, o = 0) that gives v0 = (D - d/2) sqrt(a/d), the free-fall capture law of
//! golf (B. W. Holmes, Am. J. Phys. 59, 1991) with the ramp's a in place of g.
//!
//! **Square wall.** The edge presses the marble to the corner of the leaving wall. Edge and corner hold it like a
//! nutcracker while the line between them is within twice the friction angle: from s = r (1 - sin 2 lambda) on,
//! tan lambda = mu. Less deep it is kicked back: a miss. Locked, it makes the wheel recoil, e times as fast as it came; the
//! drive brings it back, again and again, 2 e/(1 - e) v I/(T R) in all, I/T inertia over torque, and all the while the
//! marble rolls on. Deep enough by then (about the face, less what the gap gives), it is taken; else wheel and drive
//! decide: the marble is pushed through, or the drive stalls, a pinch. On a small pitch circle the same drive gives less
//! acceleration at the rim, so the recoil is longer and the wheel takes at a higher speed; so do a bigger bore, a
//! steeper ramp and a bigger marble, more than v0 tells.
//!
//! The edge first carries the marble across the play of the channel, further or less far as it stands: that smears the
//! limit, and a wider channel moves it up a little. A marble that stands too high is pressed down on the ramp and
//! profits the less from recoils; one too low is lifted free.
//!
//! **Relieved wall.** Nothing to wedge against: the edge carries the marble on, the queue behind keeps it from bouncing
//! back, and it rolls in meanwhile. Marbles can spill off the open side, so it needs a fence.
//!
//! Scatter of diameter, slope and pitch circle is summed over fixed nodes of the normal law.
//!
//! **Fitted.** Square wall: [`PUSH_THROUGH`], [`PULLED_IN`], [`CARRIED`], and the caps [`RECOIL_RADII`] and
//! [`PLAY_DIAMETERS`], to six measured rows and twenty-two further ones of the same kind (tests/truth/e2_pickup.csv and
//! e2_more.csv); they leave 5 % of scatter in the 70 % speed, 11 % at most. Relieved:
//! [`ROOM_DIAMETERS`] and [`ROOM_SPREAD`], to a single row. Restitution, friction, rolling resistance and the drive are
//! inputs. Left out: lean and drop of the marble over the end of the ramp, the tilt of the pocket (3 to 12 degrees make
//! no difference to the measured limits), a marble that arrives with speed, the stiffness of wood. Good for slopes of 2
//! to 9 degrees, bores of 1.2 to 1.5 diameters, marbles of 10 to 20 mm, pitch radii of 80 to 160 mm, gaps of 0.5 to 2 mm.

use std::f64::consts::SQRT_2;

use crate::physics::G;
use crate::physics::material::Surface;

/// How far past the face, as a share of r sin 2 lambda, a marble must be at the end of the recoils to be taken, with a gap
/// of 1 mm: 1 were edge, corner and drive rigid. Fitted.
pub const PUSH_THROUGH: f64 = 0.24;
/// Share of the locked marbles that end up in the pocket all the same. Fitted to the points inside the jam bands (0.03
/// to 0.58, no trend with speed): with another drive it may be any.
pub const PULLED_IN: f64 = 1.0 / 3.0;
/// Most that all recoils together give, in marble radii of rim travel: beyond it the wheel stands. Fitted.
pub const RECOIL_RADII: f64 = 0.8;
/// Share of the play of the channel on which the edge at best carries a marble along; at worst it loses the rest of it
/// to bouncing back. Fitted.
pub const CARRIED: f64 = 0.75;
/// Most play that counts, in diameters. Fitted.
pub const PLAY_DIAMETERS: f64 = 0.3;
/// Median way on which a relieved wall lets the edge carry a marble along, in diameters. Fitted to one row, whose relief
/// is not known in millimetres: where the guide starts decides, so a real machine may differ by half.
pub const ROOM_DIAMETERS: f64 = 1.1;
/// Spread of the logarithm of that way. Fitted to the same row.
pub const ROOM_SPREAD: f64 = 0.65;

/// The channel's wall on the side to which the pockets leave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wall {
    /// Runs square up to the wheel, and the guide goes on from it.
    Square,
    /// Stops short of the wheel; the guide starts further on, with a bevelled edge.
    Relieved,
}

/// A ramp at a pocket wheel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PickUp {
    /// Diameter of the marbles, mean, m, above 0.
    pub marble_m: f64,
    /// Its standard deviation from marble to marble, m.
    pub marble_sd_m: f64,
    /// Diameter of the pockets, m.
    pub bore_m: f64,
    /// Depth of the pockets, m.
    pub depth_m: f64,
    /// Radius of the pitch circle, m.
    pub pitch_radius_m: f64,
    /// Number of pockets, above 0.
    pub pockets: u32,
    /// Slope of the ramp, rad.
    pub slope_rad: f64,
    /// Its standard deviation from workmanship, rad.
    pub slope_sd_rad: f64,
    /// Rolling resistance, friction and restitution on ramp, wheel and wall.
    pub surface: Surface,
    /// Clear gap between the wheel's face and ramp, wall and guide, m.
    pub gap_m: f64,
    /// Clear width of the channel, m, at least the marble's diameter.
    pub channel_m: f64,
    /// Its wall on the leaving side.
    pub wall: Wall,
    /// Standard deviation of the pockets' distance from their pitch circle, m.
    pub off_circle_sd_m: f64,
    /// How much higher (or, negative, lower) the marble's centre stands at the face than the lowest pocket's, m.
    pub height_misfit_m: f64,
    /// Moment of inertia of wheel and drive over the greatest torque of the drive, s2: how long a recoil lasts.
    pub recoil_s2: f64,
}

/// Inertia over torque assumed where nothing is known, s2: 0.01 kg m2 and 0.5 N m, a plywood wheel on a small gearmotor.
pub const RECOIL_S2: f64 = 0.02;

/// Chances for one passing pocket with a marble waiting; they add up to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chances {
    /// The pocket takes the marble.
    pub take: f64,
    /// The marble is kicked back, or had not begun to roll in.
    pub miss: f64,
    /// The marble is wedged between wheel and wall and stalls the drive.
    pub pinch: f64,
}

/// One pocket and one marble, without scatter but for the play.
struct Pair {
    radius_m: f64,
    acceleration: f64,
    offset_m: f64,
}

/// Nodes (in standard deviations) and weights for a normal law: `count` even steps over 2.8 standard deviations either
/// side; a single node where there is no scatter.
fn normal_nodes(count: u32, sd: f64) -> Vec<(f64, f64)> {
    if sd <= 0.0 {
        return vec![(0.0, 1.0)];
    }
    let node = |i| -2.8 + 5.6 * (f64::from(i) + 0.5) / f64::from(count);
    let density = |z: f64| libm::exp(-z * z / 2.0);
    let total: f64 = (0..count).map(|i| density(node(i))).sum();
    (0..count).map(|i| (node(i), density(node(i)) / total)).collect()
}

impl Pair {
    /// How far the pocket moves until its trailing edge meets the marble at a sink, m; `None` if it cannot get there.
    fn passage_m(&self, bore_m: f64, sink_m: f64) -> Option<f64> {
        let (r, half, o2) = (self.radius_m, bore_m / 2.0, self.offset_m * self.offset_m);
        let s = sink_m.min(r);
        let left = half - (2.0 * r * s - s * s).max(0.0).sqrt();
        (left >= 0.0 && left * left >= o2).then(|| (half * half - o2).sqrt() + (left * left - o2).sqrt())
    }

    /// Time to roll in by a sink from rest, s; `None` if the slope does not move it.
    fn rolled_s(&self, sink_m: f64) -> Option<f64> {
        (self.acceleration > 0.0).then(|| (2.0 * sink_m.max(0.0) / self.acceleration).sqrt())
    }

    /// Way that play or relief must give so that the marble is in by a sink at a rim speed, m.
    fn lacking_m(&self, bore_m: f64, sink_m: f64, speed_m_s: f64) -> Option<f64> {
        Some(speed_m_s * self.rolled_s(sink_m)? - self.passage_m(bore_m, sink_m)?)
    }
}

impl PickUp {
    /// Acceleration down the ramp, m/s2: (5/7) g (sin t - c cos t), c lever arm over radius.
    fn acceleration_at(&self, radius_m: f64, slope_rad: f64) -> f64 {
        let resistance = self.surface.rolling_lever_m / radius_m;
        5.0 / 7.0 * G * (libm::sin(slope_rad) - resistance * libm::cos(slope_rad))
    }

    /// Rim speed at which the centre of a marble just crosses the face before the trailing edge comes, m/s:
    /// v0 = (D - d/2) sqrt(a/d); 0 if it does not fit or does not roll.
    pub fn face_speed_m_s(&self) -> f64 {
        self.sink_speed_m_s(self.marble_m / 2.0)
    }

    /// Rim speed up to which a marble sinks by `sink_m` before the trailing edge comes, m/s:
    /// (D - sqrt(2 r s - s^2)) / sqrt(2 s/a); for no sink at all, any speed.
    pub fn sink_speed_m_s(&self, sink_m: f64) -> f64 {
        let pair = self.pair(0.0, 0.0, 0.0);
        match (pair.passage_m(self.bore_m, sink_m), pair.rolled_s(sink_m)) {
            (Some(passage), Some(time)) => passage / time,
            _ => 0.0,
        }
    }

    /// Time for the next marble to roll up by one diameter, s; `None` if it does not roll. A lower bound: marbles in a
    /// queue rub against each other.
    pub fn refill_s(&self) -> Option<f64> {
        self.pair(0.0, 0.0, 0.0).rolled_s(self.marble_m)
    }

    /// Marble and pocket so many standard deviations off in diameter, slope and pitch circle.
    fn pair(&self, diameter_z: f64, slope_z: f64, circle_z: f64) -> Pair {
        let radius_m = (self.marble_m + diameter_z * self.marble_sd_m) / 2.0;
        let slope = self.slope_rad + slope_z * self.slope_sd_rad;
        Pair {
            radius_m,
            acceleration: self.acceleration_at(radius_m, slope),
            offset_m: self.height_misfit_m + circle_z * self.off_circle_sd_m,
        }
    }

    /// sin 2 lambda = 2 mu/(1 + mu^2): half-width of the locked range in radii; 1 for mu above 1.
    fn locking(&self) -> f64 {
        let mu = self.surface.sliding_friction.min(1.0);
        2.0 * mu / (1.0 + mu * mu)
    }

    /// Sink from which a marble of this radius goes in, m: a pocket must be at least so deep.
    pub fn in_sink_m(&self, radius_m: f64) -> f64 {
        match self.wall {
            Wall::Square => radius_m * (1.0 + PUSH_THROUGH * self.locking()) + FACE_GAP_M - self.gap_m,
            Wall::Relieved => radius_m,
        }
    }

    /// Rim travel for which the recoils of the wheel make up, m: the sum of 2 e^n v I/(T R) over all bounces, times v.
    fn recoil_m(&self, pair: &Pair, speed_m_s: f64) -> f64 {
        let clearance = (self.bore_m / 2.0 - pair.radius_m).max(1e-9);
        let pressed_down = (pair.offset_m / clearance).clamp(0.0, 1.0);
        let e = self.surface.restitution.clamp(0.0, 0.99);
        let first = speed_m_s * speed_m_s * self.recoil_s2 / self.pitch_radius_m;
        (2.0 * e / (1.0 - e) * first).min(RECOIL_RADII * pair.radius_m) * (1.0 - pressed_down)
    }

    /// Chance that the way lacking is there.
    fn way_there(&self, lacking_m: Option<f64>, radius_m: f64) -> f64 {
        let Some(lacking) = lacking_m else { return 0.0 };
        let diameter = 2.0 * radius_m;
        match self.wall {
            Wall::Square => {
                let play = self.channel_m - diameter;
                let counts = play.clamp(0.02 * diameter, PLAY_DIAMETERS * diameter);
                (CARRIED - lacking / counts).clamp(0.0, 1.0)
            }
            Wall::Relieved if lacking <= 0.0 => 1.0,
            Wall::Relieved => {
                let room = lacking / (diameter * ROOM_DIAMETERS);
                0.5 * libm::erfc(libm::log(room) / ROOM_SPREAD / SQRT_2)
            }
        }
    }

    /// Chances for one pair: in deep enough, and at least deep enough to lock.
    fn pair_chances(&self, pair: &Pair, speed_m_s: f64) -> Chances {
        let r = pair.radius_m;
        let in_sink = self.in_sink_m(r);
        if in_sink > self.depth_m || r >= self.channel_m / 2.0 {
            return Chances { take: 0.0, miss: 1.0, pinch: 0.0 };
        }
        let recoil = if self.wall == Wall::Square { self.recoil_m(pair, speed_m_s) } else { 0.0 };
        let lacking = pair.lacking_m(self.bore_m, in_sink, speed_m_s).map(|x| x - recoil);
        let deep = self.way_there(lacking, r);
        let locked = match self.wall {
            Wall::Relieved => 0.0,
            Wall::Square => {
                let sink = r * (1.0 - self.locking());
                let lacking = pair.lacking_m(self.bore_m, sink, speed_m_s);
                (self.way_there(lacking, r) - deep).max(0.0)
            }
        };
        let fits = pair.passage_m(self.bore_m, in_sink).is_some();
        let pulled = if fits { PULLED_IN * locked } else { 0.0 };
        let (take, pinch) = (deep + pulled, locked - pulled);
        Chances { take, miss: 1.0 - take - pinch, pinch }
    }

    /// Chances for one pocket that passes a waiting marble at a rim speed (at the pitch circle, m/s, above 0).
    pub fn chances(&self, speed_m_s: f64) -> Chances {
        let mut sum = Chances { take: 0.0, miss: 0.0, pinch: 0.0 };
        let slopes = normal_nodes(7, self.slope_sd_rad);
        let circles = normal_nodes(14, self.off_circle_sd_m);
        for (diameter, weight_d) in normal_nodes(7, self.marble_sd_m) {
            for &(slope, weight_s) in &slopes {
                for &(circle, weight_c) in &circles {
                    let weight = weight_d * weight_s * weight_c;
                    let one = self.pair_chances(&self.pair(diameter, slope, circle), speed_m_s);
                    sum.take += weight * one.take;
                    sum.miss += weight * one.miss;
                    sum.pinch += weight * one.pinch;
                }
            }
        }
        sum
    }

    /// Rim speed at which the chance to take falls through a target, m/s; `None` if it is below it at any speed.
    pub fn speed_for_take(&self, target: f64) -> Option<f64> {
        let scale = self.scan_scale();
        let enough = |speed: f64| self.chances(speed).take >= target;
        if !enough(scale * 1e-3) {
            return None;
        }
        let first = (1..=SCAN).map(|i| scale * f64::from(i)).find(|&v| !enough(v))?;
        Some(bisect((first - scale).max(scale * 1e-3), first, enough))
    }

    /// Rim speeds between which the chance of a pinch is above 0.3, m/s: there the outcome depends on the drive.
    /// `None` if there is no such band.
    pub fn jam_band_m_s(&self) -> Option<(f64, f64)> {
        let scale = self.scan_scale();
        let jams = |speed: f64| self.chances(speed).pinch > 0.3;
        let inside: Vec<u32> = (1..=SCAN).filter(|&i| jams(scale * f64::from(i))).collect();
        let (first, last) = (f64::from(*inside.first()?), f64::from(*inside.last()?));
        let low = bisect(scale * (first - 1.0), scale * first, |v| !jams(v));
        Some((low, bisect(scale * last, scale * (last + 1.0), jams)))
    }

    /// Step of the search for limits, m/s.
    fn scan_scale(&self) -> f64 {
        (self.face_speed_m_s() / 20.0).max(1e-4)
    }
}

/// The gap at which [`PUSH_THROUGH`] counts from the face.
const FACE_GAP_M: f64 = 0.001;
const SCAN: u32 = 160;

/// Where a condition that holds at `low` stops holding on the way to `high`.
fn bisect(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if holds(middle) { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}
