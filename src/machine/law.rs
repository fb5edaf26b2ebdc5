//! Time laws: how long something takes, and how that varies.

/// A distribution of durations, in seconds, cut at zero.
#[derive(Clone, Debug, PartialEq)]
pub enum TimeLaw {
    /// Always the same.
    Fixed {
        /// Seconds, at least 0.
        time_s: f64,
    },
    /// Normal, cut at zero.
    Normal {
        /// Mean before the cut, seconds.
        mean_s: f64,
        /// Standard deviation before the cut, seconds.
        sd_s: f64,
    },
    /// Lognormal.
    Lognormal {
        /// Mean, seconds.
        mean_s: f64,
        /// Standard deviation, seconds.
        sd_s: f64,
    },
    /// Gamma, by shape and scale.
    Gamma {
        /// Shape, no unit.
        shape: f64,
        /// Scale, seconds.
        scale_s: f64,
    },
    /// Weibull, by shape and scale.
    Weibull {
        /// Shape, no unit.
        shape: f64,
        /// Scale, seconds.
        scale_s: f64,
    },
    /// Triangular.
    Triangular {
        /// Shortest, seconds.
        low_s: f64,
        /// Most likely, seconds.
        mode_s: f64,
        /// Longest, seconds.
        high_s: f64,
    },
    /// Uniform.
    Uniform {
        /// Shortest, seconds.
        low_s: f64,
        /// Longest, seconds.
        high_s: f64,
    },
    /// Exponential.
    Exponential {
        /// Mean, seconds.
        mean_s: f64,
    },
    /// Stopwatch readings, drawn again at random.
    Samples {
        /// The readings, seconds, at least one.
        times_s: Vec<f64>,
    },
}

/// The names of the laws as the file writes them.
pub const NAMES: [&str; 9] = [
    "fixed",
    "normal",
    "lognormal",
    "gamma",
    "weibull",
    "triangular",
    "uniform",
    "exponential",
    "samples",
];

impl TimeLaw {
    /// The mean in seconds, or a time of its size where the cut at zero moves the mean.
    pub fn typical_s(&self) -> f64 {
        match self {
            TimeLaw::Fixed { time_s } => *time_s,
            TimeLaw::Normal { mean_s, sd_s } => mean_s.max(*sd_s),
            TimeLaw::Lognormal { mean_s, .. } | TimeLaw::Exponential { mean_s } => *mean_s,
            TimeLaw::Gamma { shape, scale_s } => shape * scale_s,
            TimeLaw::Weibull { shape, scale_s } => scale_s * libm::tgamma(1.0 + 1.0 / shape),
            TimeLaw::Triangular {
                low_s,
                mode_s,
                high_s,
            } => (low_s + mode_s + high_s) / 3.0,
            TimeLaw::Uniform { low_s, high_s } => (low_s + high_s) / 2.0,
            TimeLaw::Samples { times_s } => times_s.iter().sum::<f64>() / times_s.len() as f64,
        }
    }

    /// The law of the same times multiplied by `by`, above 0.
    pub fn scaled(&self, by: f64) -> TimeLaw {
        match self.clone() {
            TimeLaw::Fixed { time_s } => TimeLaw::Fixed {
                time_s: by * time_s,
            },
            TimeLaw::Normal { mean_s, sd_s } => TimeLaw::Normal {
                mean_s: by * mean_s,
                sd_s: by * sd_s,
            },
            TimeLaw::Lognormal { mean_s, sd_s } => TimeLaw::Lognormal {
                mean_s: by * mean_s,
                sd_s: by * sd_s,
            },
            TimeLaw::Gamma { shape, scale_s } => TimeLaw::Gamma {
                shape,
                scale_s: by * scale_s,
            },
            TimeLaw::Weibull { shape, scale_s } => TimeLaw::Weibull {
                shape,
                scale_s: by * scale_s,
            },
            TimeLaw::Triangular {
                low_s,
                mode_s,
                high_s,
            } => TimeLaw::Triangular {
                low_s: by * low_s,
                mode_s: by * mode_s,
                high_s: by * high_s,
            },
            TimeLaw::Uniform { low_s, high_s } => TimeLaw::Uniform {
                low_s: by * low_s,
                high_s: by * high_s,
            },
            TimeLaw::Exponential { mean_s } => TimeLaw::Exponential {
                mean_s: by * mean_s,
            },
            TimeLaw::Samples { times_s } => TimeLaw::Samples {
                times_s: times_s.into_iter().map(|time_s| by * time_s).collect(),
            },
        }
    }
}
