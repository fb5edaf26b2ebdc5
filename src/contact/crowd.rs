//! Marbles in company in a place that they leave one by one: a return floor with its mouth, a bowl with its holes.
//!
//! So many are kept inside: when one has gone, the next comes. Where nobody moves any more they have arched; one more comes
//! then, and frees the others or not.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use super::G;
use super::law::Law;
use super::place::{Fineness, MarbleProperties};
use super::scatter::normal;
use super::surface::Surface;
use super::vector::{Vector, vector};
use super::world::{FixedSurface, Sphere, Surroundings, World};

/// Where marbles meet.
pub trait CrowdPlace {
    /// The marbles.
    fn marbles(&self) -> &MarbleProperties;

    /// All that stands still there, of wood.
    fn surfaces(&self) -> Vec<Surface>;

    /// Ways in, at least one.
    fn entrances(&self) -> usize;

    /// Where and how a marble of this radius (m) comes in; `None` while others are in its way.
    fn entry(&self, coming: Coming, radius: f64, spheres: &[Sphere]) -> Option<Entry>;

    /// Where a marble is.
    fn whereabouts(&self, sphere: &Sphere) -> Whereabouts;

    /// Surfaces and laws, followed so finely.
    fn setting(&self, fineness: Fineness) -> Surroundings {
        let mut fixed = Vec::new();
        for surface in self.surfaces() {
            fixed.push(FixedSurface {
                surface,
                law: LAW_WOOD,
            });
        }
        let marbles = self.marbles();
        let law = |of| Law::new(of, fineness.stiffness, fineness.step_s);
        Surroundings {
            fixed,
            laws: vec![law(marbles.on_wood), law(marbles.on_marbles)],
            between: LAW_MARBLES,
            at_wheel: LAW_WOOD,
            gravity: vector(0.0, 0.0, -G),
            step_s: fineness.step_s,
        }
    }
}

const LAW_WOOD: usize = 0;
const LAW_MARBLES: usize = 1;

/// A marble about to come in.
#[derive(Clone, Copy, Debug)]
pub struct Coming {
    /// By which of the entrances.
    pub entrance: usize,
    /// The how many-eth there, from 1.
    pub number: usize,
    /// A number of its own from the normal law.
    pub scatter: f64,
}

/// How a marble comes in.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// Its middle, m.
    pub at: Vector,
    /// Velocity, m/s.
    pub velocity: Vector,
    /// Spin, rad/s.
    pub spin: Vector,
    /// How long it has been on its way already, in the air, s.
    pub on_the_way_s: f64,
}

/// Where a marble is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whereabouts {
    /// Still inside.
    Inside,
    /// Out where it should.
    Out,
    /// Over the side.
    Over,
}

/// One of the loops of a look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrowdLoop {
    /// Marbles kept inside.
    pub kept: usize,
    /// Entries that are followed.
    pub entries: usize,
    /// From one entry to the next at least, s.
    pub apart_s: f64,
    /// Number of its first entry, from 1, so that loops differ in theirs.
    pub first: usize,
    /// Seed of what is random in it.
    pub seed: u64,
}

/// A marble's way through a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transit {
    /// By which entrance it came.
    pub entrance: usize,
    /// Marbles inside when it came, itself among them.
    pub met: u32,
    /// Marbles inside when it went, itself among them.
    pub left: u32,
    /// From its coming until it was out, s.
    pub time_s: f64,
    /// Speed with which it went, m/s.
    pub speed_m_s: f64,
}

/// Marbles that stopped one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArchSeen {
    /// How many were inside.
    pub inside: u32,
    /// Whether the next one that came freed them.
    pub freed: bool,
}

/// What was seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CrowdRecord {
    /// Who went out.
    pub out: Vec<Transit>,
    /// Of those who went over the side, how many were inside, themselves among them.
    pub over: Vec<u32>,
    /// Arches, in the order in which they came about.
    pub arches: Vec<ArchSeen>,
    /// Marbles that were still inside after a minute, and were taken out.
    pub stayed: u32,
}

/// Fine enough for marbles that weigh on each other by a slope alone.
pub const FINENESS: Fineness = Fineness {
    stiffness: 2.5e6,
    step_s: 2e-4,
};
/// How often it is looked who is where, s.
const LOOK_S: f64 = 0.002;
/// Slower than this nobody moves, m/s, and for how long, s.
const STILL_M_S: f64 = 0.002;
const STILL_S: f64 = 1.0;
/// A marble not out by then is taken for one that stays.
const LONGEST_S: f64 = 60.0;

/// How a marble inside came.
#[derive(Clone, Copy)]
struct Came {
    entrance: usize,
    met: u32,
    since_s: f64,
}

