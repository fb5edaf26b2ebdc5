//! What mends a machine, or would break it first, in sentences and as JSON.

use serde::Serialize;

use super::JudgementJson;
use crate::charts;
use crate::charts::canvas::{Format, Picture};
use crate::charts::mend::{MendRow, MendRows};
use crate::circuit::Circuit;
use crate::findings::sentences::Finding;
use crate::findings::verdict_text::{Judged, heading, is_share, standard, tell};
use crate::findings::words::{capital, count, duration, figure, percent, setting};
use crate::findings::workable::{Criterion, CriterionResult, Verdict};
use crate::machine::model::{CostClass, Workable};
use crate::study::mend::{Alteration, ERROR, Mend, MendFound, TESTS, Tested, needed};
use crate::study::repeat::Study;

/// Criteria that are parts of each change, and drawn.
const MOST_WRONG: usize = 3;

/// What the sentences are about.
#[derive(Clone, Copy, Debug)]
pub struct MendReport<'a> {
    /// The machine's title.
    pub title: &'a str,
    /// The circuit of the file, for the names in it.
    pub circuit: &'a Circuit,
    /// Speed of the drive, where it turns any wheel.
    pub rpm: Option<f64>,
    /// Hours of each run.
    pub hours: f64,
    /// The seed, and the machine time of each run.
    pub study: Study,
    /// Runs of each test.
    pub runs_each: u32,
    /// What counts as working.
    pub workable: &'a Workable,
    /// What was found.
    pub found: &'a MendFound,
}

