//! Numbers as a maker would say them.

use crate::stats::Estimate;

/// A duration: `0.8 s`, `42 s`, `3 min 20 s`, `1 h 12 min`.
pub fn duration(time_s: f64) -> String {
    if time_s < 10.0 {
        return format!("{time_s:.1} s");
    }
    let whole = time_s.round() as u64;
    match whole {
        0..60 => format!("{whole} s"),
        60..3600 if whole.is_multiple_of(60) => format!("{} min", whole / 60),
        60..3600 => format!("{} min {} s", whole / 60, whole % 60),
        _ if whole % 3600 < 60 => format!("{} h", whole / 3600),
        _ => format!("{} h {} min", whole / 3600, whole % 3600 / 60),
    }
}

/// A time since the start, as on a clock: `1:52`, `1:02:09`.
pub fn clock(time_s: f64) -> String {
    let whole = time_s.max(0.0).floor() as u64;
    let (hours, minutes, rest) = (whole / 3600, whole % 3600 / 60, whole % 60);
    if hours > 0 {
        format!("{hours}:{minutes:02}:{rest:02}")
    } else {
        format!("{minutes}:{rest:02}")
    }
}

/// A chance a maker can picture: `1 in 240`, `45 in 100`.
pub fn chance(share: f64) -> String {
    if share >= 0.1 || share <= 0.0 {
        return format!("{:.0} in 100", share * 100.0);
    }
    let n = 1.0 / share;
    if n >= 999_500.0 {
        return format!("1 in {} million", figure(n / 1e6));
    }
    let step = libm::pow(10.0, (libm::log10(n).floor() - 1.0).max(0.0));
    format!("1 in {:.0}", (n / step).round() * step)
}

/// A share as a percentage, never rounded to all or nothing when it is neither.
pub fn percent(share: f64) -> String {
    let x = share * 100.0;
    if x > 0.0 && x < 0.1 {
        "under 0.1 %".to_owned()
    } else if x > 99.9 && x < 100.0 {
        "over 99.9 %".to_owned()
    } else if !(10.0..=90.0).contains(&x) {
        format!("{} %", trimmed(x, 1))
    } else {
        format!("{x:.0} %")
    }
}

/// What is between two ends, as far as they are known: `95 % sure: 2 to 4`, `95 % sure: at least 2`; `None` where neither is.
pub fn sure_between(
    ends: (Option<f64>, Option<f64>),
    say: impl Fn(f64) -> String,
) -> Option<String> {
    let text = match ends {
        (Some(low), Some(high)) => format!("{} to {}", say(low), say(high)),
        (Some(low), None) => format!("at least {}", say(low)),
        (None, Some(high)) => format!("at most {}", say(high)),
        (None, None) => return None,
    };
    Some(format!("95 % sure: {text}"))
}

/// A share and its interval: `63 % of runs (95 % sure: 56 % to 69 %)`, or `all runs`.
pub fn share_of_runs(share: &Estimate) -> String {
    match (share.value, share.low, share.high) {
        (Some(1.0), ..) => "all runs".to_owned(),
        (Some(value), Some(low), Some(high)) => {
            format!(
                "{} of runs (95 % sure: {} to {})",
                percent(value),
                percent(low),
                percent(high)
            )
        }
        (Some(value), ..) => format!("{} of runs", percent(value)),
        _ => "an unknown share of runs".to_owned(),
    }
}

/// A number with as many decimals as make sense, at least three figures.
pub fn figure(x: f64) -> String {
    match x.abs() {
        0.0..0.9995 => trimmed(x, 3),
        0.9995..9.995 => trimmed(x, 2),
        9.995..99.95 => trimmed(x, 1),
        _ => format!("{x:.0}"),
    }
}

