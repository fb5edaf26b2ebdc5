//! Time laws as the file writes them: `4 s`, `{ normal: { mean: 5 s, sd: 0.2 s } }`, `{ samples: [4.8 s, 5.1 s] }`.

use super::fields::Fields;
use super::law::{NAMES, TimeLaw};
use super::limits;
use super::outline::{Group, Shape};
use super::problem::Report;
use super::suggest::did_you_mean;
use super::units::DURATION;
use super::yaml::Value;

const TIMES: std::ops::RangeInclusive<f64> = 0.0..=limits::LONGEST_TIME_S;

/// What a time law may be written as, as its reader asks for it: one of these keys.
pub fn outline() -> Group {
    let report = Report::default();
    let mut of = Fields::outline(&report);
    for name in NAMES {
        of.named(name);
    }
    of.into_group()
}

impl Fields<'_> {
    /// A duration in seconds.
    pub fn duration(&mut self, key: &'static str) -> Option<f64> {
        self.quantity(key, &DURATION, TIMES)
    }

    /// A time law; a bare duration is a fixed one.
    pub fn law(&mut self, key: &'static str) -> Option<TimeLaw> {
        self.note(key, || Shape::Shared("time-law"));
        let node = self.get(key)?;
        let entries = match &node.value {
            Value::Map(entries) => entries,
            Value::List(_) => {
                let help = "write stopwatch readings as `{ samples: [4.8 s, 5.1 s, 4.9 s] }`";
                self.wrong(
                    key,
                    node,
                    format!("`{key}` is a list, where a time or a time law is due"),
                    help,
                );
                return None;
            }
            _ => return self.duration(key).map(|time_s| TimeLaw::Fixed { time_s }),
        };
        let mut law = self.map(key)?;
        let [entry] = entries.as_slice() else {
            let what = format!("`{key}` names {} laws, where one is due", entries.len());
            self.wrong(
                key,
                node,
                what,
                "write one law, as in `{ normal: { mean: 5 s, sd: 0.2 s } }`",
            );
            return None;
        };
        let Some(name) = NAMES.into_iter().find(|name| *name == entry.key) else {
            let what = format!("`{}` is not a time law", entry.key);
            self.report().add(
                Some(entry.key_place),
                &law.path_of(&entry.key),
                what,
                did_you_mean(&entry.key, NAMES),
            );
            return None;
        };
        law.named(name)
    }

    fn named(&mut self, name: &'static str) -> Option<TimeLaw> {
        match name {
            "fixed" => self.duration(name).map(|time_s| TimeLaw::Fixed { time_s }),
            "samples" => self.samples(),
            _ => {
                let mut of = self.map(name)?;
                let law = of.parameters(name);
                of.finish();
                law
            }
        }
    }

    fn parameters(&mut self, name: &str) -> Option<TimeLaw> {
        match name {
            "normal" => self
                .mean_and_sd()
                .map(|(mean_s, sd_s)| TimeLaw::Normal { mean_s, sd_s }),
            "lognormal" => self
                .mean_and_sd()
                .and_then(|p| self.positive(p))
                .map(|(mean_s, sd_s)| TimeLaw::Lognormal { mean_s, sd_s }),
            "gamma" => self.gamma(),
            "weibull" => self
                .shape_and_scale()
                .map(|(shape, scale_s)| TimeLaw::Weibull { shape, scale_s }),
            "triangular" => self.triangular(),
            "uniform" => self
                .low_and_high()
                .map(|(low_s, high_s)| TimeLaw::Uniform { low_s, high_s }),
            _ => {
                let mean = self.duration("mean");
                let mean = self.required("mean", "5 s", mean)?;
                self.positive((mean, mean))
                    .map(|(mean_s, _)| TimeLaw::Exponential { mean_s })
            }
        }
    }

    /// A mean and a spread, the spread as `sd` or as `cv` (sd over mean).
    fn mean_and_sd(&mut self) -> Option<(f64, f64)> {
        self.ways(&[&["mean", "sd"], &["mean", "cv"]]);
        let mean = self.duration("mean");
        let mean = self.required("mean", "5 s", mean);
        let sd = self.duration("sd");
        let cv = self.number("cv", 0.0..=10.0);
        match (self.get("sd"), self.get("cv")) {
            (None, None) => drop(self.required("sd", "0.2 s", sd)),
            (Some(_), Some(node)) => {
                let help = "take one of the two away: `cv` is the `sd` as a share of the mean";
                self.wrong(
                    "cv",
                    node,
                    "the spread is given twice, as `sd` and as `cv`",
                    help,
                );
                return None;
            }
            _ => {}
        }
        Some((mean?, sd.or(cv.map(|cv| cv * mean.unwrap_or(0.0)))?))
    }

    fn positive(&mut self, (mean, sd): (f64, f64)) -> Option<(f64, f64)> {
        if mean > 0.0 {
            return Some((mean, sd));
        }
        let node = self.get("mean")?;
        self.wrong(
            "mean",
            node,
            "this law needs a mean above zero",
            "write the mean time, as in `mean: 5 s`",
        );
        None
    }

    fn gamma(&mut self) -> Option<TimeLaw> {
        self.ways(&[&["mean", "sd"], &["mean", "cv"], &["shape", "scale"]]);
        if self.outlining() {
            self.shape_and_scale();
        }
        if self.get("shape").is_some() {
            return self
                .shape_and_scale()
                .map(|(shape, scale_s)| TimeLaw::Gamma { shape, scale_s });
        }
        let (mean, sd) = self.mean_and_sd().and_then(|p| self.positive(p))?;
        let shape = (mean / sd) * (mean / sd);
        if !shape.is_finite() {
            return Some(TimeLaw::Fixed { time_s: mean });
        }
        Some(TimeLaw::Gamma {
            shape,
            scale_s: mean / shape,
        })
    }

    fn shape_and_scale(&mut self) -> Option<(f64, f64)> {
        let shape = self.number("shape", 0.05..=10_000.0);
        let shape = self.required("shape", "2", shape);
        let scale = self.quantity("scale", &DURATION, 1e-9..=limits::LONGEST_TIME_S);
        let scale = self.required("scale", "3 s", scale);
        Some((shape?, scale?))
    }

    fn low_and_high(&mut self) -> Option<(f64, f64)> {
        let low = self.duration("low");
        let low = self.required("low", "1 s", low);
        let high = self.duration("high");
        let high = self.required("high", "4 s", high);
        let (low, high) = (low?, high?);
        if low <= high {
            return Some((low, high));
        }
        let node = self.get("high")?;
        let what = format!(
            "`high` ({}) is below `low` ({})",
            DURATION.show(high),
            DURATION.show(low)
        );
        self.wrong("high", node, what, "write the shorter time as `low`");
        None
    }

    fn triangular(&mut self) -> Option<TimeLaw> {
        let ends = self.low_and_high();
        let mode = self.duration("mode");
        let mode_s = self.required("mode", "2 s", mode);
        let ((low_s, high_s), mode_s) = (ends?, mode_s?);
        if (low_s..=high_s).contains(&mode_s) {
            return Some(TimeLaw::Triangular {
                low_s,
                mode_s,
                high_s,
            });
        }
        let node = self.get("mode")?;
        let [low, mode, high] = [low_s, mode_s, high_s].map(|time_s| DURATION.show(time_s));
        let what = format!("`mode` ({mode}) is not between `low` ({low}) and `high` ({high})");
        self.wrong("mode", node, what, "write the most likely time as `mode`");
        None
    }

    fn samples(&mut self) -> Option<TimeLaw> {
        self.note("samples", || Shape::Shared("samples"));
        let node = self.get("samples")?;
        let items = match &node.value {
            Value::List(items) if !items.is_empty() && items.len() <= limits::SAMPLES => items,
            _ => {
                let help = format!(
                    "write 1 to {} readings, as in `samples: [4.8 s, 5.1 s, 4.9 s]`",
                    limits::SAMPLES
                );
                self.wrong(
                    "samples",
                    node,
                    "`samples` is not a list of stopwatch readings",
                    help,
                );
                return None;
            }
        };
        let mut times_s = Vec::new();
        for item in items {
            times_s.push(self.quantity_at("samples", item, &DURATION, &TIMES)?);
        }
        Some(TimeLaw::Samples { times_s })
    }
}
