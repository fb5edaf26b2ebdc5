//! The charts' colours: told apart by everybody, and with contrast enough to be read.

use marblewright::charts::style;
use plotters::style::RGBColor;

/// Light as it adds up, 0 to 1: IEC 61966-2-1 (sRGB).
fn linear(colour: RGBColor) -> [f64; 3] {
    [colour.0, colour.1, colour.2].map(|channel| {
        let x = f64::from(channel) / 255.0;
        if x <= 0.04045 {
            x / 12.92
        } else {
            libm::pow((x + 0.055) / 1.055, 2.4)
        }
    })
}

fn times(matrix: &[[f64; 3]; 3], light: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row.iter().zip(light).map(|(a, b)| a * b).sum())
}

/// What is left of light to somebody without one kind of cones: Machado, Oliveira & Fernandes, "A Physiologically-based
/// Model for Simulation of Color Vision Deficiency", IEEE Transactions on Visualization and Computer Graphics 15 (2009),
/// the matrices for severity 1.0.
const BLINDNESS: [(&str, [[f64; 3]; 3]); 4] = [
    ("none", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    (
        "protanopia",
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ],
    ),
    (
        "deuteranopia",
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ],
    ),
    (
        "tritanopia",
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ],
    ),
];

/// CIE 1976 L*a*b* of light in sRGB primaries, white D65 (CIE 15).
fn lab(light: [f64; 3]) -> [f64; 3] {
    let xyz = times(
        &[
            [0.4124564, 0.3575761, 0.1804375],
            [0.2126729, 0.7151522, 0.0721750],
            [0.0193339, 0.1191920, 0.9503041],
        ],
        light.map(|x| x.clamp(0.0, 1.0)),
    );
    let root = |t: f64| {
        if t > 216.0 / 24389.0 {
            libm::cbrt(t)
        } else {
            (24389.0 / 27.0 * t + 16.0) / 116.0
        }
    };
    let [x, y, z] = [root(xyz[0] / 0.95047), root(xyz[1]), root(xyz[2] / 1.08883)];
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

fn distance(a: RGBColor, b: RGBColor, blindness: &[[f64; 3]; 3]) -> f64 {
    let [a, b] = [a, b].map(|colour| lab(times(blindness, linear(colour))));
    a.iter()
        .zip(b)
        .map(|(x, y)| (x - y) * (x - y))
        .sum::<f64>()
        .sqrt()
}

#[test]
fn the_colour_formulas_give_published_values() {
    // L*a*b* of sRGB red under D65, as colour calculators print it.
    let red = lab(linear(RGBColor(255, 0, 0)));
    assert!(
        red.iter()
            .zip([53.24, 80.09, 67.20])
            .all(|(a, b)| (a - b).abs() < 0.02),
        "{red:?}"
    );
    // Grey is grey to everybody: every row adds up to one.
    let sums = BLINDNESS
        .iter()
        .flat_map(|(_, matrix)| matrix.map(|row| row.iter().sum::<f64>()));
    assert!(sums.into_iter().all(|sum| (sum - 1.0).abs() < 2e-6));
}

/// A difference of 2.3 is just seen side by side (Mahy, Van Eycken & Oosterlinck 1994); bands and their labels stand apart.
#[test]
fn bands_are_distinguished_with_any_kind_of_colour_blindness() {
    let mut all = style::BANDS.to_vec();
    all.push(style::OTHERS);
    for (kind, matrix) in &BLINDNESS {
        let pairs = (0..all.len()).flat_map(|i| (0..i).map(move |j| (i, j)));
        let least = pairs
            .map(|(i, j)| distance(all[i], all[j], matrix))
            .fold(f64::INFINITY, f64::min);
        let ring = style::BANDS.iter().zip(style::BANDS.iter().cycle().skip(1));
        let neighbours = ring
            .map(|(&a, &b)| distance(a, b, matrix))
            .fold(f64::INFINITY, f64::min);
        println!("{kind}: least difference {least:.1}, between neighbours {neighbours:.1}");
        assert!(least >= 20.0, "{kind}: {least}");
        assert!(neighbours >= 40.0, "{kind}: {neighbours}");
        assert!(
            distance(style::COURSE, style::LIMIT, matrix) >= 30.0,
            "{kind}: course and room"
        );
        assert!(
            distance(style::BAR, style::BAR_OF_ALL, matrix) >= 20.0,
            "{kind}: the two bars"
        );
    }
}

/// Web Content Accessibility Guidelines 2.1 (W3C 2018): relative luminance and contrast ratio.
fn contrast(a: RGBColor, b: RGBColor) -> f64 {
    let luminance = |colour| {
        let [r, g, b] = linear(colour);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// The same guidelines: 4.5 for text (1.4.3), 7 for text read with ease (1.4.6), 3 for lines that mean something (1.4.11).
#[test]
fn text_and_lines_have_contrast_enough() {
    assert!((contrast(RGBColor(0, 0, 0), style::PAPER) - 21.0).abs() < 1e-9);
    assert!((contrast(RGBColor(0x76, 0x76, 0x76), style::PAPER) - 4.54).abs() < 0.01);
    assert!(contrast(style::INK, style::PAPER) >= 7.0);
    assert!(contrast(style::INK, style::PALE) >= 7.0);
    // A marble's dark edge stands out from the marble and from all it lies on.
    for ground in style::MARBLES
        .into_iter()
        .chain([style::PAPER, style::PALE, style::FLOW])
    {
        assert!(
            contrast(style::INK, ground) >= 3.0,
            "{ground:?}: {}",
            contrast(style::INK, ground)
        );
    }
    for text in [style::MUTED, style::LIMIT] {
        assert!(
            contrast(text, style::PAPER) >= 4.5,
            "{text:?}: {}",
            contrast(text, style::PAPER)
        );
    }
    for (line, ground) in [
        (style::COURSE, style::PAPER),
        (style::COURSE, style::PALE),
        (style::HATCHING, style::PAPER),
        (style::INK, style::BAR),
        (style::INK, style::BAR_OF_ALL),
    ] {
        assert!(
            contrast(line, ground) >= 3.0,
            "{line:?} on {ground:?}: {}",
            contrast(line, ground)
        );
    }
}
