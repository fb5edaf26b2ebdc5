//! The profile of a lap: the same heights as on the bench sheet, everything legible at both widths.

use std::path::Path;

use crate::support::legible::assert_picture;
use crate::support::scenarios;
use marblewright::charts::canvas::{Format, NARROW, WIDTH};
use marblewright::charts::profile::picture;
use marblewright::machine::{self, Machine, Setting};
use marblewright::sheet::heights::MARGIN_M;
use marblewright::sheet::profile::{ProfilePiece, StretchEnd, profile};
use marblewright::sheet::{Units, sheet};

const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");

fn read(text: &str) -> Machine {
    machine::read(text, &[]).expect("a sound machine")
}

fn read_file(path: &Path) -> Machine {
    read(&std::fs::read_to_string(path).expect("a file"))
}

#[test]
fn the_height_left_over_is_that_of_the_bench_sheet() {
    let mut compared = 0;
    let with_chain = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/circuits/chain-of-cups.yaml"
    );
    for path in scenarios().into_iter().chain([with_chain.into()]) {
        let machine = read_file(&path);
        let sections = sheet(&machine, Units::Millimetres);
        let rows = sections.iter().flat_map(|section| &section.rows);
        for row in rows.filter(|row| row.label == "height left over") {
            let lap = profile(&machine).lap.expect("a lap that comes round");
            let on_sheet = row.figures[0].value;
            assert!(
                (lap.left_m - on_sheet).abs() < 1e-9,
                "{}: {} on the sheet, {} here",
                path.display(),
                on_sheet,
                lap.left_m
            );
            compared += 1;
        }
    }
    assert!(
        compared >= 4,
        "{compared} machines whose sheet tells of a lap"
    );
}

/// By hand: a ramp of 300 mm at 4 deg, a wheel, a slide of 200 mm at 3 deg, a drop onto a track of 500 mm at 4 deg.
#[test]
fn a_lap_adds_up_as_by_hand() {
    let text = "format: 1\nmarbles: { count: 5, diameter: 14 mm }\ndrive: { speed: 4 rpm }\nstart: ramp\ncircuit:\n  \
        ramp: { ramp: { length: 300 mm, slope: 4 deg }, to: lift }\n  \
        lift: { pocket-wheel: { pockets: 12, pitch-radius: 100 mm, bore: 18 mm, depth: 14 mm, tilt: 8 deg, guide: 140 deg }, to: slide }\n  \
        slide: { slide: { length: 200 mm, slope: 3 deg }, to: peg }\n  \
        peg: { peg: { drop: 30 mm }, to: [home, away] }\n  \
        home: { track: { length: 500 mm, slope: 4 deg }, to: ramp }\n  \
        away: { track: { length: 100 mm, slope: 4 deg }, to: ramp }\n";
    let machine = read(text);
    let profile = profile(&machine);
    let (sin, rad) = (|deg: f64| libm::sin(deg.to_radians()), 1.0);
    let falls = 0.3 * sin(4.0) + 0.2 * sin(3.0) + 0.03 + 0.5 * sin(4.0) * rad + MARGIN_M;
    let Some(ProfilePiece::Wheel { leave_rad, .. }) = profile.stretches[0].passed[1].pieces.first()
    else {
        panic!("a wheel");
    };
    let lifted = 0.1 * (1.0 - libm::cos(*leave_rad));
    let lap = profile.lap.expect("a lap");
    assert!((lap.lifted_m - lifted).abs() < 1e-12, "{lap:?}");
    assert!((lap.left_m - (lifted - falls)).abs() < 1e-12, "{lap:?}");
    let StretchEnd::Closes { to: 0, left_m } = profile.stretches[1].end else {
        panic!("{:?}", profile.stretches[1]);
    };
    let more = 0.4 * sin(4.0);
    assert!(
        (left_m - lap.left_m - more).abs() < 1e-12,
        "the short way has {more} more"
    );
}

#[test]
fn pictures_of_all_scenarios_are_legible_at_both_widths() {
    let mut drawn = 0;
    for path in scenarios() {
        let machine = read_file(&path);
        for (format, width) in [(Format::Wide, WIDTH), (Format::Narrow, NARROW)] {
            if let Some(picture) = picture(&machine, format) {
                assert_eq!(picture.size.0, width);
                assert_picture(&picture);
                drawn += 1;
            }
        }
    }
    assert!(drawn >= 8, "{drawn} pictures");
}

#[test]
fn a_file_that_tells_no_lengths_has_no_profile_and_an_untold_height_is_named() {
    let times = include_str!("../../scenarios/circuit-a.yaml");
    assert_eq!(picture(&read(times), Format::Wide), None);
    let setting = Setting {
        key: "circuit.ramp.ramp".to_owned(),
        value: "{ time: 2 s, places: 20 }".to_owned(),
    };
    let machine = machine::read(STARTER, &[setting]).expect("sound");
    let unknown = profile(&machine).unknown();
    let ramp = machine.start;
    assert!(
        unknown.contains(&(ramp, "length and fall of")),
        "{unknown:?}"
    );
}
