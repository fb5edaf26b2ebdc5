//! A solid ball among flat walls, stepped through time: it flies, bounces, slides and rolls.
//!
//! Newton and Euler with impulses at each contact: restitution along the normal, Coulomb friction across it, a moment
//! of lever arm times normal force against rolling and against drilling. Contacts are solved together by a fixed number
//! of sweeps at most, so the result is the same bits everywhere. Mass drops out and is taken as 1.
//!
//! A ball that flies or lies and has nothing to run into takes long steps, which spares four fifths of the work.

use crate::physics::G;
use crate::physics::material::SurfaceProperties;

/// A vector, SI, z up.
pub type Vector3 = [f64; 3];

/// Scalar product.
pub fn dot(a: Vector3, b: Vector3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// a + scale b.
pub fn plus(a: Vector3, scale: f64, b: Vector3) -> Vector3 {
    [
        a[0] + scale * b[0],
        a[1] + scale * b[1],
        a[2] + scale * b[2],
    ]
}

/// Vector product.
pub fn cross(a: Vector3, b: Vector3) -> Vector3 {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

fn length(a: Vector3) -> f64 {
    dot(a, a).sqrt()
}

/// a, shortened to a length if it is longer.
fn within(a: Vector3, most: f64) -> Vector3 {
    let square = dot(a, a);
    if square <= most * most {
        a
    } else {
        plus([0.0; 3], most / square.sqrt(), a)
    }
}

/// A ball.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RollingBall {
    /// Radius, m.
    pub radius_m: f64,
    /// Centre, m.
    pub centre: Vector3,
    /// Velocity of the centre, m/s.
    pub velocity: Vector3,
    /// Angular velocity, rad/s.
    pub spin: Vector3,
}

/// A place where something stands close to the ball.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Obstacle {
    /// Unit vector from it to the centre of the ball.
    pub normal: Vector3,
    /// Free space between them, m; negative where they overlap.
    pub gap_m: f64,
}

impl Obstacle {
    /// Whether it can take part in a step in which the ball has this velocity.
    fn touches(&self, velocity: Vector3, step_s: f64) -> bool {
        self.gap_m + dot(velocity, self.normal) * step_s < 0.0
    }
}

/// A contact with the impulses it has given so far.
struct Contact {
    near: Obstacle,
    approach: f64,
    push: f64,
    rub: Vector3,
    moment: Vector3,
    drill: f64,
}

/// A long step in short ones.
const LONG: f64 = 10.0;
/// It rests on what is this close and from which it moves no faster.
const CLOSE_M: f64 = 1e-5;
const SLOW_M_S: f64 = 2e-3;
/// Sweeps over the contacts, and the change in one below which the next is left out.
const SWEEPS: usize = 6;
const SETTLED_M_S: f64 = 1e-8;
/// Share of an overlap put right in one step.
const REPAIR: f64 = 0.2;

impl RollingBall {
    /// Velocity of the ball's surface at a contact, m/s.
    fn rubbing(&self, normal: Vector3) -> Vector3 {
        let slip = plus(self.velocity, -self.radius_m, cross(self.spin, normal));
        plus(slip, -dot(slip, normal), normal)
    }

    /// Whether the ball flies or lies and can reach nothing else within `step_s`.
    fn is_calm<const N: usize>(&self, near: &[Obstacle; N], step_s: f64) -> bool {
        let speed = length(self.velocity);
        let rests =
            |n: &Obstacle| n.gap_m < CLOSE_M && dot(self.velocity, n.normal).abs() < SLOW_M_S;
        let gain = if near.iter().any(rests) {
            0.0
        } else {
            G * step_s
        };
        // A board goes on as it is here; of upright things, another may be nearest a little further on.
        let closing = |n: &Obstacle| {
            if n.normal[2] > 0.0 {
                gain - dot(self.velocity, n.normal)
            } else {
                speed
            }
        };
        near.iter()
            .all(|n| rests(n) || n.gap_m > closing(n) * step_s)
    }

