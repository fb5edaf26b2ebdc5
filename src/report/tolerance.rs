//! Of so many makers, how many have a machine that works, and what must be exact: in sentences and as JSON.

use serde::Serialize;

use super::tolerance_json::ToleranceJson;
use crate::charts;
use crate::charts::canvas::{Format, Picture};
use crate::circuit::draw::seconds;
use crate::findings::sentences::Finding;
use crate::findings::words::{count, duration, percent, setting, sure_between};
use crate::findings::workable::Criterion;
use crate::machine::Machine;
use crate::machine::build_error::{BuildError, BuildErrorLaw};
use crate::machine::units::System;
use crate::stats::Estimate;
use crate::study::interpolated::{Foreseen, HeldOut};
use crate::study::tolerance::exactness::{ENOUGH, Exactness, is_enough};
use crate::study::tolerance::importance::{Importance, Ranking};
use crate::study::tolerance::{Plans, Tolerance, share};

/// Errors that are named beside the deciding one, at most.
const NAMED: usize = 3;
/// What goes wrong that is named, at most.
const WRONGS: usize = 3;

/// What the sentences are about.
#[derive(Clone, Copy, Debug)]
pub struct ToleranceStudy<'a> {
    /// Speed of the drive, where it turns any wheel.
    pub rpm: Option<f64>,
    /// The plan and all in which its builds differ.
    pub plans: &'a Plans,
    /// What was found.
    pub found: &'a Tolerance,
    /// In which units lengths are shown.
    pub system: System,
}

/// What goes wrong with machines, and with how many.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WrongCount {
    /// In words.
    pub what: String,
    /// The element, where it is one.
    pub element: Option<String>,
    /// Machines.
    pub makers: u64,
}

