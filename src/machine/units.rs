//! Workshop quantities as text (`14 mm`, `5/8 in`, `1 1/2 in`, `4 deg`, `1 in 12`, `9 rpm`, `2 min`) to SI numbers.

/// A kind of quantity: its name, how to write it, and its units with their SI factors.
#[derive(Debug)]
pub struct QuantityKind {
    /// What a message calls it.
    pub name: &'static str,
    /// Two spellings that are right, for messages.
    pub examples: &'static str,
    /// The units that messages show, with their SI factors, small ones first.
    shown: &'static [(f64, &'static str)],
    units: &'static [(&'static str, f64)],
}

impl QuantityKind {
    /// Every kind of quantity.
    pub const ALL: [&QuantityKind; 11] = [
        &LENGTH, &ANGLE, &SPEED, &VELOCITY, &DURATION, &TORQUE, &INERTIA, &VOLTAGE, &CURRENT,
        &CHARGE, &MASS,
    ];

    /// The names of its units.
    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        self.units.iter().map(|(name, _)| *name)
    }

    /// The units known, for a message.
    pub fn unit_names(&self) -> String {
        let names: Vec<_> = self
            .units
            .iter()
            .map(|(name, _)| format!("`{name}`"))
            .collect();
        names.join(", ")
    }

    /// The name with its article: `a length`, `an angle`.
    pub fn one(&self) -> String {
        let article = if self.name.starts_with(['a', 'e', 'i', 'o', 'u']) {
            "an"
        } else {
            "a"
        };
        format!("{article} {}", self.name)
    }

    /// An SI number in the unit a workshop uses.
    pub fn show(&self, value: f64) -> String {
        let fits = self
            .shown
            .iter()
            .rev()
            .find(|(scale, _)| value.abs() >= *scale);
        let (scale, unit) = fits.unwrap_or(&self.shown[0]);
        format!("{} {unit}", plain(value / scale))
    }

    /// An SI number in the unit a workshop of this system uses.
    pub fn show_in(&self, value: f64, system: System) -> String {
        match system {
            System::Inches if self.name == LENGTH.name => {
                format!("{} in", plain((value / 0.0254 * 1e4).round() / 1e4))
            }
            _ => self.show(value),
        }
    }
}

/// A number for a message: three decimals, more where it would otherwise read as nothing, powers of ten where it is huge.
pub fn plain(x: f64) -> String {
    let rounded = (x * 1000.0).round() / 1000.0;
    if x.abs() >= 1e12 || (rounded == 0.0 && x != 0.0 && x.abs() < 1e-12) {
        return format!("{x:e}");
    }
    if rounded == 0.0 {
        format!("{x}")
    } else {
        format!("{rounded}")
    }
}

