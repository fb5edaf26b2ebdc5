//! The story of marbles that stopped at an opening, a wheel or a gate, or on a slope.

use super::counterfactual::Change;
use super::incidents::{Incident, IncidentKind};
use super::story::StoryWriter;
use super::words::{chance, clock};
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::Cause;
use crate::contact::crowd_counts::crowd;
use crate::engine::watch::TraceEvent;

impl StoryWriter<'_> {
    /// Marbles stopped at an opening, a wheel or a gate, or on a slope.
    pub fn wedged(&mut self, cause: Cause) {
        let Incident { node, time, .. } = *self.incident;
        let (name, when) = (self.name(node), self.at(time));
        let marble = self.wedged_marble(cause);
        self.story.marbles.extend(marble);
        let who = match marble {
            Some(marble) => format!("marble {marble}"),
            None => "a marble".to_owned(),
        };
        let after = self.after_jam();
        match cause {
            Cause::Pinch => {
                self.say(format!(
                    "At {when} {name} pinched {who} between itself and the ramp{after}."
                ));
                self.pinch_luck();
            }
            Cause::Arch => self.arch(&who, &after),
            Cause::Stick => {
                self.say(format!(
                    "At {when} {name} stuck half-way with {who} in it{after}."
                ));
                let odds = self.blockage_chance(0);
                self.claim(
                    &format!("That is luck, {odds} for each marble"),
                    Change::LeaveOut(node, time),
                    self.incident,
                );
            }
            Cause::Fall => {
                self.say(format!("At {when} {who} fell off {name}{after}."));
                self.claim(
                    "Marbles come to it too slowly or too fast",
                    Change::Rolls(node),
                    self.incident,
                );
            }
            Cause::Stall => {
                self.say(format!("At {when} {who} came to rest on {name}{after}."));
                self.claim(
                    "Its slope is too shallow for marbles to roll on",
                    Change::Rolls(node),
                    self.incident,
                );
            }
        }
    }

    fn after_jam(&mut self) -> String {
        match (self.incident.kind, self.circuit.tending) {
            (IncidentKind::Blockage(Cause::Arch), _) => ", and freed themselves later".to_owned(),
            (IncidentKind::Blockage(_), _) => ", and freed itself later".to_owned(),
            (_, Some(after)) => {
                let until = clock(seconds(self.incident.time + after));
                format!(", until somebody cleared it at {until}")
            }
            (_, None) => ", and with nobody to clear it the run ended".to_owned(),
        }
    }

    /// The marble that stopped: for a pinch the next that the wheel takes or the first in line, else the one on its way.
    fn wedged_marble(&self, cause: Cause) -> Option<u32> {
        let Incident { node, time, .. } = *self.incident;
        let replay = self.replay;
        if cause != Cause::Pinch {
            let event = self.seen()?.event;
            let last = replay.stays.iter().rfind(|visit| {
                let left = matches!(visit.leave, Some(leave) if leave < time);
                let arrives = visit.event == event || visit.reach() == Some(time);
                visit.node == node && visit.enter <= time && !left && arrives
            });
            return Some(last?.marble);
        }
        let taken = replay
            .between(time, Nanos::MAX)
            .iter()
            .find_map(|seen| match seen.what {
                TraceEvent::Moved { marble, to, .. } if to == node => Some(marble),
                _ => None,
            });
        let waiting = replay.stays.iter().filter(|visit| {
            let leads_here = match self.circuit.nodes.get(visit.node) {
                Some(plan) => plan.ways.iter().any(|way| way.to == node),
                None => false,
            };
            visit.leave.is_none() && visit.reach().is_some() && leads_here
        });
        match taken {
            Some(marble) => Some(marble),
            None => Some(waiting.min_by_key(|visit| visit.reach())?.marble),
        }
    }

    fn pinch_luck(&mut self) {
        let Incident { node, time, .. } = *self.incident;
        let Some(wheel) = self.circuit.nodes[node].wheel() else {
            return;
        };
        let odds = chance(wheel.pick_up.pinched_and_missed().0);
        let passed = self
            .replay
            .between(0, time)
            .iter()
            .filter(|seen| match seen.what {
                TraceEvent::Moved { to, .. } => to == node,
                TraceEvent::Missed { wheel } => wheel == node,
                _ => false,
            });
        let passed = passed.count() + 1;
        let (name, seat) = (self.name(node), self.circuit.nodes[node].seat());
        let fact = format!(
            "That is the luck of one {seat}: {name} pinches {odds} of the waiting marbles that its {seat}s pass, and this was the {passed}{} of the run",
            ordinal(passed)
        );
        self.claim(&fact, Change::LeaveOut(node, time), self.incident);
        let Some(after) = self.circuit.tending else {
            return;
        };
        let cleared = (time + after).min(self.replay.result.end);
        let grown = (0..self.circuit.nodes.len())
            .filter(|&n| n != node)
            .max_by_key(|&n| {
                i64::from(self.replay.waiting[n].at(cleared))
                    - i64::from(self.replay.waiting[n].at(time))
            });
        let Some(n) = grown else { return };
        let (before, then) = (
            self.replay.waiting[n].at(time),
            self.replay.waiting[n].at(cleared),
        );
        if then > before + 1 {
            let text = format!(
                "While it stood, the marbles waiting at {} grew from {before} to {then}.",
                self.name(n)
            );
            self.say(text);
        }
    }

    /// The chance of wedging for a marble that meets so many.
    fn blockage_chance(&self, met: u32) -> String {
        let unknown = "an unknown chance".to_owned();
        let Some(blockage) = &self.circuit.nodes[self.incident.node].blockage else {
            return unknown;
        };
        let chances = &blockage.chance;
        match chances.get(met as usize).or(chances.last()) {
            Some(of_so_many) => chance(of_so_many.share()),
            None => unknown,
        }
    }

    /// Marbles arched where that goes by how many are inside.
    fn arch_in_crowd(&mut self, who: &str, after: &str) {
        let Incident { node, time, .. } = *self.incident;
        let (name, when) = (self.name(node), self.at(time));
        let inside = self.replay.held[node].at(time);
        let single = self.circuit.nodes[node].gates() == 1;
        let opening = if single { "the opening" } else { "an opening" };
        let others = match inside.saturating_sub(1) {
            0 => "nobody".to_owned(),
            1 => "1 other".to_owned(),
            many => format!("{many} others"),
        };
        self.say(format!("At {when} marbles arched across {opening} of {name}: {who} came to it, with {others} inside{after}."));
        let class = crowd(inside) as u32;
        let fact = format!(
            "With {inside} inside that goes wrong {} times",
            self.blockage_chance(class)
        );
        self.claim(&fact, Change::LeaveOut(node, time), self.incident);
    }

    fn arch(&mut self, who: &str, after: &str) {
        let Incident { node, time, at, .. } = *self.incident;
        let blockage = self.circuit.nodes[node].blockage.as_ref();
        if blockage.is_some_and(|blockage| blockage.by_crowd) {
            return self.arch_in_crowd(who, after);
        }
        let (name, when) = (self.name(node), self.at(time));
        let waiting = match at {
            Some(at) => self.replay.met(at),
            None => 0,
        };
        let single = self.circuit.nodes[node].gates() == 1;
        let leaving = u32::from(single && self.leaving(node, time));
        let crowd = match (waiting, leaving) {
            (0, _) => "the one just leaving".to_owned(),
            (_, 0) => format!("{waiting} that waited"),
            _ => format!("{waiting} that waited and the one just leaving"),
        };
        let opening = if single { "the opening" } else { "an opening" };
        self.say(format!("At {when} marbles arched across {opening} of {name}: {who} came and met {crowd}{after}."));
        let fact = match single {
            true => {
                format!(
                    "To meet {} there goes wrong {} times",
                    waiting + leaving,
                    self.blockage_chance(waiting + leaving)
                )
            }
            false => "To meet others at a hole goes wrong now and then".to_owned(),
        };
        self.claim(&fact, Change::LeaveOut(node, time), self.incident);
        if waiting > 1 && single {
            let crowd = Incident {
                kind: IncidentKind::Backlog,
                count: u64::from(waiting),
                before: 0,
                at: None,
                ..*self.incident
            };
            self.crowd(node, time, &crowd);
        }
    }

    /// Whether a marble has just gone through the only gate of `node` and is still in the way of the next.
    fn leaving(&self, node: usize, time: Nanos) -> bool {
        let left = self
            .replay
            .between(0, time)
            .iter()
            .rev()
            .find_map(|seen| match seen.what {
                TraceEvent::Moved { from, .. } | TraceEvent::Spilled { from, .. }
                    if from == node =>
                {
                    Some(seen.time)
                }
                _ => None,
            });
        matches!(left, Some(left) if left + self.circuit.nodes[node].advance > time)
    }
}

