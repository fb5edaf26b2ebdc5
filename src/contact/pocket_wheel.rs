//! The turning pocket wheel: a face with blind, tilted pockets on one pitch circle.
//!
//! The axle lies along x through the origin, the face is the plane x = 0 and the wheel's body lies beyond it; the lowest
//! point moves towards +y. A pocket's axis leans outwards going in. A sphere meets the face, the mouth's edge (an
//! ellipse), the bore or the bottom: exact shapes, no facets.

use std::f64::consts::TAU;

use super::surface::NearestPoint;
use super::vector::{Vector, vector};

/// Dimensions of a pocket wheel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WheelDimensions {
    /// Radius of the pitch circle, m.
    pub pitch_radius_m: f64,
    /// Number of pockets.
    pub pockets: u32,
    /// Diameter of the bores, m.
    pub bore_m: f64,
    /// Depth along the bore, m.
    pub depth_m: f64,
    /// Tilt of the bores, rad.
    pub tilt_rad: f64,
}

/// What turns the wheel: a torque that falls on a line from its greatest to nothing at the speed it is set to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TorqueLine {
    /// Speed it is set to, rad/s.
    pub speed_rad_s: f64,
    /// Greatest torque at the wheel's axle, either way, N m.
    pub torque_n_m: f64,
    /// Torque for each rad/s that is lacking, N m s.
    pub gain_n_m_s: f64,
    /// Moment of inertia of wheel and drive at the wheel's axle, kg m2.
    pub inertia_kg_m2: f64,
}

/// A wheel that turns.
#[derive(Clone, Debug)]
pub struct TurningWheel {
    shape: WheelDimensions,
    drive: TorqueLine,
    /// Directions of the pockets at angle 0, as (cosine, sine) from +y towards +z.
    directions: Vec<(f64, f64)>,
    tilt: (f64, f64),
    half_pitch: (f64, f64),
    turned: (f64, f64),
    /// Angle turned, rad.
    pub angle: f64,
    /// Speed, rad/s.
    pub speed: f64,
    /// Way that any point of it has gone so far, never less than the true one, m.
    pub way: f64,
    furthest: f64,
}

/// A place as one pocket sees it: along the axle, outwards and sideways from the middle of its mouth.
#[derive(Clone, Copy, Debug)]
pub struct AtPocket {
    /// Number of the pocket.
    pub pocket: usize,
    axis: (f64, f64),
    inward: f64,
    outward: f64,
    sideways: f64,
}

impl TurningWheel {
    /// A wheel at rest at angle 0.
    pub fn new(shape: WheelDimensions, drive: TorqueLine) -> TurningWheel {
        let pitch = TAU / f64::from(shape.pockets);
        let at = |angle: f64| (libm::cos(angle), libm::sin(angle));
        TurningWheel {
            shape,
            drive,
            directions: (0..shape.pockets)
                .map(|j| at(pitch * f64::from(j)))
                .collect(),
            tilt: at(shape.tilt_rad),
            half_pitch: at(pitch / 2.0),
            turned: (1.0, 0.0),
            angle: 0.0,
            speed: 0.0,
            way: 0.0,
            furthest: shape.pitch_radius_m + shape.bore_m + shape.depth_m,
        }
    }

    /// Its dimensions.
    pub fn shape(&self) -> &WheelDimensions {
        &self.shape
    }

    /// Sets its angle, rad.
    pub fn turn_to(&mut self, angle: f64) {
        self.angle = angle;
        self.turned = (libm::cos(angle), libm::sin(angle));
    }

    /// One step under a torque of what touches it (N m).
    pub fn step(&mut self, torque: f64, step_s: f64) {
        let TorqueLine {
            speed_rad_s,
            torque_n_m,
            gain_n_m_s,
            inertia_kg_m2,
        } = self.drive;
        // Taken at the end of the step, so that a stiff drive on a light wheel cannot shake itself.
        let asked = gain_n_m_s * (speed_rad_s - self.speed - torque * step_s / inertia_kg_m2)
            / (1.0 + gain_n_m_s * step_s / inertia_kg_m2);
        let driving = asked.clamp(-torque_n_m, torque_n_m);
        self.speed += (driving + torque) / inertia_kg_m2 * step_s;
        let by = self.speed * step_s;
        self.angle += by;
        self.way += by.abs() * self.furthest;
        let (c, s) = self.turned;
        let half = by / 2.0;
        let scale = 1.0 / (1.0 + half * half);
        let (dc, ds) = ((1.0 - half * half) * scale, by * scale);
        self.turned = (c * dc - s * ds, s * dc + c * ds);
    }

    /// Keeps rounding from growing in the turned direction.
    pub fn tidy(&mut self) {
        let (c, s) = self.turned;
        let scale = 1.0 / (c * c + s * s).sqrt();
        self.turned = (c * scale, s * scale);
    }

