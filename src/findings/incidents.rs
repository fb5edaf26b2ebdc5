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
            let found = Incident {
                at: Some(at),
                ..Incident::single(kind, node, seen.time)
            };
            note(&mut all, found);
        }
        if let (TraceEvent::Locked { marbles, .. }, Some(last)) = (seen.what, all.last_mut()) {
            last.count = u64::from(marbles);
        }
    }
    all.extend(ran_dry(circuit, replay));
    for wheel in circuit.wheels() {
        all.extend(starved(circuit, replay, wheel));
    }
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

fn note(all: &mut Vec<Incident>, found: Incident) {
    let goes_on = matches!(found.kind, IncidentKind::Spill | IncidentKind::Held);
    let mut before = 0;
    for known in all.iter_mut().rev() {
        if known.kind != found.kind || known.node != found.node {
            continue;
        }
        if before == 0 && goes_on && found.time - known.until <= SAME {
            known.count += 1;
            known.until = found.time;
            return;
        }
        before += known.count;
    }
    all.push(Incident { before, ..found });
}

fn ran_dry(circuit: &Circuit, replay: &Replay) -> Option<Incident> {
    if replay.result.outcome != Outcome::RanDry {
        return None;
    }
    let time = replay.result.end;
    let most = (0..circuit.nodes.len()).max_by_key(|&n| replay.held[n].at(time));
    Some(Incident::single(
        IncidentKind::RanDry,
        most.unwrap_or(0),
        time,
    ))
}

fn starved(circuit: &Circuit, replay: &Replay, wheel: usize) -> Option<Incident> {
    let longest = streaks(circuit, replay, wheel)
        .into_iter()
        .rev()
        .max_by_key(|streak| streak.pockets)?;
    if longest.pockets < FEWEST_EMPTY {
        return None;
    }
    Some(Incident {
        until: longest.to,
        count: longest.pockets,
        ..Incident::single(IncidentKind::Starved, wheel, longest.from)
    })
}

fn backlogs(circuit: &Circuit, replay: &Replay) -> Vec<Incident> {
    // A cup's marbles wait by design, those at a dead end for ever, and those at the start since they were poured in.
    let queues = circuit.nodes.iter().enumerate().filter(|(n, plan)| {
        *n != circuit.start && !plan.ways.is_empty() && !matches!(plan.role, Role::Batch(_))
    });
    let mut all = Vec::new();
    for (n, _) in queues {
        let depth = replay.waiting[n].highest();
        if let Some(time) = replay.waiting[n].first_high(depth)
            && depth >= FEWEST_WAITING
        {
            all.push(Incident {
                count: u64::from(depth),
                ..Incident::single(IncidentKind::Backlog, n, time)
            });
        }
    }
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
    full.push((plan.clock.ticks_up_to(shown(end)), end));
    let mut streaks = Vec::new();
    for pair in full.windows(2) {
        let ((tick, from), (next, to)) = (pair[0], pair[1]);
        let pockets = next.saturating_sub(tick + 1);
        if pockets > 0 {
            streaks.push(Streak { pockets, from, to });
        }
    }
    streaks
}

/// When the drive stood, from and to, because a marble was pinched.
pub fn stops(circuit: &Circuit, replay: &Replay, drive: usize) -> Vec<(Nanos, Nanos)> {
    let mut stops = Vec::new();
    for seen in &replay.trace.seen {
        if let TraceEvent::Blocked {
            node,
            cause: Cause::Pinch,
        } = seen.what
            && let Some(wheel) = circuit.nodes[node].wheel()
            && wheel.drive == drive
        {
            let end = match circuit.tending {
                Some(after) => replay.result.end.min(seen.time + after),
                None => replay.result.end,
            };
            stops.push((seen.time, end));
        }
    }
    stops
}

fn stood(stops: &[(Nanos, Nanos)], time: Nanos) -> Nanos {
    stops
        .iter()
        .take_while(|stop| stop.0 <= time)
        .map(|stop| stop.1.min(time) - stop.0)
        .sum()
}

impl Incident {
    /// One of its kind at a moment, before which there was none.
    pub(super) fn single(kind: IncidentKind, node: usize, time: Nanos) -> Self {
        Incident {
            kind,
            node,
            time,
            until: time,
            count: 1,
            before: 0,
            at: None,
        }
    }

    /// When the like of it first happens in another run: the same kind, as often as it had happened here.
    pub fn recurrence(&self, circuit: &Circuit, replay: &Replay) -> Option<Nanos> {
        match self.kind {
            IncidentKind::RanDry => Some(ran_dry(circuit, replay)?.time),
            IncidentKind::Starved => {
                let streaks = streaks(circuit, replay, self.node);
                let mut as_long = streaks.iter().filter(|streak| streak.pockets >= self.count);
                Some(as_long.next()?.from)
            }
            IncidentKind::Backlog => replay.waiting[self.node].first_high(self.count as u32),
            _ => {
                let mut like = replay
                    .trace
                    .seen
                    .iter()
                    .filter(|seen| self.is_like(circuit, seen));
                Some(like.nth(self.before as usize)?.time)
            }
        }
    }

