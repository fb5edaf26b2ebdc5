//! The workable window in sentences and as JSON.

use std::ops::RangeInclusive;

use super::window_json;
use crate::charts;
use crate::charts::canvas::{Format, Picture};
use crate::circuit::Circuit;
use crate::findings::sentences::Finding;
use crate::findings::verdict_text::{example, standard, standing, tell, tolerance};
use crate::findings::words::{capital, count, duration, figure, percent, setting};
use crate::findings::workable::{CriterionResult, Verdict};
use crate::machine::model::Workable;
use crate::machine::units::plain;
use crate::study::axis::Axis;
use crate::study::found_window::{TriedValue, Window, WindowEdge};
use crate::study::window::Search;

/// Stretches between holes that are named.
const STRETCHES: usize = 3;

/// What the sentences are about.
#[derive(Clone, Copy, Debug)]
pub struct WindowStudy<'a> {
    /// The machine's title.
    pub title: &'a str,
    /// The circuit of the file; what is searched does not matter.
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
    fn axis(&self) -> &Axis {
        &self.search.axis
    }

    /// Positions of the axis as the values from one to the other.
    fn values(&self, positions: RangeInclusive<usize>) -> RangeInclusive<f64> {
        self.axis().value(*positions.start())..=self.axis().value(*positions.end())
    }

    /// The answer, and what stands behind it.
    pub fn findings(&self) -> Vec<Finding> {
        let mut all = vec![self.answer()];
        if self.window.least.is_some() {
            all.extend(self.window.below().map(|value| self.beyond("Below", value)));
            all.extend(self.window.above().map(|value| self.beyond("Above", value)));
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

    /// The answer in a few words: from which value to which it surely works; of keys other than the load, also from which to
    /// which it may.
    pub fn headline(&self) -> String {
        let (Some(least), Some(most)) = (self.window.least, self.window.most) else {
            return self.not_shown();
        };
        let works = if !self.window.inside(Verdict::Broken).is_empty() {
            self.sure_stretches()
        } else if self.axis().is_every_load() {
            format!("Works with {}", self.sure_loads(least, most))
        } else {
            self.sure_and_perhaps(least, most)
        };
        format!("{works}{}", self.setting("and"))
    }

    /// Where no value is shown to work: those that may, if any does.
    fn not_shown(&self) -> String {
        let axis = self.axis();
        if let Some((first, last)) = self.window.likely() {
            return format!(
                "Perhaps works {}{}; the runs do not settle it",
                axis.at_range(self.values(first..=last)),
                self.setting("and")
            );
        }
        format!(
            "No {} from {} to {} is shown to work{}",
            axis.name(),
            plain(axis.from),
            axis.said(axis.last()),
            self.setting("with")
        )
    }

    /// The stretches that surely work, with holes between: the widest, where they are many.
    fn sure_stretches(&self) -> String {
        let mut widest = self.window.sure();
        let all = widest.len();
        widest.sort_by_key(|(first, last)| first.abs_diff(*last));
        let mut named = widest.split_off(all.saturating_sub(STRETCHES));
        named.sort_unstable();
        let mut said = Vec::new();
        for (n, (first, last)) in named.into_iter().enumerate() {
            let range = self.values(first..=last);
            said.push(match n {
                0 => self.axis().at_range(range),
                _ => self.axis().said_range(range),
            });
        }
        let elsewhere = if all > STRETCHES {
            " and elsewhere"
        } else {
            ""
        };
        format!(
            "Surely works {}{elsewhere}, not everywhere between,",
            said.join(" and ")
        )
    }

    /// The loads that surely work: `23 to 74 marbles`; where an edge is not known to the marble, `23 (perhaps fewer) to at
    /// least 74 marbles`.
    fn sure_loads(&self, least: WindowEdge, most: WindowEdge) -> String {
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
        let (first, last) = self.values(least.high..=most.low).into_inner();
        match (first == last, fewer.is_empty() && more.is_empty()) {
            (true, true) => self.axis().said(first),
            (true, false) => format!("{}, perhaps with other loads", self.axis().said(first)),
            (false, _) => format!("{first}{fewer} to {more}{last} marbles"),
        }
    }

    /// The values that surely work, and those that may.
    fn sure_and_perhaps(&self, least: WindowEdge, most: WindowEdge) -> String {
        let sure = self.values(least.high..=most.low);
        let perhaps = self.values(least.low..=most.high);
        let surely = self.axis().at_range(sure.clone());
        if sure == perhaps {
            return format!("Works {surely}");
        }
        let (first, last) = perhaps.into_inner();
        let last = plain(last);
        format!(
            "Surely works {surely}, perhaps from {} to {last},",
            plain(first)
        )
    }

    fn answer(&self) -> Finding {
        let sure = format!(
            "wrong at an edge in at most {} of such studies",
            percent(self.search.error)
        );
        let (headline, tolerated) = (self.headline(), tolerance(self.workable));
        match (self.window.least, self.window.most) {
            (Some(least), Some(most)) => {
                let below = (least.low < least.high)
                    .then(|| self.unsettled_stretch(least.low..=least.high - 1, false));
                let above = (most.low < most.high)
                    .then(|| self.unsettled_stretch(most.low + 1..=most.high, true));
                let open = below.unwrap_or_default() + &above.unwrap_or_default();
                let met = self.no_edge(least, "lower") + &self.no_edge(most, "upper");
                say(
                    true,
                    format!("{headline} ({sure}; {tolerated}).{open}{met}"),
                )
            }
            _ => say(false, format!("{headline} ({tolerated}).")),
        }
    }

    fn no_edge(&self, edge: WindowEdge, which: &str) -> String {
        let (words, end) = match which {
            "lower" => ("began", self.axis().from),
            _ => ("ended", self.axis().last()),
        };
        if edge.open {
            let end = plain(end);
            format!(" The search {words} at {end} and met no {which} edge.")
        } else {
            String::new()
        }
    }

    /// What is known of some values, above or below those that surely work, which the runs do not settle.
    fn unsettled_stretch(&self, positions: RangeInclusive<usize>, above: bool) -> String {
        let tried = self.window.tried.iter();
        let mut between = tried.filter(|value| positions.contains(&value.position));
        let nearest = if above {
            between.next()
        } else {
            between.next_back()
        };
        let why = match nearest {
            Some(value) => self.unsettled(value),
            None => String::new(),
        };
        let stretch = self.axis().at_range(self.values(positions.clone()));
        format!(" {} the runs do not settle it{why}.", capital(&stretch))
    }

    /// What is open at a value. What looks wrong says more than what merely is not sure yet.
    fn unsettled(&self, value: &TriedValue) -> String {
        let results = value.judgement.results.iter();
        let open: Vec<_> = results.filter(|r| r.verdict == Verdict::Unsure).collect();
        let wrong = open.iter().find(|result| !result.likely);
        let Some(result) = wrong.or(open.first()) else {
            return String::new();
        };
        let standing = standing(self.circuit, result);
        format!(" ({}, {standing})", self.shortly_at(value.position))
    }

    /// `with 34`, `at 7 rpm`: a value in a sentence that has the unit of the load already.
    fn shortly_at(&self, position: usize) -> String {
        let value = self.axis().value(position);
        if self.axis().is_load() {
            format!("with {}", plain(value))
        } else {
            self.axis().at(value)
        }
    }

    fn beyond(&self, word: &str, value: &TriedValue) -> Finding {
        let at = self.axis().at(self.axis().value(value.position));
        say(false, format!("{word}: {at}, {}.", self.broken(value)))
    }

    /// What is broken at a value, the gravest first, with a run to look at.
    fn broken(&self, value: &TriedValue) -> String {
        if let Some(why) = &value.impossible {
            return no_machine(why);
        }
        let broken = value.judgement.broken();
        let texts: Vec<String> = broken
            .map(|result| self.with_example(value, result))
            .collect();
        texts.join("; ")
    }

    /// What is wrong, with the seed and a run to look at.
    fn with_example(&self, value: &TriedValue, result: &CriterionResult) -> String {
        let text = tell(self.circuit, result);
        let seed = self.search.seed;
        match example(result, &value.runs.totals) {
            Some(run) => format!("{text} (seed {seed}, run {run})"),
            None => format!("{text} (seed {seed})"),
        }
    }

    fn hole(&self, (first, last): (usize, usize)) -> Finding {
        let mut tried = self.window.tried.iter();
        let why = match tried.find(|value| value.position == first) {
            Some(value) => self.broken(value),
            None => String::new(),
        };
        let which = self.axis().said_range(self.values(first..=last));
        say(false, format!("A hole in the window: {which}: {why}."))
    }

    fn doubts(&self) -> Option<Finding> {
        let doubtful = self.window.inside(Verdict::Unsure);
        if doubtful.is_empty() {
            return None;
        }
        let doubtful: Vec<String> = doubtful
            .into_iter()
            .map(|(first, last)| self.axis().said_range(self.values(first..=last)))
            .collect();
        let text = format!(
            "Inside the window the runs are not sure of {}.",
            doubtful.join(", ")
        );
        Some(say(false, text))
    }

    /// Where no value works: what goes wrong first, from which value to which.
    fn stretches(&self) -> Vec<Finding> {
        let mut shown = Vec::new();
        for value in &self.window.tried {
            let broken = value.judgement.broken().next();
            if broken.is_some() || value.impossible.is_some() {
                shown.push((value, broken));
            }
        }
        let criterion = |(_, broken): &(_, Option<&CriterionResult>)| broken.map(|b| b.criterion);
        shown
            .chunk_by(|a, b| criterion(a) == criterion(b))
            .map(|stretch| self.stretch(stretch))
            .collect()
    }

    fn stretch(&self, stretch: &[(&TriedValue, Option<&CriterionResult>)]) -> Finding {
        let (first, last) = (stretch[0].0.position, stretch[stretch.len() - 1].0.position);
        let (value, result) = stretch[stretch.len() / 2];
        let at = if first == last {
            String::new()
        } else {
            format!(" {}", self.shortly_at(value.position))
        };
        let text = match (result, &value.impossible) {
            (Some(result), _) => self.with_example(value, result),
            (None, why) => no_machine(why.as_deref().unwrap_or_default()),
        };
        let which = capital(&self.axis().at_range(self.values(first..=last)));
        say(false, format!("{which}:{at} {text}."))
    }

    fn too_few(&self) -> Option<Finding> {
        let needed = self.search.runs_needed(self.workable);
        if self.search.runs >= needed {
            return None;
        }
        let (runs, each) = (count(u64::from(self.search.runs), "run"), self.each());
        let text = format!(
            "{runs} of each {each} are too few to show that any works: take {needed} or more (--runs)."
        );
        Some(say(false, text))
    }

    /// What one of the things tried is.
    fn each(&self) -> &'static str {
        if self.axis().is_load() {
            "load"
        } else {
            "value"
        }
    }

    fn effort(&self) -> String {
        let (axis, each, tried) = (self.axis(), self.each(), self.window.tried.len());
        let runs = format!(
            "{} of {}",
            count(self.window.runs, "run"),
            duration(self.hours * 3600.0)
        );
        let last = match axis.is_load() {
            true => plain(axis.last()),
            false => axis.said(axis.last()),
        };
        let every = match axis.is_every_load() {
            true => String::new(),
            false => format!(" in steps of {}", plain(axis.step)),
        };
        let range = format!("{each}s from {} to {last}{every}", plain(axis.from));
        if tried == axis.count {
            return format!("Tried all {range} in {runs}.");
        }
        format!(
            "Tried {tried} of the {} {range} in {runs}; a {each} between two that are alike is taken to be like them.",
            axis.count
        )
    }

    /// What of load and speed stays as it is, `joined` to a sentence about another key.
    fn setting(&self, joined: &str) -> String {
        let axis = self.axis();
        match self.rpm {
            Some(rpm) if axis.is_load() => format!(" at {} rpm", figure(rpm)),
            None if axis.is_load() => String::new(),
            _ if axis.is_speed() => format!(" with {}", setting(self.circuit.marbles, None)),
            rpm => format!(" {joined} {}", setting(self.circuit.marbles, rpm)),
        }
    }

    /// The chart of it.
    pub fn picture(&self, format: Format) -> Picture {
        let runs = count(u64::from(self.search.runs), "run");
        let repeat = format!(
            "seed {}, up to {runs} of {} each",
            self.search.seed,
            duration(self.hours * 3600.0)
        );
        charts::window::picture(
            self.circuit,
            (self.window, self.axis()),
            &self.headline(),
            (self.title, &repeat),
            format,
        )
    }

    /// The study as JSON.
    pub fn json(&self) -> String {
        window_json::json(self)
    }
}

