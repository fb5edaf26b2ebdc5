//! Cups, mouths, holes, wedged marbles and stalls whose course is known to the nanosecond.

use crate::support::{circuit, circuit_of, entered_at, file, run, traced};
use marblewright::circuit::draw::Nanos;
use marblewright::circuit::plan::Cause;
use marblewright::engine::{Outcome, RunResult};
use marblewright::findings::replay::RunId;
use marblewright::findings::strikes::Strikes;

const S: Nanos = 1_000_000_000;
const MS: Nanos = 1_000_000;

/// When marbles enter the last element, in milliseconds.
fn out_ms(marbles: u32, elements: &str) -> Vec<Nanos> {
    let circuit = circuit(
        marbles,
        &format!("{elements}\nend: {{ track: {{ time: 0 s }}, to: none }}"),
    );
    let (_, trace) = traced(&circuit, 3600.0);
    entered_at(&circuit, &trace, "end", MS)
}

#[test]
fn a_cup_tips_all_at_once_and_takes_none_until_it_is_back() {
    let cup = "feed: { escapement: { time: 0.5 s }, to: cup }
               cup: { tipping-cup: { gathers: 3, tip: 1 s, reset: 2 s }, to: end }";
    // Full at 1.5 s, tipped at 2.5 s, back at 4.5 s, when one has waited since 2 s; then 5 and 5.5 s, and so on.
    assert_eq!(
        out_ms(9, cup),
        [2500, 2500, 2500, 6500, 6500, 6500, 10_500, 10_500, 10_500]
    );
}

/// Onto a track with a single place a cup tips one marble at a time, and is back only after the last.
#[test]
fn a_cup_that_cannot_empty_keeps_its_marbles() {
    let cup = "feed: { escapement: { time: 0.5 s }, to: cup }
               cup: { tipping-cup: { gathers: 2, tip: 1 s, reset: 2 s }, to: slow }
               slow: { track: { time: 3 s, places: 1 }, to: end }";
    // Full at 1 s; out at 2 and 5 s; back at 7 s; the next at 7 and 7.5 s, out at 8.5 and 11.5 s.
    assert_eq!(out_ms(4, cup), [5000, 8000, 11_500, 14_500]);
}

#[test]
fn a_mouth_and_a_hole_pass_one_marble_at_a_time() {
    assert_eq!(
        out_ms(
            4,
            "floor: { return-floor: { time: 1 s, mouth-time: 0.4 s }, to: end }"
        ),
        [1000, 1400, 1800, 2200]
    );
    assert_eq!(
        out_ms(
            3,
            "bowl: { bowl: { swirl: 2 s, hole-time: 0.3 s }, to: [end] }"
        ),
        [2000, 2300, 2600]
    );
    // Two holes pass two at a time: of eight marbles each takes some, 0.3 s apart.
    let both = out_ms(
        8,
        "bowl: { bowl: { swirl: 2 s, hole-time: 0.3 s }, to: [end, end] }",
    );
    assert_eq!(both[..2], [2000, 2000]);
    assert!(
        both.last()
            .is_some_and(|&last| (2000 + 3 * 300..2000 + 7 * 300).contains(&last)),
        "{both:?}"
    );
}

/// The first marble meets nobody; the second meets it in the hole and wedges; the third waits behind and does not.
#[test]
fn an_arch_that_clears_holds_its_hole_for_the_time_it_lasts() {
    let bowl = "bowl: { bowl: { swirl: 1 s, hole-time: 0.3 s, arch: { chance: 1, clears: 2 s } }, to: [end] }";
    assert_eq!(out_ms(3, bowl), [1000, 3000, 3300]);
}

#[test]
fn a_gate_that_sticks_holds_every_marble() {
    let gate = "gate: { flip-gate: { time: 0.1 s, stick: { chance: 1, clears: 2 s } }, to: [end] }";
    assert_eq!(out_ms(3, gate), [2100, 4200, 6300]);
}

fn jammed(result: &RunResult, cause: Cause, first: Nanos, count: u64) {
    let jams: Vec<_> = result
        .jams
        .iter()
        .map(|jam| (jam.cause, jam.first / MS, jam.count))
        .collect();
    assert_eq!(jams, [(cause, first, count)]);
}

/// With nobody to clear it, the first wedge that does not clear itself ends the run; with somebody, each costs that time.
#[test]
fn a_jam_ends_the_run_or_is_cleared() {
    let elements =
        "bowl: { bowl: { swirl: 1 s, hole-time: 0.3 s, arch: { chance: 1 } }, to: [end] }
                    end: { track: { time: 0 s }, to: none }";
    let alone = run(&circuit(3, elements), 3600.0);
    assert_eq!((alone.outcome, alone.end / MS), (Outcome::Jammed, 1000));
    jammed(&alone, Cause::Arch, 1000, 1);
    let tended = circuit_of(&file(3, "tending: clear after 45 s", elements));
    let (result, trace) = traced(&tended, 3600.0);
    let out = entered_at(&tended, &trace, "end", MS);
    assert_eq!(out, [1000, 46_000, 46_300]);
    jammed(&result, Cause::Arch, 1000, 1);
}

/// Marbles do not roll on a slope of a twentieth of a degree: each has to be pushed.
#[test]
fn a_stall_is_a_jam_for_every_marble() {
    let elements = "slide: { slide: { length: 200 mm, slope: 0.05 deg, advance: 0 s }, to: end }
                    end: { track: { time: 0 s }, to: none }";
    let text = file(3, "tending: clear after 20 s", elements)
        .replace("count: 3", "count: 3, diameter: 16 mm");
    let circuit = circuit_of(&text);
    let (result, trace) = traced(&circuit, 3600.0);
    let out = entered_at(&circuit, &trace, "end", MS);
    assert_eq!(out, [20_000; 3]);
    jammed(&result, Cause::Stall, 0, 3);
    assert_eq!(result.elements[0].blockages, 3);
}

