//! `why`: incidents, the causes named in their stories, the list of events and the picture.
//!
//! Every cause that a story names is taken away here once more, and the run is looked at with a count of its own.

use std::collections::BTreeSet;
use std::path::Path;

use crate::program::{answer, program};
use crate::support::legible;
use marblewright::charts::canvas::Format;
use marblewright::charts::time_distance::{IncidentChart, picture};
use marblewright::circuit::draw::{Nanos, nanos};
use marblewright::circuit::plan::Cause;
use marblewright::circuit::{self, Circuit};
use marblewright::engine::watch::{TraceEvent, TraceRecord};
use marblewright::engine::{RunResult, simulate};
use marblewright::findings::counterfactual::{Change, Checked};
use marblewright::findings::incidents::{Incident, IncidentKind, incidents};
use marblewright::findings::replay::{Replay, RunId};
use marblewright::findings::story::{Story, story};
use marblewright::findings::trace::Trace;
use marblewright::machine;
use serde_json::Value;

const SCENARIOS: [&str; 7] = [
    "storm-wheel",
    "spring-tide",
    "harbour-weir",
    "lantern-walk",
    "tide-clock",
    "circuit-a",
    "starter-loop",
];
const HALF_AN_HOUR: f64 = 1800.0;
const MINUTE: Nanos = 60_000_000_000;

fn scenario(stem: &str) -> Circuit {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("scenarios")
        .join(format!("{stem}.yaml"));
    let text = std::fs::read_to_string(path).expect("a scenario");
    circuit::circuit(&machine::read(&text, &[]).expect("sound"))
}

fn of(run: u64, time_s: f64) -> RunId {
    RunId {
        seed: 1,
        run,
        horizon: nanos(time_s),
    }
}

fn watched(circuit: &Circuit, which: RunId) -> (RunResult, Trace) {
    let mut trace = Trace::default();
    let result = simulate(circuit, which.seed, which.run, which.horizon, &mut trace);
    (result, trace)
}

/// One incident of each kind at each element.
fn each_kind(circuit: &Circuit, replay: &Replay) -> Vec<Incident> {
    let mut met: Vec<(IncidentKind, usize)> = Vec::new();
    let mut all = incidents(circuit, replay);
    all.retain(|incident| {
        let new = !met.contains(&(incident.kind, incident.node));
        met.push((incident.kind, incident.node));
        new
    });
    all
}

/// When the like of `effect` happens in a run for the `nth` time (from 0), counted from the plain trace; `Some(0)` where it
/// happens, but a count cannot say when.
fn happens(circuit: &Circuit, effect: &Incident, nth: u64, which: RunId) -> Option<Nanos> {
    let (result, trace) = watched(circuit, which);
    let here = |seen: &TraceRecord| match (effect.kind, seen.what) {
        (
            IncidentKind::Jam(cause) | IncidentKind::Blockage(cause),
            TraceEvent::Blocked { node, cause: c },
        ) => (node, c) == (effect.node, cause),
        (IncidentKind::Spill, TraceEvent::Spilled { at, .. }) => at == effect.node,
        (IncidentKind::Held, TraceEvent::Refused { from, by, .. }) => {
            by == effect.node && from < circuit.nodes.len()
        }
        (IncidentKind::Gridlock, TraceEvent::Gridlocked { .. }) => true,
        _ => false,
    };
    match effect.kind {
        IncidentKind::Backlog => {
            (u64::from(result.elements[effect.node].backlog_peak()) >= effect.count).then_some(0)
        }
        IncidentKind::Starved => {
            let wheel = circuit.nodes[effect.node].wheel().expect("a wheel");
            let longest = result.elements[effect.node]
                .pockets
                .expect("a wheel")
                .longest_empty;
            let first = trace
                .seen
                .iter()
                .find(|s| matches!(s.what, TraceEvent::Moved { to, .. } if to == effect.node));
            // Pockets that pass before the first marble are no starving, but the engine counts them, and they may hide it.
            let before = first.map_or(0, |seen| wheel.clock.tick_at_or_after(seen.time));
            let masked = longest >= effect.count && longest <= before;
            let replayed = || effect.recurrence(circuit, &Replay::of(circuit, which));
            if masked {
                replayed()
            } else {
                (longest >= effect.count).then_some(0)
            }
        }
        _ => trace
            .seen
            .iter()
            .filter(|seen| here(seen))
            .map(|seen| seen.time)
            .nth(nth as usize),
    }
}

