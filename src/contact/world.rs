//! Spheres with spin among surfaces, stepped by a fixed time.
//!
//! Forces of one instant give the velocities of the next, and these the places (semi-implicit Euler, which keeps the
//! energy of springs bounded). The loop adds, multiplies, divides and takes square roots only, which IEEE 754 rounds
//! alike everywhere: the same bits on every computer.

use rand_chacha::ChaCha8Rng;

use super::law::{Law, Meeting, Touch};
use super::pocket_wheel::TurningWheel;
use super::scatter::uniform;
use super::surface::{NearestPoint, Surface};
use super::vector::{Vector, larger};

/// A ball that moves.
#[derive(Clone, Debug)]
pub struct Sphere {
    /// Radius, m.
    pub radius: f64,
    /// Mass, kg.
    pub mass: f64,
    /// Middle, m.
    pub at: Vector,
    /// Velocity, m/s.
    pub velocity: Vector,
    /// Spin, rad/s.
    pub spin: Vector,
    /// Greatest force on it of any fixed surface in the last step, N.
    pub pressed_by_fixed: f64,
    /// Force of the wheel on it in the last step, N.
    pub pressed_by_wheel: f64,
    per_mass: f64,
    per_radius: f64,
    per_inertia: f64,
    force: Vector,
    torque: Vector,
    noted: Vector,
    /// Way gone so far, never less than the true one, m.
    way: f64,
    near: u32,
    pocket: usize,
}

impl Sphere {
    /// A sphere at rest: radius (m), density (kg/m3), middle (m).
    pub fn new(radius: f64, density: f64, at: Vector) -> Sphere {
        let mass = density * 4.0 / 3.0 * std::f64::consts::PI * radius * radius * radius;
        Sphere {
            radius,
            mass,
            per_mass: 1.0 / mass,
            per_radius: 1.0 / radius,
            per_inertia: 2.5 / (mass * radius * radius),
            at,
            velocity: Vector::ZERO,
            spin: Vector::ZERO,
            pressed_by_fixed: 0.0,
            pressed_by_wheel: 0.0,
            force: Vector::ZERO,
            torque: Vector::ZERO,
            noted: at,
            way: 0.0,
            near: 0,
            pocket: 0,
        }
    }

    /// Energy of motion and spin, J.
    pub fn energy_of_motion(&self) -> f64 {
        0.5 * (self.mass * self.velocity.square() + self.spin.square() / self.per_inertia)
    }
}

/// What stands still: a surface and the number of its law.
#[derive(Clone, Debug)]
pub struct FixedSurface {
    /// Its shape.
    pub surface: Surface,
    /// Which law counts there: a place in [`Surroundings::laws`].
    pub law: usize,
}

/// All that does not move by itself.
#[derive(Clone, Debug)]
pub struct Surroundings {
    /// Fixed surfaces, at most 30.
    pub fixed: Vec<FixedSurface>,
    /// Laws, by number.
    pub laws: Vec<Law>,
    /// Law between spheres.
    pub between: usize,
    /// Law at the wheel.
    pub at_wheel: usize,
    /// Gravity, m/s2.
    pub gravity: Vector,
    /// Step, s, the one that the laws were made for.
    pub step_s: f64,
}

/// Two spheres that may touch.
#[derive(Clone, Debug)]
struct SpherePair {
    a: usize,
    b: usize,
    /// Effective mass, kg.
    mass: f64,
    /// Effective radius, m.
    radius: f64,
    contact: ContactMemory,
}

/// What is remembered of two bodies that may touch.
#[derive(Clone, Debug, Default)]
struct ContactMemory {
    touch: Touch,
    /// They cannot touch before the way both have gone reaches this, m.
    clear_until: f64,
}

impl ContactMemory {
    /// They stand apart by a gap (m) after so long a way.
    #[inline]
    fn apart(&mut self, way: f64, gap: f64) {
        self.touch.on = false;
        self.clear_until = way + gap;
    }
}

/// Spheres in a setting, with or without a wheel.
#[derive(Clone, Debug)]
pub struct World {
    /// What does not move.
    pub setting: Surroundings,
    /// What moves.
    pub spheres: Vec<Sphere>,
    /// The wheel, if there is one.
    pub wheel: Option<TurningWheel>,
    /// Time since the start, s.
    pub time: f64,
    /// Greatest overlap that pressed in the last step, as a share of the sphere's radius.
    pub deepest: f64,
    /// Hits that would go deeper than this, as a share of a sphere's radius, wait for the next step, which must be finer.
    pub deepest_hit: f64,
    /// Whether any waits.
    pub hit_waits: bool,
    /// Greatest force in the last step with which a sphere was pressed by the wheel and by a fixed surface at once, per
    /// mass, m/s2.
    pub squeezed: f64,
    pairs: Vec<SpherePair>,
    contacts: Vec<ContactMemory>,
    chance: ChaCha8Rng,
    stale: bool,
    skin: f64,
}