fn trimmed(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// An estimate of what cannot be negative, for a table: `0.893 ±0.002`, `0.893` without a spread, `unknown` without a value;
/// `0.005 (0 to 0.015)` where the spread is wider than the value, `0 (0 to 0.015)` where there was none at all.
///
/// The half-width keeps one figure, and the value as many decimals as that; ends of a range keep two figures of the upper.
pub fn estimate(e: &Estimate) -> String {
    match (e.value, e.half_width()) {
        (Some(value), Some(half)) if half > value && value >= 0.0 => {
            let (low, high) = (e.low.unwrap_or(0.0).max(0.0), e.high.unwrap_or(value));
            let decimals = (1.0 - libm::floor(libm::log10(high))).clamp(0.0, 6.0) as usize;
            let end = |x: f64| trimmed(x, decimals);
            format!("{} ({} to {})", end(value), end(low), end(high))
        }
        (Some(value), Some(half)) if half > 0.0 => {
            let finest = if value > 0.0 { half.min(value) } else { half };
            let decimals = (-libm::floor(libm::log10(finest))).clamp(0.0, 5.0) as usize;
            format!("{value:.decimals$} ±{half:.decimals$}")
        }
        (Some(value), _) => figure(value),
        (None, _) => "unknown".to_owned(),
    }
}

/// A mean as far as it is known: `71` where its interval is within a tenth of it either way, else with its ends, each to two
/// figures: `870 (690 to 1000)`.
pub fn known(e: &Estimate) -> String {
    match (e.value, e.half_width()) {
        (Some(value), Some(half)) if half > KNOWN * value => {
            let (low, high) = (e.low.unwrap_or(0.0).max(0.0), e.high.unwrap_or(value));
            format!(
                "{} ({} to {})",
                two_figures(value),
                two_figures(low),
                two_figures(high)
            )
        }
        (Some(value), Some(half)) if half > 0.0 => {
            let decimals = (-libm::floor(libm::log10(half))).clamp(0.0, 2.0) as usize;
            trimmed(value, decimals)
        }
        (Some(value), _) => figure(value),
        (None, _) => "an unknown number".to_owned(),
    }
}

/// Share of a mean within which its interval goes without saying. Common practice, no source.
const KNOWN: f64 = 0.1;

/// Sentences one after the other, those that are there.
pub fn paragraph(sentences: &[String]) -> String {
    let there: Vec<&str> = sentences
        .iter()
        .map(String::as_str)
        .filter(|text| !text.is_empty())
        .collect();
    there.join(" ")
}

/// Two figures, and no more: `5.3`, `17`, `870`.
pub fn two_figures(x: f64) -> String {
    if x == 0.0 {
        return "0".to_owned();
    }
    let step = libm::pow(10.0, libm::floor(libm::log10(x.abs())) - 1.0);
    figure((x / step).round() * step)
}

/// A difference and its half-width, to two figures of the half-width: `-0.065 ±0.11`; `unknown` without a value.
pub fn difference(e: &Estimate) -> String {
    let Some(value) = e.value else {
        return "unknown".to_owned();
    };
    let half = e.half_width().unwrap_or(0.0);
    let finest = if half > 0.0 { half } else { value.abs() };
    let decimals = if finest > 0.0 {
        (1.0 - libm::floor(libm::log10(finest))).clamp(0.0, 9.0) as usize
    } else {
        0
    };
    let signed = format!("{value:+.decimals$}");
    let zero = signed
        .trim_start_matches(['+', '-'])
        .chars()
        .all(|c| matches!(c, '0' | '.'));
    let text = if zero { "0".to_owned() } else { signed };
    if half > 0.0 {
        format!("{text} ±{half:.decimals$}")
    } else {
        text
    }
}

/// Load, and speed where there is one: `36 marbles at 9 rpm`.
pub fn setting(marbles: u32, rpm: Option<f64>) -> String {
    let load = count(u64::from(marbles), "marble");
    match rpm {
        Some(rpm) => format!("{load} at {} rpm", figure(rpm)),
        None => load,
    }
}

/// The text with a capital at its beginning.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// `1 marble`, `2 marbles`.
pub fn count(n: u64, thing: &str) -> String {
    format!("{n} {thing}{}", if n == 1 { "" } else { "s" })
}

/// A mean number of marbles: `1 marble`, `2.4 marbles`.
pub fn marbles(mean: f64) -> String {
    let text = figure(mean);
    let ending = if text == "1" { "" } else { "s" };
    format!("{text} marble{ending}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_naturally() {
        assert_eq!(duration(0.84), "0.8 s");
        assert_eq!(duration(200.0), "3 min 20 s");
        assert_eq!(duration(4320.0), "1 h 12 min");
        assert_eq!(clock(112.4), "1:52");
        assert_eq!(clock(3729.9), "1:02:09");
        assert_eq!(chance(0.00012), "1 in 8300");
        assert_eq!(chance(4e-7), "1 in 2.5 million");
        assert_eq!(chance(0.45), "45 in 100");
        assert_eq!(percent(0.0004), "under 0.1 %");
        assert_eq!(percent(0.63), "63 %");
        assert_eq!(percent(0.9996), "over 99.9 %");
        assert_eq!(percent(1.0), "100 %");
        let ends = [(Some(2.0), Some(4.0)), (Some(2.0), None), (None, Some(4.0))]
            .map(|ends| sure_between(ends, figure));
        assert_eq!(
            ends.map(Option::unwrap),
            [
                "95 % sure: 2 to 4",
                "95 % sure: at least 2",
                "95 % sure: at most 4"
            ]
        );
        assert_eq!(sure_between((None, None), figure), None);
        assert_eq!(figure(0.5), "0.5");
        assert_eq!(
            [1.0, 0.9999, 2.4, 0.0].map(marbles),
            ["1 marble", "1 marble", "2.4 marbles", "0 marbles"]
        );
        let all = [(866.0, 178.0), (71.5, 1.6), (0.667, 0.4), (5.25, 0.02)]
            .map(|(value, half)| known(&Estimate::interval(value, value - half, value + half)));
        assert_eq!(
            all,
            ["870 (690 to 1000)", "72", "0.67 (0.27 to 1.1)", "5.25"]
        );
        assert_eq!(
            share_of_runs(&Estimate::interval(1.0, 0.98, 1.0)),
            "all runs"
        );
        assert_eq!(estimate(&Estimate::unknown()), "unknown");
        assert_eq!(
            estimate(&Estimate::interval(0.005, -0.005, 0.0148)),
            "0.005 (0 to 0.015)"
        );
        assert_eq!(
            estimate(&Estimate::interval(0.0, 0.0, 0.0148)),
            "0 (0 to 0.015)"
        );
        assert_eq!(estimate(&Estimate::interval(0.0, 0.0, 0.0)), "0");
        assert_eq!(
            estimate(&Estimate::interval(12.34, 12.0, 12.5)),
            "12.3 ±0.3"
        );
        assert_eq!(
            difference(&Estimate::interval(-0.0651, -0.175, 0.045)),
            "-0.07 ±0.11"
        );
        assert_eq!(
            difference(&Estimate::interval(-0.0001, -0.1, 0.1)),
            "0 ±0.10"
        );
        assert_eq!(difference(&Estimate::interval(3.0, 3.0, 3.0)), "+3.0");
    }

    /// On each edge between two ways of saying a number, and between them.
    #[test]
    fn numbers_on_the_edge_are_said_in_one_way() {
        let durations = [9.94, 10.0, 59.4, 59.5, 3599.4, 3600.0, 3659.4, 3660.0].map(duration);
        assert_eq!(
            durations,
            [
                "9.9 s",
                "10 s",
                "59 s",
                "1 min",
                "59 min 59 s",
                "1 h",
                "1 h",
                "1 h 1 min"
            ]
        );
        let shares = [0.0, 0.001, 0.0999, 0.1, 0.9, 0.999, 1.0].map(percent);
        assert_eq!(
            shares,
            ["0 %", "0.1 %", "10 %", "10 %", "90 %", "99.9 %", "100 %"]
        );
        let figures = [0.1234, 1.236, 9.994, 9.996, 12.36, 99.94, 99.96, 123.6].map(figure);
        assert_eq!(
            figures,
            ["0.123", "1.24", "9.99", "10", "12.4", "99.9", "100", "124"]
        );
        // Known to just a tenth, and to a little less.
        let means =
            [1.0, 1.01].map(|half| known(&Estimate::interval(10.0, 10.0 - half, 10.0 + half)));
        assert_eq!(means, ["10", "10 (9 to 11)"]);
        let exact = Estimate::interval(0.1234, 0.1234, 0.1234);
        assert_eq!(known(&exact), "0.123");
    }
}
