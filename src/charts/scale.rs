//! Scales: from a figure to a pixel, with round numbers to mark.

/// A straight scale from figures to pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// The figure at the beginning and at the end.
    pub figures: (f64, f64),
    /// The pixel at the beginning and at the end.
    pub pixels: (f64, f64),
}

impl Scale {
    /// The pixel of `figure`; the beginning where the scale has no length.
    pub fn at(&self, figure: f64) -> f64 {
        let span = self.figures.1 - self.figures.0;
        let part = if span > 0.0 {
            (figure - self.figures.0) / span
        } else {
            0.0
        };
        self.pixels.0 + (self.pixels.1 - self.pixels.0) * part
    }
}

/// The smallest of 1, 2 and 5 times a power of ten that divides `span` into at most `most` steps; 1 for no span.
pub fn round_step(span: f64, most: usize) -> f64 {
    let least = span / most.max(1) as f64;
    if !(least > 0.0 && least.is_finite()) {
        return 1.0;
    }
    let power = libm::pow(10.0, libm::log10(least).floor());
    let rounded = [1.0, 2.0, 5.0, 10.0].map(|digit| digit * power);
    rounded
        .into_iter()
        .find(|&step| step >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

/// Multiples of `step` from 0 to `top`.
pub fn marks(top: f64, step: f64) -> Vec<f64> {
    let count = (top / step * (1.0 + 1e-9)).floor();
    if !(0.0..=1000.0).contains(&count) {
        return vec![0.0];
    }
    (0..=count as u64).map(|k| k as f64 * step).collect()
}

/// A number on an axis with marks `step` apart.
pub fn mark_text(figure: f64, step: f64) -> String {
    let decimals = (-libm::log10(step) - 1e-9).ceil().clamp(0.0, 9.0) as usize;
    format!("{figure:.decimals$}")
}

/// Multiples of `step` from 0 to `top`, each with its number, and `unit` behind the last.
pub fn numbered_marks(top: f64, step: f64, unit: &str) -> Vec<(f64, String)> {
    let marks = marks(top, step).into_iter();
    let mut numbered: Vec<_> = marks.map(|mark| (mark, mark_text(mark, step))).collect();
    if let Some((_, number)) = numbered.last_mut() {
        number.push_str(unit);
    }
    numbered
}

/// The largest of figures that are not under 0; 0 where there are none.
pub fn largest(figures: impl Iterator<Item = f64>) -> f64 {
    figures.fold(0.0, f64::max)
}

/// A time axis: its unit, and how far apart its marks are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeMarks {
    /// The unit: `s`, `min` or `h`.
    pub unit: &'static str,
    /// Seconds in a unit.
    pub unit_s: f64,
    /// From mark to mark, in units.
    pub step: f64,
}

/// Marks for a time axis from 0 to `span_s` seconds, at most `most` steps, in the unit a maker would use.
pub fn time_marks(span_s: f64, most: usize) -> TimeMarks {
    let (unit, unit_s) = match span_s {
        s if s <= 180.0 => ("s", 1.0),
        s if s <= 3.0 * 3600.0 => ("min", 60.0),
        _ => ("h", 3600.0),
    };
    let span = span_s / unit_s;
    let clock: &[f64] = match unit {
        "h" => &[0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0, 48.0],
        _ if span > 4.0 => &[1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0],
        _ => &[],
    };
    let on_the_clock = clock.iter().find(|&step| span / step <= most as f64);
    let step = match on_the_clock {
        Some(step) => *step,
        None => round_step(span, most),
    };
    TimeMarks { unit, unit_s, step }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_round_and_few() {
        assert_eq!(round_step(34.0, 5), 10.0);
        assert_eq!(round_step(0.3, 4), 0.1);
        assert_eq!(round_step(0.0, 4), 1.0);
        assert_eq!(marks(34.0, 10.0), [0.0, 10.0, 20.0, 30.0]);
        assert_eq!(mark_text(0.30000000000000004, 0.1), "0.3");
        assert_eq!(mark_text(20.0, 10.0), "20");
    }

    #[test]
    fn time_is_marked_as_on_a_clock() {
        let marked = |span_s, most| {
            let marks = time_marks(span_s, most);
            (marks.unit, marks.step)
        };
        assert_eq!(marked(7200.0, 8), ("min", 15.0));
        assert_eq!(marked(90.0, 8), ("s", 15.0));
        assert_eq!(marked(8.0 * 3600.0, 8), ("h", 1.0));
        assert_eq!(marked(1.0, 8), ("s", 0.2));
        assert_eq!(marked(1000.0 * 3600.0, 8).0, "h");
    }
}
