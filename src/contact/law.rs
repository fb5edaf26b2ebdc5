//! What two bodies do to each other where they touch.
//!
//! P. A. Cundall, O. D. L. Strack, "A discrete numerical model for granular assemblies", Geotechnique 29 (1979) 47:
//! along the normal a linear spring and a dashpot; across it a spring and a dashpot under Coulomb's cap; against rolling
//! a couple with a spring under the cap lever arm times normal force. All per unit of mass, so that one law serves
//! marbles of every size: a stiffness of K /s2 makes a contact last pi / sqrt(K) whatever meets.
//!
//! The dashpot is set so that the *stepped* motion, not the continuous one, gives back the restitution asked for. The
//! springs across and against rolling are damped critically: lightly damped ones throw a marble back sideways.

use std::f64::consts::PI;

use super::vector::{Vector, larger};

/// Nodes over which the dashpot is tabled between the least and the greatest restitution.
const NODES: usize = 9;

/// No hit lasts longer, in steps: ten at a stiffness and step of [`Fineness::FINE`](super::place::Fineness::FINE) or any made
/// from these, and some more where its dashpot is strong.
const HIT_STEPS: u32 = 13;

/// What a maker knows of two materials that meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Materials {
    /// Coefficient of sliding friction, 0 or more.
    pub friction: f64,
    /// Coefficient of restitution, mean over hits, 0.05 to 1.
    pub restitution: f64,
    /// How far single hits scatter about it, either side, evenly: restitution fluctuates from hit to hit (M. Montaine et
    /// al., "Coefficient of restitution as a fluctuating quantity", Phys. Rev. E 84 (2011) 041306).
    pub scatter: f64,
    /// Lever arm of rolling resistance, m; 0 for none.
    pub rolling_lever_m: f64,
}

/// The law of one pair of materials at one step.
#[derive(Clone, Debug, PartialEq)]
pub struct Law {
    stiffness: f64,
    damping: [f64; NODES],
    across: Hold,
    friction: f64,
    rolling: Hold,
    rolling_lever_m: f64,
}

/// What a contact remembers from step to step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Touch {
    across: Vector,
    rolled: Vector,
    damping: f64,
    /// Overlap that presses, m.
    pub depth: f64,
    /// Overlap that does not, m: see [`Touch::refine`].
    dent: f64,
    /// Share of the overlap that presses under a law refined since the last step; 0: none was.
    refined: f64,
    /// Steps since the two met.
    steps: u32,
    /// Whether the two touched at the last step.
    pub on: bool,
}

impl Touch {
    /// Goes on under a refined law: what a stiffer spring has too much of overlap stays as a dent until the two part. A hit keeps
    /// the energy that its springs hold, so that it rebounds as it would have; what has touched for longer keeps its forces.
    pub fn refine(&mut self, times: f64) {
        let hits = (1..HIT_STEPS).contains(&self.steps);
        let share = if hits {
            1.0 / times
        } else {
            1.0 / (times * times)
        };
        self.damping *= times;
        self.across = self.across * share;
        self.rolled = self.rolled * share;
        self.refined = share;
    }
}

/// How two bodies meet at one step.
#[derive(Clone, Copy, Debug)]
pub struct Meeting {
    /// Unit vector from the other body into this one.
    pub normal: Vector,
    /// How far they overlap, m, 0 or more.
    pub overlap: f64,
    /// Velocity of this body over the other at the contact, m/s.
    pub velocity: Vector,
    /// Spin of this body over the other, rad/s.
    pub spin: Vector,
    /// Effective mass, kg.
    pub mass: f64,
    /// Radius at which this body rolls, m.
    pub radius: f64,
}

/// What the other body does to this one at their contact.
#[derive(Clone, Copy, Debug)]
pub struct Push {
    /// Force, N.
    pub force: Vector,
    /// Couple, N m.
    pub couple: Vector,
    /// Its part along the normal, N; below 0 for a moment at the end of a hit.
    pub normal: f64,
}

impl Law {
    /// A law for two materials with a stiffness (/s2, per unit of effective mass) and a step (s).
    pub fn new(materials: Materials, stiffness: f64, step_s: f64) -> Law {
        let natural = stiffness.sqrt();
        let (low, high) = Law::range(materials);
        let damping = std::array::from_fn(|i| {
            damping_for(
                low + (high - low) * i as f64 / (NODES - 1) as f64,
                stiffness,
                step_s,
            )
        });
        // Rolling moves slowly: a softer spring keeps its couple free of the shake of hits, and still holds a marble
        // within some tens of nanometres.
        let rolling = natural / 6.0;
        Law {
            stiffness,
            damping,
            across: Hold::new(stiffness * 2.0 / 7.0, 2.0 * natural * 2.0 / 7.0, step_s),
            friction: materials.friction,
            rolling: Hold::new(1.4 * rolling * rolling, 2.8 * rolling, step_s),
            rolling_lever_m: materials.rolling_lever_m,
        }
    }

    /// The law at a step so many times as short and a stiffness by its square: restitution stays.
    pub fn refine(&mut self, times: f64) {
        self.stiffness *= times * times;
        self.damping
            .iter_mut()
            .for_each(|damping| *damping *= times);
        self.across.refine(times);
        self.rolling.refine(times);
    }

