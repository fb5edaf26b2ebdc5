//! Faults that are no constant and no dimension: they act on the built circuit.

use crate::circuit::Circuit;
use crate::circuit::carousel::CarouselState;
use crate::circuit::draw::Chance;
use crate::circuit::plan::{Blockage, Cause, Plan, Role};
use crate::contact::crowd_counts::CROWDS;

/// Something wrong with an element that its dimensions do not say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A wheel misses a share of the marbles it would take: a rough pocket, a mark on its rim.
    Misses,
    /// A wheel pinches a share of the marbles it would take.
    Pinches,
    /// A wheel lets go of fewer marbles at its top.
    CarriesOver,
    /// Marbles that meet there arch more often.
    Arches,
    /// Marbles take so many times as long.
    Slow,
    /// A share of the marbles that come in fall out.
    Leaks,
}

impl Fault {
    /// All faults.
    pub const ALL: [Fault; 6] = [
        Fault::Misses,
        Fault::Pinches,
        Fault::CarriesOver,
        Fault::Arches,
        Fault::Slow,
        Fault::Leaks,
    ];

    /// How large it may be, the least and the most; in between all orders of magnitude are equally likely. The least is what
    /// would hardly be noticed in two hours, the most what nobody would need a diagnosis for. Common practice, no source.
    pub fn range(self) -> (f64, f64) {
        match self {
            Fault::Misses | Fault::CarriesOver => (0.01, 0.5),
            Fault::Pinches => (0.0001, 0.005),
            Fault::Arches => (0.0001, 0.03),
            Fault::Slow => (1.1, 2.5),
            Fault::Leaks => (0.0001, 0.01),
        }
    }

    /// Whether an element can have it.
    pub fn fits(self, plan: &Plan) -> bool {
        let is_wheel = plan.wheel().is_some();
        match self {
            Fault::Misses | Fault::Pinches | Fault::CarriesOver => is_wheel,
            Fault::Arches => plan.collects || matches!(plan.role, Role::RandomGate(_)),
            Fault::Slow => !is_wheel && plan.travel.iter().any(|time| !time.is_zero()),
            Fault::Leaks => matches!(plan.role, Role::Through | Role::RandomGate(_)),
        }
    }

    /// `circuit` with this fault at element `n`.
    pub fn put_into(self, circuit: &mut Circuit, n: usize, size: f64) {
        let plan = &mut circuit.nodes[n];
        match self {
            Fault::Misses => wheel(plan, |wheel| {
                wheel.pick_up = wheel.pick_up.with_misses(size)
            }),
            Fault::Pinches => wheel(plan, |wheel| {
                wheel.pick_up = wheel.pick_up.with_pinches(size)
            }),
            Fault::CarriesOver => wheel(plan, |wheel| {
                wheel.release = Chance::new(wheel.release.share() * (1.0 - size));
            }),
            Fault::Arches => arch(plan, size),
            Fault::Slow => {
                for time in &mut plan.travel {
                    *time = time.scaled(size);
                }
            }
            Fault::Leaks => leak(circuit, n, size),
        }
    }
}

fn wheel(plan: &mut Plan, change: impl FnOnce(&mut CarouselState)) {
    if let Role::Carousel(wheel) = &mut plan.role {
        change(wheel);
    }
}

/// Marbles that meet others arch with so much more chance; one alone never does.
fn arch(plan: &mut Plan, more: f64) {
    let blockage = plan.blockage.get_or_insert(Blockage {
        chance: vec![Chance::new(0.0), Chance::new(0.0)],
        by_crowd: false,
        clears: None,
        cause: Cause::Arch,
        counterfactual: None,
    });
    for chance in blockage.chance.iter_mut().skip(1) {
        *chance = Chance::new(chance.share() + more);
    }
}

/// Marbles go over the side as they come in, as at a bowl; for that its times have to go by the crowd inside.
fn leak(circuit: &mut Circuit, n: usize, share: f64) {
    if !circuit.nodes[n].by_crowd {
        for way in circuit.nodes.iter_mut().flat_map(|plan| &mut plan.ways) {
            if way.to == n {
                way.entry *= CROWDS;
            }
        }
        let plan = &mut circuit.nodes[n];
        let mut travel = Vec::new();
        for time in &plan.travel {
            travel.extend(std::iter::repeat_n(time.clone(), CROWDS));
        }
        plan.travel = travel;
        plan.by_crowd = true;
    }
    let thrown_out = &mut circuit.nodes[n].thrown_out;
    thrown_out.resize(CROWDS, Chance::new(0.0));
    for chance in thrown_out {
        *chance = Chance::new(1.0 - (1.0 - chance.share()) * (1.0 - share));
    }
}
