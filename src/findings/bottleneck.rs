//! Sentences on what limits the flow and what starves a wheel. Nothing is said that was not found by trying.

use super::limit::{Relief, Trial};
use super::sentences::{Finding, FindingWriter, in_brackets};
use super::words::{capital, count, figure, known, percent};
use crate::circuit::plan::Plan;
use crate::engine::Outcome;
use crate::stats::Estimate;

impl FindingWriter<'_> {
    /// What limits the flow, where something was found to.
    pub(super) fn limits(&self) -> Option<Finding> {
        if self.totals().ended(Outcome::Ran) == 0 {
            return None;
        }
        let trial = self.summary.causes.as_ref()?.limit()?;
        let rate = known(&self.summary.throughput_per_min);
        let name = trial.element.as_deref().unwrap_or("load");
        let more = format!("{} marbles a minute more", known(&trial.throughput_per_min));
        let text = match trial.relief {
            Relief::Marbles => {
                format!(
                    "The load limits the flow, {rate} marbles a minute. {}, it carries {more}.",
                    capital(&instead(trial))
                )
            }
            Relief::WheelSpeed => format!(
                "`{name}` limits the flow, {rate} marbles a minute. {}, it carries {more}.",
                capital(&instead(trial))
            ),
            _ => format!(
                "`{name}` limits the flow, {rate} marbles a minute. Were it a tenth faster, the machine would carry {more}."
            ),
        };
        Some(Self::say("machine", true, text))
    }

    /// What starves wheel `n`, each cause with its remedy: misses, because it turns too fast, and want of marbles.
    pub(super) fn starved_by(&self, n: usize) -> Vec<Finding> {
        let name = &self.plan(n).name;
        let least = self.machine.workable.least_fill;
        let mut all = Vec::new();
        let (Some(fill), Some(causes)) = (self.fill(name), &self.summary.causes) else {
            return all;
        };
        if fill >= least {
            return all;
        }
        if let Some(trial) = causes.misses(name, fill, least)
            && let Some(text) = self.by_misses(name, trial)
        {
            all.push(Self::say(name, false, text));
        }
        if let Some(trial) = causes.want_of_marbles(name, fill)
            && let Some(there) = trial.fill.get(name)
        {
            let text = format!(
                "`{name}` lacks marbles: {}, {} more of its {} carry one.",
                instead(trial),
                share(&there.more),
                self.seats(name)
            );
            all.push(Self::say(name, false, text));
        }
        all
    }

    /// What the places of the lift called so are called.
    fn seats(&self, name: &str) -> String {
        let lift = self.circuit.nodes.iter().find(|plan| plan.name == name);
        lift.map_or_else(|| "places".to_owned(), Plan::seats)
    }

    /// That misses starve `wheel`, as `trial` shows, and at what speed it fills.
    fn by_misses(&self, wheel: &str, trial: &Trial) -> Option<String> {
        let causes = self.summary.causes.as_ref()?;
        let culprit = trial.element.as_deref();
        let cost = share(&trial.fill.get(wheel)?.more);
        let whose = match culprit {
            Some(other) if other != wheel => format!("the misses of `{other}`"),
            Some(_) => "its misses".to_owned(),
            None => format!("the misses of all {}s", self.circuit.carriers().1),
        };
        let seats = self.seats(wheel);
        let Some(at) = causes.fills_at(
            wheel,
            culprit.unwrap_or(wheel),
            self.machine.workable.least_fill,
        ) else {
            return Some(format!(
                "`{wheel}` goes short by {whose}: without them {cost} more of its {seats} would carry a marble."
            ));
        };
        let there = percent(at.fill.get(wheel)?.there.value?);
        let fast = if culprit == Some(wheel) {
            "turns too fast"
        } else {
            "is starved by a drive that turns too fast"
        };
        let of = if at.element.is_none() {
            "With the drive"
        } else {
            "Turned"
        };
        let (slow, now) = (figure(at.to), figure(at.from));
        Some(format!(
            "`{wheel}` {fast}: without {whose} {cost} more of its {seats} would carry a marble. {of} at {slow} rpm or slower instead of {now} rpm it fills: {there} carry one."
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
    match by.value {
        Some(value) => percent(value) + &in_brackets(by, percent),
        None => "an unknown share".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use crate::findings::made_up::MadeUp;

    #[test]
    fn the_places_of_a_lift_have_a_name() {
        let made_up = MadeUp::new(1, "least-fill: 0.5");
        let study = made_up.study(vec![made_up.run(0, |_| 1.0)]);
        let seats = |name: &str| made_up.said(&study, |writer| writer.seats(name));
        assert_eq!(seats("wheel-0"), "pockets");
        assert_eq!(seats("nothing"), "places");
    }
}