    /// The pocket whose sector holds a place, looked for from a pocket known to be close.
    #[inline]
    pub fn at_pocket(&self, place: Vector, from: usize) -> AtPocket {
        let (c, s) = self.turned;
        let (y, z) = (place.y * c + place.z * s, place.z * c - place.y * s);
        let (mut pocket, n) = (from, self.directions.len());
        let mut tries = 0;
        loop {
            let (dc, ds) = self.directions[pocket];
            let (radial, sideways) = (y * dc + z * ds, z * dc - y * ds);
            // A hair of room, so that rounding cannot send a place on the border to and fro.
            let edge = radial * self.half_pitch.1 + 1e-12;
            if (radial > 0.0 && sideways.abs() * self.half_pitch.0 <= edge) || tries == n {
                let axis = (c * dc - s * ds, s * dc + c * ds);
                let outward = radial - self.shape.pitch_radius_m;
                return AtPocket {
                    pocket,
                    axis,
                    inward: place.x,
                    outward,
                    sideways,
                };
            }
            tries += 1;
            pocket = if sideways >= 0.0 {
                (pocket + 1) % n
            } else {
                (pocket + n - 1) % n
            };
        }
    }

    /// Depth of a sphere's middle along a pocket's bore, and its distance from the bore's axis, m.
    pub fn in_bore(&self, at: &AtPocket) -> (f64, f64) {
        let (depth, _, off) = self.off_axis(at);
        (depth, off)
    }

    fn off_axis(&self, at: &AtPocket) -> (f64, (f64, f64, f64), f64) {
        let (ca, sa) = self.tilt;
        let depth = at.inward * ca + at.outward * sa;
        let off = (at.inward - depth * ca, at.outward - depth * sa, at.sideways);
        (
            depth,
            off,
            (off.0 * off.0 + off.1 * off.1 + off.2 * off.2).sqrt(),
        )
    }

    /// The nearest point of face, edge or bore; and of the bottom, if it can be the nearer.
    #[inline]
    pub fn near(&self, at: &AtPocket) -> (NearestPoint, Option<NearestPoint>) {
        let (ca, sa) = self.tilt;
        let bore = self.shape.bore_m / 2.0;
        let semi = bore / ca;
        let (u, v) = (at.outward / semi, at.sideways / bore);
        if at.inward <= 0.0 && u * u + v * v >= 1.0 {
            return (
                NearestPoint {
                    normal: vector(-1.0, 0.0, 0.0),
                    distance: -at.inward,
                },
                None,
            );
        }
        let (depth, off, distance) = self.off_axis(at);
        let bottom = self.turned_near(at, (-ca, -sa, 0.0), self.shape.depth_m - depth);
        if distance < 1e-9 {
            return (
                NearestPoint {
                    distance: bore,
                    ..bottom
                },
                Some(bottom),
            );
        }
        let scale = 1.0 / distance;
        if depth * ca + bore * off.0 * scale < 0.0 {
            return (
                self.edge(at, (semi, bore)),
                (distance < bore).then_some(bottom),
            );
        }
        (
            self.turned_near(
                at,
                (-off.0 * scale, -off.1 * scale, -off.2 * scale),
                bore - distance,
            ),
            Some(bottom),
        )
    }

    /// The nearest point of the mouth's edge: Newton's method on the ellipse, on cosine and sine themselves.
    #[inline]
    fn edge(&self, at: &AtPocket, (semi, bore): (f64, f64)) -> NearestPoint {
        let (u, v) = (at.outward, at.sideways);
        let (p, q) = (u / semi, v / bore);
        let scale = 1.0 / (p * p + q * q).sqrt().max(1e-12);
        let (mut c, mut s) = (p * scale, q * scale);
        for _ in 0..3 {
            let (ex, ey) = (semi * c - u, bore * s - v);
            let slope = bore * c * ey - semi * s * ex;
            let curve = semi * semi * s * s + bore * bore * c * c - semi * c * ex - bore * s * ey;
            if curve <= 0.0 {
                break;
            }
            let by = -slope / curve;
            let (nc, ns) = (c - s * by, s + c * by);
            // The tilt is slight and the ellipse nearly round: the last steps are too small to need a root.
            if by * by < 1e-9 {
                (c, s) = (nc, ns);
                break;
            }
            let scale = 1.0 / (nc * nc + ns * ns).sqrt();
            (c, s) = (nc * scale, ns * scale);
        }
        let away = (at.inward, u - semi * c, v - bore * s);
        let distance = (away.0 * away.0 + away.1 * away.1 + away.2 * away.2).sqrt();
        let scale = 1.0 / distance.max(1e-12);
        self.turned_near(
            at,
            (away.0 * scale, away.1 * scale, away.2 * scale),
            distance,
        )
    }

    /// From a pocket's directions to the room's.
    #[inline]
    fn turned_near(&self, at: &AtPocket, n: (f64, f64, f64), distance: f64) -> NearestPoint {
        let (c, s) = at.axis;
        NearestPoint {
            normal: vector(n.0, n.1 * c - n.2 * s, n.1 * s + n.2 * c),
            distance,
        }
    }
}
