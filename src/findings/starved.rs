//! The story of a wheel whose pockets went by empty.

use std::ops::RangeInclusive;

use super::counterfactual::{Change, Checked};
use super::incidents::{Incident, stops, streaks};
use super::story::StoryWriter;
use super::words::{clock, duration};
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::Role;
use crate::engine::watch::TraceEvent;

impl StoryWriter<'_> {
    /// A wheel whose pockets went by empty.
    pub fn starved(&mut self) {
        let Incident {
            node,
            time,
            count: pockets,
            ..
        } = *self.incident;
        let Some(streak) = streaks(self.circuit, self.replay, node)
            .into_iter()
            .find(|s| s.from == time)
        else {
            return;
        };
        let seats = self.circuit.nodes[node].seats();
        let (name, from, to) = (self.name(node), self.at(time), clock(seconds(streak.to)));
        self.say(format!(
            "From {from} to {to}, {pockets} {seats} of {name} in a row went by empty, the most of this run."
        ));
        let missed = TraceEvent::Missed { wheel: node };
        let missed = self
            .replay
            .between(time, streak.to)
            .iter()
            .filter(|seen| seen.what == missed)
            .count();
        if missed > 0 {
            let fact = format!("{missed} of them missed a waiting marble");
            self.claim(&fact, Change::NoMiss(node), self.incident);
        }
        let middle = (time + streak.to) / 2;
        let head = format!("At {} most marbles were elsewhere", clock(seconds(middle)));
        self.whereabouts(&head, middle, node);
        self.next_marble(node, streak.to);
        self.other_stops(node, time..=streak.to);
        self.more_marbles();
    }

    /// What kept the marble that ended the wait.
    fn next_marble(&mut self, wheel: usize, time: Nanos) {
        let stays = &self.replay.stays;
        let Some(last) = stays
            .iter()
            .rposition(|visit| visit.node == wheel && visit.enter == time)
        else {
            return;
        };
        let marble = stays[last].marble;
        let lap = stays[..last]
            .iter()
            .rev()
            .filter(|visit| visit.marble == marble)
            .take_while(|visit| visit.node != wheel);
        let waits = lap.map(|visit| {
            let leave = visit.leave.unwrap_or(time);
            (
                visit.node,
                leave.saturating_sub(visit.reach().unwrap_or(time)),
            )
        });
        let Some((node, wait)) = waits.max_by_key(|(_, wait)| *wait) else {
            return;
        };
        self.story.marbles.push(marble);
        if node >= self.circuit.nodes.len() || wait < 1_000_000_000 {
            return;
        }
        let fact = format!(
            "The next marble, {marble}, had waited {} in {} on its way",
            duration(seconds(wait)),
            self.name(node)
        );
        let change = match &self.circuit.nodes[node].role {
            Role::Batch(_) => Change::NoCup(node),
            Role::Server(_) => Change::NoHold(node),
            _ => match self.last_blockage(node, time) {
                Some(blocked) => Change::LeaveOut(node, blocked),
                None => return self.say(fact + "."),
            },
        };
        self.claim(&fact, change, self.incident);
    }

    /// Other wheels that stood and sent nothing.
    fn other_stops(&mut self, wheel: usize, meanwhile: RangeInclusive<Nanos>) {
        let (from, to) = meanwhile.into_inner();
        let lap = to - from;
        for n in 0..self.circuit.nodes.len() {
            let Some(other) = self.circuit.nodes[n].wheel().filter(|_| n != wheel) else {
                continue;
            };
            let stop = stops(self.circuit, self.replay, other.drive)
                .into_iter()
                .find(|s| s.0 <= to && s.1 + lap >= from);
            if let Some(stop) = stop {
                let (name, begin) = (self.name(n), self.at(stop.0));
                let fact = format!(
                    "{name} stood from {begin} to {} for a pinched marble",
                    clock(seconds(stop.1))
                );
                self.claim(&fact, Change::LeaveOut(n, stop.0), self.incident);
            }
        }
    }

    fn more_marbles(&mut self) {
        let load = self.circuit.marbles;
        let more = [load / 20, load / 10, load / 5, load / 2, load].map(|more| load + more.max(1));
        let checks = more
            .into_iter()
            .map(|load| Change::Load(load).check(self.circuit, self.replay.id, self.incident));
        let checked: Vec<Checked> = checks.take(5).collect();
        match checked
            .iter()
            .find(|checked| checked.then.is_none() && checked.holds())
        {
            Some(enough) => {
                self.conclude("There were too few marbles to bridge it", *enough);
            }
            None => self.story.rejected.extend(checked.last()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::plan::Cause;
    use crate::findings::incidents::IncidentKind;
    use crate::findings::made_up::{MadeUp, RING, S, moved};
    use crate::findings::replay::{Replay, RunId};

    /// A marble that queues for so long on the slide before it comes to the wheel at 20 s.
    #[test]
    fn the_next_marble_is_told_by_where_it_waited_a_second_or_more() {
        let told = |waited: Nanos| {
            let circuit = MadeUp::of(RING).circuit;
            let queued = TraceEvent::Queued { marble: 0, node: 4 };
            let seen = [
                moved(1, 0, (3, 4)),
                (9 * S - waited, queued),
                moved(9, 0, (4, 0)),
                moved(20, 0, (0, 1)),
            ];
            let replay = Replay::made_up(&circuit, &seen, &[]);
            let incident = Incident::single(IncidentKind::Starved, 1, 0);
            let mut writer = StoryWriter::new(&circuit, &replay, &incident);
            writer.next_marble(1, 20 * S);
            assert_eq!(writer.story.marbles, [0]);
            writer.texts().join(" ")
        };
        assert_eq!(told(S / 2), "");
        assert_eq!(
            told(S),
            "The next marble, 0, had waited 1.0 s in `slide` on its way."
        );
        assert_eq!(
            told(3 * S),
            "The next marble, 0, had waited 3.0 s in `slide` on its way."
        );
    }

    #[test]
    fn other_wheels_are_asked_for_their_stops_meanwhile() {
        let asked = |pinched_s: u64, meanwhile_s: RangeInclusive<u64>| {
            let mut circuit = MadeUp::new(2, "least-fill: 0.5").circuit;
            circuit.tending = Some(30 * S);
            let blocked = TraceEvent::Blocked {
                node: 3,
                cause: Cause::Pinch,
            };
            let replay = Replay::made_up(&circuit, &[(pinched_s * S, blocked)], &[]);
            let incident = Incident::single(IncidentKind::Starved, 1, 0);
            let mut writer = StoryWriter::new(&circuit, &replay, &incident);
            let (from, to) = meanwhile_s.into_inner();
            writer.other_stops(1, from * S..=to * S);
            writer.asked()
        };
        assert_eq!(asked(5, 0..=5), [Change::LeaveOut(3, 5 * S)]);
        assert_eq!(asked(6, 0..=5), []);
        // It stands until 35 s, and what it sends on comes as much later as pockets went by empty.
        assert_eq!(asked(5, 40..=45), [Change::LeaveOut(3, 5 * S)]);
        assert_eq!(asked(5, 41..=46), []);
    }

    /// Ten marbles that come round together every 10 s or so leave ten of twenty pockets empty, fifteen five.
    #[test]
    fn so_many_more_are_found_as_bridge_the_gap() {
        let circuit = MadeUp::of(
            "format: 1\nmarbles: { count: 10 }\ndrive: { speed: 6 rpm }\nstart: ramp\ncircuit:\n  \
             ramp: { ramp: { time: 1 s, places: 40 }, to: wheel }\n  \
             wheel: { pocket-wheel: { pockets: 20, lift: 180 deg }, to: slide }\n  \
             slide: { slide: { time: 4 s }, to: ramp }\n",
        )
        .circuit;
        let id = RunId {
            seed: 1,
            run: 0,
            horizon: 120 * S,
        };
        let replay = Replay::of(&circuit, id);
        let streak = streaks(&circuit, &replay, 1)[0];
        let asked = |count: u64| {
            let incident = Incident {
                count,
                ..Incident::single(IncidentKind::Starved, 1, streak.from)
            };
            let mut writer = StoryWriter::new(&circuit, &replay, &incident);
            writer.more_marbles();
            writer.asked()
        };
        assert_eq!(asked(7), [Change::Load(15)]);
        assert_eq!(asked(streak.pockets), [Change::Load(11)]);
        assert_eq!(asked(streak.pockets - 1), [Change::Load(12)]);
    }
}
