//! Pockets that pass the end of the ramp, one by one: who stood there, and what became of it.
//!
//! A few marbles go round a small loop: out of a pocket well up the wheel, or from over the side, each is put back on the
//! ramp after a while, behind the last and at least so far up. So the line is as long, and as often gone, as their number and
//! that while make it.

mod way_back;

use std::collections::VecDeque;
use std::f64::consts::{FRAC_PI_2, TAU};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use super::line_at_face::{LineAtFace, TOUCH_M, at_face, in_line, is_aside, past, waiting};
use super::place::{Fineness, WheelPlace};
use super::scatter::{normal, uniform};
use super::vector::Vector;
use super::world::{Sphere, World};
use way_back::{ASIDE_M, AwayMarble};

/// What became of one pocket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pass {
    /// Marbles in contact with the one at the face, itself among them, when the pocket's leading edge passed the lowest
    /// point; 0: nobody was there yet.
    pub in_line: u32,
    /// Marbles that wait when its leading edge passes or, where nobody is at the face yet, when somebody comes: those in
    /// line, no further apart than half a diameter, and those that were pushed aside. 0: nobody.
    pub met: u32,
    /// Time since somebody came to the face, s; `None`: nobody had.
    pub waited_s: Option<f64>,
    /// Where nobody had: how much later somebody came, before the next pocket's leading edge, s.
    pub late_s: Option<f64>,
    /// Speed at which whoever then waited at the face, or came late, had come there, m/s.
    pub arrived_m_s: f64,
    /// A marble was in the pocket one pitch past the lowest point.
    pub taken: bool,
    /// The wheel stood for want of torque meanwhile.
    pub stalled: bool,
    /// Marbles that went over the open side, or off the ramp, meanwhile.
    pub lost: u32,
    /// When its leading edge passed the lowest point, s since the loop began.
    pub led_s: f64,
    /// When it was judged, s.
    pub judged_s: f64,
}

/// Where everything is at one instant.
#[derive(Clone, Debug, PartialEq)]
pub struct Still {
    /// Time since the loop began, s.
    pub time_s: f64,
    /// How far past the lowest point pocket 0 stands, rad.
    pub pocket_rad: f64,
    /// Speed of the wheel, as a share of the one it is set to.
    pub wheel_speed: f64,
    /// The marbles that are not away.
    pub marbles: Vec<MarbleSeen>,
}

/// A marble at one instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MarbleSeen {
    /// Its number in the loop.
    pub number: usize,
    /// Its middle, m.
    pub at: Vector,
    /// Its radius, m.
    pub radius: f64,
}

/// What is to be followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loop {
    /// Marbles in the loop.
    pub marbles: u32,
    /// Pockets to judge.
    pub passes: usize,
    /// Where on the ramp marbles are put back, in diameters from the face.
    pub back_at: f64,
    /// For how many pockets marbles are away before they are put back, at most; evenly at random, so that they come at any
    /// moment between pockets.
    pub away_pockets: f64,
    /// Seed of everything left to chance.
    pub seed: u64,
}

/// What was seen.
#[derive(Clone, Debug, PartialEq)]
pub struct LoopRecord {
    /// Pocket by pocket.
    pub passes: Vec<Pass>,
    /// Greatest overlap of a contact, as a share of the sphere's radius.
    pub deepest: f64,
    /// Spheres times steps.
    pub sphere_steps: u64,
    /// How finely contacts were followed in the end.
    pub fineness: Fineness,
}

/// Contacts overlapped too much even at the finest step tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TooDeep {
    /// Greatest overlap, as a share of a marble's radius.
    pub deepest: f64,
}

/// Overlap allowed, as a share of a marble's radius: beyond it places, and so what wedges, are no longer those of rigid
/// marbles.
pub const DEEPEST: f64 = 0.05;
/// How often the step is halved before giving up.
const HALVINGS: u32 = 3;

/// A wheel stands when it has turned at under this share of its speed for [`STANDS_S`].
const STANDS_SHARE: f64 = 0.2;
const STANDS_S: f64 = 0.15;
/// How much longer the step is while nothing is squeezed.
const COARSER: f64 = 4.0;
/// Force per mass of wheel and ramp on one marble from which it is squeezed, m/s2, and how long afterwards it still is.
const SQUEEZED_M_S2: f64 = 20.0;
const CALM_S: f64 = 0.0035;
/// Overlap of coarse contacts from which they are followed finely, as a share of the sphere's radius. A hit that will go
/// deeper is followed finely from its first step.
const DEEPEST_COARSE: f64 = 0.04;
/// Who lies still so long beside the channel is shaken loose: machines shake, spheres in a computer do not.
const LIES_S: f64 = 6.0;
/// Who moves farther than this does not lie still, m.
const STIRS_M: f64 = 0.0005;
/// How often it is looked who is where, s.
const LOOK_S: f64 = 0.001;

