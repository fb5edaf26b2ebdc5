//! Whatever stands in a machine file or a setting: an answer or problems with places, soon, and never a panic.

use std::time::{Duration, Instant};

use crate::support::sound;
use marblewright::machine::units::{self, QuantityKind};
use marblewright::machine::{self, Machine, Problem, Setting};
use proptest::prelude::*;

/// Longest that reading any text of the sizes thrown here may take, on a busy computer too.
const SOON: Duration = Duration::from_secs(5);

const SCENARIOS: [&str; 2] = [
    include_str!("../../scenarios/lantern-walk.yaml"),
    include_str!("../../scenarios/circuit-a.yaml"),
];

/// Words a machine file is made of, and some that it is not.
const WORDS: [&str; 48] = [
    "format",
    "title",
    "marbles",
    "count",
    "diameter",
    "drive",
    "speed",
    "start",
    "circuit",
    "ramp",
    "slide",
    "track",
    "pocket-wheel",
    "pockets",
    "pitch-radius",
    "bore",
    "depth",
    "tilt",
    "lift",
    "pick-up",
    "take",
    "bowl",
    "swirl",
    "shares",
    "flip-gate",
    "peg",
    "weir",
    "escapement",
    "tipping-cup",
    "gathers",
    "return-floor",
    "time",
    "normal",
    "mean",
    "sd",
    "samples",
    "segments",
    "length",
    "slope",
    "channel",
    "to",
    "none",
    "at",
    "workable",
    "tending",
    "unlimited",
    "größe 漢字",
    "<<",
];
const VALUES: [&str; 30] = [
    "1",
    "0",
    "-1",
    "1e308",
    ".nan",
    ".inf",
    "0.5",
    "14 mm",
    "5/8 in",
    "1 1/2 in",
    "1/0 in",
    "4 deg",
    "1 in 12",
    "9 rpm",
    "2 s",
    "-2 s",
    "1e300 h",
    "0.0000001 ms",
    "90 %",
    "true",
    "~",
    "''",
    "\"\\e[31m\"",
    "1,5 mm",
    "clear after 2 min",
    "*a",
    "&a 3",
    "!tag 3",
    "|",
    "- x",
];

/// Reads it, and asserts what must hold of any outcome.
fn read(text: &str, settings: &[Setting]) -> Result<Machine, Vec<Problem>> {
    let before = Instant::now();
    let read = machine::read(text, settings);
    assert!(
        before.elapsed() < SOON,
        "took {:?}:\n{text}",
        before.elapsed()
    );
    if let Err(problems) = &read {
        sound::assert_sound(problems, text, settings);
    }
    read
}

/// A YAML-like text: braces and brackets, keys and values, of bounded depth.
fn tree() -> impl Strategy<Value = String> {
    let scalar = prop_oneof![
        prop::sample::select(&VALUES[..]),
        prop::sample::select(&WORDS[..])
    ];
    let leaf = scalar.prop_map(str::to_owned);
    leaf.prop_recursive(6, 60, 6, |inner| {
        let key = prop::sample::select(&WORDS[..]);
        prop_oneof![
            prop::collection::vec((key, inner.clone()), 0..6).prop_map(|entries| {
                let entries: Vec<_> = entries
                    .into_iter()
                    .map(|(key, value)| format!("{key}: {value}"))
                    .collect();
                format!("{{ {} }}", entries.join(", "))
            }),
            prop::collection::vec(inner, 0..5).prop_map(|items| format!("[{}]", items.join(", "))),
        ]
    })
}

/// A whole file of such trees, one a top-level key.
fn file() -> impl Strategy<Value = String> {
    let section = (prop::sample::select(&WORDS[..]), tree())
        .prop_map(|(key, value)| format!("{key}: {value}\n"));
    prop::collection::vec(section, 0..8).prop_map(|sections| sections.concat())
}

/// A change to a text: a piece taken out, doubled or put in, at a share of its length.
#[derive(Clone, Debug)]
enum Change {
    Cut(f64, usize),
    Double(f64, usize),
    Insert(f64, String),
    SwapLines(f64, f64),
}

fn change() -> impl Strategy<Value = Change> {
    let at = || 0.0..1.0f64;
    let piece = prop_oneof![
        prop::sample::select(&VALUES[..]).prop_map(str::to_owned),
        prop::sample::select(&WORDS[..]).prop_map(str::to_owned),
        "[-:{}\\[\\], \t\r\n#&*!|>'\"%@`?~0-9]{1,4}",
    ];
    prop_oneof![
        (at(), 1..40usize).prop_map(|(at, length)| Change::Cut(at, length)),
        (at(), 1..40usize).prop_map(|(at, length)| Change::Double(at, length)),
        (at(), piece).prop_map(|(at, piece)| Change::Insert(at, piece)),
        (at(), at()).prop_map(|(one, other)| Change::SwapLines(one, other)),
    ]
}

