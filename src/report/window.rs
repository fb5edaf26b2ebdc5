//! The workable window in sentences and as JSON.

use std::ops::RangeInclusive;

use serde::Serialize;

use super::judged::JudgementJson;
use crate::charts;
use crate::charts::canvas::Picture;
use crate::circuit::Circuit;
use crate::findings::sentences::Finding;
use crate::findings::verdict_text::{example, standard, standing, tell, tolerance};
use crate::findings::words::{count, duration, figure, percent};
use crate::findings::workable::{CriterionResult, Verdict};
use crate::machine::model::Workable;
use crate::study::found_window::{TriedLoad, Window, WindowEdge};
use crate::study::window::Search;

/// What the sentences are about.
#[derive(Clone, Copy, Debug)]
pub struct WindowStudy<'a> {
    /// The machine's title.
    pub title: &'a str,
    /// The circuit; its own load does not matter.
    pub circuit: &'a Circuit,
    /// Speed of the drive, where it turns any wheel.
    pub rpm: Option<f64>,
    /// Hours of each run.
    pub hours: f64,
    /// What counts as working.
    pub workable: &'a Workable,
    /// What was searched.
    pub search: &'a Search,
    /// What was found.
    pub window: &'a Window,
}

impl WindowStudy<'_> {
    /// The answer, and what stands behind it.
    pub fn findings(&self) -> Vec<Finding> {
        let mut all = vec![self.answer()];
        if self.window.least.is_some() {
            all.extend(self.window.below().map(|load| self.beyond("Below", load)));
            all.extend(self.window.above().map(|load| self.beyond("Above", load)));
            for hole in self.window.inside(Verdict::Broken) {
                all.push(self.hole(hole));
            }
            all.extend(self.doubts());
        } else {
            all.extend(self.stretches());
        }
        all.extend(self.too_few());
        all.push(say(true, standard(self.circuit, self.workable)));
        all.push(say(true, self.effort()));
        all
    }

    /// The answer in a few words: from which load to which it surely works.
    pub fn headline(&self) -> String {
        let speed = self.speed();
        match (self.window.least, self.window.most) {
            (Some(least), Some(most)) => {
                let holes = if self.window.inside(Verdict::Broken).is_empty() {
                    ""
                } else {
                    ", but not with all between"
                };
                format!("Works with {}{speed}{holes}", sure_loads(least, most))
            }
            _ => format!(
                "No load from {} to {} marbles is shown to work{speed}",
                self.search.from, self.search.to
            ),
        }
    }

    fn answer(&self) -> Finding {
        let sure = format!(
            "wrong at an edge in at most {} of such studies",
            percent(self.search.error)
        );
        let (headline, tolerated) = (self.headline(), tolerance(self.workable));
        match (self.window.least, self.window.most) {
            (Some(least), Some(most)) => {
                let open = self.between(least.low..=least.high - 1, false)
                    + &self.between(most.low + 1..=most.high, true);
                let met = self.no_edge(least, "lower") + &self.no_edge(most, "upper");
                say(
                    true,
                    format!("{headline} ({sure}; {tolerated}).{open}{met}"),
                )
            }
            _ => say(
                false,
                format!("{headline} ({tolerated}).{}", self.may_work()),
            ),
        }
    }

    fn no_edge(&self, edge: WindowEdge, which: &str) -> String {
        let (words, end) = match which {
            "lower" => ("began", self.search.from),
            _ => ("ended", self.search.to),
        };
        if edge.open {
            format!(" The search {words} at {end} and met no {which} edge.")
        } else {
            String::new()
        }
    }

    /// What is known of some loads, above or below those that surely work, which the runs do not settle.
    fn between(&self, unsettled: RangeInclusive<u32>, above: bool) -> String {
        if unsettled.is_empty() {
            return String::new();
        }
        let tried = self.window.tried.iter();
        let mut between = tried.filter(|load| unsettled.contains(&load.marbles));
        let nearest = if above {
            between.next()
        } else {
            between.next_back()
        };
        let why = match nearest {
            Some(load) => self.unsettled(load),
            None => String::new(),
        };
        format!(
            " With {} the runs do not settle it{why}.",
            loads(unsettled.clone())
        )
    }

    /// What is open at a load. What looks wrong says more than what merely is not sure yet.
    fn unsettled(&self, load: &TriedLoad) -> String {
        let results = load.judgement.results.iter();
        let open: Vec<_> = results.filter(|r| r.verdict == Verdict::Unsure).collect();
        let wrong = open.iter().find(|result| !result.likely);
        let Some(result) = wrong.or(open.first()) else {
            return String::new();
        };
        let standing = standing(self.circuit, result);
        format!(" (with {}, {standing})", load.marbles)
    }

    fn may_work(&self) -> String {
        match self.window.likely().as_slice() {
            [] => String::new(),
            [one] => format!(" With {one} it may."),
            all => format!(" With {} to {} it may.", all[0], all[all.len() - 1]),
        }
    }

    fn beyond(&self, word: &str, load: &TriedLoad) -> Finding {
        say(
            false,
            format!(
                "{word}: with {}, {}.",
                count(u64::from(load.marbles), "marble"),
                self.broken(load)
            ),
        )
    }

    /// What is broken at a load, the gravest first, with a run to look at.
    fn broken(&self, load: &TriedLoad) -> String {
        let broken = load.judgement.broken();
        let texts: Vec<String> = broken
            .map(|result| self.with_example(load, result))
            .collect();
        texts.join("; ")
    }

    /// What is wrong, with the seed and a run to look at.
    fn with_example(&self, load: &TriedLoad, result: &CriterionResult) -> String {
        let text = tell(self.circuit, result);
        let seed = self.search.seed;
        match example(result, &load.runs.totals) {
            Some(run) => format!("{text} (seed {seed}, run {run})"),
            None => format!("{text} (seed {seed})"),
        }
    }

    fn hole(&self, (first, last): (u32, u32)) -> Finding {
        let mut tried = self.window.tried.iter();
        let why = match tried.find(|load| load.marbles == first) {
            Some(load) => self.broken(load),
            None => String::new(),
        };
        let which = loads(first..=last);
        say(false, format!("A hole in the window: {which}: {why}."))
    }

    fn doubts(&self) -> Option<Finding> {
        let doubtful = self.window.inside(Verdict::Unsure);
        if doubtful.is_empty() {
            return None;
        }
        let doubtful: Vec<String> = doubtful
            .into_iter()
            .map(|(first, last)| loads(first..=last))
            .collect();
        let text = format!(
            "Inside the window the runs are not sure of {}.",
            doubtful.join(", ")
        );
        Some(say(false, text))
    }

    /// Where no load works: what goes wrong first, from which load to which.
    fn stretches(&self) -> Vec<Finding> {
        let mut shown = Vec::new();
        for load in &self.window.tried {
            if let Some(result) = load.judgement.broken().next() {
                shown.push((load, result));
            }
        }
        shown
            .chunk_by(|a, b| a.1.criterion == b.1.criterion)
            .map(|stretch| self.stretch(stretch))
            .collect()
    }

    fn stretch(&self, stretch: &[(&TriedLoad, &CriterionResult)]) -> Finding {
        let (first, last) = (stretch[0].0.marbles, stretch[stretch.len() - 1].0.marbles);
        let (load, result) = stretch[stretch.len() / 2];
        let at = if first == last {
            String::new()
        } else {
            format!(" with {}", load.marbles)
        };
        let (which, text) = (loads(first..=last), self.with_example(load, result));
        say(false, format!("With {which}:{at} {text}."))
    }

    fn too_few(&self) -> Option<Finding> {
        let needed = self.search.runs_needed(self.workable);
        if self.search.runs >= needed {
            return None;
        }
        let runs = count(u64::from(self.search.runs), "run");
        let text = format!(
            "{runs} of each load are too few to show that any works: take {needed} or more (--runs)."
        );
        Some(say(false, text))
    }

    fn effort(&self) -> String {
        let (tried, from, to) = (self.window.tried.len(), self.search.from, self.search.to);
        let all = (to - from + 1) as usize;
        let runs = format!(
            "{} of {}",
            count(self.window.runs, "run"),
            duration(self.hours * 3600.0)
        );
        if tried == all {
            return format!("Tried all loads from {from} to {to} in {runs}.");
        }
        format!(
            "Tried {tried} of the {all} loads from {from} to {to} in {runs}; a load between two that are alike is taken to be like them."
        )
    }

    fn speed(&self) -> String {
        match self.rpm {
            Some(rpm) => format!(" at {} rpm", figure(rpm)),
            None => String::new(),
        }
    }

    /// The chart of it.
    pub fn picture(&self) -> Picture {
        let runs = count(u64::from(self.search.runs), "run");
        let repeat = format!(
            "seed {}, up to {runs} of {} each",
            self.search.seed,
            duration(self.hours * 3600.0)
        );
        charts::window::picture(
            self.circuit,
            self.window,
            &self.headline(),
            (self.title, &repeat),
        )
    }

    /// The study as JSON.
    pub fn json(&self) -> String {
        let tried = self.window.tried.iter();
        let all = WindowJson {
            format: 1,
            title: self.title,
            rpm: self.rpm,
            seed: self.search.seed,
            hours: self.hours,
            runs_each: self.search.runs,
            runs: self.window.runs,
            from: self.search.from,
            to: self.search.to,
            error: self.search.error,
            least: self.window.least,
            most: self.window.most,
            holes: self.window.inside(Verdict::Broken),
            unsure: self.window.inside(Verdict::Unsure),
            loads: tried.map(|load| self.load_json(load)).collect(),
        };
        serde_json::to_string_pretty(&all).unwrap_or_default()
    }

    fn load_json(&self, load: &TriedLoad) -> LoadJson<'_> {
        let judged = JudgementJson::new(self.circuit, &load.judgement, &load.runs.totals);
        LoadJson {
            marbles: load.marbles,
            runs: load.runs.count(),
            judged,
        }
    }
}

