//! What is said to limit the flow or starve a wheel was tried; where marbles are poured in, when the motor stops, and what
//! is told of machines that fail at once.

use crate::support::{self, file, machine};
use marblewright::circuit::draw::{nanos, seconds};
use marblewright::circuit::{self, Circuit};
use marblewright::contact::crowd_counts::EndCounts;
use marblewright::engine::rest::simulate_to_rest;
use marblewright::findings::limit::{Causes, Relief};
use marblewright::findings::sentences::{Finding, FindingWriter};
use marblewright::findings::summary::LEVEL;
use marblewright::findings::workable::judge_all;
use marblewright::findings::{Runs, StudyScope, Summary, summarize};
use marblewright::machine::Machine;
use marblewright::machine::assumed::AssumedConstant;
use marblewright::stats::Estimate;
use marblewright::study::assumptions::SensitivityEffort;
use marblewright::study::bottleneck::{self, causes};
use marblewright::study::motor_stop::motor_stop;
use marblewright::study::repeat::{Study, repeat};

const DEMO: &str = include_str!("../../scenarios/lantern-walk.yaml");
const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");
const WEIR: &str = include_str!("../../scenarios/harbour-weir.yaml");

struct Studied {
    machine: Machine,
    circuit: Circuit,
    summary: Summary,
    findings: Vec<Finding>,
    brief: Vec<Finding>,
}

/// What a study of so many runs of so many hours says.
fn studied(text: &str, settings: &[(&str, &str)], runs: u32, hours: f64) -> Studied {
    let machine = machine(text, settings);
    let circuit = circuit::circuit(&machine);
    let horizon = nanos(hours * 3600.0);
    let mut figures = Runs::new(circuit.start);
    figures.extend(repeat(&circuit, &Study { seed: 1, horizon }, runs, || ()));
    let question = StudyScope {
        title: String::new(),
        rpm: None,
        seed: 1,
        hours,
    };
    let mut summary = summarize(&question, &circuit, &figures);
    let short = SensitivityEffort {
        study: Study {
            seed: 1,
            horizon: horizon.min(nanos(900.0)),
        },
        runs: bottleneck::RUNS,
    };
    summary.motor_stop = motor_stop(&circuit, &short);
    summary.causes = causes(&machine, &circuit, &summary, &short);
    let writer = FindingWriter {
        machine: &machine,
        circuit: &circuit,
        summary: &summary,
        runs: &figures,
        judgement: &judge_all(&circuit, &machine.workable, &figures, LEVEL),
    };
    let (findings, brief) = (writer.all(), writer.brief());
    Studied {
        machine,
        circuit,
        summary,
        findings,
        brief,
    }
}

impl Studied {
    fn causes(&self) -> &Causes {
        self.summary.causes.as_ref().expect("it flows")
    }

    fn says(&self) -> String {
        self.findings
            .iter()
            .map(|finding| finding.text.as_str())
            .collect::<Vec<_>>()
            .join("\n")
    }

    fn fill(&self, wheel: &str) -> f64 {
        self.summary
            .wheels
            .get(wheel)
            .and_then(|wheel| wheel.fill.value)
            .expect("it turns")
    }
}

/// Mean flow of the machine with one key set, on another seed than the study's.
fn flow(text: &str, settings: &[(&str, &str)]) -> f64 {
    let circuit = circuit::circuit(&machine(text, settings));
    let runs = repeat(
        &circuit,
        &Study {
            seed: 77,
            horizon: nanos(900.0),
        },
        8,
        || (),
    );
    runs.iter()
        .filter_map(|run| run.throughput_per_min)
        .sum::<f64>()
        / 8.0
}

/// Marbles wait at the lock nearly all the time, yet it is more marbles that carry more.
#[test]
fn what_is_busy_all_the_time_does_not_limit_the_flow_if_more_marbles_raise_it_more() {
    let weir = studied(WEIR, &[], 20, 0.5);
    assert!(
        weir.summary
            .elements
            .get("lock")
            .expect("a lock")
            .waiting_share
            .value
            .expect("time")
            > 0.9
    );
    let limit = weir.causes().limit().expect("something limits it");
    assert_eq!(limit.relief, Relief::Marbles);
    assert!(
        weir.says().contains("The load limits the flow"),
        "{}",
        weir.says()
    );
    assert!(!weir.says().contains("`lock` limits"));
    let (more, quicker) = (
        flow(WEIR, &[("marbles", "33")]),
        flow(
            WEIR,
            &[("circuit.lock.escapement.time.gamma.mean", "2.16 s")],
        ),
    );
    assert!(
        more > quicker && more > 1.05 * flow(WEIR, &[]),
        "{more} with a tenth more, {quicker} with a quicker lock"
    );
}

