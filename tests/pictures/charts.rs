//! The charts: whole, legible and the same bytes every time, whatever there is to draw.

use std::io::Cursor;

use crate::support::legible::overlaps;
use crate::support::sampled;
use marblewright::charts::bands::{BandKind, stack};
use marblewright::charts::canvas::{Anchor, Area, Format, NARROW, Picture, Type, picture};
use marblewright::charts::labels::spread;
use marblewright::charts::time_series::over_runs;
use marblewright::charts::{
    ChartData, backlog, circuit as drawn, fill, jams, marbles, of_run, style, survival,
};
use marblewright::circuit::draw::nanos;
use marblewright::circuit::plan::Cause;
use marblewright::circuit::{self, Circuit};
use marblewright::engine::Outcome;
use marblewright::engine::outcome::Jam;
use marblewright::findings::timeline::{ElementTimeline, Flow, Timeline};
use marblewright::findings::{RunFigures, Runs, StudyScope, Summary, summarize};
use marblewright::stats::Estimate;
use marblewright::study::repeat::Study;
use marblewright::{machine, study};
use proptest::prelude::*;

const DEMO: &str = include_str!("../../scenarios/lantern-walk.yaml");

/// Everything that charts are drawn from.
struct Case {
    circuit: Circuit,
    summary: Summary,
    runs: Runs,
    courses: Vec<Timeline>,
}

impl Case {
    fn new(circuit: Circuit, figures: Vec<RunFigures>, courses: Vec<Timeline>) -> Self {
        let mut runs = Runs::new(circuit.start);
        runs.extend(figures);
        let question = StudyScope {
            title: "A machine with a long title ".repeat(9),
            rpm: Some(7.0),
            seed: 1,
            hours: 2.0,
        };
        let summary = summarize(&question, &circuit, &runs);
        Case {
            circuit,
            summary,
            runs,
            courses,
        }
    }

    /// Runs of a machine file.
    fn simulated(text: &str, runs: u32, hours: f64) -> Self {
        let circuit = circuit::circuit(&machine::read(text, &[]).expect("sound"));
        let horizon = nanos(hours * 3600.0);
        let figures = study::repeat(&circuit, &Study { seed: 1, horizon }, runs, || ());
        let courses = study::repeat::courses(&circuit, &Study { seed: 1, horizon }, runs, 240);
        Case::new(circuit, figures, courses)
    }

    /// `elements` elements, every fourth a wheel, with figures that need not agree with each other.
    fn made_up(elements: usize, runs: usize, steps: usize, seed: u64) -> Self {
        let mut random = Random(seed);
        let names: Vec<String> = (0..elements).map(|n| name(&mut random, n)).collect();
        let circuit = circuit_of(&names, &mut random);
        let figures = (0..runs)
            .map(|run| made_up_run(&circuit, run as u64, &mut random))
            .collect();
        let courses = (0..runs.min(40))
            .map(|_| made_up_course(&circuit, steps, &mut random))
            .collect();
        Case::new(circuit, figures, courses)
    }

    /// What is counted, after the runs have been changed.
    fn count_again(&mut self) {
        let changed = std::mem::take(&mut self.runs.batches);
        self.runs = Runs::new(self.circuit.start);
        self.runs.extend(changed);
    }

    fn study(&self, format: Format) -> ChartData<'_> {
        ChartData {
            circuit: &self.circuit,
            summary: &self.summary,
            runs: &self.runs,
            courses: &self.courses,
            format,
        }
    }

    /// All pictures, for a desk and for a telephone.
    fn pictures(&self) -> Vec<Picture> {
        let of = |format| self.pictures_of(format);
        [of(Format::Wide), of(Format::Narrow)].concat()
    }

    fn pictures_of(&self, format: Format) -> Vec<Picture> {
        let study = self.study(format);
        let all = [
            Some(drawn::picture(&study)),
            Some(marbles::picture(&study)),
            Some(backlog::picture(&study)),
            fill::picture(&study),
            Some(jams::picture(&study)),
        ];
        all.into_iter().flatten().collect()
    }

    fn files(&self) -> Vec<(String, Vec<u8>)> {
        of_run(&self.study(Format::Wide))
    }
}

/// A small generator of arbitrary numbers (Knuth's MMIX multiplier), enough to vary what is drawn.
struct Random(u64);

