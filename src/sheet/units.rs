//! How lengths, speeds, torques and weights are shown.

/// In which units figures are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Units {
    /// Millimetres, grams.
    Millimetres,
    /// Inches as a tape shows them, ounces.
    Inches,
    /// Both.
    Both,
}

const INCH_M: f64 = 0.0254;
/// A pound-force inch is 0.112985 N m (NIST SP 811, appendix B.8, from memory); an ounce inch is a sixteenth of it.
const OUNCE_INCH_NM: f64 = 0.112_984_8 / 16.0;
/// One avoirdupois ounce (NIST SP 811, appendix B.8, from memory).
const OUNCE_KG: f64 = 0.028_349_523;
/// Below this a fraction of an inch is of no use, inches.
const LEAST_FRACTION_IN: f64 = 1.0 / 16.0;

impl Units {
    fn pick(self, metric: String, inch: impl FnOnce() -> String) -> String {
        match self {
            Units::Millimetres => metric,
            Units::Inches => inch(),
            Units::Both => format!("{metric} = {}", inch()),
        }
    }

    /// A length in metres.
    pub fn length(self, metres: f64) -> String {
        self.pick(format!("{:.1} mm", metres * 1e3), || inches(metres))
    }

    /// A speed in metres a second.
    pub fn speed(self, metres_s: f64) -> String {
        self.pick(format!("{:.0} mm/s", metres_s * 1e3), || {
            format!("{:.1} in/s", metres_s / INCH_M)
        })
    }

    /// A torque in newton metres.
    pub fn torque(self, newton_metres: f64) -> String {
        self.pick(format!("{:.1} N mm", newton_metres * 1e3), || {
            format!("{:.1} oz in", newton_metres / OUNCE_INCH_NM)
        })
    }

    /// A weight in kilograms.
    pub fn weight(self, kilograms: f64) -> String {
        self.pick(format!("{:.1} g", kilograms * 1e3), || {
            format!("{:.2} oz", kilograms / OUNCE_KG)
        })
    }
}

/// A length in inches: `5/8 in` where that is it, else the decimal and the nearest thirty-second, `1.776 in (1 25/32)`.
pub fn inches(metres: f64) -> String {
    let x = metres / INCH_M;
    let Some(fraction) = tape(x) else {
        return format!("{x:.3} in");
    };
    let off = (x * 32.0 - (x * 32.0).round()).abs() / 32.0;
    if off < 5e-4 {
        format!("{fraction} in")
    } else {
        format!("{x:.3} in ({fraction})")
    }
}

/// Inches to the nearest thirty-second, as on a tape; `None` for what is too small for one.
fn tape(inches: f64) -> Option<String> {
    if inches.abs() < LEAST_FRACTION_IN || inches.abs() > 1e6 {
        return None;
    }
    let sign = if inches < 0.0 { "-" } else { "" };
    let parts = (inches.abs() * 32.0).round() as u64;
    let (whole, top) = (parts / 32, parts % 32);
    let shrink = 1 << top.trailing_zeros().min(5);
    Some(match (whole, top) {
        (_, 0) => format!("{sign}{whole}"),
        (0, _) => format!("{sign}{}/{}", top / shrink, 32 / shrink),
        _ => format!("{sign}{whole} {}/{}", top / shrink, 32 / shrink),
    })
}

/// An angle in degrees.
pub fn degrees(radians: f64) -> String {
    format!("{:.1} deg", radians.to_degrees())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inches_are_shown_as_on_a_tape() {
        for (metres, shown) in [
            (0.015875, "5/8 in"),
            (0.0381, "1 1/2 in"),
            (0.0508, "2 in"),
            (0.0451, "1.776 in (1 25/32)"),
            (0.0253, "0.996 in (1)"),
            (0.0002, "0.008 in"),
            (-0.0381, "-1 1/2 in"),
        ] {
            assert_eq!(Units::Inches.length(metres), shown);
        }
        assert_eq!(Units::Both.length(0.015875), "15.9 mm = 5/8 in");
    }

    /// 1 N m is 141.612 ounce inches and 1 lb is 453.59237 g: NIST SP 811, appendix B.8, from memory.
    #[test]
    fn torques_and_weights_follow_the_published_factors() {
        assert_eq!(Units::Inches.torque(1.0), "141.6 oz in");
        assert_eq!(Units::Inches.weight(0.453_592_37), "16.00 oz");
        assert_eq!(Units::Inches.speed(0.254), "10.0 in/s");
    }
}
