//! The rules of src/handbook/rules.md, each where a maker could see it broken, known to the nanosecond or counted.

use crate::support::{circuit, circuit_of, entered_at, entries, file, index, machine, run, traced};
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::{Nanos, nanos};
use marblewright::engine::outcome::Lock;
use marblewright::engine::{self, Outcome};
use marblewright::findings::incidents::{IncidentKind, incidents};
use marblewright::findings::replay::{Replay, RunId};
use marblewright::findings::summary::{StudyScope, Summary, summarize};
use marblewright::findings::workable::{Criterion, judge};
use marblewright::findings::{RunFigures, Runs};

const S: Nanos = 1_000_000_000;
const MS: Nanos = 1_000_000;

fn figures(circuit: &Circuit, runs: u64, time_s: f64) -> Vec<RunFigures> {
    let one = |run| {
        RunFigures::new(
            run,
            &engine::simulate(circuit, 1, run, nanos(time_s), &mut ()),
        )
    };
    (0..runs).map(one).collect()
}

fn summary(circuit: &Circuit, runs: &[RunFigures], time_s: f64) -> Summary {
    let question = StudyScope {
        title: String::new(),
        rpm: None,
        seed: 1,
        hours: time_s / 3600.0,
    };
    let mut kept = Runs::new(circuit.start);
    kept.extend(runs.iter().cloned());
    summarize(&question, circuit, &kept)
}