impl Random {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n.max(1)
    }

    fn share(&mut self) -> f64 {
        self.below(1_000_001) as f64 / 1e6
    }
}

fn name(random: &mut Random, n: usize) -> String {
    let length = 1 + random.below(57) as usize;
    let letters = "the-track-of-the-wide-and-winding-way-down-to-the-sea-again-mm";
    format!("{}{n}", &letters[..length])
}

/// The plans of the reference circuit over and over, under other names and with other rooms.
fn circuit_of(names: &[String], random: &mut Random) -> Circuit {
    let reference =
        machine::read(include_str!("../../scenarios/circuit-a.yaml"), &[]).expect("sound");
    let reference = circuit::circuit(&reference);
    let plan = |(n, name): (usize, &String)| {
        let mut plan = reference.nodes[if n % 4 == 1 { 1 } else { 2 + n % 6 }].clone();
        plan.name = name.clone();
        plan.room = if random.below(3) == 0 {
            u32::MAX
        } else {
            1 + random.below(60) as u32
        };
        plan
    };
    Circuit {
        nodes: names.iter().enumerate().map(plan).collect(),
        ..reference
    }
}

fn made_up_run(circuit: &Circuit, run: u64, random: &mut Random) -> RunFigures {
    let outcomes = [
        Outcome::Ran,
        Outcome::Jammed,
        Outcome::Gridlocked,
        Outcome::RanDry,
    ];
    let jam = |node: usize, random: &mut Random| Jam {
        node,
        cause: Cause::ALL[random.below(4) as usize],
        first: random.below(7_200_000_000_000),
        count: 1 + random.below(2000),
    };
    let element = |n: usize, random: &mut Random| {
        let peak = random.below(50) as f64;
        marblewright::findings::figures::ElementFigures {
            backlog_mean: (random.below(5) > 0).then(|| random.share() * peak),
            backlog_p95: Some(peak),
            backlog_peak: peak,
            waiting_share: Some(random.share()),
            held_mean: Some(random.share() * 10.0),
            full_share: Some(random.share()),
            entries: random.below(10_000),
            refused: random.below(3),
            first_refused_s: None,
            spills: random.below(2) * random.below(40),
            first_spill_s: None,
            blockages: 0,
            wheel: circuit.nodes[n].wheel().map(|_| {
                marblewright::findings::figures::WheelFigures {
                    fill: (random.below(9) > 0).then(|| random.share()),
                    empty_streak_max: random.below(400) as f64,
                    missed: random.below(40),
                    pinched: 0,
                    carried_over: 0,
                }
            }),
            of_runs: None,
        }
    };
    let nodes = circuit.nodes.len();
    RunFigures {
        run,
        runs: 1,
        outcome: outcomes[random.below(4) as usize],
        end_s: random.share() * 7200.0,
        throughput_per_min: None,
        lap_s: None,
        laps: 0,
        elements: (0..nodes).map(|n| element(n, random)).collect(),
        locks: Vec::new(),
        jams: (0..nodes)
            .step_by(1 + random.below(6) as usize)
            .map(|n| jam(n, random))
            .collect(),
        waited_in_hand: 0,
        poured_in_s: Some(0.0),
        left_in_hand: 0,
        moves: 0,
    }
}

fn made_up_course(circuit: &Circuit, steps: usize, random: &mut Random) -> Timeline {
    let known = random.below(steps as u64 + 1) as usize;
    let largest = random.share() * 30.0;
    let mut figures = |most: f64, gaps: bool| -> Vec<Option<f64>> {
        let mut figure = |k: usize| {
            (k < known && !(gaps && random.below(9) == 0)).then(|| random.share() * most)
        };
        (0..steps).map(&mut figure).collect()
    };
    let element = |n: usize| ElementTimeline {
        held: figures(largest, false),
        waiting: figures(largest, true),
        fill: if n % 4 == 1 {
            figures(1.0, true)
        } else {
            vec![None; steps]
        },
    };
    let elements = (0..=circuit.nodes.len()).map(element).collect();
    let links = circuit
        .nodes
        .iter()
        .enumerate()
        .flat_map(|(from, plan)| plan.ways.iter().map(move |way| (from, way.to)));
    let flows = links
        .map(|(from, to)| Flow {
            from,
            to,
            marbles: random.below(9000),
        })
        .collect();
    let spilled = vec![random.below(2) as u32 * 9; steps];
    Timeline {
        step_s: 30.0,
        elements,
        spilled,
        flows,
        end_s: known as f64 * 30.0,
    }
}