struct Looking {
    place: WheelPlace,
    task: Loop,
    world: World,
    chance: ChaCha8Rng,
    pitch: f64,
    /// How far past the lowest point a pocket is judged, rad.
    judged_at: f64,
    slow_s: f64,
    since: Option<f64>,
    lines: VecDeque<LineAtFace>,
    arrived_m_s: f64,
    led: Option<i64>,
    judged: Option<i64>,
    /// The number of each sphere's marble.
    numbers: Vec<usize>,
    /// Where each marble, by number, last came to lie, and since when (s).
    lies: Vec<(Vector, f64)>,
    away: Vec<AwayMarble>,
    now: Pass,
    passes: Vec<Pass>,
    warm_s: f64,
    /// For how long nothing has been squeezed; from [`CALM_S`] on the step is coarse.
    calm_s: f64,
    /// Greatest overlap of fine contacts so far, as a share of the sphere's radius.
    deepest: f64,
    steps: u64,
}

/// Follows a loop at a place, from the start again at half the step where contacts overlap too much.
///
/// # Errors
/// [`TooDeep`] where they still do after three halvings: a drive too strong for marbles taken as rigid.
pub fn follow(place: &WheelPlace, task: Loop, fineness: Fineness) -> Result<LoopRecord, TooDeep> {
    let mut fineness = fineness;
    for _ in 0..HALVINGS {
        let seen = follow_at(place, task, fineness);
        if seen.deepest <= DEEPEST {
            return Ok(seen);
        }
        fineness = fineness.finer();
    }
    let seen = follow_at(place, task, fineness);
    if seen.deepest <= DEEPEST {
        Ok(seen)
    } else {
        Err(TooDeep {
            deepest: seen.deepest,
        })
    }
}

/// Where everything is from one time to another (s) of a loop that can be followed at this fineness, every millisecond.
pub fn watch(
    place: &WheelPlace,
    task: Loop,
    fineness: Fineness,
    (from_s, to_s): (f64, f64),
) -> Vec<Still> {
    let mut looking = Looking::new(place, task, fineness);
    let mut stills = Vec::new();
    while looking.world.time < to_s {
        looking.go_on();
        if looking.world.time >= from_s {
            stills.push(looking.still());
        }
        looking.look();
    }
    stills
}

/// One ramp among those made alike: its slope and the height of its end off by what workmanship leaves.
fn one_of(place: &WheelPlace, seed: u64) -> WheelPlace {
    let mut chance = ChaCha8Rng::seed_from_u64(seed);
    chance.set_stream(2);
    let mut one = *place;
    one.ramp.slope_rad += normal(&mut chance, place.ramp.slope_sd_rad);
    one.ramp.end_height_m += normal(&mut chance, place.ramp.end_height_sd_m);
    one
}

/// Follows a loop at one fineness; stops early where contacts overlap too much.
fn follow_at(place: &WheelPlace, task: Loop, fineness: Fineness) -> LoopRecord {
    let mut looking = Looking::new(place, task, fineness);
    let pitch_s = looking.pitch / place.drive.speed_rad_s;
    let end_s = looking.warm_s + (task.passes as f64 + 3.0) * pitch_s * 1.5 + 12.0;
    while looking.passes.len() < task.passes
        && looking.world.time < end_s
        && looking.deepest <= DEEPEST
    {
        looking.go_on();
        looking.look();
    }
    LoopRecord {
        deepest: looking.deepest,
        passes: looking.passes,
        sphere_steps: looking.steps,
        fineness,
    }
}

