//! The story of one incident: what happened, and back along its causes to what is not explained further. A cause is named
//! only where the run, replayed without it, goes another way.

use super::change::{Change, Checked, OTHERS};
use super::incidents::{Incident, Kind, stops, streaks};
use super::replay::{Replay, Visit, Which};
use super::words::{chance, clock, count, duration, figure};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::{Cause, Plan, Role};
use crate::engine::Outcome;
use crate::engine::watch::{Seen, What};

/// The story of one incident.
#[derive(Clone, Debug)]
pub struct Story {
    /// The incident.
    pub incident: Incident,
    /// At most ten sentences.
    pub sentences: Vec<Sentence>,
    /// Causes that were taken away and changed nothing; nothing is claimed of them.
    pub rejected: Vec<Checked>,
    /// Marbles that played a part.
    pub marbles: Vec<u32>,
    /// The earliest time the story goes back to.
    pub since: Nanos,
}

/// A sentence, and the replay that it rests on where it names a cause.
#[derive(Clone, Debug)]
pub struct Sentence {
    /// The sentence.
    pub text: String,
    /// What was taken away and what came of it.
    pub checked: Option<Checked>,
}

/// No story is longer, the closing sentence included.
const SENTENCES: usize = 10;

/// Tells the story of `incident`.
pub fn story(circuit: &Circuit, which: Which, replay: &Replay, incident: &Incident) -> Story {
    let story = Story {
        incident: *incident,
        sentences: Vec::new(),
        rejected: Vec::new(),
        marbles: Vec::new(),
        since: incident.time,
    };
    let mut teller = Teller { circuit, which, replay, incident, story, walked: Vec::new() };
    match incident.kind {
        Kind::Jam(cause) | Kind::Snag(cause) => teller.wedged(cause),
        Kind::Spill | Kind::Held => teller.overfull(),
        Kind::Backlog => teller.backlog(),
        Kind::Starved => teller.starved(),
        Kind::Gridlock => teller.gridlocked(),
        Kind::RanDry => teller.ran_dry(),
    }
    teller.close();
    teller.story
}

/// Tells a story while it walks back along the causes.
pub struct Teller<'a> {
    /// The circuit.
    pub circuit: &'a Circuit,
    /// Which run.
    pub which: Which,
    /// The run.
    pub replay: &'a Replay,
    /// The incident.
    pub incident: &'a Incident,
    /// What has been told.
    pub story: Story,
    /// Elements whose filling has been told.
    pub walked: Vec<usize>,
}