/// Lengths, in metres.
pub const LENGTH: QuantityKind = QuantityKind {
    name: "length",
    examples: "`14 mm` or `5/8 in`",
    shown: &[(1e-3, "mm"), (1.0, "m")],
    units: &[
        ("mm", 1e-3),
        ("cm", 1e-2),
        ("m", 1.0),
        ("in", 0.0254),
        ("inch", 0.0254),
        ("\"", 0.0254),
        ("ft", 0.3048),
    ],
};
/// Angles and slopes, in radians; a slope may also be written `1 in 12` or `5 %`.
pub const ANGLE: QuantityKind = QuantityKind {
    name: "angle",
    examples: "`4 deg` or `1 in 12`",
    shown: &[(std::f64::consts::PI / 180.0, "deg")],
    units: &[
        ("deg", std::f64::consts::PI / 180.0),
        ("°", std::f64::consts::PI / 180.0),
        ("rad", 1.0),
    ],
};
/// Speeds of turning, in turns a minute.
pub const SPEED: QuantityKind = QuantityKind {
    name: "speed",
    examples: "`9 rpm`",
    shown: &[(1.0, "rpm")],
    units: &[("rpm", 1.0)],
};
/// Velocities, in metres a second.
pub const VELOCITY: QuantityKind = QuantityKind {
    name: "velocity",
    examples: "`0.6 m/s`",
    shown: &[(1.0, "m/s")],
    units: &[
        ("m/s", 1.0),
        ("mm/s", 1e-3),
        ("cm/s", 1e-2),
        ("in/s", 0.0254),
    ],
};
/// Durations, in seconds.
pub const DURATION: QuantityKind = QuantityKind {
    name: "time",
    examples: "`2.5 s` or `2 min`",
    shown: &[(1.0, "s"), (3600.0, "h")],
    units: &[
        ("ms", 1e-3),
        ("s", 1.0),
        ("sec", 1.0),
        ("min", 60.0),
        ("h", 3600.0),
    ],
};
/// Torques, in newton metres.
pub const TORQUE: QuantityKind = QuantityKind {
    name: "torque",
    examples: "`0.4 N m` or `4 kg cm`",
    shown: &[(1.0, "N m")],
    units: &[
        ("N m", 1.0),
        ("Nm", 1.0),
        ("mN m", 1e-3),
        ("mNm", 1e-3),
        ("kg cm", 0.0980665),
        ("kgcm", 0.0980665),
    ],
};
/// Moments of inertia, in kilogram metres squared.
pub const INERTIA: QuantityKind = QuantityKind {
    name: "inertia",
    examples: "`0.008 kg m2` or `80 kg cm2`",
    shown: &[(1.0, "kg m2")],
    units: &[
        ("kg m2", 1.0),
        ("kgm2", 1.0),
        ("kg cm2", 1e-4),
        ("kgcm2", 1e-4),
        ("g cm2", 1e-7),
    ],
};
/// Voltages, in volts.
pub const VOLTAGE: QuantityKind = QuantityKind {
    name: "voltage",
    examples: "`6 V`",
    shown: &[(1.0, "V")],
    units: &[("V", 1.0), ("mV", 1e-3)],
};
/// Currents, in amperes.
pub const CURRENT: QuantityKind = QuantityKind {
    name: "current",
    examples: "`120 mA` or `0.8 A`",
    shown: &[(1.0, "A")],
    units: &[("A", 1.0), ("mA", 1e-3)],
};

/// What a cell holds, in ampere hours.
pub const CHARGE: QuantityKind = QuantityKind {
    name: "charge",
    examples: "`2000 mAh` or `2 Ah`",
    shown: &[(1.0, "Ah")],
    units: &[("Ah", 1.0), ("mAh", 1e-3)],
};

/// Masses, in kilograms.
pub const MASS: QuantityKind = QuantityKind {
    name: "mass",
    examples: "`60 g` or `2 oz`",
    shown: &[(1e-3, "g"), (1.0, "kg")],
    units: &[
        ("g", 1e-3),
        ("kg", 1.0),
        ("oz", 0.028349523125),
        ("lb", 0.45359237),
    ],
};

/// In which units lengths are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum System {
    /// Millimetres.
    Millimetres,
    /// Inches and fractions of an inch.
    Inches,
}

impl System {
    /// A length in metres as a rule or a tape shows it: `14.3 mm`, `9/16 in`.
    pub fn length(self, metres: f64) -> String {
        match self {
            System::Millimetres => format!("{} mm", plain((metres * 1e4).round() / 10.0)),
            System::Inches => format!("{} in", tape_inches(metres)),
        }
    }
}

/// Parts of an inch that a tape shows.
const TAPE_PARTS: u64 = 32;

/// A length in metres in inches to the nearest 1/32, reduced: `5/8`, `1 1/2`, `0`, `-3/4`.
pub fn tape_inches(metres: f64) -> String {
    let parts = (metres / 0.0254 * TAPE_PARTS as f64).round();
    let (sign, parts) = (if parts < 0.0 { "-" } else { "" }, parts.abs() as u64);
    let (whole, mut top, mut bottom) = (parts / TAPE_PARTS, parts % TAPE_PARTS, TAPE_PARTS);
    while top > 0 && top.is_multiple_of(2) {
        (top, bottom) = (top / 2, bottom / 2);
    }
    match (whole, top) {
        (_, 0) => format!("{sign}{whole}"),
        (0, _) => format!("{sign}{top}/{bottom}"),
        _ => format!("{sign}{whole} {top}/{bottom}"),
    }
}

