//! A marble swirling in a shallow bowl until a hole takes it.
//!
//! The centre of a ball that rolls without spin about the normal moves like a particle on the offset surface with
//! gravity (5/7) g, held back by (5/7) (lever/r) N/m, N the normal force: weight across the slope plus what the curve
//! of the path presses. That is integrated from the entry to the hole that takes the marble; the crossing of a hole is
//! in [`crate::physics::bowl_hole`]. A circular orbit of radius rho on slope alpha then has v^2 = (5/7) g rho tan alpha.
//!
//! Valid while friction holds the ball to rolling (steep rims slip) and for one marble at a time; marbles in company
//! are in [`crate::physics::bowl_crowd`]. Spin about the normal, bouncing on entry and the lean of the marble over the
//! edge of a hole it only grazes are left out. No constant was fitted.

use std::f64::consts::TAU;

use crate::physics::G;
use crate::physics::bowl_hole::{self, Crossing};
use crate::physics::material::{Marble, SurfaceProperties};

/// The hollow of a bowl, part of a sphere.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hollow {
    /// Width across the rim, m.
    pub width_m: f64,
    /// Depth in the middle, m, above 0, at most half the width.
    pub depth_m: f64,
}

/// A hole in a bowl.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    /// Where it stands, rad, counted from the entry in the sense of the swirl.
    pub azimuth_rad: f64,
    /// Distance of its centre from the axis of the bowl, m.
    pub circle_m: f64,
    /// Its diameter, m.
    pub diameter_m: f64,
}

/// A bowl with its holes.
#[derive(Clone, Debug, PartialEq)]
pub struct BowlSurface {
    /// The hollow.
    pub hollow: Hollow,
    /// Its holes.
    pub holes: Vec<Hole>,
    /// How the marble rolls and bounces on it.
    pub surface: SurfaceProperties,
}

/// How a marble comes in, along the rim.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BowlEntry {
    /// Speed, m/s, above 0.
    pub speed_m_s: f64,
    /// How far inside the rim it touches the bowl, m.
    pub inset_m: f64,
}

/// One marble's way through a bowl.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swirl {
    /// From the entry to the fall through the hole, s.
    pub dwell_s: f64,
    /// Speed at which the hole took it, m/s.
    pub speed_m_s: f64,
    /// Which hole, counted from 0.
    pub hole: usize,
}

/// Mean and standard deviation of the dwell of marbles that come one at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dwell {
    /// Mean, s.
    pub mean_s: f64,
    /// Standard deviation, s.
    pub sd_s: f64,
}

const STEP_S: f64 = 1e-3;
/// A marble still swirling after this long is taken for one that stays.
const LONGEST_S: f64 = 300.0;
/// Entries tried round the rim: the holes stand differently to each.
const AZIMUTHS: usize = 24;

impl Hollow {
    /// Slope at a distance from the axis, rad.
    pub fn slope_rad(&self, radius_m: f64) -> f64 {
        libm::asin((radius_m / self.sphere_m()).min(1.0))
    }

    /// Radius of the sphere it is cut from, m.
    fn sphere_m(&self) -> f64 {
        (self.width_m * self.width_m / 4.0 + self.depth_m * self.depth_m) / (2.0 * self.depth_m)
    }
}

/// Speed of a circular orbit of the marble's centre, m/s: v^2 = (5/7) g rho tan alpha for a ball that rolls without spin
/// about the normal (own derivation from Newton and Euler), 15.5 % below that of a sliding point.
pub fn orbit_speed_m_s(radius_m: f64, slope_rad: f64) -> f64 {
    (5.0 / 7.0 * G * radius_m * libm::tan(slope_rad)).sqrt()
}

/// `count` equal holes evenly round a circle.
pub fn even_holes(count: usize, circle_m: f64, diameter_m: f64) -> Vec<Hole> {
    (0..count)
        .map(|k| Hole {
            azimuth_rad: TAU * k as f64 / count as f64,
            circle_m,
            diameter_m,
        })
        .collect()
}

type StateVector = [f64; 3];

