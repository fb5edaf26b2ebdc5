//! Pictures that belong to one question, at both widths: stopwatch readings with the laws fitted to them, and bells.

use crate::support::legible::assert_picture;
use marblewright::charts::canvas::Format;
use marblewright::charts::{fit, rhythm};
use marblewright::circuit::draw::nanos;
use marblewright::findings::strikes::{BellStrikes, Strikes};
use marblewright::stats::readings::Readings;
use marblewright::study::fit::{chosen, compare};

const WIDTHS: [(Format, u32); 2] = [(Format::Wide, 1200), (Format::Narrow, 360)];

#[test]
fn readings_and_laws_are_legible_at_both_widths() {
    let timed = vec![4.1, 4.4, 4.6, 4.7, 4.9, 5.0, 5.2, 5.3, 5.7, 6.4];
    let name = "a-track-with-a-rather-long-name-";
    for (element, over) in [("bell-track", vec![]), (&name.repeat(4), vec![6.0, 7.5])] {
        let readings = Readings {
            timed: timed.clone(),
            over,
            error_s: 0.2,
        };
        let tried = compare(element, &readings, 1);
        let of = fit::FitPicture {
            element,
            readings: &readings,
            tried: &tried,
            taken: chosen(&tried).map(|law| law.fit.name),
            repeat: "seed 1, reading error 0.2 s either way, 0.2 s more than a stopwatch needs, if that matters",
        };
        for (format, width) in WIDTHS {
            let drawn = fit::picture(&of, format).expect("timed readings");
            assert_eq!(drawn.size.0, width);
            assert_picture(&drawn);
        }
    }
}

#[test]
fn bells_are_legible_at_both_widths() {
    let bell = |n: u64| BellStrikes {
        name: format!("bell-{n}{}", "-of-the-harbour".repeat(n as usize % 5)),
        strikes: (0..30 * n)
            .map(|k| (nanos(60.0 + 2.0 * k as f64 / n as f64), k as u32))
            .collect(),
    };
    for bells in [1, 2, 12] {
        let strikes = Strikes {
            bells: (1..=bells).map(bell).collect(),
            watched_s: 1800.0,
            run: 0,
        };
        for (format, width) in WIDTHS {
            let drawn = rhythm::picture(&strikes, "Harbour chimes", format).expect("it rings");
            assert_eq!(drawn.size.0, width);
            assert_picture(&drawn);
        }
    }
}