/// Why a text is not the quantity that was due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Misread {
    /// A number without a unit.
    Bare,
    /// The unit is of another kind or none that is known.
    Unit,
    /// A comma where a decimal point is due.
    Comma,
    /// No number at all.
    Number,
}

/// Reads `text` as a quantity of `dimension`, in its SI unit (speeds: turns a minute).
///
/// Spaces and a missing space before the unit are accepted, so are decimal points, fractions and mixed numbers.
///
/// # Errors
/// [`Misread`] says which part could not be understood.
pub fn quantity(text: &str, dimension: &QuantityKind) -> Result<f64, Misread> {
    let text = &spelt_out(text);
    let text = text.trim();
    if text
        .split_once(',')
        .is_some_and(|(_, after)| after.starts_with(|c: char| c.is_ascii_digit()))
    {
        return Err(Misread::Comma);
    }
    if dimension.name == ANGLE.name
        && let Some(slope) = ratio_slope(text)
    {
        return Ok(slope);
    }
    let cut = text
        .find(|c: char| !(c.is_ascii_digit() || " ./+-eE".contains(c)))
        .unwrap_or(text.len());
    // An exponent's letter may also be the first of a unit: give it back when no digit follows.
    let (digits, unit) = (text[..cut].trim_end_matches(['e', 'E']), text[cut..].trim());
    let value = number(digits).ok_or(Misread::Number)?;
    if unit.is_empty() {
        return Err(Misread::Bare);
    }
    let scale = dimension
        .units
        .iter()
        .find(|(name, _)| *name == unit)
        .ok_or(Misread::Unit)?
        .1;
    Ok(value * scale)
}

/// A number as a tape shows it: `14`, `0.5`, `5/8`, `1 1/2`.
pub fn number(text: &str) -> Option<f64> {
    let text = &spelt_out(text);
    let text = text.trim();
    let (whole, fraction) = match text.rsplit_once(' ') {
        Some((whole, fraction)) if fraction.contains('/') => (whole, fraction),
        _ if text.contains('/') => ("0", text),
        _ => return text.parse().ok().filter(|x: &f64| x.is_finite()),
    };
    let whole: f64 = whole.trim().parse().ok()?;
    let (top, bottom) = fraction.split_once('/')?;
    let (top, bottom): (f64, f64) = (top.trim().parse().ok()?, bottom.trim().parse().ok()?);
    let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
    (bottom > 0.0)
        .then_some(whole + sign * top.abs() / bottom)
        .filter(|x| x.is_finite())
}

/// Fractions of one letter, as a drawing or a word processor writes them.
const FRACTIONS: [(char, &str); 15] = [
    ('½', "1/2"),
    ('⅓', "1/3"),
    ('⅔', "2/3"),
    ('¼', "1/4"),
    ('¾', "3/4"),
    ('⅕', "1/5"),
    ('⅖', "2/5"),
    ('⅗', "3/5"),
    ('⅘', "4/5"),
    ('⅙', "1/6"),
    ('⅚', "5/6"),
    ('⅛', "1/8"),
    ('⅜', "3/8"),
    ('⅝', "5/8"),
    ('⅞', "7/8"),
];

/// The letters that stand for a fraction.
pub fn one_letter_fractions() -> String {
    FRACTIONS.iter().map(|(letter, _)| letter).collect()
}

/// Fractions of one letter, fraction slashes and minus signs as they are typed: `17½` as `17 1/2`.
fn spelt_out(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for letter in text.chars() {
        match FRACTIONS.iter().find(|(sign, _)| *sign == letter) {
            Some((_, fraction)) => {
                if plain.ends_with(|c: char| c.is_ascii_digit()) {
                    plain.push(' ');
                }
                plain.push_str(fraction);
            }
            None => plain.push(match letter {
                '\u{2044}' | '\u{2215}' => '/',
                '\u{2212}' => '-',
                '\u{a0}' | '\u{202f}' => ' ',
                '\u{2033}' | '\u{201d}' => '"',
                other => other,
            }),
        }
    }
    plain
}

/// The system of the unit that a length is written in; millimetres where it has none.
pub fn system_of(text: &str) -> System {
    let text = spelt_out(text);
    let inches = ["in", "inch", "\"", "ft"]
        .iter()
        .any(|unit| text.trim_end().ends_with(unit));
    if inches {
        System::Inches
    } else {
        System::Millimetres
    }
}