fn no_machine(why: &str) -> String {
    format!("it can't be built ({why})")
}

fn say(good: bool, text: String) -> Finding {
    Finding {
        about: "machine".to_owned(),
        good,
        text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edge(low: usize, value: usize, high: usize) -> WindowEdge {
        WindowEdge {
            low,
            value,
            high,
            open: false,
        }
    }

    /// The headline of a window of 14 marbles at 3 rpm.
    fn headline(axis: Axis, least: WindowEdge, most: WindowEdge) -> String {
        let file = include_str!("../../scenarios/starter-loop.yaml");
        let machine = crate::machine::read(file, &[]).expect("a sound file");
        let search = Search {
            axis,
            runs: 200,
            seed: 1,
            horizon: 1,
            error: 0.05,
        };
        let window = Window {
            tried: Vec::new(),
            least: Some(least),
            most: Some(most),
            runs: 0,
        };
        WindowStudy {
            title: "",
            circuit: &crate::circuit::rooms(&machine),
            rpm: Some(3.0),
            hours: 1.0,
            workable: &machine.workable,
            search: &search,
            window: &window,
        }
        .headline()
    }

    /// What may be is said beside what surely is, never in its place.
    #[test]
    fn the_loads_that_surely_work_are_named_first() {
        let said = |least, most| {
            let said = headline(Axis::loads(0..=500), least, most);
            let said = said.strip_prefix("Works with ").expect(&said);
            said.strip_suffix(" at 3 rpm").expect(said).to_owned()
        };
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

    #[test]
    fn of_any_other_key_both_ranges_are_named() {
        let speed = || Axis::parse("rpm=3..15/0.5").expect("a range");
        assert_eq!(
            headline(speed(), edge(4, 4, 5), edge(9, 9, 12)),
            "Surely works at 5.5 to 7.5 rpm, perhaps from 5 to 9, with 14 marbles"
        );
        assert_eq!(
            headline(speed(), edge(4, 4, 4), edge(9, 9, 9)),
            "Works at 5 to 7.5 rpm with 14 marbles"
        );
        let length = Axis::parse("circuit.ramp.length=300mm..500mm/10mm").expect("a range");
        assert_eq!(
            headline(length, edge(1, 1, 2), edge(2, 2, 2)),
            "Surely works with length of ramp 320 mm, perhaps from 310 to 320, and 14 marbles at 3 rpm"
        );
    }
}
