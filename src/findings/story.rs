//! The story of one incident: what happened, and back along its causes to what is not explained further. A cause is named
//! only where the run, replayed without it, goes another way.

use super::counterfactual::{Change, Checked, OTHERS};
use super::incidents::{Incident, IncidentKind};
use super::replay::{Replay, Stay};
use super::words::{capital, clock, duration, figure};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::{Plan, Role};
use crate::engine::Outcome;
use crate::engine::watch::{TraceEvent, TraceRecord};

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
pub fn story(circuit: &Circuit, replay: &Replay, incident: &Incident) -> Story {
    let mut writer = StoryWriter::new(circuit, replay, incident);
    match incident.kind {
        IncidentKind::Jam(cause) | IncidentKind::Blockage(cause) => writer.wedged(cause),
        IncidentKind::Spill | IncidentKind::Held => writer.overfull(),
        IncidentKind::Backlog => writer.backlog(),
        IncidentKind::Starved => writer.starved(),
        IncidentKind::Gridlock | IncidentKind::Lock => writer.gridlocked(),
        IncidentKind::RanDry => writer.ran_dry(),
    }
    writer.close();
    writer.story
}

/// Tells a story while it walks back along the causes.
pub struct StoryWriter<'a> {
    /// The circuit.
    pub circuit: &'a Circuit,
    /// The run.
    pub replay: &'a Replay,
    /// The incident.
    pub incident: &'a Incident,
    /// What has been said.
    pub story: Story,
    /// Elements whose filling has been explained.
    pub walked: Vec<usize>,
}

impl<'a> StoryWriter<'a> {
    /// Nothing has been said yet.
    pub fn new(circuit: &'a Circuit, replay: &'a Replay, incident: &'a Incident) -> Self {
        let story = Story {
            incident: *incident,
            sentences: Vec::new(),
            rejected: Vec::new(),
            marbles: Vec::new(),
            since: incident.time,
        };
        StoryWriter {
            circuit,
            replay,
            incident,
            story,
            walked: Vec::new(),
        }
    }
}