fn changed(text: &str, change: &Change) -> String {
    let letters: Vec<char> = text.chars().collect();
    let spot = |at: &f64| (at * letters.len() as f64) as usize;
    let piece = |from: usize, to: usize| {
        letters[from..to.min(letters.len())]
            .iter()
            .collect::<String>()
    };
    let rest = |from: usize| {
        letters[from.min(letters.len())..]
            .iter()
            .collect::<String>()
    };
    match change {
        Change::Cut(at, length) => piece(0, spot(at)) + &rest(spot(at) + length),
        Change::Double(at, length) => piece(0, spot(at) + length) + &rest(spot(at)),
        Change::Insert(at, put) => piece(0, spot(at)) + put + &rest(spot(at)),
        Change::SwapLines(one, other) => {
            let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
            let line = |at: &f64| (at * lines.len() as f64) as usize;
            let (one, other) = (line(one), line(other));
            if !lines.is_empty() {
                lines.swap(one, other);
            }
            lines.concat()
        }
    }
}

/// A dotted key, near or far from one that the scenarios have.
fn key() -> impl Strategy<Value = String> {
    let step = prop_oneof![
        prop::sample::select(&WORDS[..]).prop_map(str::to_owned),
        prop::sample::select(
            &[
                "lower-wheel",
                "start-ramp",
                "floor",
                "wheel",
                "0",
                "1",
                "99",
                "",
                "[0]",
                " "
            ][..]
        )
        .prop_map(str::to_owned),
        "\\PC{0,6}",
    ];
    prop_oneof![
        prop::collection::vec(step, 1..6).prop_map(|steps| steps.join(".")),
        Just("rpm".to_owned()),
        Just("marbles".to_owned()),
    ]
}

fn setting() -> impl Strategy<Value = Setting> {
    let value = prop_oneof![
        prop::sample::select(&VALUES[..]).prop_map(str::to_owned),
        tree(),
        "\\PC{0,12}",
    ];
    (key(), value).prop_map(|(key, value)| Setting { key, value })
}

const DIMENSIONS: [&QuantityKind; 8] = [
    &units::LENGTH,
    &units::ANGLE,
    &units::SPEED,
    &units::VELOCITY,
    &units::DURATION,
    &units::TORQUE,
    &units::VOLTAGE,
    &units::CURRENT,
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_bytes_are_read_without_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&String::from_utf8_lossy(&bytes), &[]);
    }

    #[test]
    fn random_letters_are_read_without_panic(text in "[-a-z:{}\\[\\], \t\r\n#&*!|>'\"%@`?~0-9ä漢\u{85}\u{2028}\u{feff}]{0,200}") {
        let _ = read(&text, &[]);
    }

    #[test]
    fn random_trees_are_read_without_panic(text in file()) {
        let _ = read(&text, &[]);
    }

    #[test]
    fn changed_scenarios_are_read_without_panic(
        which in 0..SCENARIOS.len(),
        crlf in any::<bool>(),
        changes in prop::collection::vec(change(), 1..5),
    ) {
        let text = changes.iter().fold(SCENARIOS[which].to_owned(), |text, change| changed(&text, change));
        let _ = read(&if crlf { text.replace('\n', "\r\n") } else { text }, &[]);
    }

    #[test]
    fn random_settings_are_laid_over_without_panic(
        which in 0..SCENARIOS.len(),
        settings in prop::collection::vec(setting(), 1..4),
    ) {
        let _ = read(SCENARIOS[which], &settings);
    }

    #[test]
    fn random_quantities_are_finite_or_refused(
        text in "[-+0-9./ eE,]{0,12}[a-zA-Z°\"/% ]{0,6}|\\PC{0,20}|-?[0-9]{1,4}( [0-9]{1,2}/[0-9]{1,2})? ?(mm|in|deg|s|rpm|V|A|N m)",
        which in 0..DIMENSIONS.len(),
    ) {
        if let Ok(value) = units::quantity(&text, DIMENSIONS[which]) {
            // Scaling to SI may overflow; the bounds of every key refuse that.
            prop_assert!(!value.is_nan(), "{text} reads as not a number");
        }
    }

    #[test]
    fn whole_numbers_with_a_unit_read_as_themselves(n in -5000..5000i32) {
        let metres = units::quantity(&format!("{n} mm"), &units::LENGTH).expect("a length");
        prop_assert!((metres - f64::from(n) * 1e-3).abs() < 1e-12);
    }
}

proptest! {
    // Each case starts the program.
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_wrong_can_be_shown(
        which in 0..SCENARIOS.len(),
        changes in prop::collection::vec(change(), 1..4),
        odd in "[\u{1b}\u{7}\r\u{85}\u{2028}\u{200d}\u{fe0f}漢🎱ä\t]{0,3}",
        at in 0.0..1.0f64,
    ) {
        let text = changes.iter().fold(SCENARIOS[which].to_owned(), |text, change| changed(&text, change));
        let text = changed(&text, &Change::Insert(at, odd));
        let directory = tempfile::tempdir()?;
        let file = directory.path().join("machine.yaml");
        std::fs::write(&file, &text)?;
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_marblewright")).arg("check").arg(&file).output()?;
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        prop_assert!(matches!(output.status.code(), Some(0 | 2)), "{said}\n{text}");
        prop_assert!(!said.contains("panicked"), "{said}\n{text}");
        let control = said.chars().find(|c| c.is_control() && *c != '\n');
        prop_assert!(control.is_none(), "{control:?} goes to the terminal:\n{said}");
    }
}

#[test]
fn the_scenarios_themselves_are_sound() {
    for text in SCENARIOS {
        assert!(read(text, &[]).is_ok());
        assert!(
            read(&text.replace('\n', "\r\n"), &[]).is_ok(),
            "with line ends as on Windows"
        );
    }
}
