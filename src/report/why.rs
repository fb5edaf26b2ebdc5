//! A run's incidents, the story of one and its events as JSON.

use serde::Serialize;
use serde_json::{Value, json};

use crate::circuit::Circuit;
use crate::circuit::draw::seconds;
use crate::engine::Outcome;
use crate::engine::watch::{TraceEvent, TraceRecord};
use crate::findings::counterfactual::{Change, Checked, OTHERS};
use crate::findings::incidents::Incident;
use crate::findings::replay::Replay;
use crate::findings::story::Story;
use crate::findings::trace::Trace;

/// Everything that `why` answers, as one object.
pub fn why_json(
    title: &str,
    circuit: &Circuit,
    replay: &Replay,
    all: &[Incident],
    story: Option<(usize, &Story)>,
) -> String {
    let incidents: Vec<Value> = all
        .iter()
        .enumerate()
        .map(|(n, i)| incident(circuit, n, i))
        .collect();
    let object = json!({
        "title": title,
        "seed": replay.id.seed,
        "run": replay.id.run,
        "hours": seconds(replay.id.horizon) / 3600.0,
        "outcome": outcome(replay.result.outcome),
        "end_s": seconds(replay.result.end),
        "jams": replay.result.jam_count(),
        "spills": replay.result.spills(),
        "moves": replay.result.moves,
        "incidents": incidents,
        "story": story.map(|(n, story)| story_json(circuit, n, story)),
    });
    serde_json::to_string_pretty(&object).unwrap_or_default()
}

fn story_json(circuit: &Circuit, n: usize, story: &Story) -> Value {
    let mut sentences = Vec::new();
    for s in &story.sentences {
        let checked = s.checked.as_ref().map(|checked| check(circuit, checked));
        sentences.push(json!({ "text": s.text, "checked": checked }));
    }
    let rejected = story.rejected.iter();
    let rejected: Vec<Value> = rejected.map(|checked| check(circuit, checked)).collect();
    json!({ "incident": n + 1, "sentences": sentences, "rejected": rejected })
}

fn incident(circuit: &Circuit, n: usize, incident: &Incident) -> Value {
    json!({
        "number": n + 1,
        "kind": incident.kind.name(),
        "element": circuit.nodes[incident.node].name,
        "time_s": seconds(incident.time),
        "until_s": seconds(incident.until),
        "count": incident.count,
        "grave": incident.kind.is_grave(),
        "text": incident.line(circuit),
    })
}

/// A cause taken away, and what came of it.
fn check(circuit: &Circuit, checked: &Checked) -> Value {
    let (change, element, amount) = match checked.change {
        Change::LeaveOut(n, _) => ("gets through", Some(n), None),
        Change::NoMiss(n) => ("no miss", Some(n), None),
        Change::NoCarryOver(n) => ("no carry-over", Some(n), None),
        Change::Rolls(n) => ("rolls", Some(n), None),
        Change::Places(n, more) => ("more places", Some(n), Some(more)),
        Change::NoCup(n) => ("no gathering", Some(n), None),
        Change::NoHold(n) => ("no hold", Some(n), None),
        Change::Load(marbles) => ("load", None, Some(marbles)),
    };
    json!({
        "change": change,
        "element": element.map(|n| circuit.nodes[n].name.clone()),
        "amount": amount,
        "at_s": if let Change::LeaveOut(_, time) = checked.change { Some(seconds(time)) } else { None },
        "looked_for": checked.effect.kind.name(),
        "happens_s": checked.then.map(seconds),
        "outcome": outcome(checked.end.0),
        "end_s": seconds(checked.end.1),
        "other_runs": checked.others.map(|(with, without)| json!({ "of": OTHERS, "with": with, "without": without })),
    })
}

fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Ran => "ran",
        Outcome::Jammed => "jammed",
        Outcome::Gridlocked => "gridlocked",
        Outcome::RanDry => "ran dry",
    }
}

/// Something that happened, as a line of JSON.
#[derive(Serialize)]
struct EventLine<'a> {
    event: u64,
    cause: Option<u64>,
    time_s: f64,
    what: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    marble: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<&'a str>,
}

/// Everything seen in a run, one JSON object a line, each with the nearest event before it that anything was seen of and
/// that led to it; the pouring in is event 0 and has no cause.
pub fn events(circuit: &Circuit, trace: &Trace) -> impl Iterator<Item = String> {
    let causes = trace.seen_causes();
    trace.seen.iter().map(move |seen| {
        let cause = causes.get(seen.event as usize).copied().flatten();
        serde_json::to_string(&line(circuit, seen, cause)).unwrap_or_default()
    })
}

fn line<'a>(circuit: &'a Circuit, seen: &TraceRecord, cause: Option<u64>) -> EventLine<'a> {
    let (what, marble, from, to, at) = match seen.what {
        TraceEvent::Moved { marble, from, to } => {
            ("moved", Some(marble), Some(from), Some(to), None)
        }
        TraceEvent::Spilled { marble, from, at } => {
            ("spilled", Some(marble), Some(from), None, Some(at))
        }
        TraceEvent::Queued { marble, node } => ("waits", Some(marble), None, None, Some(node)),
        TraceEvent::Refused { marble, from, by } => {
            ("refused", Some(marble), Some(from), None, Some(by))
        }
        TraceEvent::Missed { wheel } => ("missed", None, None, None, Some(wheel)),
        TraceEvent::CarriedOver { marble, wheel } => {
            ("carried over", Some(marble), None, None, Some(wheel))
        }
        TraceEvent::Blocked { node, cause } => (cause.name(), None, None, None, Some(node)),
        TraceEvent::Locked { node, .. } => ("lock", None, None, None, Some(node)),
        TraceEvent::Gridlocked { node } => ("gridlock", None, None, None, Some(node)),
    };
    // Divided, not multiplied by a thousand-millionth, so that it prints with the digits it has.
    EventLine {
        event: seen.event,
        cause,
        time_s: seen.time as f64 / 1e9,
        what,
        marble,
        from: name(circuit, from),
        to: name(circuit, to),
        at: name(circuit, at),
    }
}

fn name(circuit: &Circuit, n: Option<usize>) -> Option<&str> {
    match circuit.nodes.get(n?) {
        Some(plan) => Some(&plan.name),
        None => Some("the hand"),
    }
}