impl Teller<'_> {
    /// An element's name.
    pub fn name(&self, n: usize) -> String {
        self.circuit.nodes.get(n).map_or("the hand".to_owned(), |plan| format!("`{}`", plan.name))
    }

    /// A time on the clock, to which the story goes back.
    pub fn at(&mut self, time: Nanos) -> String {
        self.story.since = self.story.since.min(time);
        clock(seconds(time))
    }

    /// Tells a fact, if there is room for it.
    pub fn say(&mut self, text: String) {
        if self.story.sentences.len() < SENTENCES - 1 {
            self.story.sentences.push(Sentence { text, checked: None });
        }
    }

    /// Names a cause if taking it away takes the effect away; `true` if it does.
    pub fn claim(&mut self, fact: &str, change: Change, effect: &Incident) -> bool {
        let checked = change.check(self.circuit, self.which, effect);
        self.conclude(fact, checked)
    }

    /// Names a cause that has been checked.
    pub fn conclude(&mut self, fact: &str, checked: Checked) -> bool {
        if !checked.holds() {
            self.story.rejected.push(checked);
            return false;
        }
        let without =
            if checked.is_the_marble() { "had it got through".to_owned() } else { checked.change.says(self.circuit) };
        let so = format!("{without}, {}", self.verdict(&checked));
        let text = if fact.is_empty() { capital(&so) } else { format!("{fact}; {so}") };
        if self.story.sentences.len() < SENTENCES - 1 {
            self.story.sentences.push(Sentence { text: text + ".", checked: Some(checked) });
        }
        true
    }

    fn verdict(&self, checked: &Checked) -> String {
        let what = match (checked.effect.kind, checked.effect == *self.incident) {
            (Kind::Backlog, false) => "so many would not have met there",
            _ => "it would not have happened",
        };
        let whole = duration(seconds(self.which.horizon));
        if checked.is_the_marble() {
            return self.instead(checked, &whole);
        }
        let when = match (checked.then, checked.end) {
            (Some(then), _) => format!("before {}", clock(seconds(then))),
            (None, (Outcome::Ran, _)) => format!("in the whole {whole}"),
            (None, (outcome, end)) => format!("before {} at {}", ended(outcome), clock(seconds(end))),
        };
        let others = match checked.others {
            Some((OTHERS, 0)) => format!(", nor in any of {OTHERS} other runs, which all have it"),
            Some((with, 0)) => format!(", nor in any of {OTHERS} other runs, of which {with} have it"),
            Some((with, without)) => format!(", and in {without} of {OTHERS} other runs rather than in {with}"),
            None => String::new(),
        };
        format!("{what} {when}{others}")
    }

    /// What would have gone wrong next, had a jam not happened.
    fn instead(&self, checked: &Checked, whole: &str) -> String {
        let next = match checked.next {
            Some(next) => {
                let (name, when) = (self.name(next.node), clock(seconds(next.time)));
                format!("and the next thing to go wrong would have been: {} at {name} at {when}", next.kind.name())
            }
            None => format!("and nothing else that needs mending would have gone wrong in the whole {whole}"),
        };
        format!("it would have gone on, {next}")
    }

    /// Says where the trail ends.
    fn close(&mut self) {
        if self.story.sentences.iter().any(|sentence| sentence.checked.is_some()) {
            return;
        }
        let effect = self.incident;
        let moved = self.story.rejected.iter().find_map(|checked| checked.others.filter(|_| checked.effect == *effect));
        let text = match moved {
            Some((with, _)) if with < OTHERS => format!(
                "So it is chance: the like happened in {with} of {OTHERS} other runs, and what would have changed it here changed nothing in the long run."
            ),
            _ => "No one cause can be named: with any single one taken away, it would have happened all the same."
                .to_owned(),
        };
        self.story.sentences.push(Sentence { text, checked: None });
    }

    fn seen(&self) -> Option<Seen> {
        self.incident.at.map(|at| self.replay.trace.seen[at])
    }

    /// Marbles stopped at an opening, a wheel or a gate, or on a slope.
    fn wedged(&mut self, cause: Cause) {
        let Incident { node, time, .. } = *self.incident;
        let (name, when) = (self.name(node), self.at(time));
        let marble = self.wedged_marble(cause);
        self.story.marbles.extend(marble);
        let who = marble.map_or("a marble".to_owned(), |marble| format!("marble {marble}"));
        let after = self.after_jam();
        match cause {
            Cause::Pinch => {
                self.say(format!("At {when} {name} pinched {who} between itself and the ramp{after}."));
                self.pinch_luck();
            }
            Cause::Arch => self.arch(&who, &after),
            Cause::Stick => {
                self.say(format!("At {when} {name} stuck half-way with {who} in it{after}."));
                let odds = self.snag_chance(0);
                self.claim(&format!("That is luck, {odds} for each marble"), Change::Spare(node, time), self.incident);
            }
            Cause::Stall => {
                self.say(format!("At {when} {who} came to rest on {name}{after}."));
                self.claim("Its slope is too shallow for marbles to roll on", Change::Rolls(node), self.incident);
            }
        }
    }

    fn after_jam(&mut self) -> String {
        match (self.incident.kind, self.circuit.tending) {
            (Kind::Snag(Cause::Arch), _) => ", and freed themselves later".to_owned(),
            (Kind::Snag(_), _) => ", and freed itself later".to_owned(),
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
            let entered =
                |visit: &&Visit| visit.node == node && visit.enter <= time && visit.leave.is_none_or(|t| t >= time);
            let arrived = replay.visits.iter().filter(entered);
            let arrived = arrived.filter(|visit| visit.event == event || visit.reach == Some(time));
            return arrived.map(|visit| visit.marble).next_back();
        }
        let taken = replay.between(time, Nanos::MAX).iter().find_map(|seen| match seen.what {
            What::Moved { marble, to, .. } if to == node => Some(marble),
            _ => None,
        });
        let leads_here = |visit: &&Visit| {
            let ways = self.circuit.nodes.get(visit.node).map(|plan| plan.ways.as_slice()).unwrap_or_default();
            visit.leave.is_none() && visit.reach.is_some() && ways.iter().any(|way| way.to == node)
        };
        taken.or_else(|| {
            replay.visits.iter().filter(leads_here).min_by_key(|visit| visit.reach).map(|visit| visit.marble)
        })
    }

    fn pinch_luck(&mut self) {
        let Incident { node, time, .. } = *self.incident;
        let Some(wheel) = self.circuit.nodes[node].wheel() else { return };
        let odds = chance(wheel.take_or_pinch.share() - wheel.take.share());
        let passed = self.replay.between(0, time).iter().filter(|seen| match seen.what {
            What::Moved { to, .. } => to == node,
            What::Missed { wheel } => wheel == node,
            _ => false,
        });
        let passed = passed.count() + 1;
        let name = self.name(node);
        let fact = format!(
            "That is the luck of one pocket: {name} pinches {odds} of the waiting marbles that its pockets pass, and this was the {passed}{} of the run",
            ordinal(passed)
        );
        self.claim(&fact, Change::Spare(node, time), self.incident);
        let Some(after) = self.circuit.tending else { return };
        let cleared = (time + after).min(self.replay.result.end);
        let grown = (0..self.circuit.nodes.len()).filter(|&n| n != node).max_by_key(|&n| {
            i64::from(self.replay.waiting[n].at(cleared)) - i64::from(self.replay.waiting[n].at(time))
        });
        let Some(n) = grown else { return };
        let (before, then) = (self.replay.waiting[n].at(time), self.replay.waiting[n].at(cleared));
        if then > before + 1 {
            let text = format!("While it stood, the marbles waiting at {} grew from {before} to {then}.", self.name(n));
            self.say(text);
        }
    }

    /// The chance of wedging for a marble that meets so many.
    fn snag_chance(&self, met: u32) -> String {
        let chances = self.circuit.nodes[self.incident.node].snag.as_ref().map(|snag| snag.chance.as_slice());
        let at = chances.and_then(|all| all.get(met as usize).or(all.last()));
        at.map_or("an unknown chance".to_owned(), |c| chance(c.share()))
    }

    fn arch(&mut self, who: &str, after: &str) {
        let Incident { node, time, at, .. } = *self.incident;
        let (name, when) = (self.name(node), self.at(time));
        let waiting = at.map_or(0, |at| self.replay.met(at));
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
                format!("To meet {} there goes wrong {} times", waiting + leaving, self.snag_chance(waiting + leaving))
            }
            false => "To meet others at a hole goes wrong now and then".to_owned(),
        };
        self.claim(&fact, Change::Spare(node, time), self.incident);
        if waiting > 1 && single {
            let crowd =
                Incident { kind: Kind::Backlog, count: u64::from(waiting), before: 0, at: None, ..*self.incident };
            self.crowd(node, time, &crowd);
        }
    }

    /// Whether a marble has just gone through the only gate of `node` and is still in the way of the next.
    fn leaving(&self, node: usize, time: Nanos) -> bool {
        let left = self.replay.between(0, time).iter().rev().find_map(|seen| match seen.what {
            What::Moved { from, .. } | What::Spilled { from, .. } if from == node => Some(seen.time),
            _ => None,
        });
        left.is_some_and(|left| left + self.circuit.nodes[node].advance > time)
    }

    /// An element that was full when a marble came.
    fn overfull(&mut self) {
        let Incident { kind, node, time, until, count: n, .. } = *self.incident;
        let (name, when) = (self.name(node), self.at(time));
        let (marble, from) = match self.seen().map(|seen| seen.what) {
            Some(What::Spilled { marble, from, .. } | What::Refused { marble, from, .. }) => (marble, from),
            _ => return,
        };
        self.story.marbles.push(marble);
        let source = self.name(from);
        let more = if n > 1 { format!(", the first of {n} until {}", clock(seconds(until))) } else { String::new() };
        let text = match kind {
            Kind::Spill => format!(
                "At {when} marble {marble}, coming from {source}, went over the side of {name} and was lost{more}."
            ),
            _ => format!("At {when} marble {marble} came home to {name} and had to wait in {source}{more}."),
        };
        self.say(text);
        self.full(node, time);
        let room = self.circuit.nodes[node].room;
        let from = self.replay.held[node].last_low(time, room / 2);
        self.grown(node, from, time, self.incident);
        self.remedies(node, self.incident);
    }

    /// Says that an element is full, and since when.
    pub fn full(&mut self, node: usize, time: Nanos) {
        let Plan { room, entrance_delay, ways, .. } = &self.circuit.nodes[node];
        let (name, before) = (self.name(node), time.saturating_sub(1));
        let held = &self.replay.held[node];
        if let Some(since) = held.since(before, *room) {
            let since = self.at(since);
            self.say(format!("{name} was full ({room} of {room} places) since {since}."));
        } else if matches!(self.circuit.nodes[node].role, Role::TippingCup(_)) {
            self.say(format!("{name} was tipped, and not yet back."));
        } else if *entrance_delay > 0 && !ways.is_empty() && held.since(before, room - 1).is_some() {
            self.say(format!("{name} was full, but for one place that had yet to move up to its entrance."));
        }
        let hand = self.replay.held[self.circuit.nodes.len()].at(time);
        if node == self.circuit.start && hand > 0 {
            self.say(format!(
                "{hand} of {} marbles were still to be poured in, and next in line for its places.",
                self.circuit.marbles
            ));
        }
    }

    fn backlog(&mut self) {
        let Incident { node, time, count: depth, .. } = *self.incident;
        let (name, when) = (self.name(node), self.at(time));
        let mean = {
            let result = &self.replay.result;
            figure(result.elements[node].waited_time() as f64 / (result.end.max(1)) as f64)
        };
        self.say(format!("At {when}, {depth} marbles waited at {name}, the most of this run; on average {mean} did."));
        self.crowd(node, time, self.incident);
        if self.story.sentences.iter().all(|sentence| sentence.checked.is_none()) {
            self.remedies(node, self.incident);
        }
    }

    /// Tells how those who wait at `node` at `time` came together.
    fn crowd(&mut self, node: usize, time: Nanos, effect: &Incident) {
        let waits = |visit: &&Visit| {
            let (waits, goes_on) = (visit.reach.is_some_and(|t| t <= time), visit.leave.is_none_or(|t| t > time));
            visit.node == node && waits && goes_on
        };
        let waiting: Vec<&Visit> = self.replay.visits.iter().filter(waits).collect();
        let from = waiting.iter().map(|visit| visit.enter).min().unwrap_or(time);
        let lasted = waiting.iter().map(|visit| visit.enter).max().unwrap_or(time) - from;
        self.story.marbles.extend(waiting.iter().map(|visit| visit.marble));
        if waiting.len() > 1 {
            let sources = self.sources(&waiting);
            let within = match lasted {
                0..100_000_000 => "together".to_owned(),
                _ => format!("within {}", duration(seconds(lasted))),
            };
            self.say(format!("The {} that were there then had come {within}: {sources}.", waiting.len()));
        }
        self.walked.push(node);
        self.grown(node, from, time, effect);
    }

    /// A wheel whose pockets went by empty.
    fn starved(&mut self) {
        let Incident { node, time, count: pockets, .. } = *self.incident;
        let Some(streak) = streaks(self.circuit, self.replay, node).into_iter().find(|s| s.from == time) else {
            return;
        };
        let (name, from, to) = (self.name(node), self.at(time), clock(seconds(streak.to)));
        self.say(format!(
            "From {from} to {to}, {pockets} pockets of {name} in a row went by empty, the most of this run."
        ));
        let missed = What::Missed { wheel: node };
        let missed = self.replay.between(time, streak.to).iter().filter(|seen| seen.what == missed).count();
        if missed > 0 {
            let fact = format!("{missed} of them missed a waiting marble");
            self.claim(&fact, Change::NoMiss(node), self.incident);
        }
        self.whereabouts((time + streak.to) / 2, node);
        self.next_marble(node, streak.to);
        self.other_stops(node, time, streak.to);
        self.more_marbles();
    }

    /// Says where most marbles were at `time`, but for the element `but`.
    fn whereabouts(&mut self, time: Nanos, but: usize) {
        let held = |n: usize| self.replay.held[n].at(time);
        let mut most: Vec<usize> = (0..self.circuit.nodes.len()).filter(|&n| n != but && held(n) > 0).collect();
        most.sort_by_key(|&n| std::cmp::Reverse(held(n)));
        let told: Vec<String> = most.iter().take(3).map(|&n| format!("{} at {}", held(n), self.name(n))).collect();
        if !told.is_empty() {
            let text = format!("At {} most marbles were elsewhere: {}.", clock(seconds(time)), told.join(", "));
            self.say(text);
        }
    }

    /// What kept the marble that ended the wait.
    fn next_marble(&mut self, wheel: usize, time: Nanos) {
        let visits = &self.replay.visits;
        let Some(last) = visits.iter().rposition(|visit| visit.node == wheel && visit.enter == time) else { return };
        let marble = visits[last].marble;
        let lap = visits[..last].iter().rev().filter(|visit| visit.marble == marble);
        let lap: Vec<&Visit> = lap.take_while(|visit| visit.node != wheel).collect();
        let waited = |visit: &Visit| visit.leave.unwrap_or(time).saturating_sub(visit.reach.unwrap_or(time));
        let Some(longest) = lap.iter().copied().max_by_key(|visit| waited(visit)) else { return };
        self.story.marbles.push(marble);
        let (node, wait) = (longest.node, waited(longest));
        if node >= self.circuit.nodes.len() || wait < 1_000_000_000 {
            return;
        }
        let fact = format!(
            "The next marble, {marble}, had waited {} in {} on its way",
            duration(seconds(wait)),
            self.name(node)
        );
        let change = match &self.circuit.nodes[node].role {
            Role::TippingCup(_) => Change::NoCup(node),
            Role::Escapement(_) => Change::NoHold(node),
            _ => match self.last_snag(node, time) {
                Some(snagged) => Change::Spare(node, snagged),
                None => return self.say(fact + "."),
            },
        };
        self.claim(&fact, change, self.incident);
    }

    /// Other wheels that stood and sent nothing.
    fn other_stops(&mut self, wheel: usize, from: Nanos, to: Nanos) {
        let lap = to - from;
        for n in 0..self.circuit.nodes.len() {
            let Some(other) = self.circuit.nodes[n].wheel().filter(|_| n != wheel) else { continue };
            let stop =
                stops(self.circuit, self.replay, other.drive).into_iter().find(|s| s.0 <= to && s.1 + lap >= from);
            if let Some(stop) = stop {
                let (name, begin) = (self.name(n), self.at(stop.0));
                let fact = format!("{name} stood from {begin} to {} for a pinched marble", clock(seconds(stop.1)));
                self.claim(&fact, Change::Spare(n, stop.0), self.incident);
            }
        }
    }

    fn more_marbles(&mut self) {
        let load = self.circuit.marbles;
        let more = [load / 20, load / 10, load / 5, load / 2, load].map(|more| load + more.max(1));
        let checks = more.into_iter().map(|load| Change::Load(load).check(self.circuit, self.which, self.incident));
        let checked: Vec<Checked> = checks.take(5).collect();
        match checked.iter().find(|checked| checked.then.is_none() && checked.holds()) {
            Some(enough) => {
                self.conclude("There were too few marbles to bridge it", *enough);
            }
            None => self.story.rejected.extend(checked.last()),
        }
    }

    /// Full elements that wait for each other, or for a dead end.
    fn gridlocked(&mut self) {
        let Incident { node, time, .. } = *self.incident;
        let when = self.at(time);
        self.say(format!("At {when} {} locked up: no marble there could ever move again.", self.name(node)));
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
            let leads = if self.circuit.nodes[pair[1]].ways.is_empty() { ", and leads nowhere" } else { "" };
            self.say(format!("{from} waited for {by}, which was full ({room} of {room} places){leads}."));
        }
        self.fewer_marbles(self.incident);
    }

    /// The full element that keeps `n` from moving.
    fn waits_for(&self, n: usize, time: Nanos) -> Option<usize> {
        let full = |&to: &usize| self.replay.held[to].at(time) >= self.circuit.nodes[to].room;
        let refused = self.replay.refused_by(n, time).map(|(by, _)| by);
        refused.or_else(|| self.circuit.nodes[n].ways.iter().map(|way| way.to).find(full))
    }

    fn ran_dry(&mut self) {
        let time = self.incident.time;
        let when = self.at(time);
        self.say(format!("At {when} the last marble came to rest and nothing moved any more."));
        self.whereabouts(time, usize::MAX);
        for n in 0..self.circuit.nodes.len() {
            let lost = self.replay.result.elements[n].spills;
            let Some(first) = self.replay.result.elements[n].first_spill else { continue };
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
                self.say(format!("{} lay in {}, which leads nowhere.", count(u64::from(held), "marble"), self.name(n)));
            }
        }
    }
}

/// How a run ended, after `before`.
fn ended(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Ran => "the end",
        Outcome::Jammed => "another jam ended the run",
        Outcome::Gridlocked => "it locked up",
        Outcome::RanDry => "nothing moved any more",
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
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