impl ToleranceStudy<'_> {
    /// The plan.
    pub fn plan(&self) -> &Machine {
        self.plans.plan()
    }

    /// The answer, and what stands behind it.
    pub fn findings(&self) -> Vec<Finding> {
        let mut all = vec![self.answer()];
        all.extend(self.what_goes_wrong());
        if let Some(ranking) = &self.found.ranking {
            all.push(self.deciding(ranking));
        }
        if let Some(tried) = &self.found.exactness {
            all.extend(tried.iter().map(|one| self.exact(one)));
        }
        all.push(self.how_errors_come());
        all.extend(self.foreseen());
        all.push(self.effort());
        all
    }

    /// The answer in a few words.
    pub fn headline(&self) -> String {
        let works = share(&self.found.outcomes);
        let setting = setting(self.plan().marbles.count, self.rpm);
        format!(
            "{} have a machine that works with {setting}",
            of_makers(&works)
        )
    }

    fn answer(&self) -> Finding {
        let works = share(&self.found.outcomes);
        let sure = sure(&works);
        let tried = count(self.found.outcomes.len() as u64, "maker");
        let enough = is_enough(&self.found.outcomes);
        say(enough, format!("{}{sure}: {tried} tried.", self.headline()))
    }

    /// What goes wrong with the machines that do not work, the most frequent first.
    pub fn wrongs(&self) -> Vec<WrongCount> {
        let mut all: Vec<WrongCount> = Vec::new();
        for criterion in self
            .found
            .outcomes
            .iter()
            .filter_map(|outcome| outcome.wrong)
        {
            let one = wrong(self.plan(), criterion);
            match all
                .iter_mut()
                .find(|other| (&other.what, &other.element) == (&one.what, &one.element))
            {
                Some(known) => known.makers += 1,
                None => all.push(one),
            }
        }
        all.sort_by_key(|one| std::cmp::Reverse(one.makers));
        all
    }

    fn what_goes_wrong(&self) -> Option<Finding> {
        let wrongs = self.wrongs();
        if wrongs.is_empty() {
            return None;
        }
        let named: Vec<String> = (wrongs.iter().take(WRONGS))
            .map(|one| format!("{} ({})", one.sentence(), count(one.makers, "maker")))
            .collect();
        let more = match wrongs.len().saturating_sub(WRONGS) {
            0 => String::new(),
            more => format!(", and {more} more"),
        };
        let text = format!(
            "What goes wrong with the others: {}{more}.",
            named.join(", ")
        );
        Some(say(false, text))
    }

    fn show(&self, error: &BuildError, amount: f64) -> String {
        error.show_in(amount, self.system)
    }

    fn error(&self, index: usize) -> &BuildError {
        &self.plans.errors[index]
    }

    fn deciding(&self, ranking: &Ranking) -> Finding {
        let chance = of_hundred(&ranking.by_chance);
        let tried = count(u64::from(ranking.makers), "maker");
        let mut deciding = ranking.deciding();
        let Some(first) = deciding.next() else {
            let text = match ranking.errors.first() {
                Some(first) if first.turns.value == Some(0.0) => {
                    format!("No error drawn anew alone turns the answer for any of {tried}.")
                }
                Some(first) => format!(
                    "No single error decides: even {}, drawn anew alone, turns the answer for {} makers, and other runs of \
                     the same machines turn it for {chance} ({tried} tried).",
                    self.error(first.error).name,
                    of_hundred(&first.turns),
                ),
                None => "No machine fails: nothing need be made more exactly.".to_owned(),
            };
            return say(true, text);
        };
        let next: Vec<String> = deciding.take(NAMED).map(|one| self.turns(one)).collect();
        let next = if next.is_empty() {
            String::new()
        } else {
            format!(" Next: {}.", next.join("; "))
        };
        let text = format!(
            "What decides is the {}{}: drawn anew alone, it turns the answer for {} makers{}; other runs of the same machines turn it \
             for {chance} ({tried} tried).{next}",
            self.error(first.error).name,
            self.made_to(first.error),
            of_hundred(&first.turns),
            sure(&first.turns),
        );
        say(true, text)
    }

    fn turns(&self, one: &Importance) -> String {
        let error = self.error(one.error);
        format!(
            "the {}{}, for {}",
            error.name,
            self.made_to(one.error),
            of_hundred(&one.turns)
        )
    }

    fn made_to(&self, index: usize) -> String {
        let error = self.error(index);
        match error.law {
            BuildErrorLaw::Normal { sd } => format!(" (made to ±{})", self.show(error, sd)),
            BuildErrorLaw::Uniform { low, high, .. } => {
                format!(
                    " (not known: {} to {})",
                    self.show(error, low),
                    self.show(error, high)
                )
            }
        }
    }

    /// How exact it must be for enough machines to work.
    fn exact(&self, tried: &Exactness) -> Finding {
        let enough = of_hundred(&Estimate::point(ENOUGH));
        let Some(scale) = tried.scale else {
            let names: Vec<String> = (tried.errors.iter())
                .map(|&index| format!("the {}", self.error(index).name))
                .collect();
            let text = format!(
                "Even with {} exact, {} have a machine that works{}.",
                names.join(" and "),
                of_makers(&tried.share),
                sure(&tried.share),
            );
            return say(false, text);
        };
        let mut parts = Vec::new();
        for &index in &tried.errors {
            parts.push(self.asked(index, scale));
        }
        let text = format!(
            "For {enough} machines to work: {} (then {} work{}).",
            parts.join(", and "),
            of_hundred(&tried.share),
            sure(&tried.share),
        );
        say(true, text)
    }

    /// What is asked of one error.
    pub fn asked(&self, index: usize, scale: f64) -> String {
        let error = self.error(index);
        match error.law {
            BuildErrorLaw::Normal { .. } if scale <= 0.0 => {
                format!("make the {} as exact as you can", error.name)
            }
            BuildErrorLaw::Normal { sd } => format!(
                "make the {} to ±{} instead of ±{}",
                error.name,
                self.show(error, sd * scale),
                self.show(error, sd)
            ),
            BuildErrorLaw::Uniform { low, high, usual } => {
                let end = |end: f64| self.show(error, usual + scale * (end - usual));
                format!(
                    "the {} has to be between {} and {}, not anywhere from {} to {} (measure it: `{}`)",
                    error.name,
                    end(low),
                    end(high),
                    self.show(error, low),
                    self.show(error, high),
                    error.key
                )
            }
        }
    }

    fn how_errors_come(&self) -> Finding {
        let constants = self
            .plans
            .errors
            .iter()
            .filter(|error| error.is_constant())
            .count();
        let made = self.plans.errors.len() - constants;
        let errs = format!(
            "Each maker errs once, for the life of the machine, in {} (± is one standard deviation, assumed where `workshop` in the \
             file gives none).",
            count(made as u64, "thing"),
        );
        let open = match constants {
            0 => String::new(),
            1 => " The constant that the file leaves open stands anywhere in its range.".to_owned(),
            n => format!(
                " The {n} constants that the file leaves open stand anywhere in their ranges."
            ),
        };
        say(true, errs + &open)
    }

    /// How well places that were not looked at are foreseen.
    fn foreseen(&self) -> Option<Finding> {
        let table = &self.plans.table;
        if !table.interpolates() {
            return None;
        }
        let held_out = table.held_out();
        let mut parts = Vec::new();
        for (what, words) in [
            (Foreseen::Take, "the chance that a pocket takes its marble"),
            (Foreseen::Arch, "that marbles arch"),
        ] {
            if let Some(worst) = worst(&held_out, what) {
                let (off, noise) = (percent(worst.off), percent(worst.noise));
                parts.push(format!(
                    "{words} is off by {off} (the shortness of a look alone: {noise})"
                ));
            }
        }
        if let Some(worst) = worst(&held_out, Foreseen::Time) {
            let (off, noise) = (percent(worst.off), percent(worst.noise));
            parts.push(format!(
                "times inside floors and bowls by {off} of them ({noise})"
            ));
        }
        let stalls = held_out.iter().filter(|one| one.what == Foreseen::Stall);
        if let Some(most) = stalls.map(|one| one.misjudged).max_by(f64::total_cmp) {
            parts.push(format!(
                "whether it ever stalls the wheel is foreseen at {} of 100",
                (100.0 * (1.0 - most)).round()
            ));
        }
        let text = format!(
            "Interpolated between {} close looks; at places not used, {}.",
            table.looks(),
            parts.join(", "),
        );
        Some(say(true, text))
    }

    fn effort(&self) -> Finding {
        let effort = self.plans.effort();
        let (hours, runs) = (duration(seconds(effort.study.horizon)), effort.runs);
        let stopped = if self.found.is_complete() {
            ""
        } else {
            " It was stopped before all was done."
        };
        let text = format!(
            "A machine works here if its {} of {hours}, as they stand, keep to `workable`.{stopped}",
            count(u64::from(runs), "run")
        );
        say(self.found.is_complete(), text)
    }

    /// The chart of it.
    pub fn picture(&self, format: Format) -> Picture {
        let effort = self.plans.effort();
        let repeat = format!(
            "seed {}, {} with {} of {} each",
            effort.study.seed,
            count(self.found.outcomes.len() as u64, "maker"),
            count(u64::from(effort.runs), "run"),
            duration(seconds(effort.study.horizon))
        );
        charts::tolerance::picture(&self.drawn(), (&self.plan().title, &repeat), format)
    }

    fn drawn(&self) -> charts::tolerance::ToleranceBars {
        let many = self.found.outcomes.len() as u64;
        let mut outcomes = vec![("works".to_owned(), share(&self.found.outcomes))];
        for one in self.wrongs() {
            outcomes.push((
                one.label(),
                crate::stats::proportion::wilson(one.makers, many, 0.95),
            ));
        }
        let mut errors = Vec::new();
        let mut decides = String::new();
        let mut by_chance = None;
        if let Some(ranking) = &self.found.ranking {
            by_chance = ranking.by_chance.value;
            for one in &ranking.errors {
                errors.push((self.error(one.error).name.replace('`', ""), one.turns));
            }
            if let Some(first) = ranking.deciding().next() {
                decides = format!(
                    "; the {} decides",
                    self.error(first.error).name.replace('`', "")
                );
            }
        }
        charts::tolerance::ToleranceBars {
            title: format!("{}{decides}", self.headline()),
            outcomes,
            errors,
            by_chance,
        }
    }

    /// All of it as JSON.
    pub fn json(&self) -> String {
        ToleranceJson::of(self).text()
    }
}