fn ordinal(n: usize) -> &'static str {
    match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::made_up::{MadeUp, RING, S, moved};
    use crate::findings::replay::Replay;

    #[test]
    fn ordinals_end_as_they_are_spoken() {
        let all = [
            1, 2, 3, 4, 10, 11, 12, 13, 20, 21, 22, 33, 100, 101, 111, 113, 122,
        ];
        assert_eq!(
            all.map(ordinal),
            [
                "st", "nd", "rd", "th", "th", "th", "th", "th", "th", "st", "nd", "rd", "th", "st",
                "th", "th", "nd"
            ]
        );
    }

    /// Marble 0 leaves the escapement at 10 s, and is in the way of the next for a second.
    #[test]
    fn a_marble_is_leaving_until_the_next_may_follow() {
        let mut circuit = MadeUp::of(RING).circuit;
        circuit.nodes.iter_mut().for_each(|plan| plan.advance = S);
        let replay = Replay::made_up(&circuit, &[moved(2, 0, (2, 3)), moved(10, 0, (3, 4))], &[]);
        let incident = Incident::single(IncidentKind::Jam(Cause::Arch), 3, 10 * S);
        let writer = StoryWriter::new(&circuit, &replay, &incident);
        let leaving = |node| [9 * S, 10 * S, 11 * S - 1, 11 * S].map(|t| writer.leaving(node, t));
        assert_eq!(leaving(3), [false, true, true, false]);
        assert_eq!(leaving(4), [false; 4]);
    }

    fn wedged_marble(cause: Cause, node: usize, seen: &[(Nanos, TraceEvent)]) -> Option<u32> {
        let circuit = MadeUp::of(RING).circuit;
        let replay = Replay::made_up(&circuit, seen, &[]);
        let blocked = |seen: &(Nanos, TraceEvent)| matches!(seen.1, TraceEvent::Blocked { .. });
        let at = seen.iter().position(blocked);
        let incident = Incident {
            at,
            ..Incident::single(IncidentKind::Jam(cause), node, 10 * S)
        };
        StoryWriter::new(&circuit, &replay, &incident).wedged_marble(cause)
    }

    /// At 10 s an arch at the escapement: of all marbles there, the one that comes to its exit or into it just then.
    #[test]
    fn the_marble_that_wedged_is_the_one_that_arrived_then() {
        let arch = (
            10 * S,
            TraceEvent::Blocked {
                node: 3,
                cause: Cause::Arch,
            },
        );
        let queued = |marble, node| (10 * S, TraceEvent::Queued { marble, node });
        let seen = [
            moved(2, 0, (2, 3)),
            moved(8, 1, (2, 3)),
            moved(9, 2, (3, 4)),
            queued(1, 3),
            queued(2, 4),
            arch,
            moved(11, 3, (2, 3)),
            moved(12, 4, (2, 3)),
        ];
        assert_eq!(wedged_marble(Cause::Arch, 3, &seen), Some(1));
        let seen = [
            moved(2, 0, (2, 3)),
            moved(10, 5, (2, 3)),
            arch,
            moved(11, 3, (3, 4)),
        ];
        assert_eq!(wedged_marble(Cause::Arch, 3, &seen), Some(5));
        assert_eq!(
            wedged_marble(Cause::Arch, 3, &[moved(2, 0, (2, 3)), arch]),
            None
        );
    }

    /// A pinch at the wheel at 10 s: its next marble, or where it takes none any more, the first in line before it.
    #[test]
    fn the_marble_that_was_pinched_is_the_next_that_the_wheel_takes() {
        let pinch = (
            10 * S,
            TraceEvent::Blocked {
                node: 1,
                cause: Cause::Pinch,
            },
        );
        let queued = |time_s: u64, marble, node| (time_s * S, TraceEvent::Queued { marble, node });
        let seen = [
            moved(1, 3, (4, 0)),
            moved(2, 2, (4, 0)),
            moved(3, 5, (3, 4)),
            queued(4, 5, 4),
            queued(5, 2, 0),
            queued(6, 3, 0),
            pinch,
            moved(11, 5, (4, 0)),
            moved(12, 3, (0, 1)),
        ];
        assert_eq!(wedged_marble(Cause::Pinch, 1, &seen), Some(3));
        assert_eq!(wedged_marble(Cause::Pinch, 1, &seen[..8]), Some(2));
    }

    /// Two taken and one missed before: the fourth. The ring itself pinches nothing, so that the cause holds.
    #[test]
    fn a_pinch_is_counted_among_all_that_pockets_passed() {
        let circuit = MadeUp::of(RING).circuit;
        let seen = [
            moved(1, 0, (0, 1)),
            moved(2, 1, (0, 1)),
            moved(3, 0, (1, 2)),
            (4 * S, TraceEvent::Missed { wheel: 1 }),
            (
                5 * S,
                TraceEvent::Refused {
                    marble: 5,
                    from: 3,
                    by: 1,
                },
            ),
        ];
        let replay = Replay::made_up(&circuit, &seen, &[]);
        let incident = Incident::single(IncidentKind::Jam(Cause::Pinch), 1, 10 * S);
        let mut writer = StoryWriter::new(&circuit, &replay, &incident);
        writer.pinch_luck();
        let texts = writer.texts();
        assert!(
            texts[0].starts_with(
                "That is the luck of one pocket: `wheel` pinches 0 in 100 of the waiting marbles that its pockets pass, \
                 and this was the 4th of the run; had it got through, "
            ),
            "{texts:?}"
        );
    }
}