/// A pocket that met nobody.
pub const NO_PASS: Pass = Pass {
    in_line: 0,
    met: 0,
    waited_s: None,
    late_s: None,
    arrived_m_s: 0.0,
    taken: false,
    stalled: false,
    lost: 0,
    led_s: 0.0,
    judged_s: 0.0,
};
impl Looking {
    fn new(place: &WheelPlace, task: Loop, fineness: Fineness) -> Looking {
        let place = one_of(place, task.seed);
        let mut chance = ChaCha8Rng::seed_from_u64(task.seed);
        let pitch = TAU / f64::from(place.wheel.pockets);
        let wide = pitch * place.wheel.pitch_radius_m > 1.2 * place.wheel.bore_m;
        let d = place.marbles.diameter_m;
        let spheres = (0..task.marbles).map(|i| {
            let diameter = d + normal(&mut chance, place.marbles.diameter_sd_m);
            let back = d / 2.0 + 0.0005 + f64::from(i) * d * 1.03;
            let at = place.on_ramp(back, normal(&mut chance, ASIDE_M));
            Sphere::new(
                diameter / 2.0,
                place.marbles.density_kg_m3,
                at + Vector {
                    z: 0.0003,
                    ..Vector::ZERO
                },
            )
        });
        let spheres = spheres.collect();
        let wheel = place.turning_wheel(uniform(&mut chance) * pitch);
        let mut hits = chance.clone();
        hits.set_stream(1);
        let mut world = World::new(
            place.setting(fineness.coarser(COARSER)),
            spheres,
            Some(wheel),
            hits,
        );
        world.deepest_hit = DEEPEST_COARSE;
        Looking {
            place,
            task,
            world,
            chance,
            pitch,
            judged_at: if wide { pitch } else { 1.5 * pitch },
            slow_s: 0.0,
            since: None,
            lines: VecDeque::new(),
            arrived_m_s: 0.0,
            led: None,
            judged: None,
            numbers: (0..task.marbles as usize).collect(),
            lies: vec![(Vector::ZERO, 0.0); task.marbles as usize],
            away: Vec::new(),
            now: NO_PASS,
            passes: Vec::new(),
            calm_s: CALM_S,
            deepest: 0.0,
            steps: 0,
            warm_s: (1.7 * pitch / place.drive.speed_rad_s).max(0.6),
        }
    }

    fn still(&self) -> Still {
        Still {
            time_s: self.world.time,
            pocket_rad: self.angle(),
            wheel_speed: self.wheel_speed() / self.place.drive.speed_rad_s,
            marbles: self.marbles(),
        }
    }

    fn marbles(&self) -> Vec<MarbleSeen> {
        let mut marbles = Vec::new();
        for (sphere, &number) in self.world.spheres.iter().zip(&self.numbers) {
            marbles.push(MarbleSeen {
                number,
                at: sphere.at,
                radius: sphere.radius,
            });
        }
        marbles
    }

    fn angle(&self) -> f64 {
        match &self.world.wheel {
            Some(wheel) => wheel.angle + FRAC_PI_2,
            None => FRAC_PI_2,
        }
    }

    fn wheel_speed(&self) -> f64 {
        match &self.world.wheel {
            Some(wheel) => wheel.speed,
            None => 0.0,
        }
    }

    /// Until the next look: coarsely while nothing is squeezed, finely when something is and a little longer.
    fn go_on(&mut self) {
        let (until, mut squeezed) = (self.world.time + LOOK_S, false);
        while self.world.time < until - 1e-9 {
            self.world.step();
            self.steps += self.world.spheres.len() as u64;
            let coarse = self.calm_s >= CALM_S;
            squeezed |= self.world.squeezed > SQUEEZED_M_S2 || self.world.hit_waits;
            squeezed |= coarse && self.world.deepest > DEEPEST_COARSE;
            if !coarse {
                self.deepest = self.deepest.max(self.world.deepest);
            } else if squeezed {
                self.world.refine(COARSER);
                self.world.deepest_hit = f64::INFINITY;
                self.calm_s = 0.0;
            }
        }
        if self.calm_s < CALM_S {
            self.calm_s = if squeezed { 0.0 } else { self.calm_s + LOOK_S };
            if self.calm_s >= CALM_S {
                self.world.refine(1.0 / COARSER);
                self.world.deepest_hit = DEEPEST_COARSE;
            }
        }
    }

    fn look(&mut self) {
        self.free_the_wheel();
        self.shake_loose();
        let face = at_face(&self.place, &self.world.spheres);
        self.note_arrival(&face);
        self.note_line(face);
        let passed = ((self.angle() - self.judged_at) / self.pitch).floor() as i64;
        let last = self.judged.unwrap_or(passed);
        if passed > last {
            self.judge(passed);
        }
        self.judged = Some(last.max(passed));
        self.take_away();
        self.put_back();
    }