impl WrongCount {
    /// As part of a sentence.
    fn sentence(&self) -> String {
        match &self.element {
            Some(element) => format!("`{element}` {}", self.what),
            None => format!("it {}", self.what),
        }
    }

    /// As a label.
    fn label(&self) -> String {
        match &self.element {
            Some(element) => format!("{element} {}", self.what),
            None => self.what.clone(),
        }
    }
}

fn wrong(plan: &Machine, criterion: Criterion) -> WrongCount {
    let (what, element) = match criterion {
        Criterion::Gridlock => ("locks up", None),
        Criterion::RanDry => ("comes to rest", None),
        Criterion::Jams => ("jams", None),
        Criterion::Spills => ("loses marbles", None),
        Criterion::PouredIn => ("has no room for the load", None),
        Criterion::Fill(n) => ("is starved", Some(n)),
        Criterion::Backlog(n) => ("backs up", Some(n)),
    };
    WrongCount {
        what: what.to_owned(),
        element: element.map(|n: usize| plan.elements[n].name.clone()),
        makers: 1,
    }
}

fn worst(held_out: &[HeldOut], what: Foreseen) -> Option<&HeldOut> {
    let of = held_out.iter().filter(|one| one.what == what);
    of.max_by(|one, other| one.beyond_noise().total_cmp(&other.beyond_noise()))
}

/// `63 of 100 makers`.
fn of_makers(share: &Estimate) -> String {
    format!("{} makers", of_hundred(share))
}

/// `63 of 100`.
fn of_hundred(share: &Estimate) -> String {
    match share.value {
        Some(value) => format!("{:.0} of 100", value * 100.0),
        None => "an unknown number of 100".to_owned(),
    }
}

fn sure(share: &Estimate) -> String {
    let hundred = |share: f64| format!("{:.0}", share * 100.0);
    match sure_between((share.low, share.high), hundred) {
        Some(text) => format!(" ({text})"),
        None => String::new(),
    }
}

fn say(good: bool, text: String) -> Finding {
    Finding {
        about: "machine".to_owned(),
        good,
        text,
    }
}
