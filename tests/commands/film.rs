//! Films: every frame shows each marble once, where the run has it; the file is small and the same every time.

use std::collections::BTreeSet;
use std::io::Cursor;

use crate::support::random_circuits::{genes, text};
use crate::support::{self, sampled};
use marblewright::charts::film::scene::{FilmScene, Frame};
use marblewright::charts::film::{LIMIT_BYTES, RATES, Shot, files, frames, instant, placed};
use marblewright::charts::style::MARBLES;
use marblewright::circuit::Circuit;
use marblewright::circuit::draw::{Nanos, nanos};
use marblewright::engine::simulate;
use marblewright::engine::watch::TraceEvent;
use marblewright::findings::replay::{Replay, RunId, Stay};
use marblewright::findings::trace::Trace;
use proptest::prelude::*;

fn watched(circuit: &Circuit, seed: u64, until: Nanos) -> Replay {
    Replay::of(
        circuit,
        RunId {
            seed,
            run: 0,
            horizon: until,
        },
    )
}

/// Where a marble is by the trace: an element, the hand (after the last element), or nowhere.
fn by_trace(circuit: &Circuit, trace: &Trace, time: Nanos) -> Vec<Option<usize>> {
    let mut place = vec![Some(circuit.nodes.len()); circuit.marbles as usize];
    for seen in trace.seen.iter().take_while(|seen| seen.time <= time) {
        match seen.what {
            TraceEvent::Moved { marble, to, .. } => place[marble as usize] = Some(to),
            TraceEvent::Spilled { marble, .. } => place[marble as usize] = None,
            _ => {}
        }
    }
    place
}

fn by_frame(circuit: &Circuit, frame: &Frame) -> Vec<Option<usize>> {
    let seen: BTreeSet<usize> = frame.dots.iter().map(|dot| dot.marble).collect();
    assert_eq!(seen.len(), frame.dots.len(), "a marble is drawn twice");
    assert_eq!(
        frame.dots.len() + frame.in_hand + frame.lost,
        circuit.marbles as usize,
        "a marble is missing"
    );
    let mut place = vec![None; circuit.marbles as usize];
    for dot in &frame.dots {
        place[dot.marble] = Some(dot.node);
    }
    place
}

/// Every marble in an element is drawn in the element's box, or on its way there from the one before.
fn drawn_where_it_is(shot: &Shot<'_>, frame: &Frame) {
    let layout = placed(shot.circuit);
    for dot in &frame.dots {
        let area = &layout.boxes[dot.node];
        let within = |a: &marblewright::charts::canvas::Area| {
            (a.left..=a.right).contains(&dot.at.0) && (a.top..=a.bottom).contains(&dot.at.1)
        };
        let near = |wire: &&marblewright::charts::layout::Wire| {
            wire.to == dot.node
                && (within(&layout.boxes[wire.from])
                    || wire.points.windows(2).any(|pair| {
                        let (low, high) = (
                            pair[0].0.min(pair[1].0) - 1.0,
                            pair[0].0.max(pair[1].0) + 1.0,
                        );
                        let (top, bottom) = (
                            pair[0].1.min(pair[1].1) - 1.0,
                            pair[0].1.max(pair[1].1) + 1.0,
                        );
                        (low..=high).contains(&dot.at.0) && (top..=bottom).contains(&dot.at.1)
                    }))
        };
        assert!(
            within(area) || layout.wires.iter().any(|wire| near(&wire)),
            "{dot:?} is out of place"
        );
    }
}

fn agree(circuit: &Circuit, seed: u64, until_s: f64, steps: u64) {
    let until = nanos(until_s);
    let mut trace = Trace::default();
    let bare = simulate(circuit, seed, 0, until, &mut trace);
    let replay = watched(circuit, seed, until);
    assert_eq!(bare, replay.result, "being filmed changes nothing");
    let shot = Shot {
        circuit,
        replay: &replay,
        title: "",
        repeat: "",
        from: 0,
        length: until,
    };
    let layout = placed(circuit);
    let scene = FilmScene::new(&shot, &layout);
    for k in 0..=steps {
        let time = until / steps * k;
        let frame = scene.frame(time);
        let hand = circuit.nodes.len();
        let traced = by_trace(circuit, &trace, time);
        let in_hand = traced.iter().filter(|place| **place == Some(hand)).count();
        let lost = traced.iter().filter(|place| place.is_none()).count();
        assert_eq!((frame.in_hand, frame.lost), (in_hand, lost), "at {time} ns");
        let in_elements: Vec<Option<usize>> = traced
            .into_iter()
            .map(|place| place.filter(|&n| n != hand))
            .collect();
        assert_eq!(by_frame(circuit, &frame), in_elements, "at {time} ns");
        drawn_where_it_is(&shot, &frame);
    }
}

