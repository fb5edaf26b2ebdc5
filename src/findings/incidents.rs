//! What went wrong in a run, one by one, the gravest first.

use super::replay::Replay;
use super::words::{clock, count};
use crate::circuit::Circuit;
use crate::circuit::draw::{Nanos, seconds};
use crate::circuit::plan::{Cause, Role};
use crate::engine::Outcome;
use crate::engine::watch::{TraceEvent, TraceRecord};

/// Something that went wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Incident {
    /// What it was.
    pub kind: IncidentKind,
    /// Where.
    pub node: usize,
    /// When it began.
    pub time: Nanos,
    /// When the last of it was seen.
    pub until: Nanos,
    /// How many of it, in a row.
    pub count: u64,
    /// How many of the kind had been there before it.
    pub before: u64,
    /// Its place in the trace; `None` for what is a state rather than an event.
    pub at: Option<usize>,
}

/// What an incident was; the order is that of gravity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum IncidentKind {
    /// Full elements wait for each other, or for a dead end.
    Gridlock,
    /// Marbles of a part of the machine can never move again, while others go on.
    Lock,
    /// No marble moves any more.
    RanDry,
    /// Marbles stopped until somebody comes.
    Jam(Cause),
    /// Marbles went over the side.
    Spill,
    /// The start had no room for marbles that came home.
    Held,
    /// Marbles stopped, and freed themselves.
    Blockage(Cause),
    /// The longest run of empty pockets of a wheel.
    Starved,
    /// The most marbles that waited at an element.
    Backlog,
}

/// What happens again within this time is the same incident.
const SAME: Nanos = 60_000_000_000;
/// A shorter run of empty pockets starves nothing.
const FEWEST_EMPTY: u64 = 4;
/// Fewer waiting marbles are no backlog.
const FEWEST_WAITING: u32 = 4;
/// So many of the deepest backlogs are reported.
const BACKLOGS: usize = 3;

impl IncidentKind {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            IncidentKind::Gridlock => "gridlock",
            IncidentKind::Lock => "lock",
            IncidentKind::RanDry => "ran dry",
            IncidentKind::Jam(cause) | IncidentKind::Blockage(cause) => cause.name(),
            IncidentKind::Spill => "spill",
            IncidentKind::Held => "held at the start",
            IncidentKind::Starved => "starved",
            IncidentKind::Backlog => "backlog",
        }
    }

    /// Whether it is something that a maker has to fix, rather than the worst of an ordinary run.
    pub fn is_grave(self) -> bool {
        self < IncidentKind::Blockage(Cause::Pinch)
    }
}

/// All incidents of a run, the gravest first, those of one kind by time.
pub fn incidents(circuit: &Circuit, replay: &Replay) -> Vec<Incident> {
    let mut all = Vec::new();
    for (at, seen) in replay.trace.seen.iter().enumerate() {
        if let Some((kind, node)) = kind_of(circuit, seen) {
            note(&mut all, kind, node, seen.time, at);
        }
        if let (TraceEvent::Locked { marbles, .. }, Some(last)) = (seen.what, all.last_mut()) {
            last.count = u64::from(marbles);
        }
    }
    all.extend(ran_dry(circuit, replay));
    all.extend((0..circuit.nodes.len()).filter_map(|n| starved(circuit, replay, n)));
    all.extend(backlogs(circuit, replay));
    all.sort_by_key(|incident: &Incident| (incident.kind, incident.time, incident.node));
    all
}

/// What is seen, as an incident: its kind and place.
fn kind_of(circuit: &Circuit, seen: &TraceRecord) -> Option<(IncidentKind, usize)> {
    match seen.what {
        TraceEvent::Gridlocked { node } => Some((IncidentKind::Gridlock, node)),
        TraceEvent::Locked { node, .. } => Some((IncidentKind::Lock, node)),
        TraceEvent::Blocked { node, cause } if frees_itself(circuit, node, cause) => {
            Some((IncidentKind::Blockage(cause), node))
        }
        TraceEvent::Blocked { node, cause } => Some((IncidentKind::Jam(cause), node)),
        TraceEvent::Spilled { at, .. } => Some((IncidentKind::Spill, at)),
        // A hand that waits while it pours is no incident.
        TraceEvent::Refused { from, by, .. }
            if by == circuit.start && from < circuit.nodes.len() =>
        {
            Some((IncidentKind::Held, by))
        }
        _ => None,
    }
}