impl MendReport<'_> {
    /// Whether the machine is shown to work as it is.
    pub fn works(&self) -> bool {
        self.found.base.judgement.works()
    }

    /// The answer, and what stands behind it.
    pub fn findings(&self) -> Vec<Finding> {
        let mut all = vec![say(!self.found.shown.is_empty(), self.headline() + ".")];
        for (n, one) in self.found.shown.iter().enumerate() {
            let class = capital(self.class(one).says());
            let text = format!("{}. {class}: {}.", n + 1, self.line(one));
            all.push(say(!self.works(), text));
        }
        let seems = self.found.base.judgement.likely() && self.found.shown.is_empty();
        if !self.works() && !seems {
            let says = self.base().says();
            all.push(say(false, format!("As it is, it {says}.")));
        }
        all.extend(self.too_few());
        all.push(say(true, standard(self.circuit, self.workable)));
        all.push(say(true, self.effort()));
        all
    }

    /// The answer in a few words.
    pub fn headline(&self) -> String {
        let setting = setting(self.circuit.marbles, self.rpm);
        let first = self.found.shown.first();
        let stopped = match self.found.stopped {
            true => ", as far as the search came",
            false => "",
        };
        match (self.works(), first) {
            (true, Some(first)) => {
                format!(
                    "{setting} works{stopped}; nearest to breaking it: {}",
                    self.line(first)
                )
            }
            (true, None) => format!(
                "{setting} works{stopped}, and nothing that was changed, one key at a time, is shown to break it"
            ),
            (false, Some(first)) => format!("Cheapest mend{stopped}: {}", self.line(first)),
            (false, None) if self.found.base.judgement.likely() => {
                format!("{setting} {}", self.base().says())
            }
            (false, None) => format!(
                "No change of one key, and of no two together, is shown to mend {setting}{stopped}"
            ),
        }
    }

    fn base(&self) -> Judged<'_> {
        Judged {
            circuit: self.circuit,
            workable: self.workable,
            judgement: &self.found.base.judgement,
            runs: self.found.base.runs.count(),
            hours: self.hours,
            error: ERROR / TESTS as f64,
        }
    }

    /// The dearest of its changes.
    fn class(&self, one: &Mend) -> CostClass {
        let classes = one.changes.iter().map(Alteration::class);
        classes.max().unwrap_or(CostClass::Turn)
    }

    /// What is to be done, and what comes of it.
    fn line(&self, one: &Mend) -> String {
        let comes = match self.works() {
            true => self.breaks(&one.tested),
            false => self.buys(&one.tested),
        };
        format!("{}: {comes}", says(&one.changes))
    }

    /// What is broken after a change, the gravest.
    fn breaks(&self, tested: &Tested) -> String {
        match tested.judgement.broken().next() {
            Some(result) => tell(self.circuit, result),
            None => "it does not work".to_owned(),
        }
    }

    /// What was wrong, before and after: `jams in 8 h 2.1 to 0`.
    fn buys(&self, tested: &Tested) -> String {
        let mut parts = Vec::new();
        for before in self.wrong() {
            let mut results = tested.judgement.results.iter();
            if let Some(after) = results.find(|after| after.criterion == before.criterion) {
                let name = heading(self.circuit, before);
                parts.push(format!("{name} {} to {}", value(before), value(after)));
            }
        }
        if parts.is_empty() {
            return "shown to work".to_owned();
        }
        parts.join(", ")
    }

    /// What is wrong with the machine as it is: what is shown broken, else what looks so, else what is not settled.
    fn wrong(&self) -> Vec<&CriterionResult> {
        let results = || self.found.base.judgement.results.iter();
        let mut wrong: Vec<_> = results().filter(|r| r.verdict == Verdict::Broken).collect();
        if wrong.is_empty() {
            wrong = results().filter(|r| !r.likely).collect();
        }
        if wrong.is_empty() {
            wrong = results().filter(|r| r.verdict == Verdict::Unsure).collect();
        }
        wrong.truncate(MOST_WRONG);
        wrong
    }

    fn too_few(&self) -> Option<Finding> {
        let needed = needed(self.workable, self.hours);
        if self.runs_each >= needed {
            return None;
        }
        let runs = count(u64::from(self.runs_each), "run");
        let text = format!(
            "{runs} of each change are too few to show that any works: take {needed} or more (--runs)."
        );
        Some(say(false, text))
    }

    fn effort(&self) -> String {
        let found = self.found;
        format!(
            "Tried {} of {} in {} of {}, and tested what looked right on {} of its own; wrong in at most {} of such studies.",
            count(found.tried, "change"),
            count(found.keys as u64, "key"),
            count(found.runs, "run"),
            duration(self.hours * 3600.0),
            count(u64::from(self.runs_each), "run"),
            percent(ERROR)
        )
    }

    /// What decides, as the machine is and after each change.
    pub fn picture(&self, format: Format) -> Picture {
        let mut criteria: Vec<Criterion> = Vec::new();
        let shown = self.found.shown.iter();
        let results: Vec<&CriterionResult> = match self.works() {
            true => shown
                .filter_map(|one| one.tested.judgement.broken().next())
                .collect(),
            false => self.wrong(),
        };
        for result in results {
            if !criteria.contains(&result.criterion) && criteria.len() < MOST_WRONG {
                criteria.push(result.criterion);
            }
        }
        let mut rows = vec![MendRow {
            label: "as it is".to_owned(),
            tested: &self.found.base,
        }];
        rows.extend(self.found.shown.iter().map(|one| MendRow {
            label: says(&one.changes),
            tested: &one.tested,
        }));
        let runs = count(u64::from(self.runs_each), "run");
        let repeat = format!(
            "seed {}, {runs} of {} each",
            self.study.seed,
            duration(self.hours * 3600.0)
        );
        let rows = MendRows {
            circuit: self.circuit,
            criteria: &criteria,
            rows: &rows,
        };
        charts::mend::picture(&rows, &self.headline(), (self.title, &repeat), format)
    }

    /// The study as JSON.
    pub fn json(&self) -> String {
        let base = &self.found.base;
        let shown = self.found.shown.iter().map(|one| self.mend_json(one));
        let shown: Vec<_> = shown.collect();
        let (mends, margins) = match self.works() {
            true => (Vec::new(), shown),
            false => (shown, Vec::new()),
        };
        let all = MendJson {
            format: 1,
            title: self.title,
            marbles: self.circuit.marbles,
            rpm: self.rpm,
            seed: self.study.seed,
            hours: self.hours,
            runs_each: self.runs_each,
            error: ERROR,
            tests: TESTS,
            answer: self.headline(),
            as_it_is: JudgementJson::new(self.circuit, &base.judgement, &base.runs.totals),
            mends,
            margins,
            keys: self.found.keys,
            tried: self.found.tried,
            runs: self.found.runs,
            stopped: self.found.stopped,
        };
        serde_json::to_string_pretty(&all).unwrap_or_default()
    }

    fn mend_json<'a>(&'a self, one: &'a Mend) -> MendedJson<'a> {
        let change = |of: &'a Alteration| ChangeJson {
            key: &of.of.key,
            from: &of.of.stands_at,
            to: &of.to,
            steps: of.steps,
            class: of.class(),
        };
        let totals = &one.tested.runs.totals;
        MendedJson {
            says: self.line(one),
            class: self.class(one),
            changes: one.changes.iter().map(change).collect(),
            judged: JudgementJson::new(self.circuit, &one.tested.judgement, totals),
        }
    }
}

/// What is to be done: `add 4 marbles (14 to 18), and ...`.
pub fn says(changes: &[Alteration]) -> String {
    let all: Vec<String> = changes.iter().map(Alteration::says).collect();
    all.join(", and ")
}

/// A figure as it is parts: a share, or a number.
fn value(result: &CriterionResult) -> String {
    match result.figure.value {
        Some(value) if is_share(result) => percent(value),
        Some(value) => figure(value),
        None => "unknown".to_owned(),
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
struct MendJson<'a> {
    format: u32,
    title: &'a str,
    marbles: u32,
    rpm: Option<f64>,
    seed: u64,
    hours: f64,
    runs_each: u32,
    error: f64,
    tests: usize,
    answer: String,
    as_it_is: JudgementJson<'a>,
    mends: Vec<MendedJson<'a>>,
    margins: Vec<MendedJson<'a>>,
    keys: usize,
    tried: u64,
    runs: u64,
    stopped: bool,
}

#[derive(Serialize)]
struct MendedJson<'a> {
    says: String,
    class: CostClass,
    changes: Vec<ChangeJson<'a>>,
    #[serde(flatten)]
    judged: JudgementJson<'a>,
}

#[derive(Serialize)]
struct ChangeJson<'a> {
    key: &'a str,
    from: &'a str,
    to: &'a str,
    steps: u32,
    class: CostClass,
}