#[test]
fn frames_of_the_scenarios_agree_with_the_trace() {
    for file in [
        "lantern-walk",
        "storm-wheel",
        "spring-tide",
        "harbour-weir",
        "tide-clock",
    ] {
        let path = format!("{}/scenarios/{file}.yaml", env!("CARGO_MANIFEST_DIR"));
        agree(
            &support::circuit_of(&std::fs::read_to_string(path).expect("a scenario")),
            1,
            120.0,
            240,
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(60) })]

    #[test]
    fn frames_of_random_circuits_agree_with_the_trace(genes in genes(14), seed in 0_u64..1000) {
        agree(&support::circuit_of(&text(&genes)), seed, 12.0, 37);
    }
}

#[test]
fn after_the_end_of_a_run_everything_stands_still() {
    let circuit = support::circuit_of(include_str!("../../scenarios/lantern-walk.yaml"));
    let ended = nanos(30.0);
    let replay = watched(&circuit, 1, ended);
    let shot = Shot {
        circuit: &circuit,
        replay: &replay,
        title: "",
        repeat: "",
        from: 0,
        length: ended,
    };
    let layout = placed(&circuit);
    let scene = FilmScene::new(&shot, &layout);
    let (last, later) = (scene.frame(ended), scene.frame(ended + nanos(1.0)));
    assert_eq!((&last.dots, &last.pockets), (&later.dots, &later.pockets));
    assert_ne!(last.dots, scene.frame(ended - nanos(1.0)).dots);
    assert_ne!(last.time, later.time);
}

/// A marble that was seen to wait has come to the exit before it leaves, and after it came in.
#[test]
fn stays_follow_each_other_without_a_gap() {
    let circuit = support::circuit_of(include_str!("../../scenarios/lantern-walk.yaml"));
    let replay = watched(&circuit, 1, nanos(300.0));
    let mut waits = 0;
    for marble in 0..circuit.marbles as usize {
        let mut before: Option<&Stay> = None;
        for stay in replay.stays_of(marble) {
            if let Some(before) = before {
                assert_eq!(before.leave, Some(stay.enter));
                assert_eq!(before.node, stay.from);
            }
            let queued = stay.queued.unwrap_or(stay.enter);
            assert!(stay.enter <= queued && stay.leave.is_none_or(|left| queued <= left));
            waits += u64::from(stay.queued.is_some());
            before = Some(stay);
        }
    }
    assert!(waits > 100, "marbles wait in the demo machine");
}

fn demo_film(
    replay: &Replay,
    circuit: &Circuit,
    from_s: f64,
    length_s: f64,
) -> (u32, Vec<(String, Vec<u8>)>) {
    let (from, length) = (nanos(from_s), nanos(length_s));
    let shot = Shot {
        circuit,
        replay,
        title: "Demo",
        repeat: "seed 1, run 0",
        from,
        length,
    };
    (frames(&shot, RATES[0]), files(&shot))
}

#[test]
fn a_film_is_small_and_the_same_every_time_and_its_last_frame_shows_the_marbles() {
    let circuit = support::circuit_of(include_str!("../../scenarios/lantern-walk.yaml"));
    let replay = watched(&circuit, 1, nanos(240.0));
    let (_, long) = demo_film(&replay, &circuit, 90.0, sampled(6, 20) as f64);
    assert_eq!(long[0].0, "film.png");
    let bytes: Vec<(&str, usize)> = long
        .iter()
        .map(|(name, png)| (name.as_str(), png.len()))
        .collect();
    println!("{bytes:?}");
    assert!(long[0].1.len() <= LIMIT_BYTES, "{} bytes", long[0].1.len());
    let (count, short) = demo_film(&replay, &circuit, 90.0, 1.0);
    assert_eq!(count, u32::from(RATES[0]));
    assert_eq!(short, demo_film(&replay, &circuit, 90.0, 1.0).1);
    assert_eq!(short[1].0, "film-narrow.png");
    let width = u32::from_be_bytes(short[1].1[16..20].try_into().expect("a header"));
    assert_eq!(width, 360, "as wide as a telephone");
    let shown = last_frame(&short[0].1, count);
    let shot = Shot {
        circuit: &circuit,
        replay: &replay,
        title: "",
        repeat: "",
        from: nanos(90.0),
        length: nanos(1.0),
    };
    let layout = placed(&circuit);
    let frame = FilmScene::new(&shot, &layout).frame(instant(&shot, count - 1, RATES[0]));
    let mut found = 0;
    for (n, dot) in frame.dots.iter().enumerate() {
        // Marbles drawn later may lie over it.
        let hidden = frame.dots[n + 1..].iter().any(|other| {
            (other.at.0 - dot.at.0).abs() < 7.0 && (other.at.1 - dot.at.1).abs() < 7.0
        });
        let colour = MARBLES[dot.marble % MARBLES.len()];
        let pixel = shown.at(dot.at);
        let near = [colour.0, colour.1, colour.2]
            .iter()
            .zip(pixel)
            .all(|(a, b)| a.abs_diff(b) <= 12);
        assert!(
            hidden || near,
            "{dot:?} is not in the picture, but {pixel:?}"
        );
        found += u32::from(!hidden);
    }
    assert!(found > 15, "only {found} marbles could be looked for");
}