/// Takes the cause away and sees for itself that the effect is gone or later, in this run and in the long run.
fn bears_out(circuit: &Circuit, which: RunId, checked: &Checked) -> Result<(), String> {
    let effect = &checked.effect;
    let changed = checked.change.on(circuit);
    if happens(circuit, effect, effect.before, which).is_none() {
        return Err("the incident is not in the run as it was".to_owned());
    }
    let then = happens(&changed, effect, effect.before, which);
    // A count without a time cannot bear out that something only comes later.
    let counted = matches!(effect.kind, IncidentKind::Backlog | IncidentKind::Starved)
        && checked.then.is_some();
    if counted || then == checked.then {
        let moved = if checked.is_the_marble() {
            effect.time
        } else {
            effect.time + MINUTE
        };
        if checked.then.is_some_and(|then| then <= moved) {
            return Err(format!("it happens at {:?} all the same", checked.then));
        }
    } else {
        return Err(format!(
            "it happens at {then:?}, told was {:?}",
            checked.then
        ));
    }
    if let Change::LeaveOut(_, time) = checked.change {
        return same_until(
            time,
            &watched(circuit, which).1,
            &watched(&changed, which).1,
        );
    }
    let (mut had, mut have) = (0, 0);
    for n in 1..=8 {
        let other = RunId {
            run: which.run + n,
            ..which
        };
        had += usize::from(happens(circuit, effect, 0, other).is_some());
        have += usize::from(happens(&changed, effect, 0, other).is_some());
    }
    if had < 6 || have > 1 {
        Err(format!(
            "{had} of 8 other runs have it, {have} without the cause"
        ))
    } else {
        Ok(())
    }
}

fn same_until(time: Nanos, with: &Trace, without: &Trace) -> Result<(), String> {
    let before = |trace: &Trace| {
        trace
            .seen
            .iter()
            .take_while(|seen| seen.time < time)
            .count()
    };
    let (n, m) = (before(with), before(without));
    let caught =
        |seen: &TraceRecord| seen.time == time && matches!(seen.what, TraceEvent::Blocked { .. });
    if n != m || with.seen[..n] != without.seen[..m] {
        return Err("the run differs before the cause was taken away".to_owned());
    }
    if !with.seen.iter().any(caught) || without.seen.iter().any(caught) {
        return Err("no marble got through".to_owned());
    }
    Ok(())
}

#[test]
fn every_cause_named_in_the_stories_of_the_scenarios_is_borne_out_by_taking_it_away() {
    let (mut stories, mut named) = (0, 0);
    let mut kinds = BTreeSet::new();
    for (stem, run) in SCENARIOS.iter().flat_map(|stem| [(stem, 0), (stem, 1)]) {
        let (circuit, which) = (scenario(stem), of(run, HALF_AN_HOUR));
        let replay = Replay::of(&circuit, which);
        for incident in each_kind(&circuit, &replay) {
            let told_of = story(&circuit, &replay, &incident);
            let text: Vec<&str> = told_of
                .sentences
                .iter()
                .map(|sentence| sentence.text.as_str())
                .collect();
            assert!((2..=10).contains(&text.len()), "{stem} {run}: {text:?}");
            for checked in told_of
                .sentences
                .iter()
                .filter_map(|sentence| sentence.checked.as_ref())
            {
                if let Err(why) = bears_out(&circuit, which, checked) {
                    panic!(
                        "{stem}, run {run}: {why}: {:?}\n{}",
                        checked.change,
                        text.join("\n")
                    );
                }
                named += 1;
            }
            stories += 1;
            kinds.insert(incident.kind.name());
        }
    }
    assert!(stories >= 20, "only {stories} incidents");
    assert!(
        named >= 15,
        "only {named} causes named in {stories} stories"
    );
    assert!(kinds.len() >= 5, "only {kinds:?}");
}