    /// Since when somebody is at the face, and how fast the first came.
    fn note_arrival(&mut self, face: &[bool]) {
        let Some(first) = face.iter().position(|at_face| *at_face) else {
            self.since = None;
            return;
        };
        if self.since.is_some() {
            return;
        }
        let spheres = &self.world.spheres;
        let (time, speed) = (self.world.time, spheres[first].velocity.x);
        let met = waiting(&self.place, spheres, face.to_vec());
        (self.since, self.arrived_m_s) = (Some(time), speed);
        if let Some(line) = self.lines.back_mut()
            && line.waited_s.is_none()
            && line.late_s.is_none()
        {
            (line.late_s, line.arrived_m_s, line.met) = (Some(time - line.time), speed, met);
        }
    }

    /// Notes who is there when a further pocket's leading edge passes the lowest point.
    fn note_line(&mut self, face: Vec<bool>) {
        let lead = self.place.wheel.bore_m / 2.0 / self.place.wheel.pitch_radius_m;
        let pocket = ((self.angle() + lead) / self.pitch).floor() as i64;
        if self.led == Some(pocket) {
            return;
        }
        self.led = Some(pocket);
        let time = self.world.time;
        let waited_s = self.since.map(|since| time - since);
        let spheres = &self.world.spheres;
        self.lines.push_back(LineAtFace {
            pocket,
            time,
            in_line: in_line(spheres, face.clone(), TOUCH_M),
            met: waiting(&self.place, spheres, face),
            waited_s,
            late_s: None,
            arrived_m_s: self.arrived_m_s,
        });
    }

    /// Takes the wedged marble out by hand when the wheel has stood.
    fn free_the_wheel(&mut self) {
        let slow = self.wheel_speed() < STANDS_SHARE * self.place.drive.speed_rad_s;
        self.slow_s = if slow { self.slow_s + LOOK_S } else { 0.0 };
        if self.slow_s <= STANDS_S {
            return;
        }
        (self.slow_s, self.now.stalled) = (0.0, true);
        let spheres = &self.world.spheres;
        let worst = (0..spheres.len())
            .max_by(|&a, &b| wedging_m_s2(&spheres[a]).total_cmp(&wedging_m_s2(&spheres[b])));
        if let Some(worst) = worst {
            let back = self.place_behind().min(self.furthest());
            self.put_on_ramp(worst, back, 0.0);
        }
    }

    /// Puts back on the ramp who has long lain still beside the channel.
    fn shake_loose(&mut self) {
        let time = self.world.time;
        let mut loose = None;
        for (i, sphere) in self.world.spheres.iter().enumerate() {
            let lies = &mut self.lies[self.numbers[i]];
            if (sphere.at - lies.0).square() > STIRS_M * STIRS_M {
                *lies = (sphere.at, time);
            } else if time - lies.1 > LIES_S && is_aside(&self.place, sphere) {
                loose = Some(i);
            }
        }
        let Some(sphere) = loose else { return };
        let back = self.place_behind();
        if back <= self.furthest() {
            self.put_on_ramp(sphere, back, 0.0);
        }
    }

    fn judge(&mut self, pocket: i64) {
        let mut pass = std::mem::replace(&mut self.now, NO_PASS);
        if let Some(wheel) = &self.world.wheel {
            // The pocket that has come to where pockets are judged, by a place on its pitch circle.
            let past = self.angle() - pocket as f64 * self.pitch;
            let radius = self.place.wheel.pitch_radius_m;
            let there = Vector {
                x: 0.0,
                y: radius * libm::sin(past),
                z: -radius * libm::cos(past),
            };
            let here = wheel.at_pocket(there, 0).pocket;
            pass.taken = self.world.spheres.iter().any(|sphere| {
                let at = wheel.at_pocket(sphere.at, here);
                let (depth, off) = wheel.in_bore(&at);
                at.pocket == here && off < self.place.wheel.bore_m / 2.0 && depth > -sphere.radius
            });
        }
        while let Some(line) = self.lines.front()
            && line.pocket < pocket
        {
            self.lines.pop_front();
        }
        if let Some(line) = self.lines.front()
            && line.pocket == pocket
        {
            (pass.in_line, pass.met, pass.waited_s) = (line.in_line, line.met, line.waited_s);
            (pass.late_s, pass.arrived_m_s) = (line.late_s, line.arrived_m_s);
            (pass.led_s, pass.judged_s) = (line.time, self.world.time);
        }
        if self.world.time > self.warm_s {
            self.passes.push(pass);
        }
    }
}

/// How hard a marble is held between wheel and ramp, as force per mass.
fn wedging_m_s2(sphere: &Sphere) -> f64 {
    sphere.pressed_by_fixed.min(sphere.pressed_by_wheel) / sphere.mass
}