struct Shown {
    width: usize,
    rgb: Vec<[u8; 3]>,
}

impl Shown {
    fn at(&self, (x, y): (f64, f64)) -> [u8; 3] {
        self.rgb[y as usize * self.width + x as usize]
    }
}

/// Plays an animated PNG as a viewer does, each frame over the ones before.
fn last_frame(bytes: &[u8], count: u32) -> Shown {
    let mut decoder = png::Decoder::new(Cursor::new(bytes));
    decoder.set_transformations(png::Transformations::EXPAND);
    let mut reader = decoder.read_info().expect("a PNG");
    assert_eq!(
        reader
            .info()
            .animation_control()
            .expect("animated")
            .num_frames,
        count
    );
    let width = reader.info().width as usize;
    let height = reader.info().height as usize;
    let mut shown = Shown {
        width,
        rgb: vec![[0; 3]; width * height],
    };
    let mut buffer = vec![0; reader.output_buffer_size().expect("a size")];
    for _ in 0..count {
        let frame = reader.next_frame(&mut buffer).expect("a frame");
        let control = *reader.info().frame_control().expect("its place");
        assert_eq!(
            (frame.color_type, control.blend_op),
            (png::ColorType::Rgba, png::BlendOp::Over)
        );
        for (k, pixel) in buffer[..frame.buffer_size()].chunks_exact(4).enumerate() {
            let (x, y) = (k % frame.width as usize, k / frame.width as usize);
            if pixel[3] > 0 {
                shown.rgb
                    [(control.y_offset as usize + y) * width + control.x_offset as usize + x] =
                    [pixel[0], pixel[1], pixel[2]];
            }
        }
    }
    shown
}

/// Runs the program; its exit code, standard output and standard error.
fn program(args: &[&str]) -> (Option<i32>, String, String) {
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_marblewright"))
        .args(args)
        .output()
        .expect("it starts");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    (run.status.code(), text(run.stdout), text(run.stderr))
}

#[test]
fn the_command_writes_a_film_and_its_stills_or_nothing() {
    let folder = tempfile::tempdir().expect("a directory");
    let out = folder.path().join("film");
    let machine = format!("{}/scenarios/starter-loop.yaml", env!("CARGO_MANIFEST_DIR"));
    let film = |extra: &[&str]| {
        let length = if extra.contains(&"--seconds") {
            &[][..]
        } else {
            &["--seconds", "0.5"][..]
        };
        program(
            &[
                &["film", &machine, "--out", out.to_str().expect("text")],
                length,
                extra,
            ]
            .concat(),
        )
    };
    let (code, _, says) = film(&["--from", "1:99"]);
    assert!(code == Some(2) && says.contains("1:02:30"), "{says}");
    let (code, _, says) = film(&["--seconds", "0"]);
    assert!(code == Some(2) && says.contains("0"), "{says}");
    // A mouth as wide as a marble jams at once, and nobody clears it.
    let jam = [
        "--set",
        "circuit.floor.return-floor.arch.chance=1",
        "--set",
        "tending=stop",
        "--from",
        "30:00",
    ];
    let (code, _, says) = film(&jam);
    assert!(
        code == Some(2) && says.contains("before the film begins") && says.contains("--from"),
        "{code:?} {says}"
    );
    assert!(!out.exists(), "nothing is written where there is no film");
    let (code, says, _) = film(&["--from", "1:30"]);
    assert!(
        code == Some(0) && says.contains("0.5 s from 1:30.0"),
        "{says}"
    );
    for name in ["film.png", "film-narrow.png", "film-strip.png"] {
        assert!(out.join(name).exists(), "{name}");
    }
}