/// A run is so easily upset that one marble more seems to cure it; that it is no cure shows in other runs.
#[test]
fn what_only_upsets_this_run_is_not_named_as_a_cause() {
    let circuit = scenario("lantern-walk");
    let upset = (0..40).find_map(|run| {
        let which = of(run, 3600.0);
        let all = incidents(&circuit, &Replay::of(&circuit, which));
        let starved = all
            .iter()
            .filter(|incident| incident.kind == IncidentKind::Starved)
            .max_by_key(|incident| incident.count);
        let checked = Change::Load(35).check(&circuit, which, starved?);
        checked
            .others
            .is_some_and(|(with, without)| with >= 6 && without > 1)
            .then_some(checked)
    });
    assert!(
        !upset
            .expect("a run that one marble more seems to cure")
            .holds()
    );
}

#[test]
fn a_run_that_jams_is_told_with_its_marbles() {
    // The demo machine with a mouth of half its width.
    let text = include_str!("../../scenarios/lantern-walk.yaml");
    let circuit = circuit::circuit(&crate::support::machine(
        text,
        &[
            ("marbles", "60"),
            ("circuit.floor.return-floor.mouth", "18 mm"),
        ],
    ));
    let arched = |run: &u64| {
        let replay = Replay::of(&circuit, of(*run, 3600.0));
        incidents(&circuit, &replay)
            .iter()
            .any(|incident| incident.kind == IncidentKind::Jam(Cause::Arch))
    };
    let which = of((0..200).find(arched).expect("a run that jams"), 3600.0);
    let replay = Replay::of(&circuit, which);
    let incident = incidents(&circuit, &replay)[0];
    assert_eq!(incident.kind, IncidentKind::Jam(Cause::Arch));
    let text: Story = story(&circuit, &replay, &incident);
    let first = &text.sentences[0].text;
    assert!(
        first.contains(" marbles arched across the opening of `floor`"),
        "{first}"
    );
    let checked = text
        .sentences
        .iter()
        .find_map(|sentence| sentence.checked)
        .expect("a cause");
    assert!(checked.holds());
    // Whoever was there came to the floor before and never left it.
    for marble in text.marbles {
        let last = replay
            .stays
            .iter()
            .rfind(|visit| visit.marble == marble)
            .expect("a visit");
        assert!(
            circuit.nodes[last.node].name == "floor" && last.leave.is_none(),
            "marble {marble}: {last:?}"
        );
    }
}

#[test]
fn watching_changes_nothing() {
    for stem in SCENARIOS {
        let (circuit, which) = (scenario(stem), of(3, 600.0));
        let plain = simulate(&circuit, which.seed, which.run, which.horizon, &mut ());
        let replay = Replay::of(&circuit, which);
        assert_eq!(replay.result, plain, "{stem}");
        for (n, element) in plain.elements.iter().enumerate() {
            assert_eq!(
                replay.waiting[n].highest(),
                element.backlog_peak(),
                "{stem}: deepest backlog of element {n}"
            );
            let inside = element.entries - element.exits;
            assert_eq!(
                u64::from(replay.held[n].at(plain.end)),
                inside,
                "{stem}: marbles inside element {n} at the end"
            );
            let visits = replay.stays.iter().filter(|visit| visit.node == n).count() as u64;
            assert_eq!(visits, element.entries, "{stem}: visits of element {n}");
        }
    }
}

