//! The answer in two or three sentences: whether it works, why not, and what was tried that helps.

use super::sentences::{Finding, FindingWriter};
use super::workable::{Criterion, CriterionResult};

impl FindingWriter<'_> {
    /// The answer in brief. Figures are left to the table of criteria.
    pub fn brief(&self) -> Vec<Finding> {
        let mut all = vec![self.brief_verdict()];
        let starved = self.judgement.results.iter().filter_map(is_starved);
        let remedies: Vec<Finding> = starved.flat_map(|wheel| self.starved_by(wheel)).collect();
        match remedies.into_iter().next() {
            Some(remedy) => all.push(remedy),
            None if self.judgement.works() => all.extend(self.limits()),
            None => {}
        }
        all
    }

    fn brief_verdict(&self) -> Finding {
        let broken: Vec<&CriterionResult> = self.judgement.broken().collect();
        if broken.is_empty() || self.all_jam_at_once().is_some() {
            return self.verdict();
        }
        let why: Vec<String> = broken.iter().map(|result| self.reason(result)).collect();
        let does_not = format!("{} does not work: {}.", self.setting(), why.join(" and "));
        Self::say("machine", false, does_not)
    }

    /// What goes wrong where `result` is broken, without figures.
    fn reason(&self, result: &CriterionResult) -> String {
        let name = |n: usize| format!("`{}`", self.plan(n).name);
        match result.criterion {
            Criterion::Gridlock => "it locks up for good".to_owned(),
            Criterion::RanDry => "every marble comes to rest".to_owned(),
            Criterion::Jams => "it jams".to_owned(),
            Criterion::Spills => "marbles go over a side".to_owned(),
            Criterion::PouredIn => "there is no room for all marbles".to_owned(),
            Criterion::Fill(n) => format!("{} is starved", name(n)),
            Criterion::Backlog(n) => format!("too many marbles wait at {}", name(n)),
        }
    }
}

/// The wheel that is starved, or seems to be.
fn is_starved(result: &CriterionResult) -> Option<usize> {
    match result.criterion {
        Criterion::Fill(wheel) if !result.likely => Some(wheel),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::workable::Verdict;
    use crate::stats::Estimate;

    #[test]
    fn a_wheel_is_starved_whose_fill_is_unlikely_to_do() {
        let of = |criterion, likely| {
            is_starved(&CriterionResult {
                criterion,
                verdict: Verdict::Unsure,
                figure: Estimate::unknown(),
                of_runs: false,
                limit: 0.5,
                by_default: false,
                likely,
            })
        };
        assert_eq!(of(Criterion::Fill(2), false), Some(2));
        assert_eq!(of(Criterion::Fill(2), true), None);
        assert_eq!(of(Criterion::Backlog(2), false), None);
    }
}
