//! A solid ball among flat walls, stepped through time: it flies, bounces, slides and rolls.
//!
//! Newton and Euler with impulses at each contact: restitution along the normal, Coulomb friction across it, a moment
//! of lever arm times normal force against rolling and against drilling. Contacts are solved together by a fixed number
//! of sweeps, so the result is the same bits everywhere. Mass drops out and is taken as 1.

use crate::physics::G;
use crate::physics::material::Surface;

/// A vector, SI, z up.
pub type Vector = [f64; 3];

/// Scalar product.
pub fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// a + scale b.
pub fn plus(a: Vector, scale: f64, b: Vector) -> Vector {
    [a[0] + scale * b[0], a[1] + scale * b[1], a[2] + scale * b[2]]
}

/// Vector product.
pub fn cross(a: Vector, b: Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn length(a: Vector) -> f64 {
    dot(a, a).sqrt()
}

/// a, shortened to a length if it is longer.
fn within(a: Vector, most: f64) -> Vector {
    let long = length(a);
    if long <= most { a } else { plus([0.0; 3], most / long, a) }
}

/// A ball.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ball {
    /// Radius, m.
    pub radius_m: f64,
    /// Centre, m.
    pub centre: Vector,
    /// Velocity of the centre, m/s.
    pub velocity: Vector,
    /// Angular velocity, rad/s.
    pub spin: Vector,
}

/// A place where something stands close to the ball.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Near {
    /// Unit vector from it to the centre of the ball.
    pub normal: Vector,
    /// Free space between them, m; negative where they overlap.
    pub gap_m: f64,
}

/// A contact with the impulses it has given so far.
struct Contact {
    near: Near,
    approach: f64,
    push: f64,
    rub: Vector,
    moment: Vector,
    drill: f64,
}

const SWEEPS: usize = 6;
/// Share of an overlap put right in one step.
const REPAIR: f64 = 0.2;

impl Ball {
    /// Velocity of the ball's surface at a contact, m/s.
    fn rubbing(&self, normal: Vector) -> Vector {
        let slip = plus(self.velocity, -self.radius_m, cross(self.spin, normal));
        plus(slip, -dot(slip, normal), normal)
    }

    /// Moves the ball on by `step_s` among what is near it; `surface` holds for every contact.
    pub fn step<const N: usize>(&mut self, near: &[Near; N], surface: &Surface, step_s: f64) {
        self.velocity[2] -= G * step_s;
        let touching = |n: &Near| n.gap_m + dot(self.velocity, n.normal) * step_s < 0.0;
        let contact = |n: &Near| Contact {
            near: *n,
            approach: dot(self.velocity, n.normal),
            push: 0.0,
            rub: [0.0; 3],
            moment: [0.0; 3],
            drill: 0.0,
        };
        let mut contacts = near.each_ref().map(|n| touching(n).then(|| contact(n)));
        for _ in 0..SWEEPS {
            for contact in contacts.iter_mut().flatten() {
                self.press(contact, surface, step_s);
                self.rub(contact, surface);
                self.resist(contact, surface);
            }
        }
        self.centre = plus(self.centre, step_s, self.velocity);
    }

    /// Normal impulse: rebound from a blow, else no deeper than touching.
    fn press(&mut self, contact: &mut Contact, surface: &Surface, step_s: f64) {
        let Near { normal, gap_m } = contact.near;
        let blow = -contact.approach > 2.0 * G * step_s;
        let rebound = if blow { -surface.restitution * contact.approach } else { 0.0 };
        let allowed = if gap_m > 0.0 { -gap_m / step_s } else { -REPAIR * gap_m / step_s };
        let target = if blow { rebound } else { allowed };
        let before = contact.push;
        contact.push = (before + target - dot(self.velocity, normal)).max(0.0);
        self.velocity = plus(self.velocity, contact.push - before, normal);
    }

    /// Sliding friction: at most what stops the rubbing, at most mu times the push.
    fn rub(&mut self, contact: &mut Contact, surface: &Surface) {
        let normal = contact.near.normal;
        let wanted = plus(contact.rub, -2.0 / 7.0, self.rubbing(normal));
        let allowed = within(wanted, surface.sliding_friction * contact.push);
        let change = plus(allowed, -1.0, contact.rub);
        contact.rub = allowed;
        self.velocity = plus(self.velocity, 1.0, change);
        self.spin = plus(self.spin, -2.5 / self.radius_m, cross(normal, change));
    }

    /// Moments against rolling and drilling, as angular velocity taken away.
    fn resist(&mut self, contact: &mut Contact, surface: &Surface) {
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