const DEAD_END: &str = "
format: 1
title: Dead end
marbles: { count: 20 }
drive: { speed: 9 rpm }
start: ramp
tending: stop
circuit:
  ramp:
    ramp: { time: 1 s, places: 6 }
    to: lift
  lift:
    pocket-wheel: { pockets: 16, lift: 180 deg }
    to: chute
  chute:
    slide: { time: 0.8 s, places: 4 }
    to: box
  box:
    ramp: { time: 0.5 s, places: 5 }
    to: none
";

#[test]
fn a_lock_up_is_told_down_to_the_dead_end() {
    let circuit = circuit::circuit(&machine::read(DEAD_END, &[]).expect("sound"));
    let which = of(0, 600.0);
    let replay = Replay::of(&circuit, which);
    let incident = incidents(&circuit, &replay)[0];
    assert_eq!(incident.kind, IncidentKind::Gridlock);
    let text = story(&circuit, &replay, &incident);
    let text: Vec<&str> = text
        .sentences
        .iter()
        .map(|sentence| sentence.text.as_str())
        .collect();
    assert!(
        text.iter()
            .any(|t| t.contains("`box`") && t.ends_with("and leads nowhere.")),
        "{text:?}"
    );
}

#[test]
fn a_machine_that_runs_dry_is_told_with_where_its_marbles_are() {
    let text = DEAD_END.replace("count: 20", "count: 4");
    let circuit = circuit::circuit(&machine::read(&text, &[]).expect("sound"));
    let which = of(0, 600.0);
    let replay = Replay::of(&circuit, which);
    let incident = incidents(&circuit, &replay)[0];
    assert_eq!(incident.kind, IncidentKind::RanDry);
    let text = story(&circuit, &replay, &incident);
    let last: Vec<&str> = text
        .sentences
        .iter()
        .map(|sentence| sentence.text.as_str())
        .collect();
    assert!(
        last.contains(&"4 marbles lay in `box`, which leads nowhere."),
        "{last:?}"
    );
}

#[test]
fn the_picture_holds_its_texts_apart_and_is_the_same_every_time() {
    for stem in SCENARIOS {
        let (circuit, which) = (scenario(stem), of(0, 600.0));
        let replay = Replay::of(&circuit, which);
        for incident in each_kind(&circuit, &replay) {
            let text = story(&circuit, &replay, &incident);
            let drawn = IncidentChart {
                title: stem,
                setting: "as it is",
                circuit: &circuit,
                replay: &replay,
                story: &text,
            };
            for format in [Format::Wide, Format::Narrow] {
                let first = picture(&drawn, format);
                assert_eq!(first.png, picture(&drawn, format).png, "{stem}");
                legible::assert_picture(&first);
            }
        }
    }
}

// The command from outside.

const STORM: [&str; 6] = [
    "scenarios/storm-wheel.yaml",
    "--hours",
    "0.2",
    "--seed",
    "1",
    "--no-files",
];

#[test]
fn every_event_stands_on_a_line_with_an_earlier_cause() {
    let text = answer(&[&["why"], &STORM[..], &["--run", "0", "--events"]].concat());
    let mut known = BTreeSet::from([0]);
    let mut last = 0.0;
    let mut whats = BTreeSet::new();
    for line in text.lines() {
        let event: Value = serde_json::from_str(line).expect("one JSON object a line");
        let number = event["event"].as_u64().expect("a number");
        match event["cause"].as_u64() {
            Some(cause) => assert!(cause < number && known.contains(&cause), "{line}"),
            None => assert_eq!(number, 0, "{line}"),
        }
        let time = event["time_s"].as_f64().expect("a time");
        assert!(time >= last, "{line}");
        last = time;
        known.insert(number);
        whats.insert(event["what"].as_str().expect("a word").to_owned());
    }
    assert!(
        whats.contains("moved") && whats.contains("pinch"),
        "{whats:?}"
    );
    let plain = simulate(&scenario("storm-wheel"), 1, 0, nanos(0.2 * 3600.0), &mut ());
    assert_eq!(
        text.matches("\"what\":\"moved\"").count() as u64,
        plain.moves
    );
}