/// Slots of [`World::contacts`] a sphere: surfaces first, then the wheel's side and bottom.
const WHEEL_SLOTS: usize = 2;
/// Bit of a sphere's `near` that stands for the wheel.
const WHEEL_BIT: u32 = 1 << 31;

impl World {
    /// Spheres in a setting; `chance` scatters the restitution of hits.
    pub fn new(
        setting: Surroundings,
        spheres: Vec<Sphere>,
        wheel: Option<TurningWheel>,
        chance: ChaCha8Rng,
    ) -> World {
        let slots = (setting.fixed.len() + WHEEL_SLOTS) * spheres.len();
        let smallest = spheres
            .iter()
            .map(|sphere| sphere.radius)
            .fold(f64::INFINITY, f64::min);
        World {
            setting,
            spheres,
            wheel,
            time: 0.0,
            deepest: 0.0,
            deepest_hit: f64::INFINITY,
            hit_waits: false,
            squeezed: 0.0,
            pairs: Vec::new(),
            contacts: vec![ContactMemory::default(); slots],
            chance,
            stale: true,
            skin: smallest,
        }
    }

    /// Puts a sphere elsewhere, with a velocity (m/s) and a spin (rad/s) and no memory of what it touched.
    pub fn put(&mut self, sphere: usize, at: Vector, velocity: Vector, spin: Vector) {
        let slots = self.setting.fixed.len() + WHEEL_SLOTS;
        let moved = &mut self.spheres[sphere];
        (moved.at, moved.velocity, moved.spin) = (at, velocity, spin);
        self.contacts[sphere * slots..(sphere + 1) * slots].fill(ContactMemory::default());
        self.pairs
            .retain(|pair| pair.a != sphere && pair.b != sphere);
        self.stale = true;
    }

    /// Puts one more sphere in.
    pub fn add(&mut self, sphere: Sphere) {
        let slots = self.setting.fixed.len() + WHEEL_SLOTS;
        self.skin = self.skin.min(sphere.radius);
        self.spheres.push(sphere);
        self.contacts
            .resize(slots * self.spheres.len(), ContactMemory::default());
        self.stale = true;
    }

    /// Takes a sphere out; those after it move up in number.
    pub fn take_out(&mut self, sphere: usize) {
        let slots = self.setting.fixed.len() + WHEEL_SLOTS;
        self.spheres.remove(sphere);
        self.contacts.drain(sphere * slots..(sphere + 1) * slots);
        self.pairs
            .retain(|pair| pair.a != sphere && pair.b != sphere);
        for pair in &mut self.pairs {
            pair.a -= usize::from(pair.a > sphere);
            pair.b -= usize::from(pair.b > sphere);
        }
        self.stale = true;
    }

    /// Goes on with a step so many times as short and contacts stiffer by its square.
    pub fn refine(&mut self, times: f64) {
        self.setting.step_s /= times;
        self.setting
            .laws
            .iter_mut()
            .for_each(|law| law.refine(times));
        let contacts = self
            .contacts
            .iter_mut()
            .chain(self.pairs.iter_mut().map(|pair| &mut pair.contact));
        contacts.for_each(|contact| contact.touch.refine(times));
    }

    /// One step.
    pub fn step(&mut self) {
        if self.stale {
            self.look_around();
        }
        for sphere in &mut self.spheres {
            sphere.force = self.setting.gravity * sphere.mass;
            sphere.torque = Vector::ZERO;
            (sphere.pressed_by_fixed, sphere.pressed_by_wheel) = (0.0, 0.0);
        }
        (self.deepest, self.hit_waits) = (0.0, false);
        self.push_pairs();
        self.push_fixed();
        self.push_wheel();
        self.move_on();
    }

