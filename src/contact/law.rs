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

use super::vector::Vector;

/// Nodes over which the dashpot is tabled between the least and the greatest restitution.
const NODES: usize = 9;

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
    across_stiffness: f64,
    across_damping: f64,
    friction: f64,
    rolling_lever_m: f64,
    rolling_stiffness: f64,
    rolling_damping: f64,
    step_s: f64,
}

/// What a contact remembers from step to step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Touch {
    across: Vector,
    rolled: Vector,
    damping: f64,
    /// Whether the two touched at the last step.
    pub on: bool,
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
        let damping =
            std::array::from_fn(|i| damping_for(low + (high - low) * i as f64 / (NODES - 1) as f64, stiffness, step_s));
        // Rolling moves slowly: a softer spring keeps its couple free of the shake of hits, and still holds a marble
        // within some tens of nanometres.
        let rolling = natural / 6.0;
        Law {
            stiffness,
            damping,
            across_stiffness: stiffness * 2.0 / 7.0,
            across_damping: 2.0 * natural * 2.0 / 7.0,
            friction: materials.friction,
            rolling_lever_m: materials.rolling_lever_m,
            rolling_stiffness: 1.4 * rolling * rolling,
            rolling_damping: 2.8 * rolling,
            step_s,
        }
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
        Touch { damping: self.damping_at(place), on: true, ..Touch::default() }
    }

    /// The force and couple of one step, and what the contact remembers.
    #[inline(always)]
    pub fn push(&self, touch: &mut Touch, meeting: &Meeting) -> Push {
        let Meeting { normal: n, overlap, velocity, mass, .. } = *meeting;
        let apart = velocity.dot(n);
        let pressing = mass * (self.stiffness * overlap - touch.damping * apart);
        let pressed = pressing.max(0.0);
        let slip = velocity - n * apart;
        let spring = touch.across.across(n) + slip * self.step_s;
        let (k, c) = (mass * self.across_stiffness, mass * self.across_damping);
        let pull = spring * k + slip * c;
        let (cap, wanted) = (self.friction * pressed, pull.square());
        let drag = if wanted > cap * cap {
            let capped = pull * (cap / wanted.sqrt());
            touch.across = left_to_spring(capped, slip * c) * (1.0 / k);
            capped
        } else {
            touch.across = spring;
            pull
        };
        let couple = self.resist_rolling(touch, meeting, pressed);
        Push { force: n * pressing - drag, couple, normal: pressing }
    }

    #[inline]
    fn resist_rolling(&self, touch: &mut Touch, meeting: &Meeting, pressed: f64) -> Vector {
        if self.rolling_lever_m <= 0.0 {
            return Vector::ZERO;
        }
        let inertia = meeting.mass * meeting.radius * meeting.radius;
        let turning = meeting.spin.across(meeting.normal);
        let spring = touch.rolled.across(meeting.normal) + turning * self.step_s;
        let (k, c) = (inertia * self.rolling_stiffness, inertia * self.rolling_damping);
        let couple = spring * k + turning * c;
        let (cap, wanted) = (self.rolling_lever_m * pressed, couple.square());
        if wanted > cap * cap {
            let capped = couple * (cap / wanted.sqrt());
            touch.rolled = left_to_spring(capped, turning * c) * (1.0 / k);
            return -capped;
        }
        touch.rolled = spring;
        -couple
    }
}

/// What a spring carries of a capped pull beside its dashpot. Where the dashpot alone would exceed the cap it carries
/// nothing: loaded backwards it would push a marble on when the slip ends.
#[inline(always)]
fn left_to_spring(capped: Vector, dashpot: Vector) -> Vector {
    if dashpot.dot(capped) < capped.square() { capped - dashpot } else { Vector::ZERO }
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
        if stepped_restitution(stiffness, middle, step_s) > restitution { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}