    /// Moves the ball on among what is near it, by `short_s` or a longer step, which it returns; `surface` holds for every
    /// contact.
    pub fn step<const N: usize>(
        &mut self,
        near: &[Obstacle; N],
        surface: &SurfaceProperties,
        short_s: f64,
    ) -> f64 {
        let calm = self.is_calm(near, LONG * short_s);
        let step_s = if calm { LONG * short_s } else { short_s };
        let before = self.velocity;
        self.velocity[2] -= G * step_s;
        if near.iter().any(|n| n.touches(self.velocity, step_s)) {
            self.meet(near, surface, step_s);
        }
        // A blow takes effect at once; without one the velocity changes evenly over the step.
        let after = if calm {
            plus(before, 1.0, self.velocity).map(|v| v / 2.0)
        } else {
            self.velocity
        };
        self.centre = plus(self.centre, step_s, after);
        step_s
    }

    /// Finds the impulses that what it touches gives it.
    fn meet<const N: usize>(
        &mut self,
        near: &[Obstacle; N],
        surface: &SurfaceProperties,
        step_s: f64,
    ) {
        let contact = |n: &Obstacle| Contact {
            near: *n,
            approach: dot(self.velocity, n.normal),
            push: 0.0,
            rub: [0.0; 3],
            moment: [0.0; 3],
            drill: 0.0,
        };
        let mut contacts = near
            .each_ref()
            .map(|n| n.touches(self.velocity, step_s).then(|| contact(n)));
        for _ in 0..SWEEPS {
            let before = *self;
            for contact in contacts.iter_mut().flatten() {
                self.press(contact, surface, step_s);
                self.rub(contact, surface);
                self.resist(contact, surface);
            }
            let change = length(plus(self.velocity, -1.0, before.velocity));
            let turn = length(plus(self.spin, -1.0, before.spin));
            if change + turn * self.radius_m < SETTLED_M_S {
                return;
            }
        }
    }

    /// Normal impulse: rebound from a blow, else no deeper than touching.
    fn press(&mut self, contact: &mut Contact, surface: &SurfaceProperties, step_s: f64) {
        let Obstacle { normal, gap_m } = contact.near;
        let blow = -contact.approach > 2.0 * G * step_s;
        let rebound = if blow {
            -surface.restitution * contact.approach
        } else {
            0.0
        };
        let allowed = if gap_m > 0.0 {
            -gap_m / step_s
        } else {
            -REPAIR * gap_m / step_s
        };
        let target = if blow { rebound } else { allowed };
        let before = contact.push;
        contact.push = (before + target - dot(self.velocity, normal)).max(0.0);
        self.velocity = plus(self.velocity, contact.push - before, normal);
    }

    /// Sliding friction: at most what stops the rubbing, at most mu times the push.
    fn rub(&mut self, contact: &mut Contact, surface: &SurfaceProperties) {
        let normal = contact.near.normal;
        let wanted = plus(contact.rub, -2.0 / 7.0, self.rubbing(normal));
        let allowed = within(wanted, surface.sliding_friction * contact.push);
        let change = plus(allowed, -1.0, contact.rub);
        contact.rub = allowed;
        self.velocity = plus(self.velocity, 1.0, change);
        self.spin = plus(self.spin, -2.5 / self.radius_m, cross(normal, change));
    }

    /// Moments against rolling and drilling, as angular velocity taken away.
    fn resist(&mut self, contact: &mut Contact, surface: &SurfaceProperties) {
        let normal = contact.near.normal;
        let inertia = 0.4 * self.radius_m * self.radius_m;
        let about = dot(self.spin, normal);
        let rolling = plus(self.spin, -about, normal);
        let most = surface.rolling_lever_m * contact.push / inertia;
        let allowed = within(plus(contact.moment, -1.0, rolling), most);
        self.spin = plus(plus(self.spin, 1.0, allowed), -1.0, contact.moment);
        contact.moment = allowed;
        let most = surface.drilling_lever_m * contact.push / inertia;
        let allowed = (contact.drill - about).clamp(-most, most);
        self.spin = plus(self.spin, allowed - contact.drill, normal);
        contact.drill = allowed;
    }
}
