//! Time to an event that some runs never reach: time to the first jam.

use super::Estimate;
use super::proportion::clopper_pearson;
use super::significance::{Test, chi_square_p, chi_square_quantile, normal_critical, tail};

/// One run: how long it was watched, and whether the event ended it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// Time of the event or of the end of watching, from 0 up, in any unit kept throughout.
    pub time: f64,
    /// True for the event, false for a run that was still going (censored).
    pub event: bool,
}

/// A drop of the survival curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Time of the event.
    pub time: f64,
    /// Runs watched up to this time and not ended before it; those censored just now are among them.
    pub at_risk: usize,
    /// Events at this time.
    pub events: usize,
    /// Share surviving beyond this time, 0 to 1.
    pub survival: f64,
    /// Greenwood's standard error of that share; `None` once nobody survives.
    pub standard_error: Option<f64>,
}

/// Kaplan-Meier estimate of the share of runs that outlast a time.
#[derive(Clone, Debug, PartialEq)]
pub struct SurvivalCurve {
    /// The drops, in order of time.
    pub steps: Vec<Step>,
    sample: Sample,
}

/// Observation times in order, all of them and those that ended in the event.
#[derive(Clone, Debug, PartialEq)]
struct Sample {
    times: Vec<f64>,
    events: Vec<f64>,
}

impl Sample {
    fn new(observations: &[Observation]) -> Option<Self> {
        let (mut times, mut events) = (Vec::new(), Vec::new());
        for Observation { time, event } in observations {
            if !time.is_finite() || *time < 0.0 {
                return None;
            }
            times.push(*time);
            if *event {
                events.push(*time);
            }
        }
        if times.is_empty() {
            return None;
        }
        times.sort_by(f64::total_cmp);
        events.sort_by(f64::total_cmp);
        Some(Self { times, events })
    }

    fn at_risk(&self, time: f64) -> usize {
        self.times.len() - self.times.partition_point(|t| *t < time)
    }

    fn events_at(&self, time: f64) -> usize {
        self.events.partition_point(|t| *t <= time) - self.events.partition_point(|t| *t < time)
    }

    fn last(&self) -> f64 {
        self.times[self.times.len() - 1]
    }
}

/// Kaplan-Meier curve with Greenwood's standard errors.
///
/// Runs censored at the time of an event still count as at risk at that time. `None` without
/// observations or with a time that is negative or not finite.
///
/// Source: Kaplan & Meier, "Nonparametric estimation from incomplete observations", Journal of the
/// American Statistical Association 53 (1958).
pub fn kaplan_meier(observations: &[Observation]) -> Option<SurvivalCurve> {
    let sample = Sample::new(observations)?;
    let mut times = sample.events.clone();
    times.dedup();
    let (mut survival, mut greenwood) = (1.0, 0.0);
    let mut steps = Vec::with_capacity(times.len());
    for time in times {
        let (at_risk, events) = (sample.at_risk(time), sample.events_at(time));
        let (n, d) = (at_risk as f64, events as f64);
        survival *= (n - d) / n;
        greenwood += d / (n * (n - d));
        steps.push(Step {
            time,
            at_risk,
            events,
            survival,
            standard_error: Some(survival * greenwood.sqrt()).filter(|_| events < at_risk),
        });
    }
    Some(SurvivalCurve { steps, sample })
}

impl SurvivalCurve {
    /// Share of runs that outlast `time`, with the band on the log(-log) scale.
    ///
    /// Unknown beyond the last time watched, unless every run had ended by then. Where the band's
    /// formula does not exist, an exact binomial interval stands in: before the first event over
    /// the runs still watched at `time`, and after the last event if no run was censored.
    ///
    /// Source: Kalbfleisch & Prentice, "The Statistical Analysis of Failure Time Data" (1980).
    pub fn at(&self, time: f64, level: f64) -> Estimate {
        let known = time >= 0.0 && (time <= self.sample.last() || self.everyone_ended());
        if !known {
            return Estimate::unknown();
        }
        match self.steps.iter().rev().find(|s| s.time <= time) {
            None => {
                let watched = self.sample.at_risk(time) as u64;
                clopper_pearson(watched, watched, level)
            }
            Some(step) if step.survival <= 0.0 => self.nobody_left(level),
            Some(step) => {
                let [low, high] = log_log_band(step, level);
                Estimate::from_parts(Some(step.survival), low, high)
            }
        }
    }

