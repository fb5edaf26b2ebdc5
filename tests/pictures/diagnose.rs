//! The picture of a diagnosis: nothing overlaps or leaves it, whatever the causes are called.

use crate::support::legible::assert_picture;
use marblewright::charts::canvas::Format;
use marblewright::charts::diagnose::{CauseBar, DiagnosisPicture, picture};

#[test]
fn long_names_and_a_warning_stay_legible() {
    let name =
        "a-wheel-with-a-very-long-name-indeed misses more than it should: a rough pocket or edge";
    let bar = |n: u32| CauseBar {
        name: format!("{n} {name}"),
        share: 0.4 / f64::from(1 + n * n),
        is_nothing: n == 1,
    };
    for (bars, warned) in [(1, true), (8, false), (8, true)] {
        let of = DiagnosisPicture {
            title: format!("Likeliest, 40 %: {name}"),
            seen: "60 misses at wheel in 100 pockets; ".repeat(4),
            bars: (0..bars).map(bar).collect(),
            others: (30, 0.2),
            unexplained: warned.then(|| {
                "No cause in the model counts this; their shares are of what comes nearest."
                    .to_owned()
            }),
            next:
                "Measure next: count how often the wheel misses a waiting marble in 100 pockets. "
                    .repeat(2),
            foot: (
                "Harbour weir".to_owned(),
                "seed 1, 4000 made-up machines".to_owned(),
            ),
        };
        for format in [Format::Wide, Format::Narrow] {
            let drawn = picture(&of, format);
            assert_eq!(drawn.png, picture(&of, format).png);
            assert_picture(&drawn);
        }
    }
}