/// The demo with narrow pockets, too fast, where somebody clears what it wedges.
const MISSES: [(&str, &str); 4] = [
    ("rpm", "12"),
    ("circuit.lower-wheel.bore", "19 mm"),
    ("circuit.upper-wheel.bore", "19 mm"),
    ("tending", "clear after 5 s"),
];

/// At 12 rpm these wheels take no more than a certain number of marbles however many there are.
#[test]
fn more_marbles_are_asked_for_only_where_they_carry_more() {
    let plenty = studied(
        DEMO,
        &[&MISSES[..], &[("marbles", "300")]].concat(),
        8,
        0.25,
    );
    assert!(plenty.fill("lower-wheel") < 0.7);
    let says = plenty.says();
    assert!(
        !says.contains("more marbles")
            && !says.contains("lacks marbles")
            && !says.contains("The load limits"),
        "{says}"
    );
    assert!(says.contains("turns too fast"), "{says}");
    let few = studied(DEMO, &[("marbles", "10")], 8, 0.25);
    let says = few.says();
    assert!(
        says.contains("`lower-wheel` lacks marbles: with 11 marbles instead of 10"),
        "{says}"
    );
    assert!(
        says.contains("The load limits the flow") && !says.contains("turns too fast"),
        "{says}"
    );
}

/// The speed that is named fills the wheel when the machine is run at it; the next faster one that was tried does not.
#[test]
fn a_wheel_that_turns_too_fast_fills_at_the_speed_named() {
    let text = studied(DEMO, &[&MISSES[..], &[("marbles", "60")]].concat(), 8, 0.25);
    let least = text.machine.workable.least_fill;
    assert!(text.fill("upper-wheel") < least);
    let at = text
        .causes()
        .fills_at("upper-wheel", "upper-wheel", least)
        .expect("a speed at which it fills");
    assert!(
        at.to < 11.9 && (at.from - 12.0).abs() < 1e-9,
        "{} to {}",
        at.from,
        at.to
    );
    let named = format!("{:.4}", at.to);
    let slower = [&[("rpm", named.as_str()), ("marbles", "60")], &MISSES[1..]].concat();
    assert!(studied(DEMO, &slower, 8, 0.25).fill("upper-wheel") >= least);
    let says = text.says();
    assert!(
        says.contains("`lower-wheel` turns too fast: without its misses "),
        "{says}"
    );
    assert!(
        says.contains("With the drive at ")
            && says.contains(" or slower instead of 12 rpm it fills: "),
        "{says}"
    );
}

/// Marbles always wait for it, and each pocket carries one.
#[test]
fn a_full_wheel_is_limited_by_its_speed() {
    let text = file(
        40,
        "drive: { speed: 6 rpm }",
        "ramp: { ramp: { time: 1 s, places: 40, when-full: hold }, to: wheel }
         wheel: { pocket-wheel: { pockets: 10 }, to: home }
         home: { track: { time: { normal: { mean: 3 s, sd: 0.3 s } }, places: 40 }, to: ramp }",
    );
    let full = studied(&text, &[], 8, 0.25);
    let limit = full.causes().limit().expect("the wheel does");
    assert_eq!(
        (limit.relief, limit.element.as_deref()),
        (Relief::WheelSpeed, Some("wheel"))
    );
    assert!((limit.to / limit.from - 1.1).abs() < 1e-9, "a tenth faster");
    let gain = limit.throughput_per_min.value.expect("known");
    assert!((gain - 6.0).abs() < 0.3, "60 a minute become 66: {gain}");
    assert!(
        full.says().contains("`wheel` limits the flow"),
        "{}",
        full.says()
    );
    let load = full
        .causes()
        .tried
        .iter()
        .find(|trial| trial.relief == Relief::Marbles)
        .expect("tried");
    assert!(
        load.throughput_per_min.low.is_none_or(|low| low <= 0.0),
        "{load:?}"
    );
}