/// The bytes of a picture and its size; a picture for a telephone has two pixels for each of its own.
fn pixels(picture: &Picture) -> (Vec<u8>, (usize, usize)) {
    let dense = if picture.size.0 == NARROW { 2 } else { 1 };
    let size = (picture.size.0 * dense, picture.size.1 * dense);
    let png = picture.png.as_slice();
    let mut decoder = png::Decoder::new(Cursor::new(png));
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    let mut reader = decoder.read_info().expect("a PNG");
    let mut bytes = vec![0; reader.output_buffer_size().expect("a size")];
    let frame = reader.next_frame(&mut bytes).expect("an image");
    assert_eq!((frame.width, frame.height), size);
    // A picture for a telephone has a palette in which one colour is clear; no pixel has it.
    if frame.color_type == png::ColorType::Rgba {
        assert!(bytes.chunks_exact(4).all(|pixel| pixel[3] == 255));
        let opaque = bytes.chunks_exact(4).flat_map(|pixel| &pixel[..3]);
        bytes = opaque.copied().collect();
    } else {
        assert_eq!(frame.color_type, png::ColorType::Rgb);
    }
    (bytes, (size.0 as usize, size.1 as usize))
}

/// What every picture must be.
fn check(picture: &Picture) {
    let (bytes, (width, height)) = pixels(picture);
    let edge = if picture.size.0 == NARROW { 6.0 } else { 8.0 };
    for y in 0..height {
        for x in (0..width).filter(|&x| x < 8 || y < 8 || x >= width - 8 || y >= height - 8) {
            assert_eq!(
                bytes[(y * width + x) * 3..][..3],
                [255; 3],
                "ink at {x}, {y}, on the edge"
            );
        }
    }
    let inside = Area {
        left: edge,
        top: edge,
        right: f64::from(picture.size.0) - edge,
        bottom: f64::from(picture.size.1) - edge,
    };
    for (n, text) in picture.texts.iter().enumerate() {
        let fits = text.left >= inside.left && text.right <= inside.right;
        assert!(
            fits && text.top >= inside.top && text.bottom <= inside.bottom,
            "{text:?} leaves the picture"
        );
        for other in &picture.texts[..n] {
            assert!(!overlaps(text, other), "{text:?} covers {other:?}");
        }
    }
    assert!(
        picture.texts.len() >= 2,
        "a picture without a title and a footer"
    );
}

#[test]
fn the_demo_machine_has_five_charts_and_they_are_the_same_bytes_every_time() {
    let case = Case::simulated(DEMO, 6, 0.5);
    let files = case.files();
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(
        names,
        [
            "circuit.png",
            "marbles.png",
            "backlog.png",
            "fill.png",
            "jams.png"
        ]
    );
    assert_eq!(files, case.files());
    assert_eq!(files, Case::simulated(DEMO, 6, 0.5).files());
    case.pictures().iter().for_each(check);
}

#[test]
fn other_luck_is_another_picture() {
    let (one, other) = (
        Case::made_up(7, 6, 60, 1).files(),
        Case::made_up(7, 6, 60, 2).files(),
    );
    assert!(one.iter().zip(&other).all(|(a, b)| a != b));
}

#[test]
fn degenerate_studies_are_drawn_too() {
    let case = |elements, runs, steps| Case::made_up(elements, runs, steps, 5);
    let mut ended_at_once = case(5, 3, 240);
    let mut without_data = case(5, 3, 240);
    let mut endless = case(5, 3, 24);
    for course in &mut ended_at_once.courses {
        course.end_s = 0.0;
    }
    for element in without_data
        .courses
        .iter_mut()
        .flat_map(|course| &mut course.elements)
    {
        for figures in [&mut element.held, &mut element.waiting, &mut element.fill] {
            figures.fill(None);
        }
    }
    for course in &mut endless.courses {
        course.end_s = 1e12;
        course.step_s = 1e11;
    }
    let odd = [
        case(1, 1, 240),
        case(40, 1, 240),
        case(40, sampled(20, 200), 240),
        case(11, 2, 1),
        case(3, 0, 0),
        case(0, 0, 0),
        ended_at_once,
        without_data,
        endless,
    ];
    for case in odd {
        case.pictures().iter().for_each(check);
    }
}

