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
