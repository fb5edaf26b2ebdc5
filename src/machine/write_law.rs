//! Time laws and lengths as text for a machine file.

use super::law::TimeLaw;
use super::units::System;

/// Figures kept: a stopwatch gives no more.
const FIGURES: i32 = 4;

/// The law as the file writes it: `{ normal: { mean: 5.02 s, sd: 0.21 s } }`. Numbers keep four figures.
pub fn law(of: &TimeLaw) -> String {
    let s = |x: f64| format!("{} s", rounded(x));
    match of {
        TimeLaw::Fixed { time_s } => s(*time_s),
        TimeLaw::Normal { mean_s, sd_s } => {
            format!("{{ normal: {{ mean: {}, sd: {} }} }}", s(*mean_s), s(*sd_s))
        }
        TimeLaw::Lognormal { mean_s, sd_s } => format!(
            "{{ lognormal: {{ mean: {}, sd: {} }} }}",
            s(*mean_s),
            s(*sd_s)
        ),
        TimeLaw::Gamma { shape, scale_s } => {
            format!(
                "{{ gamma: {{ mean: {}, sd: {} }} }}",
                s(shape * scale_s),
                s(shape.sqrt() * scale_s)
            )
        }
        TimeLaw::Weibull { shape, scale_s } => {
            format!(
                "{{ weibull: {{ shape: {}, scale: {} }} }}",
                rounded(*shape),
                s(*scale_s)
            )
        }
        TimeLaw::Triangular {
            low_s,
            mode_s,
            high_s,
        } => {
            format!(
                "{{ triangular: {{ low: {}, mode: {}, high: {} }} }}",
                s(*low_s),
                s(*mode_s),
                s(*high_s)
            )
        }
        TimeLaw::Uniform { low_s, high_s } => format!(
            "{{ uniform: {{ low: {}, high: {} }} }}",
            s(*low_s),
            s(*high_s)
        ),
        TimeLaw::Exponential { mean_s } => format!("{{ exponential: {{ mean: {} }} }}", s(*mean_s)),
        TimeLaw::Samples { times_s } => {
            let times: Vec<String> = times_s.iter().map(|time| format!("{time} s")).collect();
            format!("{{ samples: [{}] }}", times.join(", "))
        }
    }
}

/// A length in millimetres as the file writes it, with three figures.
pub fn millimetres(metres: f64) -> String {
    format!("{} mm", to_figures(metres * 1e3, 3))
}

/// A length too small for a tape, with three figures.
pub fn small(metres: f64, system: System) -> String {
    match system {
        System::Millimetres => millimetres(metres),
        System::Inches => format!("{} in", to_figures(metres / 0.0254, 3)),
    }
}

/// A share or a factor as the file writes it, with four figures.
pub fn factor(of: f64) -> String {
    to_figures(of, FIGURES)
}

fn rounded(x: f64) -> String {
    to_figures(x, FIGURES)
}

fn to_figures(x: f64, figures: i32) -> String {
    if x == 0.0 || !x.is_finite() {
        return "0".to_owned();
    }
    let decimals = (figures - 1 - libm::floor(libm::log10(x.abs())) as i32).clamp(0, 12) as usize;
    let text = format!("{x:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_four_figures_and_no_idle_zeros() {
        assert_eq!(
            law(&TimeLaw::Normal {
                mean_s: 5.02468,
                sd_s: 0.2
            }),
            "{ normal: { mean: 5.025 s, sd: 0.2 s } }"
        );
        assert_eq!(
            law(&TimeLaw::Exponential { mean_s: 123_456.0 }),
            "{ exponential: { mean: 123456 s } }"
        );
        assert_eq!(
            law(&TimeLaw::Samples {
                times_s: vec![4.8, 5.0]
            }),
            "{ samples: [4.8 s, 5 s] }"
        );
        assert_eq!(millimetres(4.5678e-5), "0.0457 mm");
    }
}