    /// Notes anew who is near whom. Every sphere is looked at from where it is now, so that a pair is found whichever of
    /// the two has moved.
    fn look_around(&mut self) {
        self.stale = false;
        let half = self.skin / 2.0;
        for sphere in &mut self.spheres {
            sphere.noted = sphere.at;
            sphere.near = 0;
            for (bit, fixed) in self.setting.fixed.iter().enumerate() {
                if fixed.surface.near(sphere.at).distance < sphere.radius + half {
                    sphere.near |= 1 << bit;
                }
            }
            if self.wheel.is_some() && sphere.at.x > -sphere.radius - half {
                sphere.near |= WHEEL_BIT;
            }
        }
        self.find_pairs();
        if let Some(wheel) = &mut self.wheel {
            wheel.tidy();
        }
    }

    fn find_pairs(&mut self) {
        let old = std::mem::take(&mut self.pairs);
        let mut known = old.into_iter().peekable();
        for a in 0..self.spheres.len() {
            for b in a + 1..self.spheres.len() {
                while known.next_if(|pair| (pair.a, pair.b) < (a, b)).is_some() {}
                let same = known.next_if(|pair| (pair.a, pair.b) == (a, b));
                let (one, two) = (&self.spheres[a], &self.spheres[b]);
                let reach = one.radius + two.radius;
                if (one.at - two.at).square() < (reach + self.skin) * (reach + self.skin) {
                    let contact = same.map_or(ContactMemory::default(), |pair| pair.contact);
                    let (mass, radius) = (
                        1.0 / (one.per_mass + two.per_mass),
                        one.radius * two.radius / reach,
                    );
                    self.pairs.push(SpherePair {
                        a,
                        b,
                        mass,
                        radius,
                        contact,
                    });
                }
            }
        }
    }

    fn push_pairs(&mut self) {
        let law = &self.setting.laws[self.setting.between];
        for pair in &mut self.pairs {
            let (left, right) = self.spheres.split_at_mut(pair.b);
            let (a, b) = (&mut left[pair.a], &mut right[0]);
            let way = a.way + b.way;
            if way < pair.contact.clear_until {
                continue;
            }
            let apart = a.at - b.at;
            let (reach, distance) = (a.radius + b.radius, apart.length());
            let overlap = reach - distance;
            if overlap <= 0.0 || distance == 0.0 {
                pair.contact.apart(way, -overlap);
                continue;
            }
            let normal = apart * (1.0 / distance);
            let touch = &mut pair.contact.touch;
            let closing = || (b.velocity - a.velocity).dot(normal);
            if !touch.on
                && begin(
                    touch,
                    (law, &mut self.chance),
                    closing(),
                    self.deepest_hit * a.radius,
                )
            {
                self.hit_waits = true;
                continue;
            }
            let (arm_a, arm_b) = (a.radius - overlap / 2.0, b.radius - overlap / 2.0);
            let (at_a, at_b) = (normal * -arm_a, normal * arm_b);
            let velocity = a.velocity + a.spin.cross(at_a) - b.velocity - b.spin.cross(at_b);
            let (mass, radius) = (pair.mass, pair.radius);
            let push = law.push(
                touch,
                &Meeting {
                    normal,
                    overlap,
                    velocity,
                    spin: a.spin - b.spin,
                    mass,
                    radius,
                },
            );
            a.force += push.force;
            b.force -= push.force;
            a.torque += at_a.cross(push.force) + push.couple;
            b.torque -= at_b.cross(push.force) + push.couple;
            self.deepest = larger(self.deepest, touch.depth * a.per_radius);
        }
    }

    fn push_fixed(&mut self) {
        let slots = self.setting.fixed.len() + WHEEL_SLOTS;
        for (sphere, contacts) in self
            .spheres
            .iter_mut()
            .zip(self.contacts.chunks_exact_mut(slots))
        {
            let mut left = sphere.near & !WHEEL_BIT;
            while left != 0 {
                let bit = left.trailing_zeros() as usize;
                left &= left - 1;
                let (fixed, contact) = (&self.setting.fixed[bit], &mut contacts[bit]);
                if sphere.way < contact.clear_until {
                    continue;
                }
                let near = fixed.surface.near(sphere.at);
                if near.distance >= sphere.radius {
                    contact.apart(sphere.way, near.distance - sphere.radius);
                    continue;
                }
                let touch = &mut contact.touch;
                let law = &self.setting.laws[fixed.law];
                let closing = || -sphere.velocity.dot(near.normal);
                let deepest_m = self.deepest_hit * sphere.radius;
                if !touch.on && begin(touch, (law, &mut self.chance), closing(), deepest_m) {
                    self.hit_waits = true;
                    continue;
                }
                let (_, pressed) = meet(sphere, touch, law, near, |_| (Vector::ZERO, Vector::ZERO));
                sphere.pressed_by_fixed = larger(sphere.pressed_by_fixed, pressed);
                self.deepest = larger(self.deepest, touch.depth * sphere.per_radius);
            }
        }
    }