#[test]
fn a_machine_without_wheels_has_no_chart_of_fill() {
    let mut case = Case::made_up(6, 3, 40, 3);
    case.circuit.nodes.retain(|plan| plan.wheel().is_none());
    assert!(case.files().iter().all(|(name, _)| name != "fill.png"));
    case.pictures().iter().for_each(check);
}

#[test]
fn a_jam_that_never_came_is_drawn_with_its_bound() {
    let mut case = Case::made_up(6, 12, 40, 3);
    for run in &mut case.runs.batches {
        run.jams.clear();
        run.outcome = Outcome::Ran;
    }
    case.count_again();
    let none = jams::picture(&case.study(Format::Wide));
    check(&none);
    // The bound moves the scale: fewer runs prove less.
    case.runs.batches.truncate(1);
    case.count_again();
    assert_ne!(none.png, jams::picture(&case.study(Format::Wide)).png);
}

#[test]
fn the_curve_of_first_jams_stands_only_where_one_was_seen() {
    let mut case = Case::made_up(6, 30, 40, 3);
    for run in &mut case.runs.batches {
        run.jams.retain(|jam| jam.node == 0);
        run.jams.truncate(1);
    }
    case.runs.batches[0].jams = vec![Jam {
        node: 0,
        cause: Cause::Arch,
        first: 60_000_000_000,
        count: 1,
    }];
    case.count_again();
    assert!(survival::curve(&case.study(Format::Wide)).is_some());
    let with = jams::picture(&case.study(Format::Wide));
    check(&with);
    // One jam a little later is another curve.
    case.runs.batches[0].jams[0].first += 600_000_000_000;
    case.count_again();
    assert_ne!(with.png, jams::picture(&case.study(Format::Wide)).png);
    for run in &mut case.runs.batches {
        run.jams.clear();
    }
    case.count_again();
    assert_eq!(survival::curve(&case.study(Format::Wide)), None);
    check(&jams::picture(&case.study(Format::Wide)));
}

#[test]
fn what_is_unknown_of_an_element_is_not_drawn_as_none() {
    let mut case = Case::made_up(5, 3, 40, 8);
    let known = drawn::picture(&case.study(Format::Wide));
    for (_, element) in &mut case.summary.elements.0 {
        (element.held_mean, element.backlog_mean) = (Estimate::unknown(), Estimate::unknown());
    }
    let unknown = drawn::picture(&case.study(Format::Wide));
    check(&unknown);
    for (_, element) in &mut case.summary.elements.0 {
        (element.held_mean, element.backlog_mean) = (Estimate::point(0.0), Estimate::point(0.0));
    }
    let zero = drawn::picture(&case.study(Format::Wide));
    assert!(known.png != unknown.png && unknown.png != zero.png);
    case.courses.clear();
    check(&drawn::picture(&case.study(Format::Wide)));
}

#[test]
fn bands_hold_the_whole_load_at_every_time_also_when_marbles_are_lost() {
    let case = Case::simulated(include_str!("../../scenarios/spring-tide.yaml"), 1, 0.5);
    let stack = stack(&case.study(Format::Wide)).expect("bands");
    let lost = stack
        .bands
        .iter()
        .find(|band| band.kind == BandKind::Lost)
        .expect("spring tide spills");
    let spilled = case.courses[0].spilled.last().expect("steps");
    assert!(
        (lost.end - f64::from(*spilled)).abs() < 1.0,
        "{} lost, {spilled} spilled",
        lost.end
    );
    for k in 0..lost.held.len() {
        let total: f64 = stack.bands.iter().map(|band| band.held[k]).sum();
        // Bands too thin to see are left out.
        assert!(
            (total - f64::from(case.circuit.marbles)).abs() < 0.3,
            "{total} at step {k}"
        );
    }
}

#[test]
fn text_too_long_for_the_picture_is_shortened_wherever_it_stands() {
    let long = "a word and another ".repeat(20);
    for (y, anchor) in [
        (100.0, Anchor::Left),
        (200.0, Anchor::Middle),
        (300.0, Anchor::Right),
    ] {
        for x in [0.0, 40.0, 600.0, 1190.0, 1300.0] {
            let drawn = picture(|canvas| {
                canvas.text(x, y, &long, Type::new(20.0, style::INK).at(anchor));
                canvas.text(600.0, 600.0, "two", style::TITLE);
                canvas.text(700.0, 600.0, "more", style::TITLE);
            });
            check(&drawn);
        }
    }
}