    fn range(materials: Materials) -> (f64, f64) {
        let (mean, scatter) = (materials.restitution, materials.scatter);
        ((mean - scatter).max(0.05), (mean + scatter).min(1.0))
    }

    /// The dashpot for one hit, /s; `place` from 0 (the least restitution) to 1.
    fn damping_at(&self, place: f64) -> f64 {
        let along = place * (NODES - 1) as f64;
        let node = (along as usize).min(NODES - 2);
        let share = along - node as f64;
        self.damping[node] * (1.0 - share) + self.damping[node + 1] * share
    }

    /// Begins a contact that draws its restitution at `place` (0 to 1) of the range.
    pub fn begin(&self, place: f64) -> Touch {
        Touch {
            damping: self.damping_at(place),
            on: true,
            ..Touch::default()
        }
    }

    /// How deep a hit at a speed (m/s) goes without its dashpot, m.
    pub fn depth_of_hit(&self, speed: f64) -> f64 {
        speed / self.stiffness.sqrt()
    }

    /// The force and couple of one step, and what the contact remembers.
    #[inline(always)]
    pub fn push(&self, touch: &mut Touch, meeting: &Meeting) -> Push {
        let Meeting {
            normal: n,
            overlap,
            velocity,
            mass,
            radius,
            ..
        } = *meeting;
        let apart = velocity.dot(n);
        touch.steps = touch.steps.saturating_add(1);
        if touch.refined > 0.0 {
            touch.dent = (touch.dent + (overlap - touch.dent) * (1.0 - touch.refined)).max(0.0);
            touch.refined = 0.0;
        }
        if touch.dent > overlap {
            touch.dent = overlap;
        }
        touch.depth = overlap - touch.dent;
        let pressing = if touch.depth > 0.0 {
            self.stiffness * touch.depth - touch.damping * apart
        } else {
            0.0
        };
        let pressed = larger(pressing, 0.0);
        let slip = velocity - n * apart;
        let cap = self.friction * pressed;
        let drag = self.across.pull(&mut touch.across, slip, n, cap);
        let mut couple = Vector::ZERO;
        if self.rolling_lever_m > 0.0 {
            let square = radius * radius;
            let turning = meeting.spin.across(n);
            let resisting = self.rolling.pull(
                &mut touch.rolled,
                turning,
                n,
                self.rolling_lever_m * pressed / square,
            );
            couple = resisting * (-mass * square);
        }
        Push {
            force: (n * pressing - drag) * mass,
            couple,
            normal: mass * pressing,
        }
    }
}

/// A spring and a dashpot across the normal, per unit of mass or inertia.
#[derive(Clone, Debug, PartialEq)]
struct Hold {
    stiffness: f64,
    per_stiffness: f64,
    damping: f64,
    step_s: f64,
}

impl Hold {
    fn new(stiffness: f64, damping: f64, step_s: f64) -> Hold {
        Hold {
            stiffness,
            per_stiffness: 1.0 / stiffness,
            damping,
            step_s,
        }
    }

    fn refine(&mut self, times: f64) {
        *self = Hold::new(
            self.stiffness * times * times,
            self.damping * times,
            self.step_s / times,
        );
    }

    /// What it pulls at a rate, no more than a cap; and what its spring holds afterwards.
    #[inline(always)]
    fn pull(&self, spring: &mut Vector, rate: Vector, normal: Vector, cap: f64) -> Vector {
        *spring = spring.across(normal) + rate * self.step_s;
        let dashpot = rate * self.damping;
        let pull = *spring * self.stiffness + dashpot;
        let wanted = pull.square();
        if wanted <= cap * cap {
            return pull;
        }
        let capped = pull * (cap / wanted.sqrt());
        // Where the dashpot alone would exceed the cap the spring holds nothing: loaded backwards it would push a marble
        // on when the slip ends.
        let left = if dashpot.dot(capped) < cap * cap {
            capped - dashpot
        } else {
            Vector::ZERO
        };
        *spring = left * self.per_stiffness;
        capped
    }
}

/// Restitution of a hit stepped with a stiffness and a dashpot, mean over where in a step it begins.
fn stepped_restitution(stiffness: f64, damping: f64, step_s: f64) -> f64 {
    const PHASES: usize = 40;
    let mut sum = 0.0;
    for phase in 0..PHASES {
        let mut overlap = (phase as f64 + 0.5) / PHASES as f64 * step_s;
        let mut closing = 1.0;
        for _ in 0..100_000 {
            closing -= (stiffness * overlap + damping * closing) * step_s;
            overlap += closing * step_s;
            if overlap <= 0.0 {
                break;
            }
        }
        sum -= closing;
    }
    sum / PHASES as f64
}

/// The dashpot that gives a restitution at a step, /s per unit of effective mass.
fn damping_for(restitution: f64, stiffness: f64, step_s: f64) -> f64 {
    let natural = stiffness.sqrt();
    // Continuous motion: e = exp(-pi z / sqrt(1 - z^2)).
    let decay = -libm::log(restitution);
    let ratio = decay / (PI * PI + decay * decay).sqrt();
    let (mut low, mut high) = (0.0, 4.0 * natural * ratio + 0.1 * natural);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if stepped_restitution(stiffness, middle, step_s) > restitution {
            low = middle
        } else {
            high = middle
        }
    }
    (low + high) / 2.0
}