    fn push_wheel(&mut self) {
        let Some(wheel) = &mut self.wheel else { return };
        let law = &self.setting.laws[self.setting.at_wheel];
        let slots = self.setting.fixed.len() + WHEEL_SLOTS;
        let spin = Vector {
            x: wheel.speed,
            ..Vector::ZERO
        };
        let mut torque = 0.0;
        for (sphere, contacts) in self
            .spheres
            .iter_mut()
            .zip(self.contacts.chunks_exact_mut(slots))
        {
            let contacts = &mut contacts[slots - WHEEL_SLOTS..];
            let way = sphere.way + wheel.way;
            if sphere.near & WHEEL_BIT == 0
                || (way < contacts[0].clear_until && way < contacts[1].clear_until)
            {
                continue;
            }
            let at = wheel.at_pocket(sphere.at, sphere.pocket);
            sphere.pocket = at.pocket;
            let (side, bottom) = wheel.near(&at);
            for (near, contact) in [Some(side), bottom].into_iter().zip(contacts) {
                let Some(near) = near.filter(|near| near.distance < sphere.radius) else {
                    contact.apart(way, near.unwrap_or(side).distance - sphere.radius);
                    continue;
                };
                let touch = &mut contact.touch;
                let closing = || (spin.cross(sphere.at) - sphere.velocity).dot(near.normal);
                let deepest_m = self.deepest_hit * sphere.radius;
                if !touch.on && begin(touch, (law, &mut self.chance), closing(), deepest_m) {
                    self.hit_waits = true;
                    continue;
                }
                let (turned, pressed) =
                    meet(sphere, touch, law, near, |place| (spin.cross(place), spin));
                torque += turned;
                sphere.pressed_by_wheel = larger(sphere.pressed_by_wheel, pressed);
                self.deepest = larger(self.deepest, touch.depth * sphere.per_radius);
            }
        }
        wheel.step(torque, self.setting.step_s);
    }

    fn move_on(&mut self) {
        let step = self.setting.step_s;
        let allowed = self.skin * self.skin / 4.0;
        self.squeezed = 0.0;
        for sphere in &mut self.spheres {
            if sphere.pressed_by_wheel > 0.0 && sphere.pressed_by_fixed > 0.0 {
                let least = sphere.pressed_by_fixed.min(sphere.pressed_by_wheel);
                self.squeezed = larger(self.squeezed, least * sphere.per_mass);
            }
            sphere.velocity += sphere.force * (step * sphere.per_mass);
            sphere.spin += sphere.torque * (step * sphere.per_inertia);
            sphere.at += sphere.velocity * step;
            let speed = sphere.velocity;
            sphere.way += (speed.x.abs() + speed.y.abs() + speed.z.abs()) * step;
            self.stale |= (sphere.at - sphere.noted).square() > allowed;
        }
        self.time += step;
    }
}

/// Begins a contact of two that close at a speed (m/s); whether it will press in deeper than this, m.
fn begin(
    touch: &mut Touch,
    (law, chance): (&Law, &mut ChaCha8Rng),
    closing: f64,
    deepest_m: f64,
) -> bool {
    *touch = law.begin(uniform(chance));
    law.depth_of_hit(closing) > deepest_m
}

/// A sphere against something: adds force and torque to it; the torque about the axle on the other, N m, and the
/// pressing force, N. `moving` says how the other moves at a place.
#[inline]
fn meet(
    sphere: &mut Sphere,
    touch: &mut Touch,
    law: &Law,
    near: NearestPoint,
    moving: impl Fn(Vector) -> (Vector, Vector),
) -> (f64, f64) {
    let overlap = sphere.radius - near.distance;
    let arm = near.normal * (overlap / 2.0 - sphere.radius);
    let place = sphere.at + arm;
    let (other, spin) = moving(place);
    let velocity = sphere.velocity + sphere.spin.cross(arm) - other;
    let (mass, radius) = (sphere.mass, sphere.radius);
    let push = law.push(
        touch,
        &Meeting {
            normal: near.normal,
            overlap,
            velocity,
            spin: sphere.spin - spin,
            mass,
            radius,
        },
    );
    sphere.force += push.force;
    sphere.torque += arm.cross(push.force) + push.couple;
    let turned = place.z * push.force.y - place.y * push.force.z - push.couple.x;
    (turned, push.normal)
}
