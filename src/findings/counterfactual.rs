//! Counterfactuals: the same run on the same random numbers, with one cause taken away.

use super::incidents::{Incident, incidents};
use super::replay::{Replay, RunId};
use super::words::{clock, count};
use crate::circuit::Circuit;
use crate::circuit::carousel::CarouselState;
use crate::circuit::draw::{Chance, Draw, Nanos, seconds};
use crate::circuit::plan::{Cause, Role};
use crate::circuit::round_robin::RoundRobinState;
use crate::engine::Outcome;

/// A cause taken away. Elements are given by index. Each leaves the random numbers of every other element as it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// The marble that was caught there at that instant gets through. Up to then the run is the same, event by event.
    LeaveOut(usize, Nanos),
    /// The wheel takes marbles it would have missed.
    NoMiss(usize),
    /// The wheel lets every marble out at the top.
    NoCarryOver(usize),
    /// Its slope keeps marbles rolling.
    Rolls(usize),
    /// So many more places.
    Places(usize, u32),
    /// The cup lets every marble go at once.
    NoCup(usize),
    /// The escapement lets every marble go at once.
    NoHold(usize),
    /// This load instead.
    Load(u32),
}

/// What a change came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Checked {
    /// What was taken away.
    pub change: Change,
    /// What was looked for.
    pub effect: Incident,
    /// When it happens without the cause; `None`: not in the whole run.
    pub then: Option<Nanos>,
    /// The first thing from then on that goes wrong without the cause and that a maker has to fix.
    pub next: Option<Incident>,
    /// How the run ended instead, and when.
    pub end: (Outcome, Nanos),
    /// In how many of [`OTHERS`] other runs the like happens, with the cause and without it; `None` where only the one
    /// instant was changed, for which other runs say nothing.
    pub others: Option<(usize, usize)>,
}

/// What happens no more than so much later has not been moved.
const MOVED: Nanos = 60_000_000_000;
/// Other runs asked about a lasting cause. A run is so easily upset that a rare thing seems to be cured by any change at
/// all; only what happens in nearly all runs with the cause, and in hardly any without it, can be put down to it.
pub const OTHERS: usize = 8;
/// In so many of the other runs it must happen with the cause.
const OFTEN: usize = 6;
/// In so many at most it may happen without it.
const SELDOM: usize = 1;

impl Change {
    /// The circuit with the cause taken away.
    pub fn on(self, circuit: &Circuit) -> Circuit {
        let mut changed = circuit.clone();
        match self {
            Change::LeaveOut(n, time) => {
                let plan = &mut changed.nodes[n];
                plan.blockage
                    .iter_mut()
                    .for_each(|blockage| blockage.counterfactual = Some(time));
                wheel(&mut changed, n, |wheel| wheel.counterfactual = Some(time));
            }
            Change::NoMiss(n) => wheel(&mut changed, n, no_miss),
            Change::NoCarryOver(n) => {
                wheel(&mut changed, n, |wheel| wheel.release = Chance::new(1.0))
            }
            Change::Rolls(n) => changed.nodes[n].stalls = false,
            Change::Places(n, more) => {
                changed.nodes[n].room = changed.nodes[n].room.saturating_add(more)
            }
            Change::NoCup(n) => {
                let node = &mut changed.nodes[n];
                let ways = node.ways.len();
                node.role = match ways {
                    0 | 1 => Role::Through,
                    _ => Role::RoundRobin(RoundRobinState::new(0, ways)),
                };
            }
            Change::NoHold(n) => changed.nodes[n].role = Role::Server(Draw::Fixed(0)),
            Change::Load(marbles) => changed.marbles = marbles,
        }
        changed
    }

    /// In words, as the beginning of a sentence that says what would have come of it.
    pub fn says(self, circuit: &Circuit) -> String {
        let name = |n: usize| format!("`{}`", circuit.nodes[n].name);
        match self {
            Change::LeaveOut(n, time) => {
                format!(
                    "had that marble got through at {} at {}",
                    name(n),
                    clock(seconds(time))
                )
            }
            Change::NoMiss(n) => format!("had {} missed no marble", name(n)),
            Change::NoCarryOver(n) => format!("had {} let every marble out at the top", name(n)),
            Change::Rolls(n) if circuit.nodes[n].halts == Cause::Fall => {
                format!("had marbles come to {} at a speed that suits it", name(n))
            }
            Change::Rolls(n) => format!("had {} sloped enough to keep marbles rolling", name(n)),
            Change::Places(n, more) => {
                let room = circuit.nodes[n].room.saturating_add(more);
                let places = count(u64::from(more), "more place");
                format!("with {places} on {} ({room} in all)", name(n))
            }
            Change::NoCup(n) => format!("had {} let every marble go at once", name(n)),
            Change::NoHold(n) => format!("had {} held no marble back", name(n)),
            Change::Load(marbles) => {
                format!(
                    "with {} instead of {}",
                    count(u64::from(marbles), "marble"),
                    circuit.marbles
                )
            }
        }
    }