/// A floor whose exit is backed up: marbles come to its mouth at 4, 7, 10, 13 and 16 s, one place beyond is taken for 10 s.
///
/// That of 7 s finds nobody, that of 10 s meets it and they arch until 12 s; so do those of 13 and 16 s, until 15 and 18 s.
/// The place beyond comes free at 14 s, but what is wedged does not go there before 15 s.
#[test]
fn marbles_that_wait_at_a_mouth_are_met() {
    let circuit = circuit(
        5,
        "src: { escapement: { time: 3 s }, to: floor }
         floor: { return-floor: { time: 1 s, mouth-time: 0.3 s, room: 10, arch: { chance: 1, clears: 2 s } }, to: slow }
         slow: { track: { time: 10 s, places: 1, advance: 0 s }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (result, trace) = traced(&circuit, 60.0);
    assert_eq!(result.elements[index(&circuit, "floor")].blockages, 3);
    assert_eq!(entered_at(&circuit, &trace, "slow", S), [4, 15, 25, 35, 45]);
}

/// Who waits at one hole is not met at another, nor is anybody where a marble finds the mouth clear.
#[test]
fn marbles_at_another_hole_are_not_met() {
    let clear = circuit(
        5,
        "src: { escapement: { time: 3 s }, to: floor }
         floor: { return-floor: { time: 1 s, mouth-time: 0.3 s, arch: { chance: 1, clears: 2 s } }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    assert_eq!(run(&clear, 60.0).elements[1].blockages, 0);
    // Two marbles: now and then they choose the same hole, and only then the second meets the first that waits.
    let holes = circuit(
        3,
        "src: { escapement: { time: 3 s }, to: bowl }
         bowl: { bowl: { swirl: 1 s, hole-time: 0.1 s, arch: { chance: 1, clears: 1 s } }, to: [one, other] }
         one: { track: { time: 100 s, places: 1 }, to: end }
         other: { track: { time: 100 s, places: 1 }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let run = |n| engine::simulate(&holes, 1, n, nanos(60.0), &mut ());
    let wedged: Vec<(u64, u64)> = (0..40)
        .map(|n| (run(n).elements[1].exits, run(n).elements[1].blockages))
        .collect();
    // Where all three choose one hole two wait and one arch: the second finds nobody waiting, the third finds the second.
    assert!(
        wedged.iter().all(|seen| matches!(seen, (1, 1) | (2, 0))),
        "{wedged:?}"
    );
    assert!(wedged.contains(&(1, 1)) && wedged.contains(&(2, 0)));
}

fn weir(to: &str) -> (u64, u64) {
    let circuit = circuit(
        12,
        &format!(
            "src: {{ escapement: {{ time: 1 s }}, to: weir }}
             weir: {{ weir: {{ time: 0 s }}, to: {to} }}
             a: {{ escapement: {{ time: 100 s, places: 1 }}, to: x }}
             b: {{ escapement: {{ time: 100 s, places: 1, when-full: spill }}, to: x }}
             x: {{ track: {{ time: 0 s }}, to: none }}"
        ),
    );
    let result = run(&circuit, 50.0);
    (
        result.spills(),
        result.elements[2].entries + result.elements[3].entries,
    )
}

#[test]
fn a_weir_with_all_ways_full_goes_over_at_its_last_way_or_waits() {
    assert_eq!((weir("[a, b]"), weir("[b, a]")), ((10, 2), (0, 2)));
}

/// Two loops; one of them locks, the other can go on for ever.
///
/// Marbles leave the feed every 0.1 s from 1 s on. The first two go into the trap and fill it; the first goes on into the
/// way back at 2.1 s, the fourth takes its place at 2.2 s, and at 3.1 s the way back finds the trap full.
fn two_loops() -> Circuit {
    circuit(
        12,
        "feed: { track: { time: 1 s, places: unlimited, advance: 0.1 s }, to: weir }
         weir: { weir: { time: 0.1 s }, to: [trap, alive] }
         trap: { track: { time: 1 s, places: 2, advance: 0.1 s }, to: back }
         back: { escapement: { time: 1 s, places: 1 }, to: trap }
         alive: { track: { time: 2 s, places: 20, advance: 0.1 s }, to: feed }",
    )
}

#[test]
fn a_lock_of_a_part_is_noted_and_the_rest_goes_on() {
    let circuit = two_loops();
    let result = run(&circuit, 3600.0);
    assert_eq!((result.outcome, result.end), (Outcome::Ran, 3600 * S));
    let locked = Lock {
        node: index(&circuit, "back"),
        time: 3100 * MS,
        marbles: 3,
    };
    assert_eq!(result.locks, [locked]);
    // Nine marbles go round in 3.1 s.
    let alive = result.elements[index(&circuit, "alive")].entries;
    assert!(
        (9 * 3600 * 10 / 31 - 20..=9 * 3600 * 10 / 31 + 20).contains(&alive),
        "{alive} round the other loop"
    );
}

#[test]
fn a_lock_of_a_part_is_an_incident_and_no_machine_with_one_works() {
    let circuit = two_loops();
    let replay = Replay::of(
        &circuit,
        RunId {
            seed: 1,
            run: 0,
            horizon: nanos(60.0),
        },
    );
    let all = incidents(&circuit, &replay);
    let lock = all
        .iter()
        .find(|incident| incident.kind == IncidentKind::Lock)
        .expect("an incident");
    assert_eq!(
        lock.line(&circuit),
        "0:03 lock at `back`: 3 marbles can never move again, the rest goes on"
    );
    assert!(
        all.iter()
            .all(|incident| incident.kind != IncidentKind::Gridlock)
    );
    let runs = figures(&circuit, 60, 60.0);
    let sound = machine(&file(1, "", "a: { track: { time: 1 s }, to: none }"), &[]);
    let broken: Vec<_> = judge(&circuit, &sound.workable, &runs, 0.95)
        .broken()
        .map(|r| r.criterion)
        .collect();
    assert_eq!(broken, [Criterion::Gridlock]);
    let summary = summary(&circuit, &runs, 60.0);
    assert_eq!(
        (
            summary.locked_in_part.value,
            summary.outcomes.gridlocked.value
        ),
        (Some(1.0), Some(0.0))
    );
}

/// A lock that spreads is one incident; when it has caught everything, the run ends, at that very moment.
///
/// A peg sends marbles by chance into a ring that locks or past it: sooner or later one stands at the peg for ever.
#[test]
fn a_lock_that_spreads_to_everything_ends_the_run_then() {
    let circuit = circuit(
        8,
        "feed: { track: { time: 1 s, advance: 0.1 s }, to: peg }
         peg: { peg: { time: 0.1 s }, to: [trap, alive] }
         trap: { track: { time: 1 s, places: 2, advance: 0.1 s }, to: back }
         back: { escapement: { time: 1 s, places: 1 }, to: trap }
         alive: { track: { time: 2 s, places: 20, advance: 0.1 s }, to: feed }",
    );
    let one = |n| engine::simulate(&circuit, 1, n, nanos(3600.0), &mut ());
    let runs: Vec<_> = (0..40).map(one).collect();
    // Now and then a marble stands at the peg already when the ring locks, and everything is caught at once.
    assert!(
        runs.iter()
            .all(|run| run.outcome == Outcome::Gridlocked && run.locks.len() <= 1)
    );
    let spread: Vec<_> = runs.iter().filter(|run| run.locks.len() == 1).collect();
    assert!(spread.len() >= 20, "{} of 40 spread", spread.len());
    assert!(
        spread
            .iter()
            .all(|run| run.locks[0].time < run.end && run.end < nanos(3600.0))
    );
}

/// A wheel that turns for ever with what it cannot put down keeps no machine alive.
#[test]
fn nothing_else_moving_a_wheel_that_carries_locked_marbles_round_is_gridlock() {
    let circuit = circuit_of(&file(
        9,
        "drive: { speed: 7.5 rpm }",
        "feed: { weir: { time: 3 s }, to: [ramp, rest] }
         ramp: { ramp: { time: 0.5 s, places: 2 }, to: wheel }
         wheel: { pocket-wheel: { pockets: 4, lift: 90 deg }, to: slide }
         slide: { slide: { time: 5 s, places: 2 }, to: none }
         rest: { track: { time: 40 s }, to: last }
         last: { track: { time: 0 s }, to: none }",
    ));
    let result = run(&circuit, 3600.0);
    assert_eq!(
        (result.outcome, result.locks.len()),
        (Outcome::Gridlocked, 1)
    );
    // The ninth marble has gone past the lock into the long track at 27 s, and rests from 67 s on.
    assert!(
        (67 * S..75 * S).contains(&result.end),
        "{} s",
        result.end / S
    );
}

fn fields(text: &str) -> Circuit {
    circuit_of(&file(12, "drive: { speed: 12 rpm }", text))
}

#[test]
fn the_mean_lap_is_that_of_the_runs_that_have_one_and_says_how_many_have_none() {
    let circuit = fields(
        "ramp: { ramp: { time: 1 s, places: 14, advance: 0.2 s }, to: wheel }
         wheel: { pocket-wheel: { pockets: 10, lift: 150 deg, pick-up: { take: 0.9, pinch: 0.02 } }, to: slide }
         slide: { slide: { time: 1 s, places: 10, advance: 0.2 s }, to: ramp }",
    );
    let runs = figures(&circuit, 200, 60.0);
    let laps: Vec<(f64, f64)> = runs
        .iter()
        .filter_map(|run| Some((run.lap_s?, run.laps as f64)))
        .collect();
    assert!(
        (1..200).contains(&laps.len()),
        "{} runs with a lap",
        laps.len()
    );
    let summary = summary(&circuit, &runs, 60.0);
    let mean = laps.iter().map(|(lap_s, laps)| lap_s * laps).sum::<f64>()
        / laps.iter().map(|(_, laps)| laps).sum::<f64>();
    assert!(
        summary
            .lap_s
            .value
            .is_some_and(|lap| (lap - mean).abs() < 1e-9)
            && summary.lap_s.low.is_some()
    );
    assert_eq!(summary.runs_without_a_lap, 200 - laps.len());
}

/// A place comes free, and a marble comes home, every second: the hand never gets rid of its third marble.
#[test]
fn marbles_on_the_way_go_before_the_hand_wherever_they_stand_in_the_file() {
    let ring = "ring: { track: { time: 1 s, places: 1, advance: 0 s }, to: back }";
    let back = "back: { track: { time: 1 s, places: 5, advance: 0 s }, to: ring }";
    for elements in [format!("{ring}\n{back}"), format!("{back}\n{ring}")] {
        let text = file(3, "", &elements).replace("start: back", "start: ring");
        let circuit = circuit_of(&text);
        let (result, trace) = traced(&circuit, 5.5);
        let came: Vec<u32> = entries(&circuit, &trace, "ring")
            .into_iter()
            .map(|(_, marble)| marble)
            .collect();
        assert_eq!(
            (came, result.left_in_hand),
            (vec![0, 1, 0, 1, 0, 1], 1),
            "{text}"
        );
    }
}

/// A cup comes back with three places, of which one who waited for it takes one: at that instant the hand has the next.
#[test]
fn the_hand_has_what_those_who_waited_leave() {
    let circuit = circuit(
        4,
        "cup: { tipping-cup: { gathers: 3, tip: 1 s, reset: 2 s }, to: slow }
         slow: { escapement: { time: 1 s, places: 1 }, to: loop }
         loop: { track: { time: 0.5 s, advance: 1 s }, to: cup }",
    );
    let (_, trace) = traced(&circuit, 6.5);
    let came: Vec<(Nanos, u32)> = entries(&circuit, &trace, "cup")
        .iter()
        .map(|&(time, m)| (time / S, m))
        .collect();
    // The first leaves the tipped cup at 1 s and asks from 2.5 s on; the last leaves at 3 s, and the cup is back at 5 s.
    assert_eq!(came, [(0, 0), (0, 1), (0, 2), (5, 0), (5, 3), (6, 1)]);
}

/// Marbles that ask at one instant are served in the order of the file, however early their coming was settled.
#[test]
fn who_asks_at_the_same_instant_is_served_in_the_order_of_the_file() {
    let one = "one: { track: { time: 10 s, places: 1, advance: 0 s }, to: end }";
    let a = "a: { track: { time: 3 s }, to: one }";
    let b = "b: { track: { time: 3 s }, to: one }";
    let served = |first: &str, second: &str, dealt: &str| {
        let elements = format!(
            "deal: {{ flip-gate: {{ time: 0 s, throw: 0 s }}, to: {dealt} }}\n{first}\n{second}\n{one}\n\
             end: {{ track: {{ time: 0 s }}, to: none }}"
        );
        let circuit = circuit(3, &elements);
        let (_, trace) = traced(&circuit, 60.0);
        let from = |(_, marble)| {
            let way = entries(&circuit, &trace, "a")
                .iter()
                .any(|&(_, m)| m == marble);
            if way { 'a' } else { 'b' }
        };
        entries(&circuit, &trace, "one")
            .into_iter()
            .skip(1)
            .map(from)
            .collect::<String>()
    };
    for dealt in ["[one, a, b]", "[one, b, a]"] {
        assert_eq!(
            (served(a, b, dealt), served(b, a, dealt)),
            ("ab".to_owned(), "ba".to_owned()),
            "{dealt}"
        );
    }
}

/// How many marbles of 68 are still in the hand after five minutes, mean and its standard error over 100 runs, by how long the
/// last track takes to move up one place, and with that track as the first or last element of the file.
fn left_in_hand(advance: &str, first: bool) -> (f64, f64) {
    let back =
        format!("t7: {{ track: {{ time: 3.719 s, places: 13, advance: {advance} }}, to: r0 }}");
    let others = "r0: { ramp: { time: { triangular: { low: 1.084 s, mode: 2.891 s, high: 7.227 s } }, places: 5, advance: 0.05 s }, to: r1 }
         r1: { return-floor: { time: 4.67 s, room: 15, mouth-time: 0.1 s, when-full: hold }, to: p2 }
         p2: { peg: { time: 0.1013 s, shares: [2, 2, 5] }, to: [t7, e6, r3] }
         r3: { ramp: { time: 3.51 s, places: unlimited, advance: 0.1 s }, to: s5 }
         s5: { slide: { time: 4.29 s, places: unlimited, advance: 0.05 s }, to: e6 }
         e6: { escapement: { time: 0.99 s, places: 8 }, to: t7 }";
    let elements = if first {
        format!("{back}\n{others}")
    } else {
        format!("{others}\n{back}")
    };
    let text = file(68, "", &elements).replace("start: t7", "start: r0");
    let all: Vec<f64> = figures(&circuit_of(&text), 100, 300.0)
        .iter()
        .map(|run| f64::from(run.left_in_hand))
        .collect();
    let n = all.len() as f64;
    let mean = all.iter().sum::<f64>() / n;
    let variance = all.iter().map(|left| (left - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (mean, (variance / n).sqrt())
}

/// Where the return moves up as fast as the ramp, its next marble comes at the very instant at which a place comes free. It
/// goes before the hand, as it does where it comes a millisecond sooner, wherever it stands in the file. A millisecond later
/// the hand has poured.
#[test]
fn a_tie_of_hand_and_return_falls_to_the_return() {
    let [sooner, later] = ["0.049 s", "0.051 s"].map(|advance| left_in_hand(advance, false));
    let ties = [false, true].map(|first| left_in_hand("0.05 s", first));
    println!("left in the hand: {sooner:?} sooner, {ties:?} tied, {later:?} later");
    let off = |(a, sa): (f64, f64), (b, sb): (f64, f64)| (a - b).abs() / sa.hypot(sb);
    assert!(
        ties.iter().all(|&tie| off(tie, sooner) < 2.8),
        "one rule, one mean"
    );
    assert!(off(ties[0], later) > 2.8, "another rule, another mean");
}

/// A drilled wheel has pockets all round.
#[test]
fn the_phase_of_a_wheel_counts_to_the_next_pocket() {
    let first_minute = |phase: f64| {
        let elements = format!(
            "r: {{ ramp: {{ time: 0.5 s, places: 12, advance: 0.1 s }}, to: w }}
             w: {{ pocket-wheel: {{ pockets: 20, lift: 150 deg, phase: {phase} deg }}, to: s }}
             s: {{ slide: {{ time: 1 s, places: 20, advance: 0.1 s }}, to: r }}"
        );
        let circuit = circuit_of(&file(10, "drive: { speed: 1 rpm }", &elements));
        let (_, trace) = traced(&circuit, 60.0);
        entered_at(&circuit, &trace, "w", 1000)
    };
    for (phase, same) in [
        (200.0, 2.0),
        (350.0, 8.0),
        (-10.0, 8.0),
        (18.0, 0.0),
        (-18.0, 0.0),
        (360.0, 0.0),
        (17.0 - 36.0, 17.0),
    ] {
        let passed = first_minute(phase);
        assert_eq!(passed, first_minute(same), "{phase} deg");
        assert!(
            (19..=20).contains(&passed.len()),
            "{} at {phase} deg",
            passed.len()
        );
    }
}

/// A marble a second comes to a gate that takes 1.5 s to go over, with 5 s to wait at its first way.
///
/// The first leaves at 1 s; the second comes at 2 s, follows it, and waits until 6 s; under a follower nothing goes over, so
/// the third takes the other way at 6 s and the fourth follows it at 7 s; and so on every 10 s.
#[test]
fn a_flip_gate_goes_over_as_a_marble_leaves_and_the_next_within_the_throw_follows() {
    let circuit = circuit(
        12,
        "src: { escapement: { time: 1 s }, to: gate }
         gate: { flip-gate: { time: 0 s, throw: 1.5 s }, to: [slow, free] }
         slow: { escapement: { time: 5 s, places: 1 }, to: x }
         free: { track: { time: 1 s, places: unlimited, advance: 0 s }, to: x }
         x: { track: { time: 0 s, places: unlimited, advance: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 60.0);
    assert_eq!(
        entered_at(&circuit, &trace, "slow", S),
        [1, 6, 11, 16, 21, 26]
    );
    assert_eq!(
        entered_at(&circuit, &trace, "free", S),
        [6, 7, 16, 17, 26, 27]
    );
}

/// Pouring in is no flow: a full ring has none, and one marble in it passes once a lap.
#[test]
fn the_flow_of_a_circuit_without_a_wheel_is_its_laps() {
    let ring = |marbles| {
        let parts: String = (0..4)
            .map(|n| {
                format!(
                    "p{n}: {{ track: {{ time: 1 s, places: 1, advance: 0 s }}, to: p{} }}\n",
                    (n + 1) % 4
                )
            })
            .collect();
        RunFigures::new(0, &run(&circuit(marbles, &parts), 60.0)).throughput_per_min
    };
    assert_eq!(ring(4), Some(0.0));
    assert!(ring(1).is_some_and(|flow| (flow - 15.0).abs() < 1e-9));
}

/// Marbles that come home to a full start are held again and again: times, not marbles.
#[test]
fn what_is_held_at_the_start_is_counted_in_times() {
    let circuit = circuit(
        8,
        "ramp: { escapement: { time: 1 s, places: 3 }, to: loop }
         loop: { track: { time: 0.5 s, advance: 0 s }, to: ramp }",
    );
    let replay = Replay::of(
        &circuit,
        RunId {
            seed: 1,
            run: 0,
            horizon: nanos(60.0),
        },
    );
    let held = incidents(&circuit, &replay)
        .into_iter()
        .find(|incident| incident.kind == IncidentKind::Held)
        .expect("held");
    let line = held.line(&circuit);
    println!("{line}");
    assert!(
        held.count > u64::from(circuit.marbles),
        "more often than there are marbles"
    );
    assert!(
        line.contains(&format!(
            "held at the start `ramp`: {} times until",
            held.count
        )) || line.contains(&format!(": {} times until", held.count))
    );
}