/// `1 in 12` or `5 %` as an angle.
fn ratio_slope(text: &str) -> Option<f64> {
    let rise = match text.split_once(" in ") {
        Some((rise, run)) => {
            let run = number(run).filter(|run| *run > 0.0)?;
            number(rise)? / run
        }
        None => number(text.strip_suffix('%')?)? / 100.0,
    };
    Some(libm::atan(rise))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_come_in_both_systems_and_in_fractions() {
        for (text, metres) in [
            ("14 mm", 0.014),
            ("14mm", 0.014),
            ("1.4 cm", 0.014),
            ("5/8 in", 0.015875),
            ("1 1/2 in", 0.0381),
            ("1e1 mm", 0.01),
            ("2 ft", 0.6096),
            ("-3 mm", -0.003),
            ("3/4\"", 0.01905),
            ("17 1/2 in", 0.4445),
            ("17½ in", 0.4445),
            ("17 ½in", 0.4445),
            ("½″", 0.0127),
            ("17 1⁄2 in", 0.4445),
            ("−3 mm", -0.003),
        ] {
            let read = quantity(text, &LENGTH).expect(text);
            assert!((read - metres).abs() < 1e-12, "{text} read as {read}");
        }
    }

    #[test]
    fn slopes_come_as_angles_ratios_and_percent() {
        let twelfth = libm::atan(1.0 / 12.0);
        assert_eq!(quantity("1 in 12", &ANGLE), Ok(twelfth));
        assert_eq!(quantity("5 %", &ANGLE), Ok(libm::atan(0.05)));
        assert!((quantity("180 deg", &ANGLE).expect("angle") - std::f64::consts::PI).abs() < 1e-15);
    }

    #[test]
    fn inches_are_told_as_a_tape_shows_them() {
        for (metres, text) in [
            (0.015875, "5/8"),
            (0.0381, "1 1/2"),
            (0.0254, "1"),
            (0.0, "0"),
            (0.0003, "0"),
            (0.0005, "1/32"),
            (-0.01905, "-3/4"),
            (0.0253, "1"),
            (0.3, "11 13/16"),
        ] {
            assert_eq!(tape_inches(metres), text, "{metres} m");
        }
        assert_eq!(System::Inches.length(0.014), "9/16 in");
        assert_eq!(System::Millimetres.length(0.01425), "14.3 mm");
    }

    #[test]
    fn what_a_tape_shows_reads_back_within_half_a_part() {
        for n in 0..5000 {
            let metres = f64::from(n) * 0.000_137;
            let read = quantity(&System::Inches.length(metres), &LENGTH).expect("a length");
            assert!(
                (read - metres).abs() <= 0.0254 / 64.0 + 1e-12,
                "{metres} read back as {read}"
            );
        }
    }

    #[test]
    fn numbers_in_messages_are_neither_endless_nor_nothing() {
        assert_eq!(LENGTH.show(0.0125), "12.5 mm");
        assert_eq!(LENGTH.show(400.0), "400 m");
        assert_eq!(LENGTH.show(-0.4), "-400 mm");
        assert_eq!(DURATION.show(1e-9), "0.000000001 s");
        assert_eq!(DURATION.show(86_400.0), "24 h");
        assert_eq!(plain(1e300), "1e300");
        assert_eq!(plain(0.0), "0");
    }

    #[test]
    fn what_is_wrong_is_distinguished() {
        assert_eq!(quantity("14", &LENGTH), Err(Misread::Bare));
        assert_eq!(quantity("14 kg", &LENGTH), Err(Misread::Unit));
        assert_eq!(quantity("1,4 mm", &LENGTH), Err(Misread::Comma));
        assert_eq!(quantity("wide", &LENGTH), Err(Misread::Number));
        assert_eq!(quantity("1/0 in", &LENGTH), Err(Misread::Number));
        assert_eq!(quantity("nan mm", &LENGTH), Err(Misread::Number));
        assert_eq!(quantity("", &LENGTH), Err(Misread::Number));
    }
}
