//! Small circuits whose course is known to the nanosecond.

use crate::support::{circuit, entered_at, entries, gridlocked_at, index, run, traced};
use marblewright::circuit::draw::Nanos;
use marblewright::engine::Outcome;
use marblewright::engine::watch::TraceEvent;
use marblewright::findings::trace::Trace;

const S: Nanos = 1_000_000_000;
const MS: Nanos = 1_000_000;

fn moved(trace: &Trace) -> Vec<(Nanos, u32, usize)> {
    let passed = trace.seen.iter().filter_map(|seen| match seen.what {
        TraceEvent::Moved { marble, to, .. } => Some((seen.time, marble, to)),
        _ => None,
    });
    passed.collect()
}

#[test]
fn a_lap_of_one_marble_is_the_sum_of_its_times() {
    let one = circuit(
        1,
        "a: { escapement: { time: 1.234567891 s }, to: b }
         b: { track: { time: 0.000000007 s, advance: 0.4 s, places: 3 }, to: c }
         c: { flip-gate: { time: 0.31 s, throw: 1 s }, to: [d, d] }
         d: { peg: { time: 0 s }, to: [e, e, e] }
         e: { bowl: { swirl: 2.5 s, hole-time: 0.3 s }, to: [f, f] }
         f: { weir: { time: 0.1 s }, to: [g, a] }
         g: { tipping-cup: { gathers: 1, tip: 0.2 s, reset: 0.9 s }, to: h }
         h: { return-floor: { time: 0.75 s, mouth-time: 0.5 s }, to: a }",
    );
    let lap = 1_234_567_891 + 7 + 310 * MS + 2500 * MS + 100 * MS + 200 * MS + 750 * MS;
    let result = run(&one, 1000.0);
    assert_eq!(result.laps.count, 1000 * S / lap);
    assert_eq!((result.laps.shortest, result.laps.longest), (lap, lap));
    assert_eq!(
        result.laps.sum,
        u128::from(lap) * u128::from(result.laps.count)
    );
}

/// A pocket every 0.4 s: what a lap takes beyond its times is the wait for the next pocket, exactly.
#[test]
fn a_lap_over_a_wheel_is_a_whole_number_of_pockets() {
    let one = circuit(
        1,
        "ramp: { ramp: { time: 0.5 s }, to: wheel }
         wheel: { pocket-wheel: { pockets: 20, lift: 90 deg, phase: 3 deg }, to: slide }
         slide: { slide: { time: 0.83 s }, to: ramp }",
    );
    let result = run(&one, 600.0);
    let (times, pocket) = (500 * MS + 2 * S + 830 * MS, 400 * MS);
    let lap = times.next_multiple_of(pocket);
    assert_eq!((result.laps.shortest, result.laps.longest), (lap, lap));
    let wait = result.elements[0].waited_time();
    assert!(
        wait.abs_diff(u128::from(lap - times) * u128::from(result.elements[0].exits))
            < u128::from(lap)
    );
}

/// Throughput is the marbles over the lap until the slowest gate sets it (operational bound: Denning and Buzen, "The
/// operational analysis of queueing network models", ACM Computing Surveys 10(3), 1978, which fixed times attain).
#[test]
fn throughput_is_the_load_over_the_lap_or_the_slowest_gate() {
    // 0.7 + 3.1 + 0.4 + 1.8 s = 6 s; the slowest gate takes 0.7 s.
    for (marbles, interval) in [
        (1, 6000),
        (2, 3000),
        (5, 1200),
        (8, 750),
        (9, 700),
        (30, 700),
    ] {
        let circuit = circuit(
            marbles,
            "slow: { escapement: { time: 0.7 s }, to: long }
             long: { track: { time: 3.1 s, advance: 0.5 s }, to: quick }
             quick: { escapement: { time: 0.4 s }, to: back }
             back: { return-floor: { time: 1.8 s, mouth-time: 0.1 s }, to: slow }",
        );
        // 21 s is a whole number of every period above.
        let passed = |time_s| run(&circuit, time_s).laps.passed;
        let (early, late) = (passed(420.5), passed(420.5 + 4200.0));
        let expected = if marbles <= 8 {
            u64::from(marbles) * 700
        } else {
            6000
        };
        assert_eq!(
            late - early,
            expected,
            "{marbles} marbles, one every {interval} ms"
        );
    }
}