struct Crowd<'a, P> {
    place: &'a P,
    task: CrowdLoop,
    world: World,
    chance: ChaCha8Rng,
    /// How each sphere came.
    inside: Vec<Came>,
    entered: usize,
    next_s: f64,
    still_s: f64,
    record: CrowdRecord,
}

/// Follows marbles in a place.
pub fn follow<P: CrowdPlace>(place: &P, task: CrowdLoop) -> CrowdRecord {
    let mut crowd = Crowd::new(place, task);
    while crowd.goes_on() {
        crowd.fill();
        crowd.step();
        crowd.take_out_gone();
        if crowd.stands_still() {
            crowd.arched();
        }
    }
    crowd.record
}

impl<'a, P: CrowdPlace> Crowd<'a, P> {
    fn new(place: &'a P, task: CrowdLoop) -> Crowd<'a, P> {
        let chance = ChaCha8Rng::seed_from_u64(task.seed);
        let mut hits = chance.clone();
        hits.set_stream(1);
        Crowd {
            place,
            task,
            world: World::new(place.setting(FINENESS), Vec::new(), None, hits),
            chance,
            inside: Vec::new(),
            entered: 0,
            next_s: 0.0,
            still_s: 0.0,
            record: CrowdRecord::default(),
        }
    }

    fn goes_on(&self) -> bool {
        self.entered < self.task.entries || !self.inside.is_empty()
    }

    /// Lets a marble in where fewer than are kept are inside.
    fn fill(&mut self) {
        let wanted = self.entered < self.task.entries && self.inside.len() < self.task.kept;
        if wanted && self.world.time >= self.next_s && self.enters() {
            self.next_s = self.world.time + self.task.apart_s;
        }
    }

    /// Lets one more in, unless others are in its way.
    fn enters(&mut self) -> bool {
        let marbles = self.place.marbles();
        let spread = normal(&mut self.chance, marbles.diameter_sd_m);
        let radius = (marbles.diameter_m + spread) / 2.0;
        let entrances = self.place.entrances();
        let coming = Coming {
            entrance: self.entered % entrances,
            number: self.task.first + self.entered / entrances,
            scatter: normal(&mut self.chance, 1.0),
        };
        let Some(entry) = self.place.entry(coming, radius, &self.world.spheres) else {
            return false;
        };
        let mut sphere = Sphere::new(radius, marbles.density_kg_m3, entry.at);
        (sphere.velocity, sphere.spin) = (entry.velocity, entry.spin);
        self.world.add(sphere);
        self.inside.push(Came {
            entrance: coming.entrance,
            met: self.world.spheres.len() as u32,
            since_s: self.world.time - entry.on_the_way_s,
        });
        self.entered += 1;
        self.still_s = 0.0;
        true
    }

    fn step(&mut self) {
        let until = self.world.time + LOOK_S;
        while self.world.time < until - 1e-9 {
            self.world.step();
        }
    }

    /// Takes out who is out, over the side, or stays for good.
    fn take_out_gone(&mut self) {
        let left = self.inside.len() as u32;
        for i in (0..self.inside.len()).rev() {
            let (sphere, came) = (&self.world.spheres[i], self.inside[i]);
            let time_s = self.world.time - came.since_s;
            match self.place.whereabouts(sphere) {
                Whereabouts::Inside if time_s < LONGEST_S => continue,
                Whereabouts::Inside => self.record.stayed += 1,
                Whereabouts::Over => self.record.over.push(left),
                Whereabouts::Out => self.record.out.push(Transit {
                    entrance: came.entrance,
                    met: came.met,
                    left,
                    time_s,
                    speed_m_s: sphere.velocity.length(),
                }),
            }
            self.take_out(i);
        }
    }

    fn take_out(&mut self, i: usize) {
        self.inside.remove(i);
        self.world.take_out(i);
    }

    /// Whether nobody inside has moved for a while.
    fn stands_still(&mut self) -> bool {
        let moves = |sphere: &Sphere| sphere.velocity.square() > STILL_M_S * STILL_M_S;
        let spheres = &self.world.spheres;
        let still = !spheres.is_empty() && !spheres.iter().any(moves);
        self.still_s = if still { self.still_s + LOOK_S } else { 0.0 };
        self.still_s > STILL_S
    }

    /// Lets one more come on an arch, then takes all out.
    fn arched(&mut self) {
        let inside = self.inside.len() as u32;
        let out = self.record.out.len();
        let mut freed = false;
        if self.enters() {
            while !freed && !self.stands_still() {
                self.step();
                self.take_out_gone();
                freed = self.record.out.len() > out;
            }
        }
        self.record.arches.push(ArchSeen { inside, freed });
        if !freed {
            (0..self.inside.len()).rev().for_each(|i| self.take_out(i));
        }
        self.still_s = 0.0;
    }
}
