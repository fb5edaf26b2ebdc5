//! Why a queue grew: whom its head waited for, what its wheel missed, what came all at once, and what would have kept it
//! short.

use std::ops::RangeInclusive;

use super::counterfactual::{Change, Checked};
use super::incidents::{Incident, stops};
use super::replay::Stay;
use super::story::StoryWriter;
use super::words::{clock, count};
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::{Cause, Role};
use crate::engine::watch::TraceEvent;

/// Fewer marbles from one emptying of a cup make no crowd.
const BATCH: usize = 3;

impl StoryWriter<'_> {
    /// Tells why marbles came together in `node` from `from` to `to`, and names the causes of `effect` among it.
    pub fn grown(&mut self, node: usize, from: Nanos, to: Nanos, effect: &Incident) {
        let while_it_grew = from..=to;
        if !self.walked.contains(&node) {
            self.walked.push(node);
            self.arrivals(node, &while_it_grew);
        }
        if let Some((by, since)) = self
            .replay
            .refused_by(node, to)
            .filter(|(by, _)| !self.walked.contains(by))
        {
            let (name, by_name, when) = (self.name(node), self.name(by), self.at(since));
            self.say(format!(
                "{name} could not let its head go: {by_name} refused it at {when}."
            ));
            self.full(by, since);
            let low = self.replay.held[by].last_low(since, self.circuit.nodes[by].room / 2);
            self.grown(by, low, to, effect);
        }
        self.wedged_before(node, to, effect);
        for way in &self.circuit.nodes[node].ways {
            self.slow_wheel(way.to, &while_it_grew, effect);
        }
        if matches!(self.circuit.nodes[node].role, Role::Server(_)) {
            let fact = format!(
                "{} lets marbles go one by one, each after a time",
                self.name(node)
            );
            self.claim(&fact, Change::NoHold(node), effect);
        }
        self.batches(node, &while_it_grew, effect);
    }

    /// Says how many came from where and how many left.
    fn arrivals(&mut self, node: usize, time: &RangeInclusive<Nanos>) {
        let (mut came, mut left) = (Vec::new(), 0);
        for visit in &self.replay.stays {
            if visit.node != node {
                continue;
            }
            if time.contains(&visit.enter) {
                came.push(visit);
            }
            if let Some(leave) = visit.leave
                && time.contains(&leave)
            {
                left += 1;
            }
        }
        if came.len() < 2 {
            return;
        }
        let sources = self.sources(&came);
        let (name, begin) = (self.name(node), self.at(*time.start()));
        let end = clock(seconds(*time.end()));
        let gone = if left == 0 {
            "none".to_owned()
        } else {
            left.to_string()
        };
        self.say(format!(
            "From {begin} to {end}, {} came to {name} ({sources}), and {gone} left.",
            came.len()
        ));
    }

    /// Where marbles came from: `6 from `cup-track`, 1 from `bell-track``.
    pub fn sources(&self, came: &[&Stay]) -> String {
        let mut sources: Vec<(usize, usize)> = Vec::new();
        for visit in came {
            match sources.iter_mut().find(|source| source.0 == visit.from) {
                Some(source) => source.1 += 1,
                None => sources.push((visit.from, 1)),
            }
        }
        sources.sort_by_key(|source| std::cmp::Reverse(source.1));
        let text: Vec<String> = sources
            .iter()
            .take(3)
            .map(|&(n, k)| format!("{k} from {}", self.name(n)))
            .collect();
        text.join(", ")
    }

    /// When a marble was last caught at `node`, other than between a wheel and its ramp, up to `time`.
    pub fn last_blockage(&self, node: usize, time: Nanos) -> Option<Nanos> {
        self.replay
            .between(0, time)
            .iter()
            .rev()
            .find_map(|seen| match seen.what {
                TraceEvent::Blocked {
                    node: n,
                    cause: Cause::Arch | Cause::Stick,
                } if n == node => Some(seen.time),
                _ => None,
            })
    }

    /// Marbles that were wedged at `node` itself.
    fn wedged_before(&mut self, node: usize, to: Nanos, effect: &Incident) {
        if self.circuit.nodes[node].stalls {
            let fact = format!("{} is too shallow for marbles to roll on", self.name(node));
            self.claim(&fact, Change::Rolls(node), effect);
        }
        let Some(time) = self.last_blockage(node, to.saturating_sub(1)) else {
            return;
        };
        let (name, when) = (self.name(node), clock(seconds(time)));
        if self.claim(
            &format!("Marbles had got stuck at {name} at {when}"),
            Change::LeaveOut(node, time),
            effect,
        ) {
            self.at(time);
        }
    }

    /// A wheel that should have taken the marbles away.
    fn slow_wheel(&mut self, n: usize, time: &RangeInclusive<Nanos>, effect: &Incident) {
        let (from, to) = (*time.start(), *time.end());
        let Some(wheel) = self.circuit.nodes[n].wheel() else {
            return;
        };
        let mut stops = stops(self.circuit, self.replay, wheel.drive).into_iter();
        if let Some(stop) = stops.find(|stop| stop.0 <= to && stop.1 >= from) {
            self.stood(n, stop, effect);
        }
        let name = self.name(n);
        let (mut took, mut missed, mut over) = (0u64, 0u64, 0u64);
        for seen in self.replay.between(from, to) {
            match seen.what {
                TraceEvent::Moved { to, .. } if to == n => took += 1,
                TraceEvent::Missed { wheel } if wheel == n => missed += 1,
                TraceEvent::CarriedOver { wheel, .. } if wheel == n => over += 1,
                _ => {}
            }
        }
        if missed > 0 {
            let fact = format!(
                "In that time {name} took {} and missed {missed}",
                count(took, "marble")
            );
            self.claim(&fact, Change::NoMiss(n), effect);
        }
        if over > 0 {
            let fact = format!(
                "In that time {name} carried {} over the top",
                count(over, "marble")
            );
            self.claim(&fact, Change::NoCarryOver(n), effect);
        }
    }

    /// A wheel whose drive stood for a pinched marble, its own or another wheel's.
    fn stood(&mut self, wheel: usize, (begin, end): (Nanos, Nanos), effect: &Incident) {
        let mut seen = self.replay.between(begin, begin).iter();
        let pinched_at = seen.find_map(|seen| match seen.what {
            TraceEvent::Blocked {
                node,
                cause: Cause::Pinch,
            } => Some(node),
            _ => None,
        });
        let pinched_at = pinched_at.unwrap_or(wheel);
        let (from, end) = (self.at(begin), clock(seconds(end)));
        let fact = format!(
            "{} stood from {from} to {end}, because {} had pinched a marble",
            self.name(wheel),
            self.name(pinched_at)
        );
        self.claim(&fact, Change::LeaveOut(pinched_at, begin), effect);
    }

    /// Marbles that a tipping cup let go together.
    fn batches(&mut self, node: usize, time: &RangeInclusive<Nanos>, effect: &Incident) {
        let mut batches: Vec<(usize, Nanos, Vec<u32>)> = Vec::new();
        for (at, visit) in self
            .replay
            .stays
            .iter()
            .enumerate()
            .filter(|(_, v)| v.node == node && time.contains(&v.enter))
        {
            let Some((cup, left)) = self.tipped(at) else {
                continue;
            };
            match batches
                .iter_mut()
                .find(|batch| (batch.0, batch.1) == (cup, left))
            {
                Some(batch) => batch.2.push(visit.marble),
                None => batches.push((cup, left, vec![visit.marble])),
            }
        }
        let Some((cup, left, marbles)) =
            batches.into_iter().rev().max_by_key(|batch| batch.2.len())
        else {
            return;
        };
        if marbles.len() < BATCH {
            return;
        }
        let (cup_name, when) = (self.name(cup), self.at(left));
        let fact = format!(
            "{} marbles came from one emptying of {cup_name} at {when}",
            marbles.len()
        );
        if self.claim(&fact, Change::NoCup(cup), effect) {
            self.story.marbles.extend(marbles);
            self.last_into(cup, left);
        }
    }

    /// When a marble that comes into an element at the visit `at` was last let go by a cup on this lap, and which.
    fn tipped(&self, at: usize) -> Option<(usize, Nanos)> {
        let visit = &self.replay.stays[at];
        let before = self.replay.stays[..at]
            .iter()
            .rev()
            .filter(|v| v.marble == visit.marble);
        let mut lap =
            before.take_while(|v| v.node != visit.node && v.node != self.circuit.lap_line);
        let cup = lap.find(|v| match self.circuit.nodes.get(v.node) {
            Some(plan) => matches!(plan.role, Role::Batch(_)),
            None => false,
        })?;
        Some((cup.node, cup.leave?))
    }

    /// Says which marble made a cup tip.
    fn last_into(&mut self, cup: usize, left: Nanos) {
        let Role::Batch(tipping) = &self.circuit.nodes[cup].role else {
            return;
        };
        let last = self
            .replay
            .stays
            .iter()
            .rfind(|v| v.node == cup && v.enter <= left && v.leave == Some(left));
        let Some(&Stay {
            marble,
            from,
            enter,
            ..
        }) = last
        else {
            return;
        };
        let which = tipping.gathers;
        let (name, from, when) = (self.name(cup), self.name(from), self.at(enter));
        self.say(format!(
            "{name} empties at its marble number {which}, which was marble {marble}, from {from} at {when}."
        ));
    }

    /// Fewer marbles, or more places, that would have kept `effect` away for the whole run.
    pub fn remedies(&mut self, node: usize, effect: &Incident) {
        self.fewer_marbles(effect);
        if self.circuit.nodes[node].places().is_none() || self.circuit.nodes[node].wheel().is_some()
        {
            return;
        }
        let enough = least(self.circuit.marbles, |more| {
            Change::Places(node, more).check(self.circuit, self.replay.id, effect)
        });
        self.settle(enough, Change::Places(node, self.circuit.marbles), effect);
    }

    /// The largest load that would have kept `effect` away.
    pub fn fewer_marbles(&mut self, effect: &Incident) {
        let load = self.circuit.marbles;
        let enough = least(load - 1, |fewer| {
            Change::Load(load - fewer).check(self.circuit, self.replay.id, effect)
        });
        self.settle(enough, Change::Load(load / 2), effect);
    }

    fn settle(&mut self, enough: Option<Checked>, most: Change, effect: &Incident) {
        match enough {
            Some(checked) => {
                self.conclude("", checked);
            }
            None => {
                let rejected = most.check(self.circuit, self.replay.id, effect);
                self.story.rejected.push(rejected);
            }
        }
    }
}

/// The least amount from 1 to `most` whose check takes the effect away for good: by doubling, then by halving.
fn least(most: u32, check: impl Fn(u32) -> Checked) -> Option<Checked> {
    let gone = |checked: &Checked| checked.then.is_none() && checked.holds();
    let (mut low, mut high) = (1, 1);
    let mut best = loop {
        let checked = check(high.min(most));
        if gone(&checked) {
            break checked;
        }
        if high >= most {
            return None;
        }
        (low, high) = (high + 1, high * 2);
    };
    high = high.min(most);
    while low < high {
        let middle = low + (high - low) / 2;
        let checked = check(middle);
        if gone(&checked) {
            best = checked;
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Some(best)
}

#[cfg(test)]
mod tests;