#[test]
fn a_gap_in_the_data_is_a_gap_in_the_course() {
    let mut case = Case::made_up(1, 1, 20, 1);
    let course = &mut case.courses[0];
    course.end_s = 600.0;
    course.elements[0].waiting = (0..20)
        .map(|k| (!(8..12).contains(&k)).then_some(3.0))
        .collect();
    let stretches = over_runs(&case.courses, |course| {
        Some(course.elements[0].waiting.as_slice())
    });
    let ends = |stretch: &Vec<marblewright::charts::time_series::Point>| {
        (
            stretch.first().expect("points").time_s,
            stretch.last().expect("points").time_s,
        )
    };
    assert_eq!(
        stretches.iter().map(ends).collect::<Vec<_>>(),
        [(0.0, 240.0), (360.0, 600.0)]
    );
    assert!(
        stretches.iter().flatten().all(|point| point.middle == 3.0),
        "nothing else is ever drawn"
    );
    assert!(stretches.iter().flatten().map(|p| p.time_s).is_sorted());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(sampled(4, 40) as u32) })]

    #[test]
    fn no_text_covers_another_or_leaves_the_picture(
        elements in 1_usize..=40, runs in 1_usize..60, steps in 1_usize..240, seed: u64,
    ) {
        Case::made_up(elements, runs, steps, seed).pictures().iter().for_each(check);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn spread_labels_stay_apart_inside_and_in_order(
        wanted in prop::collection::vec(-50.0..650.0_f64, 1..30), gap in 0.0..60.0_f64,
    ) {
        let places = spread(&wanted, gap, 0.0, 600.0);
        let apart = if wanted.len() > 1 { gap.min(600.0 / (wanted.len() - 1) as f64) } else { 0.0 };
        let mut pairs: Vec<(f64, f64)> = wanted.iter().copied().zip(places.iter().copied()).collect();
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        prop_assert!(places.iter().all(|y| (-1e-9..=600.0 + 1e-9).contains(y)));
        prop_assert!(pairs.windows(2).all(|pair| pair[1].1 - pair[0].1 >= apart - 1e-9));
    }

    /// Least squares: no other placement that keeps the rules is nearer to what is wanted.
    #[test]
    fn spread_labels_are_as_near_as_can_be(
        mut wanted in prop::collection::vec(0.0..600.0_f64, 2..12), slack in prop::collection::vec(0.0..1.0_f64, 13),
    ) {
        wanted.sort_by(f64::total_cmp);
        let gap = 20.0;
        let free = 600.0 - gap * (wanted.len() - 1) as f64;
        let total: f64 = slack[..=wanted.len()].iter().sum::<f64>().max(1e-9);
        let mut used = 0.0;
        let other: Vec<f64> = (0..wanted.len())
            .map(|i| {
                used += slack[i] / total * free;
                used + gap * i as f64
            })
            .collect();
        let cost = |places: &[f64]| -> f64 { places.iter().zip(&wanted).map(|(a, b)| (a - b) * (a - b)).sum() };
        let places = spread(&wanted, gap, 0.0, 600.0);
        prop_assert!(cost(&places) <= cost(&other) + 1e-6);
        // Also not by a step from the best towards any other: the rules allow every mixture of two placements.
        let near: Vec<f64> = places.iter().zip(&other).map(|(a, b)| a + 1e-3 * (b - a)).collect();
        prop_assert!(cost(&places) <= cost(&near) + 1e-6);
    }
}

/// Run with `cargo test --release --test pictures charts:: -- --ignored --nocapture`: time depends on the computer.
#[test]
#[ignore = "measures time"]
fn all_charts_of_forty_runs_take_less_than_a_second() {
    let case = Case::made_up(40, 40, 240, 9);
    let begin = std::time::Instant::now();
    let files = case.files();
    let took = begin.elapsed();
    println!(
        "{} charts of 40 runs of 240 steps, 40 elements: {took:?}",
        files.len()
    );
    assert!(took.as_secs_f64() < 1.0);
}