/// A slope on which every marble stalls, in a loop of elements that take no time beside: it jams, or goes on push by push.
#[test]
fn a_loop_of_stalls_does_not_turn_in_no_time() {
    let elements =
        "shallow: { slide: { length: 200 mm, slope: 0.1 deg, places: 20, advance: 0 s }, to: peg }
                    peg: { peg: { time: 0 s }, to: shallow }";
    let tended = |tending: &str| {
        let text = file(3, &format!("tending: {tending}"), elements);
        let circuit = circuit_of(&text.replace("count: 3", "count: 3, diameter: 16 mm"));
        run(&circuit, 1.0)
    };
    let stopped = tended("stop");
    assert_eq!(
        (stopped.outcome, stopped.end, stopped.jam_count()),
        (Outcome::Jammed, 0, 3)
    );
    let pushed = tended("clear after 0 s");
    assert_eq!(pushed.outcome, Outcome::Ran);
    assert!(
        (2900..=3100).contains(&pushed.jam_count()),
        "{} pushes of a millisecond",
        pushed.jam_count()
    );
}

/// Ten marbles come one a second to two places that are free again after 100 s: the other eight fall over the side, or wait.
#[test]
fn what_finds_no_place_falls_off_only_where_the_file_says_so() {
    let kinds = [
        "track: { time: 100 s, places: 2, advance: 0 s",
        "escapement: { time: 100 s, places: 2",
        "bowl: { swirl: 100 s, room: 2",
        "return-floor: { time: 100 s, room: 2",
        "tipping-cup: { gathers: 2, tip: 100 s, reset: 0 s",
    ];
    for kind in kinds {
        let lost = |when_full: &str| {
            let elements = format!(
                "feed: {{ escapement: {{ time: 1 s }}, to: full }}
                 full: {{ {kind}, when-full: {when_full} }}, to: end }}
                 end: {{ track: {{ time: 0 s }}, to: none }}"
            );
            let result = run(&circuit(10, &elements), 50.0);
            (result.elements[1].entries, result.elements[1].spills)
        };
        assert_eq!((lost("spill"), lost("hold")), ((2, 8), (2, 0)), "{kind}");
    }
}

/// A ring of three places that a line outside fills: those within then wait for each other for ever.
#[test]
fn a_ring_filled_from_outside_is_gridlocked() {
    let circuit = circuit(
        9,
        "feed: { escapement: { time: 1 s }, to: file }
         file: { track: { time: 1 s, places: 2, advance: 3 s }, to: back }
         back: { track: { time: 1 s, places: 1 }, to: file }",
    );
    let result = run(&circuit, 3600.0);
    assert_eq!(result.outcome, Outcome::Gridlocked);
    let inside = |n: usize| result.elements[n].entries - result.elements[n].exits;
    assert_eq!((inside(1), inside(2)), (2, 1));
}

/// Two wait when a full file moves up at the instant at which its next head goes: one place an advance, not two at once.
#[test]
fn a_file_opens_one_place_an_advance_to_those_who_wait() {
    let circuit = circuit(
        4,
        "deal: { flip-gate: { time: 0 s, throw: 0 s }, to: [file, file, one, other] }
         file: { track: { time: 1 s, places: 2, advance: 1 s }, to: end }
         one: { track: { time: 1.5 s }, to: file }
         other: { track: { time: 1.5 s }, to: file }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 60.0);
    let times = |name| entered_at(&circuit, &trace, name, MS);
    // The file's heads go at 1, 2, 3 and 4 s.
    assert_eq!(
        (times("file"), times("end")),
        (vec![0, 0, 2000, 3000], vec![1000, 2000, 3000, 4000])
    );
}

/// Marbles let go every 1.5 s strike a bell every 1.5 s, 40 times a minute; each falls 0.2 s first. The third waits on the
/// bell for the place beyond, and its strike counts as it came, not as it went.
#[test]
fn a_bell_rings_as_marbles_come_to_it() {
    let circuit = circuit(
        30,
        "hold: { escapement: { time: 1.5 s }, to: bell }
         bell: { bell: { time: 0.2 s }, to: home }
         home: { track: { time: 1 s }, to: hold }",
    );
    let id = RunId {
        seed: 1,
        run: 0,
        horizon: 600 * S,
    };
    let strikes = Strikes::of(&circuit, id).expect("a bell");
    let bell = &strikes.bells[0];
    let first: Vec<Nanos> = bell.strikes.iter().take(3).map(|strike| strike.0).collect();
    assert_eq!(first, [1700 * MS, 3200 * MS, 4700 * MS]);
    let rhythm = bell.rhythm().expect("a rhythm");
    assert!((rhythm.per_min - 40.0).abs() < 1e-9, "{rhythm:?}");
    assert_eq!(rhythm.gaps_s, (1.5, 1.5));
    assert_eq!(bell.strikes.len(), 399, "from 1.7 s on, up to 600 s");
}

#[test]
fn a_marble_strikes_once_though_it_waits_on_the_bell() {
    let circuit = circuit(
        3,
        "bell: { bell: { time: 0.5 s }, to: end }
         end: { escapement: { time: 10 s, places: 1 }, to: none }",
    );
    let id = RunId {
        seed: 1,
        run: 0,
        horizon: 60 * S,
    };
    let strikes = Strikes::of(&circuit, id).expect("a bell");
    let times: Vec<Nanos> = strikes.bells[0].strikes.iter().map(|one| one.0).collect();
    // The second has come at 1 s and waits for good: the third stays in the hand.
    assert_eq!(times, [500 * MS, 1000 * MS]);
}