    /// Replays `which` with the cause taken away and looks for `effect`.
    pub fn check(self, circuit: &Circuit, id: RunId, effect: &Incident) -> Checked {
        let changed = self.on(circuit);
        let replay = Replay::of(&changed, id);
        let then = effect.recurrence(&changed, &replay);
        let end = (replay.result.outcome, replay.result.end);
        let grave = incidents(&changed, &replay)
            .into_iter()
            .filter(|i| i.kind.is_grave() && i.time >= effect.time);
        let next = grave.min_by_key(|incident| incident.time);
        let checked = Checked {
            change: self,
            effect: *effect,
            then,
            next,
            end,
            others: None,
        };
        if matches!(self, Change::LeaveOut(..)) || !checked.moves() {
            return checked;
        }
        let others = Some((
            in_others(circuit, id, effect),
            in_others(&changed, id, effect),
        ));
        Checked { others, ..checked }
    }
}

/// In how many of the runs after this one the like of `effect` happens.
fn in_others(circuit: &Circuit, id: RunId, effect: &Incident) -> usize {
    let any = Incident {
        before: 0,
        ..*effect
    };
    (1..=OTHERS as u64)
        .filter(|n| {
            let run = id.run + n;
            let other = Replay::of(circuit, RunId { run, ..id });
            any.recurrence(circuit, &other).is_some()
        })
        .count()
}

impl Checked {
    /// Whether the cause may be named: the effect is gone or comes later, and that is no accident of this run.
    pub fn holds(&self) -> bool {
        match (self.change, self.others) {
            (Change::LeaveOut(..), _) => self.moves(),
            (_, Some((with, without))) => self.moves() && with >= OFTEN && without <= SELDOM,
            (_, None) => false,
        }
    }

    /// Whether it is the marble of the incident itself that got through.
    pub fn is_the_marble(&self) -> bool {
        matches!(self.change, Change::LeaveOut(n, time) if (n, time) == (self.effect.node, self.effect.time))
    }

    /// Whether the effect is gone, or comes more than a minute later; for the marble of the incident itself any later
    /// time will do. A run that ended of something else before that proves nothing.
    fn moves(&self) -> bool {
        let moved = self.effect.time + if self.is_the_marble() { 0 } else { MOVED };
        match self.then {
            Some(then) => then > moved,
            None => self.end.0 == Outcome::Ran || self.end.1 > moved,
        }
    }
}

fn wheel(circuit: &mut Circuit, n: usize, change: impl FnOnce(&mut CarouselState)) {
    if let Role::Carousel(wheel) = &mut circuit.nodes[n].role {
        change(wheel);
    }
}

/// As often pinched as before, and taken otherwise.
fn no_miss(wheel: &mut CarouselState) {
    wheel.pick_up = wheel.pick_up.without_misses();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::batch::BatchState;
    use crate::findings::incidents::IncidentKind;
    use crate::findings::made_up::{MadeUp, S};

    #[test]
    fn without_its_cup_marbles_go_straight_on_or_by_turns() {
        let mut circuit = MadeUp::new(1, "least-fill: 0.5").circuit;
        let way = circuit.nodes[2].ways[0];
        let mut role = |ways: usize| {
            circuit.nodes[2].role = Role::Batch(BatchState::new(2, S));
            circuit.nodes[2].ways = vec![way; ways];
            Change::NoCup(2).on(&circuit).nodes[2].role.clone()
        };
        assert!(matches!(role(0), Role::Through));
        assert!(matches!(role(1), Role::Through));
        assert!(matches!(role(2), Role::RoundRobin(_)));
    }

    /// An effect at 100 s, which a cause of one instant moves where it comes more than a minute later or never; a lasting one
    /// must be seen in six of eight other runs with it, too, and in one at most without it.
    #[test]
    fn a_cause_holds_that_moves_its_effect_here_and_in_other_runs() {
        let checked = |change, then: Option<u64>, others| {
            let checked = Checked {
                change,
                effect: Incident::single(IncidentKind::Spill, 1, 100 * S),
                then: then.map(|then_s| then_s * S),
                next: None,
                end: (Outcome::Ran, 3600 * S),
                others,
            };
            checked.holds()
        };
        let (once, lasting) = (Change::LeaveOut(0, 5), Change::Load(3));
        assert!(checked(once, None, None) && checked(once, Some(161), None));
        assert!(!checked(once, Some(160), None));
        assert!(checked(lasting, None, Some((6, 1))));
        for others in [None, Some((5, 1)), Some((6, 2)), Some((5, 2))] {
            assert!(!checked(lasting, None, others), "{others:?}");
        }
        assert!(!checked(lasting, Some(160), Some((8, 0))));
        assert!(checked(lasting, Some(161), Some((8, 0))));
        // The marble of the incident itself.
        assert!(checked(Change::LeaveOut(1, 100 * S), Some(101), None));
        assert!(!checked(Change::LeaveOut(1, 100 * S), Some(100), None));
    }

    /// A box that leads nowhere fills up once in every run, however often it had happened before in this one.
    #[test]
    fn the_like_happens_in_other_runs_that_have_it_once() {
        let made_up = MadeUp::of(
            "format: 1\nmarbles: { count: 9 }\nstart: ramp\ncircuit:\n  \
             ramp: { ramp: { time: 1 s, places: 9 }, to: box }\n  \
             box: { ramp: { time: 1 s, places: 3 }, to: none }\n",
        );
        let id = RunId {
            seed: 1,
            run: 0,
            horizon: 60 * S,
        };
        let effect = Incident {
            before: 3,
            ..Incident::single(IncidentKind::Gridlock, 0, 9 * S)
        };
        assert_eq!(in_others(&made_up.circuit, id, &effect), OTHERS);
        let no = Incident::single(IncidentKind::Spill, 0, 9 * S);
        assert_eq!(in_others(&made_up.circuit, id, &no), 0);
    }
}
