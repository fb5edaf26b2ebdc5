//! The drilling template: at its own size to a dot, and neighbours show the same where they overlap.

use std::io::Cursor;

use marblewright::charts::template::{Paper, sheets_of};
use marblewright::machine::{self, Setting};
use marblewright::sheet::face::{Face, faces};

const STARTER: &str = include_str!("../../scenarios/starter-loop.yaml");
/// Dots in a millimetre: 300 in an inch.
const DOTS_MM: f64 = 300.0 / 25.4;

fn face(pitch_radius: &str) -> Face {
    let settings =
        [("pitch-radius", pitch_radius), ("pockets", "12")].map(|(key, value)| Setting {
            key: format!("circuit.wheel.pocket-wheel.{key}"),
            value: value.to_owned(),
        });
    let machine = machine::read(STARTER, &settings).expect("a sound machine");
    faces(&machine).remove(0)
}

struct Greys {
    width: usize,
    height: usize,
    dots: Vec<u8>,
}

impl Greys {
    fn read(png: &[u8]) -> Self {
        let mut reader = png::Decoder::new(Cursor::new(png))
            .read_info()
            .expect("a PNG");
        let dims = reader.info().pixel_dims.expect("dots to a metre");
        assert_eq!((dims.xppu, dims.yppu), (11_811, 11_811), "300 dots an inch");
        assert_eq!(dims.unit, png::Unit::Meter);
        let mut dots = vec![0; reader.output_buffer_size().expect("a size")];
        let frame = reader.next_frame(&mut dots).expect("an image");
        Greys {
            width: frame.width as usize,
            height: frame.height as usize,
            dots,
        }
    }

    fn dark(&self, x: usize, y: usize) -> bool {
        self.dots[y * self.width + x] < 128
    }

    /// The longest dark stretch of each row from the left margin on, and which row it is in.
    fn longest(&self, rows: std::ops::Range<usize>) -> (usize, usize) {
        let mut best = (0, 0);
        for y in rows {
            let (mut here, mut most) = (0, 0);
            for x in 0..self.width {
                here = if self.dark(x, y) { here + 1 } else { 0 };
                most = most.max(here);
            }
            best = best.max((most, y));
        }
        best
    }
}

#[test]
fn the_bars_are_as_long_as_they_say_and_the_paper_has_its_size() {
    for (paper, inches) in [
        (Paper::A4, (210.0 / 25.4, 297.0 / 25.4)),
        (Paper::Letter, (8.5, 11.0)),
    ] {
        let sheet = Greys::read(&sheets_of(&face("100 mm"), "Test", paper)[0]);
        let wanted = (
            (inches.0 * 300.0_f64).round(),
            (inches.1 * 300.0_f64).round(),
        );
        assert_eq!((sheet.width as f64, sheet.height as f64), wanted);
        let foot = sheet.height - (50.0 * DOTS_MM) as usize..sheet.height;
        let (four_inches, at) = sheet.longest(foot.clone());
        assert!(
            (four_inches as f64 - 1200.0).abs() < 0.6,
            "{four_inches} dots for 4 in"
        );
        let (hundred_mm, _) = sheet.longest(foot.start..at - 20);
        assert!(
            (hundred_mm as f64 - 100.0 * DOTS_MM).abs() < 0.6,
            "{hundred_mm} dots for 100 mm"
        );
    }
}

/// A wheel that fits on one sheet: along the level line through the axle, the pockets to its left and right are a pitch
/// circle apart. The cross at a pocket's middle is a dark upright stroke.
#[test]
fn pockets_stand_on_the_pitch_circle_at_its_own_size() {
    let face = face("60 mm");
    assert_eq!(face.pockets % 4, 0, "pockets left and right of the axle");
    let sheets = sheets_of(&face, "Test", Paper::A4);
    assert_eq!(sheets.len(), 1);
    let sheet = Greys::read(&sheets[0]);
    let middle = sheet.width / 2;
    let axle_y = ((10.0 + (297.0 - 20.0 - 42.0) / 2.0) * DOTS_MM) as usize;
    // Above the level arm of the cross: only upright strokes and the pockets' edges are dark.
    let row = axle_y - (2.0 * DOTS_MM) as usize;
    let dark: Vec<f64> = (0..sheet.width)
        .filter(|&x| sheet.dark(x, row))
        .map(|x| (x as f64 + 0.5 - middle as f64) / DOTS_MM)
        .collect();
    for wanted in [-60.0, 60.0] {
        assert!(
            dark.iter().any(|x| (x - wanted).abs() < 0.15),
            "{wanted} in {dark:?}"
        );
    }
}

#[test]
fn neighbours_show_the_same_where_they_overlap() {
    let sheets: Vec<Greys> = sheets_of(&face("130 mm"), "Test", Paper::A4)
        .iter()
        .map(|png| Greys::read(png))
        .collect();
    assert_eq!(sheets.len(), 4, "two by two");
    let (left, right, below) = (&sheets[0], &sheets[1], &sheets[2]);
    let (drawn, drawn_high) = (190.0 * DOTS_MM, 235.0 * DOTS_MM);
    let (step, step_down) = ((178.0 * DOTS_MM) as usize, (223.0 * DOTS_MM) as usize);
    let (from, air) = ((10.0 * DOTS_MM) as usize, 12);
    let (mut dark, mut apart) = (0, 0);
    let mut compare = |one: bool, near: &dyn Fn(isize, isize) -> bool| {
        if one {
            dark += 1;
            let found = (-1..=1).any(|dx| (-1..=1).any(|dy| near(dx, dy)));
            apart += usize::from(!found);
        }
    };
    for y in from + air..from + drawn_high as usize - air {
        for x in from + step + air..from + drawn as usize - air {
            let near = |dx: isize, dy: isize| {
                right.dark(
                    (x - step).wrapping_add_signed(dx),
                    y.wrapping_add_signed(dy),
                )
            };
            compare(left.dark(x, y), &near);
        }
    }
    for y in from + step_down + air..from + drawn_high as usize - air {
        for x in from + air..from + drawn as usize - air {
            let near = |dx: isize, dy: isize| {
                below.dark(
                    x.wrapping_add_signed(dx),
                    (y - step_down).wrapping_add_signed(dy),
                )
            };
            compare(left.dark(x, y), &near);
        }
    }
    assert!(dark > 2_000, "{dark} dark dots in the overlaps");
    assert_eq!(apart, 0, "of {dark} dark dots, by more than one dot");
}