/// 28 places for 40 marbles, a pocket each 0.4 s.
fn ring(when_full: &str) -> String {
    file(
        40,
        "drive: { speed: 7.5 rpm }",
        &format!(
            "ramp: {{ ramp: {{ time: 1 s, places: 28, advance: 0.05 s, when-full: {when_full} }}, to: wheel }}
             wheel: {{ pocket-wheel: {{ pockets: 20 }}, to: home }}
             home: {{ track: {{ time: 5 s, places: 40 }}, to: ramp }}"
        ),
    )
}

#[test]
fn the_start_tells_of_pouring_in_of_running_and_of_the_motor_stopped() {
    let held = studied(&ring("hold"), &[], 4, 0.1);
    let start = &held.findings[1];
    assert!(start.good, "{}", start.text);
    assert!(
        start
            .text
            .contains("28 fit on its 28 places at once, 12 must wait in the hand"),
        "{}",
        start.text
    );
    // The first marble arrives after 1 s; the twelfth place is free eleven pockets later, within a pocket or so.
    let until = held.summary.poured_in_s.value.expect("all go in");
    assert!((until - (1.0 + 11.0 * 0.4)).abs() < 0.5, "{until}");
    let stop = held.summary.motor_stop.expect("it comes to rest");
    assert_eq!((stop.at_rest.value, stop.at_rest_max), (Some(28.0), 28));
    let above = stop.waiting_above.value.expect("known");
    assert!(
        above > 0.0 && start.text.contains("wait above it"),
        "{}",
        start.text
    );
    let spilling = studied(&ring("spill"), &[], 4, 0.1);
    let lost = spilling
        .summary
        .elements
        .get("ramp")
        .expect("a ramp")
        .spills
        .value
        .expect("known");
    assert!(
        lost > 0.0
            || spilling
                .summary
                .motor_stop
                .is_some_and(|stop| stop.lost.value > Some(0.0))
    );
    assert!(
        !spilling.findings[1].good && spilling.findings[1].text.contains("? Yes."),
        "{}",
        spilling.findings[1].text
    );
}

/// With the motor off no marble vanishes, pockets keep theirs, and all others lie in front of the wheel.
#[test]
fn marbles_come_to_rest_with_the_motor_off() {
    let held = studied(&ring("hold"), &[], 1, 0.05);
    let rest =
        simulate_to_rest(&held.circuit, 1, 0, nanos(180.0)).expect("it runs and comes to rest");
    assert_eq!(rest.at_stop.iter().sum::<u32>(), 40);
    assert_eq!(
        rest.at_rest.iter().sum::<u32>() + rest.lost.iter().sum::<u64>() as u32,
        40
    );
    assert_eq!(rest.at_stop[1], rest.at_rest[1], "pockets");
    assert_eq!(rest.at_rest[0] + rest.at_rest[1] + rest.at_rest[2], 40);
    assert_eq!(rest.at_rest[0], 28);
}

#[test]
fn where_every_run_fails_at_once_no_rate_and_nothing_unknown_is_told() {
    let still = studied(STARTER, &[("circuit.ramp.ramp.slope", "0.1deg")], 20, 2.0);
    let says = still.says();
    assert!(
        says.contains("does not work: it stalls before it starts."),
        "{says}"
    );
    for wrong in ["inf", "unknown", "in 8 h", "at most 0", "over-full", "±"] {
        assert!(!says.contains(wrong), "`{wrong}` in\n{says}");
    }
    let soon = STARTER.replace("bore:", "pick-up: { take: 0.5, pinch: 0.5 }, bore:");
    let soon = studied(&soon, &[], 20, 2.0);
    assert!(
        soon.says().contains("it jams within ") && soon.says().contains(" every time"),
        "{}",
        soon.says()
    );
    assert!(!soon.says().contains("jams in 8 h"), "{}", soon.says());
}

/// Nobody reads to the end of a long sentence.
#[test]
fn no_sentence_is_longer_than_twenty_five_words() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|ending| ending != "yaml") {
            continue;
        }
        let text = std::fs::read_to_string(&path).expect("a machine");
        let seen = studied(&text, &[], 4, 0.25);
        for finding in seen.findings.iter().chain(&seen.brief) {
            for sentence in finding.text.split_inclusive(['.', '?', ';', ':']) {
                let words = sentence.split_whitespace().count();
                assert!(
                    words <= 25,
                    "{words} words: {sentence}\nin {}",
                    finding.text
                );
            }
        }
    }
}

