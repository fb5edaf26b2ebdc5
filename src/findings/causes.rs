//! Sentences on what limits the flow and what starves a wheel. Nothing is said that was not found by trying.

use super::limit::{Relief, Trial};
use super::sentences::{Finding, FindingWriter};
use super::words::{count, estimate, figure, percent, sure_between};
use crate::engine::Outcome;
use crate::stats::Estimate;

impl FindingWriter<'_> {
    /// What limits the flow, where something was found to.
    pub(super) fn limits(&self) -> Option<Finding> {
        if self.totals().ended(Outcome::Ran) == 0 {
            return None;
        }
        let trial = self.summary.causes.as_ref()?.limit()?;
        let rate = estimate(&self.summary.throughput_per_min);
        let name = trial.element.as_deref().unwrap_or("load");
        let more = format!(
            "{} marbles a minute more",
            estimate(&trial.throughput_per_min)
        );
        let text = match trial.relief {
            Relief::Marbles => {
                format!(
                    "The load limits the flow ({rate} marbles a minute): {}, it carries {more}.",
                    instead(trial)
                )
            }
            Relief::WheelSpeed => format!(
                "`{name}` limits the flow ({rate} marbles a minute): {}, it carries {more}{}.",
                instead(trial),
                self.pockets(name)
            ),
            _ => format!(
                "`{name}` limits the flow ({rate} marbles a minute): were it a tenth faster, the machine would carry {more}."
            ),
        };
        Some(Self::say("machine", true, text))
    }

    fn pockets(&self, wheel: &str) -> String {
        let fill = self.summary.wheels.get(wheel).and_then(|of| of.fill.value);
        fill.map_or(String::new(), |fill| {
            format!("; {} of its pockets carry one now", percent(fill))
        })
    }

    /// What starves wheel `n`, each cause with its remedy: misses, because it turns too fast, and want of marbles.
    pub(super) fn starved_by(&self, n: usize) -> Vec<Finding> {
        let name = &self.plan(n).name;
        let least = self.machine.workable.least_fill;
        let fill = self
            .summary
            .wheels
            .get(name)
            .and_then(|wheel| wheel.fill.value)
            .filter(|&fill| fill < least);
        let (Some(fill), Some(causes)) = (fill, &self.summary.causes) else {
            return Vec::new();
        };
        let misses = causes
            .misses(name, fill, least)
            .and_then(|trial| self.by_misses(name, trial));
        let want = causes.want_of_marbles(name, fill).and_then(|trial| {
            let more = share(&trial.fill.get(name)?.more);
            Some(format!(
                "`{name}` lacks marbles: {}, {more} more of its pockets carry one.",
                instead(trial)
            ))
        });
        [misses, want]
            .into_iter()
            .flatten()
            .map(|text| Self::say(name, false, text))
            .collect()
    }
}

impl FindingWriter<'_> {
    /// That misses starve `wheel`, as `trial` shows, and at what speed it fills.
    fn by_misses(&self, wheel: &str, trial: &Trial) -> Option<String> {
        let causes = self.summary.causes.as_ref()?;
        let culprit = trial.element.as_deref();
        let cost = share(&trial.fill.get(wheel)?.more);
        let whose = match culprit {
            Some(other) if other != wheel => format!("the misses of `{other}`"),
            Some(_) => "its misses".to_owned(),
            None => "the misses of all wheels".to_owned(),
        };
        let Some(at) = causes.fills_at(
            wheel,
            culprit.unwrap_or(wheel),
            self.machine.workable.least_fill,
        ) else {
            return Some(format!(
                "`{wheel}` goes short by {whose}: without them {cost} more of its pockets would carry a marble."
            ));
        };
        let there = percent(at.fill.get(wheel)?.there.value?);
        let fast = culprit.filter(|&other| other == wheel).map_or(
            "is starved by a drive that turns too fast",
            |_| "turns too fast",
        );
        let of = if at.element.is_none() {
            "With the drive"
        } else {
            "Turned"
        };
        let (slow, now) = (figure(at.to), figure(at.from));
        Some(format!(
            "`{wheel}` {fast}: without {whose} {cost} more of its pockets would carry a marble. {of} at {slow} rpm or slower instead of {now} rpm it fills: {there} carry one."
        ))
    }
}

/// What was tried in place of what is, as the beginning of a sentence.
fn instead(trial: &Trial) -> String {
    match trial.relief {
        Relief::Marbles => format!(
            "with {} instead of {}",
            count(trial.to as u64, "marble"),
            figure(trial.from)
        ),
        _ => format!(
            "turned at {} rpm instead of {}",
            figure(trial.to),
            figure(trial.from)
        ),
    }
}

/// A difference of shares: `5.1 % (95 % sure: 4.8 % to 5.4 %)`.
fn share(by: &Estimate) -> String {
    let sure =
        sure_between((by.low, by.high), percent).map_or(String::new(), |sure| format!(" ({sure})"));
    by.value.map_or("an unknown share".to_owned(), |value| {
        percent(value) + &sure
    })
}