#[test]
fn json_gives_the_run_as_it_was_its_incidents_and_the_story() {
    let text = answer(&[&["why"], &STORM[..], &["--run", "1", "--json"]].concat());
    let json: Value = serde_json::from_str(&text).expect("one JSON value and nothing else");
    let plain = simulate(&scenario("storm-wheel"), 1, 1, nanos(0.2 * 3600.0), &mut ());
    assert_eq!(json["moves"], plain.moves);
    assert_eq!(json["jams"], plain.jam_count());
    assert_eq!(json["spills"], plain.spills());
    let grave = json["incidents"]
        .as_array()
        .expect("incidents")
        .iter()
        .filter(|i| i["grave"] == true)
        .count() as u64;
    assert_eq!(grave, plain.jam_count());
    let sentences = json["story"]["sentences"].as_array().expect("sentences");
    assert!(
        sentences
            .iter()
            .any(|s| s["checked"]["change"] == "gets through"),
        "{sentences:?}"
    );
}

#[test]
fn run_names_the_command_that_tells_the_story_and_it_tells_one() {
    let text = answer(&[
        "run",
        "scenarios/storm-wheel.yaml",
        "--hours",
        "0.2",
        "--runs",
        "2",
        "--seed",
        "7",
        "--rpm",
        "5.5",
        "--no-files",
    ]);
    let mut lines = text.lines();
    let command = lines
        .find_map(|line| line.strip_prefix("Why a run went wrong: "))
        .expect("a command");
    assert_eq!(
        command,
        "marblewright why scenarios/storm-wheel.yaml --rpm 5.5 --hours 0.2 --seed 7 --run 0"
    );
    let mut words: Vec<&str> = command.split(' ').skip(1).collect();
    words.push("--no-files");
    assert!(answer(&words).starts_with("Storm wheel: seed 7, run 0, incident 1\n"));
    let sound = answer(&[
        "run",
        "scenarios/starter-loop.yaml",
        "--hours",
        "0.1",
        "--runs",
        "2",
        "--no-files",
    ]);
    assert!(!sound.contains("why"), "{sound}");
}

#[test]
fn the_picture_is_written_where_it_is_wanted() {
    let place = tempfile::tempdir().expect("a directory");
    let out = place.path().join("story");
    let out = out.to_str().expect("text");
    let text = answer(&[
        "why",
        "scenarios/storm-wheel.yaml",
        "--hours",
        "0.2",
        "--run",
        "0",
        "--out",
        out,
    ]);
    assert!(
        text.trim_end().ends_with("why.png, why-close-up.png"),
        "{text}"
    );
    for name in ["why.png", "why-close-up.png"] {
        let png = std::fs::read(Path::new(out).join(name)).expect("the picture");
        assert!(png.starts_with(b"\x89PNG"));
    }
}

#[test]
fn what_is_not_there_cannot_be_told() {
    let refused = |args: &[&str], says: &str| {
        let output = program(args);
        let text = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{args:?}: {text}");
        assert!(
            output.stdout.is_empty() && text.matches("error: ").count() == 1,
            "{args:?}: {text}"
        );
        assert!(text.contains(says), "{args:?}: {text}");
    };
    refused(
        &["why", "--run", "-1"],
        "runs are numbered from 0 to 999999",
    );
    refused(&["why", "--run", "second"], "runs are numbered from 0");
    refused(&["why", "--run", "1000000"], "runs are numbered from 0");
    refused(&["why", "--incident", "0"], "incidents are numbered from 1");
    refused(
        &[&["why"], &STORM[..], &["--run", "0", "--incident", "99"]].concat(),
        "help: choose one from 1 to",
    );
    refused(
        &["why", "--hours", "100", "--run", "0"],
        "help: ask with --hours 48 or less",
    );
    refused(&["why", "--events", "--json"], "--json");
}