/// A wheel passes at most its pockets.
#[test]
fn a_fed_wheel_fills_every_pocket() {
    let fed = circuit(
        40,
        "ramp: { ramp: { time: 0.5 s }, to: wheel }
         wheel: { pocket-wheel: { pockets: 20 }, to: slide }
         slide: { slide: { time: 0.8 s }, to: ramp }",
    );
    let pockets = run(&fed, 800.0).elements[1].pockets.expect("a wheel");
    assert_eq!((pockets.passed, pockets.longest_empty), (2001, 2));
    assert_eq!(
        pockets.carrying,
        2001 - 2,
        "the first two pass before the first marble is down the ramp"
    );
}

#[test]
fn a_file_spaces_its_departures_by_the_advance() {
    let blocked = circuit(
        6,
        "file: { track: { time: 2 s, places: 6, advance: 0.3 s }, to: cup }
         cup: { tipping-cup: { gathers: 1, tip: 5 s, reset: 0 s }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    // The cup passes one marble every 5 s: the file waits and each head is there in time.
    let (_, trace) = traced(&blocked, 100.0);
    assert_eq!(
        entered_at(&blocked, &trace, "cup", 1),
        [2, 7, 12, 17, 22, 27].map(|t| t * S)
    );
    // Five wait at the foot when a long stop is over: they leave one advance apart.
    let released = circuit(
        6,
        "file: { track: { time: 2 s, places: 6, advance: 0.3 s }, to: gate }
         gate: { flip-gate: { time: 0 s, stick: { chance: 0, clears: 1 s } }, to: [hold] }
         hold: { bowl: { swirl: 0 s, room: 1, hole-time: 0 s }, to: [end] }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&released, 100.0);
    let spaced: Vec<Nanos> = (0..6).map(|k| 2 * S + k * 300 * MS).collect();
    assert_eq!(entered_at(&released, &trace, "end", 1), spaced);
}

/// Behind an opening exit the whole file has moved up once, so the next departures follow one advance apart.
#[test]
fn a_file_that_was_blocked_leaves_one_advance_apart() {
    let circuit = circuit(
        10,
        "file: { track: { time: 1 s, places: 10, advance: 0.25 s }, to: cup }
         cup: { tipping-cup: { gathers: 5, tip: 1 s, reset: 5 s }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 60.0);
    // Five fill the cup by 2 s; it tips at 3 s and is back at 8 s, when the other five have long stood at the exit.
    let expected = [1000, 1250, 1500, 1750, 2000, 8000, 8250, 8500, 8750, 9000];
    assert_eq!(entered_at(&circuit, &trace, "cup", MS), expected);
}

/// The freed place comes to the entrance of a full file one advance after its head left.
#[test]
fn the_entrance_of_a_full_file_opens_one_advance_after_its_head_left() {
    let circuit = circuit(
        5,
        "file: { track: { time: 1 s, places: 2, advance: 0.35 s }, to: slow }
         slow: { escapement: { time: 4 s, places: 1 }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 60.0);
    // Two go in at once; the first leaves at 1 s, and so on whenever the escapement is free again.
    assert_eq!(
        entered_at(&circuit, &trace, "slow", 1),
        [1, 5, 9, 13, 17].map(|t| t * S)
    );
    assert_eq!(
        entered_at(&circuit, &trace, "file", 1),
        [0, 0, 1350 * MS, 5350 * MS, 9350 * MS]
    );
}

/// A file that stays full takes one marble an advance, whether the next one asked before the last head left or after.
///
/// A simulator written apart (tests/reference/by_simpy.py) showed that it took two at once where the next one asked after.
#[test]
fn a_full_file_takes_one_marble_an_advance_whenever_it_was_asked() {
    for hesitates in ["0 s", "0.1 s"] {
        let circuit = circuit(
            12,
            &format!(
                "ramp: {{ ramp: {{ time: 0 s, advance: {hesitates} }}, to: file }}
                 file: {{ track: {{ time: 0.3 s, places: 3, advance: 0.4 s }}, to: quick }}
                 quick: {{ escapement: {{ time: 0.05 s, places: 1 }}, to: back }}
                 back: {{ return-floor: {{ time: 0.06 s }}, to: ramp }}"
            ),
        );
        let (_, trace) = traced(&circuit, 20.0);
        let into = entered_at(&circuit, &trace, "file", 1);
        let gaps: Vec<Nanos> = into
            .windows(2)
            .skip(4)
            .map(|pair| pair[1] - pair[0])
            .collect();
        assert_eq!(
            gaps,
            vec![400 * MS; gaps.len()],
            "where the next one asks after {hesitates}"
        );
        assert!(gaps.len() > 40);
    }
}

#[test]
fn waiting_feeders_are_served_in_the_order_they_asked() {
    // Every way leads to one slow gate; marbles get there after 3, 1, 2 and 0.5 s.
    let circuit = circuit(
        4,
        "deal: { flip-gate: { time: 0.01 s, throw: 0 s }, to: [a, b, c, d] }
         a: { track: { time: 3 s }, to: slow }
         b: { track: { time: 1 s }, to: slow }
         c: { track: { time: 2 s }, to: slow }
         d: { track: { time: 0.5 s }, to: slow }
         slow: { escapement: { time: 10 s, places: 1 }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 100.0);
    let served: Vec<u32> = entries(&circuit, &trace, "slow")
        .iter()
        .map(|entry| entry.1)
        .collect();
    assert_eq!(served, [3, 1, 2, 0], "in the order of arrival");
}

#[test]
fn a_flip_gate_deals_in_turn_and_two_in_one_throw_go_together() {
    let gate = |every: &str| {
        circuit(
            6,
            &format!(
                "feed: {{ escapement: {{ time: {every} }}, to: gate }}
                 gate: {{ flip-gate: {{ time: 0 s, throw: 1 s }}, to: [left, right] }}
                 left: {{ track: {{ time: 1 s }}, to: none }}
                 right: {{ track: {{ time: 1 s }}, to: none }}"
            ),
        )
    };
    let ways = |every| {
        let circuit = gate(every);
        let (_, trace) = traced(&circuit, 60.0);
        let (left, right) = (index(&circuit, "left"), index(&circuit, "right"));
        let out = moved(&trace)
            .into_iter()
            .filter(|&(.., to)| to == left || to == right);
        out.map(|(.., to)| if to == left { 'L' } else { 'R' })
            .collect::<String>()
    };
    assert_eq!(
        ways("1 s"),
        "LRLRLR",
        "the gate is over just as the next comes"
    );
    assert_eq!(
        ways("0.6 s"),
        "LLRRLL",
        "the second comes within the throw and follows the first"
    );
    assert_eq!(ways("0.4 s"), "LLLRRR");
}

#[test]
fn a_weir_fills_its_first_way_first() {
    let circuit = circuit(
        9,
        "feed: { escapement: { time: 1 s }, to: weir }
         weir: { weir: { time: 0 s }, to: [first, second, third] }
         first: { track: { time: 0.1 s, places: 3 }, to: none }
         second: { track: { time: 0.1 s, places: 2 }, to: none }
         third: { track: { time: 0.1 s, places: unlimited }, to: none }",
    );
    let (_, trace) = traced(&circuit, 60.0);
    let seconds = |name| entered_at(&circuit, &trace, name, 1);
    assert_eq!(seconds("first"), [1, 2, 3].map(|t| t * S));
    assert_eq!(seconds("second"), [4, 5].map(|t| t * S));
    assert_eq!(seconds("third"), [6, 7, 8, 9].map(|t| t * S));
}

/// A ring of any size keeps time: one marble's lap is the sum of its times to the nanosecond, and a second marble is a hold of
/// the gate later on its first lap alone. The sizes stand at the edges of those that the event list is made for.
#[test]
fn rings_of_all_sizes_keep_time() {
    for size in [7_u64, 8, 9, 15, 16, 17, 31, 32, 33, 127, 128, 129, 256] {
        let after = |n: u64| {
            if n + 1 < size {
                format!("t{}", n + 1)
            } else {
                "gate".to_owned()
            }
        };
        let tracks =
            (1..size).map(|n| format!("t{n}: {{ track: {{ time: {n} ms }}, to: {} }}", after(n)));
        let elements = std::iter::once("gate: { escapement: { time: 10 ms }, to: t1 }".to_owned())
            .chain(tracks);
        let circuit = circuit(2, &elements.collect::<Vec<_>>().join("\n"));
        let lap = (10 + size * (size - 1) / 2) * S / 1000;
        let result = run(&circuit, 10.0 * lap as f64 * 1e-9 + 0.025);
        let laps = (result.laps.shortest, result.laps.longest, result.laps.count);
        assert_eq!(laps, (lap, lap + 10 * S / 1000, 20), "{size} elements");
    }
}

/// A weir's head that has got a place by one way has given up its turn by the other: the side line, which asked for `near`
/// before the next head came up, goes first each time.
#[test]
fn a_weir_gives_up_its_turn_by_the_ways_not_taken() {
    let circuit = circuit(
        40,
        "feed: { escapement: { time: 1 s }, to: deal }
         deal: { flip-gate: { time: 0 s, throw: 0 s }, to: [lead, side] }
         lead: { track: { time: 0 s }, to: weir }
         weir: { weir: { time: 0 s }, to: [near, far] }
         side: { track: { time: 0 s }, to: near }
         near: { escapement: { time: 10 s, places: 1 }, to: end }
         far: { escapement: { time: 7 s, places: 1 }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 32.0);
    let seconds = |name| {
        entries(&circuit, &trace, name)
            .iter()
            .map(|&(t, marble)| (t / S, marble))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        seconds("far"),
        [(3, 2), (10, 4), (17, 6), (24, 8), (31, 10)]
    );
    assert_eq!(seconds("near"), [(1, 0), (11, 1), (21, 3), (31, 5)]);
}

/// Two ways of a weir that lead to one wheel are one wait: nobody is served twice and nobody is forgotten.
#[test]
fn a_weir_with_both_ways_to_one_wheel_asks_once() {
    let circuit = circuit(
        8,
        "deal: { flip-gate: { time: 0.01 s, throw: 0 s }, to: [weir, other] }
         weir: { weir: { time: 0.01 s }, to: [wheel, wheel] }
         other: { track: { time: 0 s }, to: wheel }
         wheel: { pocket-wheel: { pockets: 20 }, to: deal }",
    );
    let result = run(&circuit, 400.0);
    let pockets = result.elements[3].pockets.expect("a wheel");
    assert_eq!(
        pockets.carrying, result.elements[3].entries,
        "every pocket that carries took a marble"
    );
    assert!(
        pockets.longest_empty < 20,
        "eight marbles in twenty pockets, half a turn to go: {pockets:?}"
    );
}

#[test]
fn a_cup_that_gathers_more_than_there_are_runs_dry() {
    let circuit = circuit(
        9,
        "feed: { escapement: { time: 1 s }, to: gate }
         gate: { flip-gate: { time: 0 s, throw: 0 s }, to: [cup, feed] }
         cup: { tipping-cup: { gathers: 10, tip: 1 s, reset: 1 s }, to: feed }",
    );
    let result = run(&circuit, 3600.0);
    // The gate sends every second marble into the cup: 1, 3, 5 ... s, the last at 17 s.
    assert_eq!((result.outcome, result.end), (Outcome::RanDry, 17 * S));
    assert_eq!(result.elements[2].entries, 9);
    assert_eq!(
        result.elements[2].waited,
        [S, 2 * S, 2 * S, 2 * S, 2 * S, 2 * S, 2 * S, 2 * S, 2 * S, 0]
    );
}

#[test]
fn a_dead_end_that_holds_ends_in_gridlock_and_one_that_spills_loses_marbles() {
    let collector = |when_full: &str| {
        circuit(
            7,
            &format!(
                "feed: {{ escapement: {{ time: 1 s }}, to: collector }}
                 collector: {{ track: {{ time: 0.5 s, places: 4, when-full: {when_full} }}, to: none }}"
            ),
        )
    };
    gridlocked_at(&run(&collector("hold"), 3600.0), 5 * S);
    let spilled = run(&collector("spill"), 3600.0);
    assert_eq!((spilled.outcome, spilled.end), (Outcome::RanDry, 7 * S));
    assert_eq!(
        (spilled.spills(), spilled.elements[1].first_spill),
        (3, Some(5 * S))
    );
}

/// Marbles poured onto a full dead end wait in the hand for ever.
#[test]
fn pouring_more_than_a_dead_end_takes_is_gridlock_at_once() {
    let result = run(
        &circuit(5, "end: { track: { time: 1 s, places: 3 }, to: none }"),
        60.0,
    );
    gridlocked_at(&result, 0);
    assert_eq!(result.left_in_hand, 2);
}

/// A cup takes nothing while it tips: who waits for it and holds it up waits for ever.
#[test]
fn a_tipped_cup_and_the_track_below_can_hold_each_other_up() {
    let circuit = circuit(
        2,
        "cup: { tipping-cup: { gathers: 2, tip: 1 s, reset: 1 s }, to: track }
         track: { track: { time: 1 s, places: 1 }, to: cup }",
    );
    gridlocked_at(&run(&circuit, 60.0), 2 * S);
}

/// The last free hole of a bowl closes when the last marble swirling in it comes to the other hole.
#[test]
fn a_bowl_gridlocks_when_its_last_marble_has_chosen_the_closed_hole() {
    let circuit = circuit(
        3,
        "bowl: { bowl: { swirl: 1 s, room: 2, shares: [1, 0], when-full: hold }, to: [track, out] }
         track: { track: { time: 0.25 s, places: 1 }, to: bowl }
         out: { track: { time: 1 s }, to: bowl }",
    );
    // Two swirl; at 1 s both come to the first hole, one goes through, the third is poured in. That one waits behind the
    // second from 2 s on, and the one on the track has waited for a place in the bowl since 1.25 s.
    gridlocked_at(&run(&circuit, 60.0), 2 * S);
}

/// Times beyond any afternoon are as good as never, and never early.
#[test]
fn a_time_beyond_counting_is_never_over() {
    let circuit = circuit(
        2000,
        "floor: { return-floor: { time: { weibull: { shape: 0.05, scale: 1 h } } }, to: feed }
         feed: { escapement: { time: 1 s }, to: floor }",
    );
    // A Weibull time of that shape is under 1 ms with a chance of 1 - exp(-(1e-3 / 3600)^0.05) = 0.38, over 1000 h with
    // exp(-1000^0.05) = 0.24.
    let result = run(&circuit, 1000.0 * 3600.0);
    assert_eq!(result.outcome, Outcome::Ran);
    let stays = result.elements[0].entries - result.elements[0].exits;
    assert!(
        stays > 1900,
        "{stays} stay for good, after all the others have come round until they do too"
    );
}

/// The gate is freed at 6 s and deals the marble that has waited for it straight back into the escapement it came from.
#[test]
fn an_escapement_takes_hold_once_of_a_marble_that_comes_straight_back() {
    let circuit = circuit(
        3,
        "feed: { escapement: { time: 1 s }, to: gate }
         gate: { flip-gate: { time: 0 s, throw: 0 s }, to: [slow, feed] }
         slow: { escapement: { time: 5 s, places: 1 }, to: end }
         end: { track: { time: 0 s }, to: none }",
    );
    let (_, trace) = traced(&circuit, 60.0);
    let seconds = |name| entered_at(&circuit, &trace, name, S);
    assert_eq!(seconds("feed"), [0, 0, 0, 2, 6]);
    assert_eq!(seconds("slow"), [1, 6, 11]);
}

/// A marble let in may take the last place that a ring had left: gridlock comes without anybody asking anew.
#[test]
fn a_ring_gridlocks_when_a_side_track_takes_its_last_place() {
    let circuit = circuit(
        3,
        "deal: { flip-gate: { time: 0.01 s, throw: 0 s }, to: [file, file, side] }
         file: { track: { time: 1 s, places: 2, advance: 1 s }, to: back }
         back: { track: { time: 0.1 s, places: 1 }, to: file }
         side: { track: { time: 1.035 s }, to: file }",
    );
    // The first leaves the file at 1.01 s and has come round at 1.11 s; the one from the side has waited since 1.065 s. At
    // 2.01 s the file has moved up: its head finds the way back taken, and then the side track fills the file.
    gridlocked_at(&run(&circuit, 60.0), 2010 * MS);
}