fn dot(a: StateVector, b: StateVector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn plus(a: StateVector, scale: f64, b: StateVector) -> StateVector {
    [
        a[0] + scale * b[0],
        a[1] + scale * b[1],
        a[2] + scale * b[2],
    ]
}

/// The offset surface on which the centre moves, and what acts there.
struct Path<'a> {
    bowl: &'a BowlSurface,
    radius_m: f64,
    sphere_m: f64,
}

/// Centre and velocity; heights count from the centre of the sphere.
#[derive(Clone, Copy)]
struct State {
    at: StateVector,
    velocity: StateVector,
}

impl State {
    fn speed(&self) -> f64 {
        dot(self.velocity, self.velocity).sqrt()
    }
}

impl Path<'_> {
    /// Inward normal of the surface at a centre.
    fn normal(&self, at: StateVector) -> StateVector {
        let length = self.sphere_m - self.radius_m;
        [-at[0] / length, -at[1] / length, -at[2] / length]
    }

    /// How strongly the path's own curve presses, N per kg.
    fn curve(&self, state: State) -> f64 {
        dot(state.velocity, state.velocity) / (self.sphere_m - self.radius_m)
    }

    /// Acceleration of the centre, and the normal force per kg.
    fn forces(&self, state: State) -> (StateVector, f64) {
        let normal = self.normal(state.at);
        let curve = self.curve(state);
        let press = (curve + G * normal[2]).max(0.0);
        let speed = dot(state.velocity, state.velocity).sqrt().max(1e-9);
        let down = plus([0.0, 0.0, -G], G * normal[2], normal);
        let brake = self.bowl.surface.rolling_lever_m / self.radius_m * press / speed;
        let along = plus(down, -brake, state.velocity);
        let share = [
            5.0 / 7.0 * along[0],
            5.0 / 7.0 * along[1],
            5.0 / 7.0 * along[2],
        ];
        (plus(share, curve, normal), press)
    }

    /// Midpoint step, put back on the surface.
    fn step(&self, state: State) -> State {
        let (first, _) = self.forces(state);
        let middle = State {
            at: plus(state.at, STEP_S / 2.0, state.velocity),
            velocity: plus(state.velocity, STEP_S / 2.0, first),
        };
        let (second, _) = self.forces(middle);
        let at = self.onto(plus(state.at, STEP_S, middle.velocity));
        let velocity = plus(state.velocity, STEP_S, second);
        let normal = self.normal(at);
        State {
            at,
            velocity: plus(velocity, -dot(velocity, normal), normal),
        }
    }

    /// The place on the sphere that is nearest.
    fn onto(&self, at: StateVector) -> StateVector {
        let scale = (self.sphere_m - self.radius_m) / dot(at, at).sqrt();
        [at[0] * scale, at[1] * scale, at[2] * scale]
    }

    /// Where the marble touches, seen from above.
    fn contact(&self, at: StateVector) -> [f64; 2] {
        let normal = self.normal(at);
        [
            at[0] - self.radius_m * normal[0],
            at[1] - self.radius_m * normal[1],
        ]
    }

    /// Speed left after a pass over a hole, `None` if the hole takes the marble.
    fn cross(&self, state: State, crossing: Crossing) -> Option<f64> {
        let (_, press_m_s2) = self.forces(state);
        let crossing = Crossing {
            speed_m_s: state.speed(),
            press_m_s2,
            ..crossing
        };
        crossing.outcome(self.radius_m, self.bowl.surface.restitution)
    }

    /// Too slow and too near the middle for the slope to beat rolling resistance?
    fn rests(&self, state: State) -> bool {
        let slope = libm::acos(self.normal(state.at)[2].min(1.0));
        let least = libm::atan(self.bowl.surface.rolling_lever_m / self.radius_m);
        state.speed() < 1e-3 && slope < 1.5 * least
    }

    fn start(&self, entry: BowlEntry) -> State {
        let touch = self.bowl.hollow.width_m / 2.0 - entry.inset_m;
        let rho = touch - self.radius_m * libm::sin(self.bowl.hollow.slope_rad(touch));
        let length = self.sphere_m - self.radius_m;
        let z = -(length * length - rho * rho).max(0.0).sqrt();
        State {
            at: self.onto([rho, 0.0, z]),
            velocity: [0.0, entry.speed_m_s, 0.0],
        }
    }
}

