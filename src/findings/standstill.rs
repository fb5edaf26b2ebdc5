//! The story of a machine in which nothing moves any more.

use super::incidents::{Incident, IncidentKind};
use super::story::StoryWriter;
use super::words::count;
use crate::circuit::draw::Nanos;

impl StoryWriter<'_> {
    /// Full elements that wait for each other, or for a dead end.
    pub fn gridlocked(&mut self) {
        let Incident {
            kind,
            node,
            time,
            count: caught,
            ..
        } = *self.incident;
        let when = self.at(time);
        let caught = match kind {
            IncidentKind::Lock => format!(
                " ({} caught in it, while the rest went on)",
                count(caught, "marble")
            ),
            _ => String::new(),
        };
        self.say(format!(
            "At {when} {} locked up: no marble there could ever move again{caught}.",
            self.name(node)
        ));
        let mut chain = vec![node];
        while let Some(next) = self.waits_for(chain[chain.len() - 1], time) {
            let closed = chain.contains(&next);
            chain.push(next);
            if closed {
                break;
            }
        }
        for pair in chain.windows(2) {
            let (from, by) = (self.name(pair[0]), self.name(pair[1]));
            let room = self.circuit.nodes[pair[1]].room;
            let leads = if self.circuit.nodes[pair[1]].ways.is_empty() {
                ", and leads nowhere"
            } else {
                ""
            };
            self.say(format!(
                "{from} waited for {by}, which was full ({room} of {room} places){leads}."
            ));
        }
        self.fewer_marbles(self.incident);
    }

    /// The full element that keeps `n` from moving.
    fn waits_for(&self, n: usize, time: Nanos) -> Option<usize> {
        if let Some((by, _)) = self.replay.refused_by(n, time) {
            return Some(by);
        }
        let mut next = self.circuit.nodes[n].ways.iter().map(|way| way.to);
        next.find(|&to| self.replay.held[to].at(time) >= self.circuit.nodes[to].room)
    }

    /// Marbles that came to rest for good.
    pub fn ran_dry(&mut self) {
        let time = self.incident.time;
        let when = self.at(time);
        self.say(format!(
            "At {when} the last marble came to rest and nothing moved any more."
        ));
        self.whereabouts("Most marbles were then", time, usize::MAX);
        for n in 0..self.circuit.nodes.len() {
            let lost = self.replay.result.elements[n].spills;
            let Some(first) = self.replay.result.elements[n].first_spill else {
                continue;
            };
            let text = format!(
                "{} went over the side of {}, the first at {}.",
                count(lost, "marble"),
                self.name(n),
                self.at(first)
            );
            self.say(text);
            self.remedies(n, self.incident);
        }
        for n in 0..self.circuit.nodes.len() {
            let held = self.replay.held[n].at(time);
            if held > 0 && self.circuit.nodes[n].ways.is_empty() {
                self.say(format!(
                    "{} lay in {}, which leads nowhere.",
                    count(u64::from(held), "marble"),
                    self.name(n)
                ));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::watch::TraceEvent;
    use crate::findings::made_up::MadeUp;
    use crate::findings::replay::Replay;

    /// Two of three marbles lie in one box that leads nowhere, none in the other.
    #[test]
    fn marbles_that_lie_at_a_dead_end_are_named() {
        let circuit = MadeUp::of(
            "format: 1\nmarbles: { count: 3 }\nstart: ramp\ncircuit:\n  \
             ramp: { ramp: { time: 1 s, places: 9 }, to: weir }\n  \
             weir: { weir: { time: 0.1 s }, to: [box, bin] }\n  \
             box: { ramp: { time: 1 s, places: 3 }, to: none }\n  \
             bin: { ramp: { time: 1 s, places: 3 }, to: none }\n",
        )
        .circuit;
        let moved = |marble| {
            (
                1_000_000_000,
                TraceEvent::Moved {
                    marble,
                    from: 1,
                    to: 2,
                },
            )
        };
        let replay = Replay::made_up(&circuit, &[moved(0), moved(1)], &[]);
        let incident = Incident::single(IncidentKind::RanDry, 2, 2_000_000_000);
        let mut writer = StoryWriter::new(&circuit, &replay, &incident);
        writer.ran_dry();
        assert_eq!(
            writer.texts(),
            [
                "At 0:02 the last marble came to rest and nothing moved any more.",
                "Most marbles were then: 2 at `box`.",
                "2 marbles lay in `box`, which leads nowhere.",
            ]
        );
    }
}