/// The loads that surely work: `23 to 74 marbles`; where an edge is not known to the marble, `23 (perhaps fewer) to at least
/// 74 marbles`.
fn sure_loads(least: WindowEdge, most: WindowEdge) -> String {
    let fewer = if least.low < least.high {
        " (perhaps fewer)"
    } else {
        ""
    };
    let more = if most.low < most.high || most.open {
        "at least "
    } else {
        ""
    };
    match (least.high == most.low, fewer.is_empty() && more.is_empty()) {
        (true, true) => count(u64::from(least.high), "marble"),
        (true, false) => format!(
            "{}, perhaps with other loads",
            count(u64::from(least.high), "marble")
        ),
        (false, _) => format!("{}{fewer} to {more}{} marbles", least.high, most.low),
    }
}

fn loads(range: RangeInclusive<u32>) -> String {
    let (first, last) = range.into_inner();
    if first == last {
        count(u64::from(first), "marble")
    } else {
        format!("{first} to {last} marbles")
    }
}

fn say(good: bool, text: String) -> Finding {
    Finding {
        about: "machine".to_owned(),
        good,
        text,
    }
}

#[derive(Serialize)]
struct WindowJson<'a> {
    format: u32,
    title: &'a str,
    rpm: Option<f64>,
    seed: u64,
    hours: f64,
    runs_each: u32,
    runs: u64,
    from: u32,
    to: u32,
    error: f64,
    least: Option<WindowEdge>,
    most: Option<WindowEdge>,
    holes: Vec<(u32, u32)>,
    unsure: Vec<(u32, u32)>,
    loads: Vec<LoadJson<'a>>,
}