    /// How many runs were watched up to `time` without an event before it.
    pub fn still_watched(&self, time: f64) -> usize {
        self.sample.at_risk(time)
    }

    /// Time that half of the runs do not outlast: the first at which survival is 0.5 or less.
    pub fn median(&self, level: f64) -> Estimate {
        self.quantile(0.5, level)
    }

    /// Time that a share `p` of the runs do not outlast, with the interval got by asking where the
    /// band crosses; an end that the data do not reach is unknown.
    ///
    /// Source: Brookmeyer & Crowley, "A confidence interval for the median survival time",
    /// Biometrics 38 (1982), on the log(-log) scale.
    pub fn quantile(&self, p: f64, level: f64) -> Estimate {
        let mut crossings = [None; 3];
        for step in &self.steps {
            let [low, high] = log_log_band(step, level);
            for (crossing, height) in crossings.iter_mut().zip([Some(step.survival), low, high]) {
                if let Some(height) = height
                    && height <= 1.0 - p + 1e-12
                {
                    crossing.get_or_insert(step.time);
                }
            }
        }
        let [value, low, high] = crossings;
        Estimate::from_parts(value, low, high)
    }

    fn everyone_ended(&self) -> bool {
        matches!(self.steps.last(), Some(step) if step.survival <= 0.0)
    }

    fn nobody_left(&self, level: f64) -> Estimate {
        let runs = self.sample.times.len();
        if self.sample.events.len() == runs {
            clopper_pearson(0, runs as u64, level)
        } else {
            Estimate::point(0.0)
        }
    }
}

/// The ends of the band about a step's survival; none once nobody survives.
fn log_log_band(step: &Step, level: f64) -> [Option<f64>; 2] {
    let (Some(critical), Some(error)) = (normal_critical(level), step.standard_error) else {
        return [None; 2];
    };
    let log_survival = libm::log(step.survival);
    let spread = critical * error / (step.survival * log_survival);
    [-1.0, 1.0].map(|sign| Some(libm::exp(log_survival * libm::exp(sign * spread))))
}

/// Log-rank test that two groups share one survival curve; `None` where no event can tell them apart.
///
/// Source: Mantel, "Evaluation of survival data and two new rank order statistics arising in its
/// consideration", Cancer Chemotherapy Reports 50 (1966).
pub fn log_rank(first: &[Observation], second: &[Observation]) -> Option<Test> {
    let (a, b) = (Sample::new(first)?, Sample::new(second)?);
    let mut times = [a.events.as_slice(), b.events.as_slice()].concat();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let (mut surplus, mut variance) = (0.0, 0.0);
    for time in times {
        let risk_a = a.at_risk(time) as f64;
        let risk = risk_a + b.at_risk(time) as f64;
        let events_a = a.events_at(time) as f64;
        let events = events_a + b.events_at(time) as f64;
        surplus += events_a - events * risk_a / risk;
        if risk > 1.0 {
            let share = risk_a / risk;
            variance += events * share * (1.0 - share) * (risk - events) / (risk - 1.0);
        }
    }
    let statistic = Some(surplus * surplus / variance).filter(|x| x.is_finite())?;
    Some(Test {
        statistic,
        degrees_of_freedom: 1.0,
        p: chi_square_p(statistic, 1.0)?,
    })
}

/// Events per unit of exposure (jams per hour run) with the exact Poisson interval.
///
/// Holds for events that come at a steady rate. No event gives the value 0, the low end 0 and a high
/// end above it; without exposure the rate is unknown.
///
/// Source: Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28 (1936).
pub fn event_rate(events: u64, exposure: f64, level: f64) -> Estimate {
    if !(exposure > 0.0 && exposure.is_finite()) {
        return Estimate::unknown();
    }
    let count = events as f64;
    let Some(tail) = tail(level) else {
        return Estimate::point(count / exposure);
    };
    let low = match events {
        0 => Some(0.0),
        _ => chi_square_quantile(tail, 2.0 * count),
    };
    let high = chi_square_quantile(1.0 - tail, 2.0 * count + 2.0);
    let [low, high] = [low, high].map(|end| end.map(|chi_square| chi_square / 2.0 / exposure));
    Estimate::from_parts(Some(count / exposure), low, high)
}