impl StoryWriter<'_> {
    /// An element's name.
    pub fn name(&self, n: usize) -> String {
        match self.circuit.nodes.get(n) {
            Some(plan) => format!("`{}`", plan.name),
            None => "the hand".to_owned(),
        }
    }

    /// A time on the clock, to which the story goes back.
    pub fn at(&mut self, time: Nanos) -> String {
        self.story.since = self.story.since.min(time);
        clock(seconds(time))
    }

    /// Tells a fact, if there is room for it.
    pub fn say(&mut self, text: String) {
        if self.story.sentences.len() < SENTENCES - 1 {
            self.story.sentences.push(Sentence {
                text,
                checked: None,
            });
        }
    }

    /// Names a cause if taking it away takes the effect away; `true` if it does.
    pub fn claim(&mut self, fact: &str, change: Change, effect: &Incident) -> bool {
        let checked = change.check(self.circuit, self.replay.id, effect);
        self.conclude(fact, checked)
    }

    /// Names a cause that has been checked.
    pub fn conclude(&mut self, fact: &str, checked: Checked) -> bool {
        if !checked.holds() {
            self.story.rejected.push(checked);
            return false;
        }
        let without = if checked.is_the_marble() {
            "had it got through".to_owned()
        } else {
            checked.change.says(self.circuit)
        };
        let so = format!("{without}, {}", self.verdict(&checked));
        let text = if fact.is_empty() {
            capital(&so)
        } else {
            format!("{fact}; {so}")
        };
        if self.story.sentences.len() < SENTENCES - 1 {
            self.story.sentences.push(Sentence {
                text: text + ".",
                checked: Some(checked),
            });
        }
        true
    }

    fn verdict(&self, checked: &Checked) -> String {
        let what = match (checked.effect.kind, checked.effect == *self.incident) {
            (IncidentKind::Backlog, false) => "so many would not have met there",
            _ => "it would not have happened",
        };
        let whole = duration(seconds(self.replay.id.horizon));
        if checked.is_the_marble() {
            return self.instead(checked, &whole);
        }
        let when = match (checked.then, checked.end) {
            (Some(then), _) => format!("before {}", clock(seconds(then))),
            (None, (Outcome::Ran, _)) => format!("in the whole {whole}"),
            (None, (outcome, end)) => {
                format!("before {} at {}", ended(outcome), clock(seconds(end)))
            }
        };
        let others = match checked.others {
            Some((OTHERS, 0)) => format!(", nor in any of {OTHERS} other runs, which all have it"),
            Some((with, 0)) => {
                format!(", nor in any of {OTHERS} other runs, of which {with} have it")
            }
            Some((with, without)) => {
                format!(", and in {without} of {OTHERS} other runs rather than in {with}")
            }
            None => String::new(),
        };
        format!("{what} {when}{others}")
    }

    /// What would have gone wrong next, had a jam not happened.
    fn instead(&self, checked: &Checked, whole: &str) -> String {
        let next = match checked.next {
            Some(next) => {
                let (name, when) = (self.name(next.node), clock(seconds(next.time)));
                format!(
                    "and the next thing to go wrong would have been: {} at {name} at {when}",
                    next.kind.name()
                )
            }
            None => format!(
                "and nothing else that needs mending would have gone wrong in the whole {whole}"
            ),
        };
        format!("it would have gone on, {next}")
    }

    /// Says where the trail ends, where no cause could be named. Who waits for whom explains a lock-up by itself.
    fn close(&mut self) {
        let named = self
            .story
            .sentences
            .iter()
            .any(|sentence| sentence.checked.is_some());
        if named
            || matches!(
                self.incident.kind,
                IncidentKind::Gridlock | IncidentKind::Lock | IncidentKind::RanDry
            )
        {
            return;
        }
        let effect = self.incident;
        let moved = self
            .story
            .rejected
            .iter()
            .find_map(|checked| checked.others.filter(|_| checked.effect == *effect));
        let text = match moved {
            _ if self.story.rejected.is_empty() => {
                "Nothing further back explains it but the luck of times and ways.".to_owned()
            }
            Some((with, _)) if with < OTHERS => format!(
                "So it is chance: the like happened in {with} of {OTHERS} other runs, and what would have changed it here changed nothing in the long run."
            ),
            _ => "No one cause can be named: with any single one taken away, it would have happened all the same."
                .to_owned(),
        };
        self.story.sentences.push(Sentence {
            text,
            checked: None,
        });
    }

    /// What was seen of the incident, if it is an event.
    pub fn seen(&self) -> Option<TraceRecord> {
        self.incident.at.map(|at| self.replay.trace.seen[at])
    }

    /// An element that was full when a marble came.
    fn overfull(&mut self) {
        let Incident {
            kind,
            node,
            time,
            until,
            count: n,
            ..
        } = *self.incident;
        let (name, when) = (self.name(node), self.at(time));
        let (marble, from) = match self.seen().map(|seen| seen.what) {
            Some(
                TraceEvent::Spilled { marble, from, .. } | TraceEvent::Refused { marble, from, .. },
            ) => (marble, from),
            _ => return,
        };
        self.story.marbles.push(marble);
        let source = self.name(from);
        let more = if n > 1 {
            format!(", the first of {n} until {}", clock(seconds(until)))
        } else {
            String::new()
        };
        let text = match kind {
            IncidentKind::Spill => format!(
                "At {when} marble {marble}, coming from {source}, went over the side of {name} and was lost{more}."
            ),
            _ => format!(
                "At {when} marble {marble} came home to {name} and had to wait in {source}{more}."
            ),
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
        let Plan {
            room,
            entrance_delay,
            ways,
            ..
        } = &self.circuit.nodes[node];
        let (name, before) = (self.name(node), time.saturating_sub(1));
        let held = &self.replay.held[node];
        if let Some(since) = held.since(before, *room) {
            let since = self.at(since);
            self.say(format!(
                "{name} was full ({room} of {room} places) since {since}."
            ));
        } else if matches!(self.circuit.nodes[node].role, Role::Batch(_)) {
            self.say(format!("{name} was tipped, and not yet back."));
        } else if *entrance_delay > 0 && !ways.is_empty() && held.since(before, room - 1).is_some()
        {
            self.say(format!(
                "{name} was full, but for one place that had yet to move up to its entrance."
            ));
        }
        let hand = self.replay.held[self.circuit.nodes.len()].at(time);
        if node == self.circuit.start && hand > 0 {
            self.say(format!(
                "{hand} of {} marbles were still to be poured in, after all that come home.",
                self.circuit.marbles
            ));
        }
    }

    fn backlog(&mut self) {
        let Incident {
            node,
            time,
            count: depth,
            ..
        } = *self.incident;
        let (name, when) = (self.name(node), self.at(time));
        let mean = {
            let result = &self.replay.result;
            figure(result.elements[node].waited_time() as f64 / (result.end.max(1)) as f64)
        };
        self.say(format!("At {when}, {depth} marbles waited at {name}, the most of this run; on average {mean} did."));
        self.crowd(node, time, self.incident);
        if self
            .story
            .sentences
            .iter()
            .all(|sentence| sentence.checked.is_none())
        {
            self.remedies(node, self.incident);
        }
    }

    /// Tells how those who wait at `node` at `time` came together.
    pub fn crowd(&mut self, node: usize, time: Nanos, effect: &Incident) {
        let visits = self.replay.stays.iter();
        let waiting: Vec<&Stay> = visits
            .filter(|visit| {
                let gone = matches!(visit.leave, Some(leave) if leave <= time);
                let came = matches!(visit.reach(), Some(reach) if reach <= time);
                visit.node == node && came && !gone
            })
            .collect();
        let from = waiting
            .iter()
            .map(|visit| visit.enter)
            .min()
            .unwrap_or(time);
        let lasted = waiting
            .iter()
            .map(|visit| visit.enter)
            .max()
            .unwrap_or(time)
            - from;
        self.story
            .marbles
            .extend(waiting.iter().map(|visit| visit.marble));
        if waiting.len() > 1 {
            let sources = self.sources(&waiting);
            let within = match lasted {
                0..100_000_000 => "together".to_owned(),
                _ => format!("within {}", duration(seconds(lasted))),
            };
            self.say(format!(
                "The {} that were there then had come {within}: {sources}.",
                waiting.len()
            ));
        }
        self.walked.push(node);
        self.grown(node, from, time, effect);
    }

    /// Says where most marbles were at `time`, but for the element `but`.
    pub fn whereabouts(&mut self, head: &str, time: Nanos, but: usize) {
        let held = |n: usize| self.replay.held[n].at(time);
        let mut most: Vec<usize> = (0..self.circuit.nodes.len())
            .filter(|&n| n != but && held(n) > 0)
            .collect();
        most.sort_by_key(|&n| std::cmp::Reverse(held(n)));
        let text: Vec<String> = most
            .iter()
            .take(3)
            .map(|&n| format!("{} at {}", held(n), self.name(n)))
            .collect();
        if !text.is_empty() {
            self.say(format!("{head}: {}.", text.join(", ")));
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

#[cfg(test)]
mod tests;