#[derive(Serialize)]
struct LoadJson<'a> {
    marbles: u32,
    runs: usize,
    #[serde(flatten)]
    judged: JudgementJson<'a>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What may be is said beside what surely is, never in its place.
    #[test]
    fn the_loads_that_surely_work_are_named_first() {
        let edge = |low, value, high| WindowEdge {
            low,
            value,
            high,
            open: false,
        };
        let said = |least, most| sure_loads(least, most);
        assert_eq!(said(edge(23, 23, 23), edge(74, 74, 74)), "23 to 74 marbles");
        assert_eq!(
            said(edge(23, 23, 23), edge(74, 396, 396)),
            "23 to at least 74 marbles"
        );
        assert_eq!(
            said(edge(20, 21, 23), edge(74, 80, 90)),
            "23 (perhaps fewer) to at least 74 marbles"
        );
        assert_eq!(said(edge(5, 5, 5), edge(5, 5, 5)), "5 marbles");
        assert_eq!(
            said(edge(4, 5, 5), edge(5, 6, 8)),
            "5 marbles, perhaps with other loads"
        );
        assert_eq!(
            said(
                edge(1, 1, 1),
                WindowEdge {
                    open: true,
                    ..edge(20, 20, 20)
                }
            ),
            "1 to at least 20 marbles"
        );
    }
}