    /// Whether the same is seen, at the same place; a gridlock is the same wherever it is.
    fn is_like(&self, circuit: &Circuit, seen: &TraceRecord) -> bool {
        let Some((kind, node)) = kind_of(circuit, seen) else {
            return false;
        };
        kind == self.kind && (node == self.node || kind == IncidentKind::Gridlock)
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
                "{when} `{name}` starved: {} empty {} until {until}",
                self.count,
                circuit.nodes[self.node].seats()
            ),
            IncidentKind::Backlog => format!("{head}: {} waiting", count(self.count, "marble")),
            IncidentKind::RanDry => format!("{when} ran dry: nothing moved any more"),
            _ => head,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::made_up::{MadeUp, S};

    #[test]
    fn what_a_maker_has_to_fix_is_grave() {
        let grave = [
            IncidentKind::Gridlock,
            IncidentKind::Lock,
            IncidentKind::RanDry,
            IncidentKind::Jam(Cause::Fall),
            IncidentKind::Spill,
            IncidentKind::Held,
        ];
        assert!(grave.iter().all(|kind| kind.is_grave()));
        let ordinary = [
            IncidentKind::Blockage(Cause::Pinch),
            IncidentKind::Blockage(Cause::Fall),
            IncidentKind::Starved,
            IncidentKind::Backlog,
        ];
        assert!(!ordinary.iter().any(|kind| kind.is_grave()));
    }

    /// Spills at 0, 60, 121 and 181 s at element 0 are two incidents of two each, those at element 1 meanwhile others; jams
    /// stand each for itself. Before each is counted what there was of its kind and place.
    #[test]
    fn what_goes_on_within_a_minute_is_one_incident() {
        let mut all = Vec::new();
        let (spill, jam) = (IncidentKind::Spill, IncidentKind::Jam(Cause::Pinch));
        let seen = [
            (spill, 0, 0),
            (spill, 1, 30),
            (spill, 0, 60),
            (jam, 0, 61),
            (jam, 0, 62),
            (spill, 0, 121),
            (spill, 0, 181),
            (spill, 0, 242),
        ];
        for (kind, node, time_s) in seen {
            note(&mut all, Incident::single(kind, node, time_s * S));
        }
        let told: Vec<_> = all
            .iter()
            .map(|one| {
                (
                    one.kind,
                    one.node,
                    one.time / S,
                    one.until / S,
                    one.count,
                    one.before,
                )
            })
            .collect();
        assert_eq!(
            told,
            [
                (spill, 0, 0, 60, 2, 0),
                (spill, 1, 30, 30, 1, 0),
                (jam, 0, 61, 61, 1, 0),
                (jam, 0, 62, 62, 1, 1),
                (spill, 0, 121, 181, 2, 2),
                (spill, 0, 242, 242, 1, 4),
            ]
        );
    }

    #[test]
    fn a_gridlock_is_the_same_wherever_it_is_and_a_spill_is_not() {
        let circuit = MadeUp::new(1, "least-fill: 0.5").circuit;
        let like = |kind, node, what| {
            let seen = TraceRecord {
                time: S,
                event: 0,
                what,
            };
            Incident::single(kind, node, S).is_like(&circuit, &seen)
        };
        let gridlocked = TraceEvent::Gridlocked { node: 1 };
        let spilled = TraceEvent::Spilled {
            marble: 0,
            from: 0,
            at: 1,
        };
        assert!(like(IncidentKind::Gridlock, 1, gridlocked));
        assert!(like(IncidentKind::Gridlock, 2, gridlocked));
        assert!(like(IncidentKind::Spill, 1, spilled));
        assert!(!like(IncidentKind::Spill, 2, spilled));
        assert!(!like(IncidentKind::Spill, 1, gridlocked));
        assert!(!like(
            IncidentKind::Spill,
            1,
            TraceEvent::Missed { wheel: 1 }
        ));
    }

    #[test]
    fn every_incident_has_its_line() {
        let circuit = MadeUp::new(1, "least-fill: 0.5").circuit;
        let line = |kind, count| {
            let incident = Incident {
                until: 220 * S,
                count,
                ..Incident::single(kind, 1, 112 * S)
            };
            incident.line(&circuit)
        };
        let lines = [
            (
                IncidentKind::Spill,
                17,
                "1:52 spill at `wheel-0`: 17 marbles until 3:40",
            ),
            (IncidentKind::Spill, 1, "1:52 spill at `wheel-0`"),
            (
                IncidentKind::Held,
                2,
                "1:52 held at the start at `wheel-0`: 2 times until 3:40",
            ),
            (IncidentKind::Held, 1, "1:52 held at the start at `wheel-0`"),
            (
                IncidentKind::Lock,
                1,
                "1:52 lock at `wheel-0`: 1 marble can never move again, the rest goes on",
            ),
            (
                IncidentKind::Blockage(Cause::Arch),
                1,
                "1:52 arch at `wheel-0`, which freed itself",
            ),
            (
                IncidentKind::Jam(Cause::Pinch),
                1,
                "1:52 pinch at `wheel-0`",
            ),
            (
                IncidentKind::Starved,
                9,
                "1:52 `wheel-0` starved: 9 empty pockets until 3:40",
            ),
            (
                IncidentKind::Backlog,
                5,
                "1:52 backlog at `wheel-0`: 5 marbles waiting",
            ),
            (
                IncidentKind::RanDry,
                1,
                "1:52 ran dry: nothing moved any more",
            ),
        ];
        for (kind, count, said) in lines {
            assert_eq!(line(kind, count), said);
        }
    }
}