/// The first screen names what is wrong and a remedy that was tried; a machine that works is told what would carry more.
#[test]
fn the_brief_answer_is_a_verdict_and_a_remedy_that_helps() {
    let brief = |studied: &Studied| -> Vec<String> {
        studied.brief.iter().map(|one| one.text.clone()).collect()
    };
    let starved = studied(DEMO, &[("marbles", "10")], 20, 0.25);
    let says = brief(&starved);
    assert!(
        says[0].contains("does not work: `lower-wheel` is starved and `upper-wheel` is starved."),
        "{says:?}"
    );
    assert!(
        says[1].contains("lacks marbles: with 11 marbles"),
        "{says:?}"
    );
    assert_eq!(says.len(), 2, "{says:?}");
    let works = brief(&studied(WEIR, &[], 60, 1.0));
    assert!(
        works[0].contains(" works: all 60 runs of 1 h ran through."),
        "{works:?}"
    );
    assert!(
        works[1].starts_with("The load limits the flow"),
        "{works:?}"
    );
}

/// How often it jams is one figure wherever it is told.
#[test]
fn the_rate_of_jams_is_told_alike_in_the_verdict_and_below() {
    let jams = studied(WEIR, &[("workable.jams-per-8h", "0.1")], 60, 1.0);
    let rate = |text: &str| {
        text.split(" jams in 8 h")
            .next()
            .and_then(|t| t.rsplit(' ').next())
            .map(str::to_owned)
    };
    let text: Vec<_> = jams
        .findings
        .iter()
        .filter(|f| f.text.contains(" jams in 8 h"))
        .map(|f| rate(&f.text))
        .collect();
    assert!(
        text.len() == 2 && text[0] == text[1],
        "{text:?} in\n{}",
        jams.says()
    );
}

#[test]
fn bounds_are_told_once() {
    let calm = studied(STARTER, &[], 8, 0.1).says();
    assert!(
        !calm.contains("at least over")
            && !calm.contains("under under")
            && !calm.contains("at most 0 ("),
        "{calm}"
    );
}

/// Newton and Euler for a ball on two flanks: a = g sin t / (1 + (2/5) / sin^2(B/2)), 1 m from rest in sqrt(2 / a).
#[test]
fn a_groove_without_resistance_takes_the_time_of_the_closed_form() {
    for (groove, slope) in [60.0f64, 90.0, 120.0]
        .into_iter()
        .flat_map(|groove| [(groove, 1.0f64), (groove, 3.0)])
    {
        let text = file(
            1,
            "assume: { rolling-resistance: 0 mm }",
            &format!(
                "down: {{ track: {{ length: 1000 mm, slope: {slope} deg, channel: {{ vee: {groove} deg }} }}, to: up }}
                 up: {{ track: {{ time: 1 s, places: 5 }}, to: down }}"
            ),
        );
        let text = text.replace(
            "count: 1 }",
            "count: 1, diameter: 16 mm, material: glass, spread: 0 mm }",
        );
        let circuit = support::circuit_of(&text);
        let time_s = seconds(circuit.nodes[0].travel[0].quantile(0.5));
        let h = libm::sin(groove.to_radians() / 2.0);
        let a = 9.80665 * libm::sin(slope.to_radians()) / (1.0 + 0.4 / (h * h));
        let exact = (2.0 / a).sqrt();
        println!("V of {groove} deg at {slope} deg: {time_s:.3} s, closed form {exact:.3} s");
        assert!(
            (time_s / exact - 1.0).abs() < 0.01,
            "V of {groove} deg at {slope} deg: {time_s} s against {exact} s"
        );
    }
}

