//! The picture of a wheel's face: to scale, whole, legible, and the same bytes every time, whatever the wheel.

use std::io::Cursor;

use crate::support::legible::{assert_picture, overlaps};
use crate::support::scenarios;
use marblewright::charts::canvas::{Area, HEIGHT, Picture, WIDTH};
use marblewright::charts::wheel_face::{narrow_picture, picture};
use marblewright::machine::{self, Setting};
use marblewright::sheet::face::{Face, faces};
use proptest::prelude::*;

const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");

fn starter(settings: &[(&str, String)]) -> Face {
    let settings: Vec<Setting> = settings
        .iter()
        .map(|(key, value)| Setting {
            key: (*key).to_owned(),
            value: value.clone(),
        })
        .collect();
    faces(&machine::read(STARTER, &settings).expect("a sound machine")).remove(0)
}

fn pixels(png: &[u8]) -> Vec<u8> {
    let mut reader = png::Decoder::new(Cursor::new(png))
        .read_info()
        .expect("a PNG");
    let mut bytes = vec![0; reader.output_buffer_size().expect("a size")];
    let frame = reader.next_frame(&mut bytes).expect("an image");
    assert_eq!((frame.width, frame.height), (WIDTH, HEIGHT));
    bytes
}

/// Texts apart from each other, and nothing on the edge of the picture.
fn check(picture: &Picture) {
    let bytes = pixels(&picture.png);
    let (width, height) = (WIDTH as usize, HEIGHT as usize);
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
        left: 8.0,
        top: 8.0,
        right: f64::from(WIDTH) - 8.0,
        bottom: f64::from(HEIGHT) - 8.0,
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
}

#[test]
fn every_scenarios_wheels_are_drawn_and_twice_the_same_way() {
    let mut drawn = 0;
    for path in scenarios() {
        let text = std::fs::read_to_string(path).expect("text");
        let machine = machine::read(&text, &[]).expect("sound");
        for face in faces(&machine) {
            let once = picture(&face, &machine.title);
            check(&once);
            assert_eq!(once, picture(&face, &machine.title));
            drawn += 1;
        }
    }
    assert!(drawn >= 5);
}

/// The marble at the pick-up is drawn as wide as the scale of the bars says: count its pixels along its middle row.
#[test]
fn the_picture_is_to_scale() {
    let face = starter(&[]);
    let bytes = pixels(&picture(&face, "scale").png);
    let is =
        |x: usize, y: usize, colour: [u8; 3]| bytes[(y * WIDTH as usize + x) * 3..][..3] == colour;
    let run = |y: usize, colour: [u8; 3], from: usize, to: usize| {
        (from..to).filter(|&x| is(x, y, colour)).count()
    };
    let widest = |colour, rows: std::ops::Range<usize>, to| {
        rows.map(|y| run(y, colour, 0, to)).max().unwrap_or(0) as f64
    };
    let marble = widest([0x1f, 0x5f, 0x8b], 560..620, 500);
    let bar = widest([0x22, 0x27, 0x2e], 622..640, 170);
    // A 16 mm marble beside a bar of 50 mm. The marble's two edges are smoothed, so a pixel at each is of another colour;
    // the bar has an upright end of two pixels on each side of both its ends.
    let (marble, bar) = (marble + 2.0, bar - 2.0);
    assert!(
        (marble / bar / (16.0 / 50.0) - 1.0).abs() < 0.03,
        "marble {marble} pixels, bar {bar}"
    );
}

#[test]
fn other_dimensions_are_another_picture() {
    let png =
        |key: &'static str, value: &str| picture(&starter(&[(key, value.to_owned())]), "one").png;
    let plain = picture(&starter(&[]), "one").png;
    for (key, value) in [
        ("circuit.wheel.bore", "22 mm"),
        ("circuit.wheel.tilt", "9 deg"),
        ("circuit.wheel.guide", "150 deg"),
        ("circuit.wheel.pockets", "15"),
    ] {
        assert!(png(key, value) != plain, "{key}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(12) })]

    #[test]
    fn no_text_covers_another_whatever_the_wheel(
        pockets in 1_u32..60, radius in 40.0..600.0_f64, marble in 5.0..40.0_f64, wide in 1.05..1.6_f64,
        tilt in 0.0..20.0_f64, guide in 60.0..260.0_f64, rpm in 1.0..40.0_f64, names in 1_usize..9,
    ) {
        let spacing = 2.0 * radius * libm::sin(std::f64::consts::PI / f64::from(pockets));
        let bore = marble * wide;
        prop_assume!(pockets == 1 || spacing > bore + 0.5);
        prop_assume!(bore < radius);
        let settings = [
            ("marbles.diameter", format!("{marble} mm")),
            ("circuit.zig-zag.segments", "[ { length: 300 mm, slope: 4 deg } ]".to_owned()),
            ("circuit.floor.mouth", format!("{} mm", 3.0 * marble)),
            ("circuit.wheel.pockets", pockets.to_string()),
            ("circuit.wheel.pitch-radius", format!("{radius} mm")),
            ("circuit.wheel.bore", format!("{bore} mm")),
            ("circuit.wheel.depth", format!("{marble} mm")),
            ("circuit.wheel.tilt", format!("{tilt} deg")),
            ("circuit.wheel.guide", format!("{guide} deg")),
            ("rpm", rpm.to_string()),
        ];
        let mut face = starter(&settings);
        face.names = (0..names).map(|n| format!("a-wheel-with-a-rather-long-name-{n}")).collect();
        check(&picture(&face, &"A machine with a long title ".repeat(9)));
    }
}

#[test]
fn the_faces_of_all_scenarios_are_legible_on_a_telephone() {
    let mut drawn = 0;
    for path in scenarios() {
        let text = std::fs::read_to_string(path).expect("a file");
        for face in faces(&machine::read(&text, &[]).expect("a sound machine")) {
            assert_picture(&narrow_picture(&face, "A machine with a name"));
            drawn += 1;
        }
    }
    assert!(drawn >= 5, "{drawn} faces");
}