/// Whether marbles wedged at `node` by `cause` free themselves.
pub fn frees_itself(circuit: &Circuit, node: usize, cause: Cause) -> bool {
    let blockage = circuit.nodes[node].blockage.as_ref();
    blockage.is_some_and(|blockage| blockage.cause == cause && blockage.clears.is_some())
}

fn note(all: &mut Vec<Incident>, kind: IncidentKind, node: usize, time: Nanos, at: usize) {
    let before = |all: &[Incident]| {
        all.iter()
            .filter(|i| i.kind == kind && i.node == node)
            .map(|i| i.count)
            .sum()
    };
    let goes_on = matches!(kind, IncidentKind::Spill | IncidentKind::Held);
    let same = all.iter_mut().rfind(|i| i.kind == kind && i.node == node);
    match same.filter(|last| goes_on && time - last.until <= SAME) {
        Some(last) => {
            last.count += 1;
            last.until = time;
        }
        None => {
            let before = before(all);
            all.push(Incident {
                kind,
                node,
                time,
                until: time,
                count: 1,
                before,
                at: Some(at),
            });
        }
    }
}

fn ran_dry(circuit: &Circuit, replay: &Replay) -> Option<Incident> {
    let time = replay.result.end;
    let most = (0..circuit.nodes.len())
        .max_by_key(|&n| replay.held[n].at(time))
        .unwrap_or(0);
    let dry = Incident {
        kind: IncidentKind::RanDry,
        node: most,
        time,
        until: time,
        count: 1,
        before: 0,
        at: None,
    };
    (replay.result.outcome == Outcome::RanDry).then_some(dry)
}

fn starved(circuit: &Circuit, replay: &Replay, wheel: usize) -> Option<Incident> {
    let longest = streaks(circuit, replay, wheel)
        .into_iter()
        .rev()
        .max_by_key(|streak| streak.pockets)?;
    let Streak { pockets, from, to } = longest;
    let starved = Incident {
        kind: IncidentKind::Starved,
        node: wheel,
        time: from,
        until: to,
        count: pockets,
        before: 0,
        at: None,
    };
    (pockets >= FEWEST_EMPTY).then_some(starved)
}

fn backlogs(circuit: &Circuit, replay: &Replay) -> Vec<Incident> {
    // A cup's marbles wait by design, those at a dead end for ever, and those at the start since they were poured in.
    let queues = (0..circuit.nodes.len()).filter(|&n| {
        let plan = &circuit.nodes[n];
        n != circuit.start && !plan.ways.is_empty() && !matches!(plan.role, Role::TippingCup(_))
    });
    let deepest = |n: usize| {
        let depth = replay.waiting[n].highest();
        let time = replay.waiting[n].first_high(depth)?;
        let count = u64::from(depth);
        let deep = Incident {
            kind: IncidentKind::Backlog,
            node: n,
            time,
            until: time,
            count,
            before: 0,
            at: None,
        };
        (depth >= FEWEST_WAITING).then_some(deep)
    };
    let mut all: Vec<Incident> = queues.filter_map(deepest).collect();
    all.sort_by_key(|incident| std::cmp::Reverse(incident.count));
    all.truncate(BACKLOGS);
    all
}

/// Pockets in a row that carried nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Streak {
    /// How many.
    pub pockets: u64,
    /// When the last full pocket before them passed.
    pub from: Nanos,
    /// When the next full one passed, or the run ended.
    pub to: Nanos,
}