/// A wheel fed by a floor without dimensions, geared to a motor, and a bowl that nothing rolls into.
#[test]
fn every_assumed_constant_is_told_until_the_file_gives_it() {
    let text = "format: 1
marbles: { count: 10, diameter: 14 mm, spread: 0.1 mm, material: glass }
drive: { motor: { no-load-speed: 60 rpm, stall-torque: 0.5 N m, no-load-current: 0.05 A, stall-current: 1 A, teeth: [12, 48] } }
start: floor
circuit:
  floor: { return-floor: { time: 2 s }, to: wheel }
  wheel: { pocket-wheel: { pockets: 12, pitch-radius: 120 mm, bore: 18 mm, depth: 13 mm, tilt: 8 deg }, to: gate }
  gate: { flip-gate: { drop: 20 mm }, to: [bowl, down] }
  bowl: { bowl: { width: 200 mm, depth: 40 mm, hole: 25 mm, hole-circle: 30 mm }, to: [floor, floor] }
  down: { track: { segments: [ { length: 300 mm, slope: 3 deg }, { drop: 20 mm }, { length: 100 mm, slope: 3 deg } ] }, to: floor }
";
    let open = |settings: &[(&str, &str)]| -> Vec<AssumedConstant> {
        machine(text, settings)
            .assumed
            .iter()
            .map(|assumption| assumption.what)
            .collect()
    };
    let wanted = [
        (
            AssumedConstant::Drilling,
            "assume.drilling-resistance",
            "0.01 mm",
        ),
        (AssumedConstant::HitGrip, "assume.hit-grip", "0.8"),
        (
            AssumedConstant::GearEfficiency,
            "assume.gear-efficiency",
            "0.9",
        ),
        (AssumedConstant::EntryScatter, "assume.entry-scatter", "0.1"),
        (AssumedConstant::WaitingSlope, "assume.slope", "4 deg"),
        (
            AssumedConstant::Channel,
            "circuit.wheel.pocket-wheel.channel",
            "16 mm",
        ),
        (
            AssumedConstant::EntrySpeed,
            "circuit.bowl.bowl.entry-speed",
            "0.5 m/s",
        ),
    ];
    let all = open(&[]);
    for (what, key, value) in wanted {
        assert!(all.contains(&what), "{what:?} is open: {all:?}");
        assert!(
            !open(&[(key, value)]).contains(&what),
            "{what:?} is given by {key}"
        );
    }
}

/// Four marbles, two of which fall while the cup resets; then nothing moves any more: no more can be lost than there are.
#[test]
fn no_more_marbles_are_told_lost_than_there_are() {
    let machine = "format: 1\ntitle: tight\nmarbles: { count: 4 }\nstart: cup\ncircuit:\n  cup: { tipping-cup: { gathers: 3, \
                   tip: 1 s, reset: 1 s, when-full: hold }, to: ramp }\n  ramp: { ramp: { time: 0 s, places: 1, advance: 0 s, \
                   when-full: spill }, to: cup }\ntending: stop\n";
    let study = studied(machine, &[], 4, 0.1);
    let lost = study
        .findings
        .iter()
        .find(|finding| finding.text.contains(" lost "))
        .expect("a sentence about it");
    assert!(
        lost.text
            .contains("2 marbles lost a run on average, the first after 1.0 s"),
        "{}",
        lost.text
    );
}

/// Three arches among a thousand marbles that were followed leave the chance unknown by a factor of three (C. J. Clopper,
/// E. S. Pearson, Biometrika 26 (1934) 404: 0.62 to 8.74 for 3): no number of runs makes the rate of jams surer than that.
#[test]
fn jams_by_arches_are_as_unsure_as_the_look_that_foresees_them() {
    let text = file(
        20,
        "drive: { speed: 6 rpm }",
        "ramp: { ramp: { time: 1 s, places: 20 }, to: wheel }
         wheel: { pocket-wheel: { pockets: 10 }, to: basin }
         basin: { return-floor: { time: { uniform: { low: 1 s, high: 4 s } }, mouth-time: 0.5 s, arch: { chance: 0.003 } }, to: ramp }
         ",
    );
    let machine = machine(&text, &[("tending", "clear after 10 s")]);
    let mut circuit = circuit::circuit(&machine);
    let mut runs = Runs::new(circuit.start);
    let study = Study {
        seed: 1,
        horizon: nanos(3600.0),
    };
    runs.extend(repeat(&circuit, &study, 40, || ()));
    let question = StudyScope {
        title: String::new(),
        rpm: None,
        seed: 1,
        hours: 1.0,
    };
    let measured = summarize(&question, &circuit, &runs).jams_per_8h;
    let basin = circuit.nodes.len() - 1;
    circuit.nodes[basin].followed = Some(EndCounts {
        out: 997,
        over: 0,
        arched: 3,
    });
    let foreseen = summarize(&question, &circuit, &runs).jams_per_8h;
    assert_eq!(measured.value, foreseen.value);
    let rate = measured.value.expect("it jams");
    let reach = |of: &Estimate| {
        (
            of.low.expect("known") / rate,
            of.high.expect("known") / rate,
        )
    };
    assert!(reach(&measured).1 < 1.5, "{measured:?}");
    let (low, high) = reach(&foreseen);
    assert!(
        low < 0.25 && (2.5..4.0).contains(&high),
        "{low} to {high} of {rate}"
    );
}