/// Follows one marble through a bowl whose holes are turned on by `turn_rad`; `None` if it comes to rest beside them.
pub fn swirl(
    bowl: &BowlSurface,
    marble: &Marble,
    entry: BowlEntry,
    turn_rad: f64,
) -> Option<Swirl> {
    let path = Path {
        bowl,
        radius_m: marble.radius_m(),
        sphere_m: bowl.hollow.sphere_m(),
    };
    let holes = bowl_hole::placed(&bowl.holes, turn_rad);
    let mut state = path.start(entry);
    let (mut crossed, mut leave_by_s) = (None, 0.0);
    for step in 0..(LONGEST_S / STEP_S) as usize {
        state = path.step(state);
        let contact = path.contact(state.at);
        match bowl_hole::reached(&holes, contact, state.velocity) {
            Some(over) if crossed != Some(over.hole) => {
                crossed = Some(over.hole);
                let speed_m_s = state.speed();
                let over_s = Crossing {
                    speed_m_s,
                    ..over.crossing
                }
                .time_s();
                leave_by_s = step as f64 * STEP_S + 2.0 * over_s + STEP_S;
                let Some(left) = path.cross(state, over.crossing) else {
                    return Some(Swirl {
                        dwell_s: step as f64 * STEP_S,
                        speed_m_s,
                        hole: over.hole,
                    });
                };
                state.velocity = plus([0.0; 3], left / speed_m_s.max(1e-9), state.velocity);
            }
            _ if crossed.is_some_and(|hole| holes[hole].under(contact)) => {
                // A path that never leaves the hole again ends in it.
                if step as f64 * STEP_S > leave_by_s {
                    return crossed.map(|hole| Swirl {
                        dwell_s: step as f64 * STEP_S,
                        speed_m_s: state.speed(),
                        hole,
                    });
                }
            }
            _ => {
                crossed = None;
                if path.rests(state) {
                    return None;
                }
            }
        }
    }
    None
}

/// [`swirl`] from 24 places round the rim, with the place of entry against the holes; marbles that come to rest are
/// left out. With equal holes evenly spaced each takes its equal share.
pub fn swirls(bowl: &BowlSurface, marble: &Marble, entry: BowlEntry) -> Vec<Swirl> {
    (0..AZIMUTHS)
        .filter_map(|k| {
            swirl(
                bowl,
                marble,
                entry,
                TAU * (k as f64 + 0.5) / AZIMUTHS as f64,
            )
        })
        .collect()
}

/// Mean and spread of the dwell when the entry speed scatters by `speed_sd_m_s` (three Gauss-Hermite points) and the
/// marble enters anywhere against the holes; `None` if no marble reaches a hole.
pub fn dwell(
    bowl: &BowlSurface,
    marble: &Marble,
    entry: BowlEntry,
    speed_sd_m_s: f64,
) -> Option<Dwell> {
    let (mut weight, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for (z, share) in [
        (0.0, 2.0 / 3.0),
        (-3f64.sqrt(), 1.0 / 6.0),
        (3f64.sqrt(), 1.0 / 6.0),
    ] {
        let speed_m_s = (entry.speed_m_s + z * speed_sd_m_s).max(1e-3);
        let runs = swirls(bowl, marble, BowlEntry { speed_m_s, ..entry });
        for run in &runs {
            let each = share / runs.len() as f64;
            weight += each;
            sum += each * run.dwell_s;
            squares += each * run.dwell_s * run.dwell_s;
        }
    }
    if weight == 0.0 {
        return None;
    }
    let mean_s = sum / weight;
    Some(Dwell {
        mean_s,
        sd_s: (squares / weight - mean_s * mean_s).max(0.0).sqrt(),
    })
}