/// The runs of empty pockets of `wheel` after its first marble, in order.
pub fn streaks(circuit: &Circuit, replay: &Replay, wheel: usize) -> Vec<Streak> {
    let Some(plan) = circuit.nodes[wheel].wheel() else {
        return Vec::new();
    };
    let stops = stops(circuit, replay, plan.drive);
    let end = replay.result.end;
    let shown = |time: Nanos| time - stood(&stops, time);
    // Tick and time of every full pocket that passed, carried-over ones after a whole turn less the way to the top.
    let mut full: Vec<(u64, Nanos)> = Vec::new();
    for seen in &replay.trace.seen {
        match seen.what {
            TraceEvent::Moved { to, .. } if to == wheel => {
                full.push((plan.clock.tick_at_or_after(shown(seen.time)), seen.time))
            }
            TraceEvent::CarriedOver { wheel: n, .. } if n == wheel => {
                let tick = plan.clock.tick_at_or_after(shown(seen.time) - plan.lift)
                    + u64::from(plan.clock.pockets());
                full.push((tick, seen.time + plan.clock.turn() - plan.lift));
            }
            _ => {}
        }
    }
    full.sort_unstable();
    full.retain(|pocket| pocket.1 <= end);
    let last = full
        .last()
        .map(|_| (plan.clock.ticks_up_to(shown(end)), end));
    let ends = full.iter().skip(1).copied().chain(last);
    let streak = |((tick, from), (next, to)): (&(u64, Nanos), (u64, Nanos))| Streak {
        pockets: next.saturating_sub(tick + 1),
        from: *from,
        to,
    };
    full.iter()
        .zip(ends)
        .map(streak)
        .filter(|streak| streak.pockets > 0)
        .collect()
}

/// When the drive stood, from and to, because a marble was pinched.
pub fn stops(circuit: &Circuit, replay: &Replay, drive: usize) -> Vec<(Nanos, Nanos)> {
    let stop = |seen: &TraceRecord| match seen.what {
        TraceEvent::Blocked {
            node,
            cause: Cause::Pinch,
        } if circuit.nodes[node].wheel()?.drive == drive => {
            let end = circuit
                .tending
                .map_or(Nanos::MAX, |after| seen.time + after);
            Some((seen.time, end.min(replay.result.end)))
        }
        _ => None,
    };
    replay.trace.seen.iter().filter_map(stop).collect()
}

fn stood(stops: &[(Nanos, Nanos)], time: Nanos) -> Nanos {
    stops
        .iter()
        .take_while(|stop| stop.0 <= time)
        .map(|stop| stop.1.min(time) - stop.0)
        .sum()
}

impl Incident {
    /// When the like of it first happens in another run: the same kind, as often as it had happened here.
    pub fn recurrence(&self, circuit: &Circuit, replay: &Replay) -> Option<Nanos> {
        let nth = |here: &dyn Fn(&TraceRecord) -> bool| {
            let same = replay.trace.seen.iter().filter(|seen| here(seen));
            same.map(|seen| seen.time).nth(self.before as usize)
        };
        match self.kind {
            IncidentKind::RanDry => {
                (replay.result.outcome == Outcome::RanDry).then_some(replay.result.end)
            }
            IncidentKind::Starved => {
                let streaks = streaks(circuit, replay, self.node);
                streaks
                    .iter()
                    .find(|streak| streak.pockets >= self.count)
                    .map(|streak| streak.from)
            }
            IncidentKind::Backlog => replay.waiting[self.node].first_high(self.count as u32),
            IncidentKind::Gridlock => {
                nth(&|seen| matches!(seen.what, TraceEvent::Gridlocked { .. }))
            }
            kind => nth(&|seen| kind_of(circuit, seen) == Some((kind, self.node))),
        }
    }

    /// One line: `1:52 spill at `ramp`, 17 marbles until 3:40`.
    pub fn line(&self, circuit: &Circuit) -> String {
        let name = &circuit.nodes[self.node].name;
        let when = clock(seconds(self.time));
        let until = clock(seconds(self.until));
        let head = format!("{when} {} at `{name}`", self.kind.name());
        match self.kind {
            IncidentKind::Spill if self.count > 1 => {
                format!("{head}: {} until {until}", count(self.count, "marble"))
            }
            // One marble may come home and be held many times.
            IncidentKind::Held if self.count > 1 => {
                format!("{head}: {} until {until}", count(self.count, "time"))
            }
            IncidentKind::Lock => {
                format!(
                    "{head}: {} can never move again, the rest goes on",
                    count(self.count, "marble")
                )
            }
            IncidentKind::Blockage(_) => format!("{head}, which freed itself"),
            IncidentKind::Starved => format!(
                "{when} `{name}` starved: {} empty pockets until {until}",
                self.count
            ),
            IncidentKind::Backlog => format!("{head}: {} waiting", count(self.count, "marble")),
            IncidentKind::RanDry => format!("{when} ran dry: nothing moved any more"),
            _ => head,
        }
    }
}
