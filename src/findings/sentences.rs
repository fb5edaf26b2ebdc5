//! The findings of a study in plain sentences, each with its certainty and an example run to look at.

use super::runs::Runs;
use super::summary::{LEVEL, Summary};
use super::totals::{RunTotals, Stop};
use super::verdict_text::{Judged, standard, tolerance};
use super::words::{
    capital, count, duration, figure, known, marbles, paragraph, percent, share_of_runs,
    sure_between, two_figures,
};
use super::workable::Judgement;
use crate::circuit::Circuit;
use crate::circuit::drive::{at_drive, lift_torque_nm};
use crate::circuit::plan::{Cause, Plan, Role};
use crate::engine::Outcome;
use crate::machine::Machine;
use crate::stats::Estimate;

/// A run that jams sooner than this, seconds, never got going.
const AT_ONCE_S: f64 = 60.0;

/// One finding.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Finding {
    /// What it is about: an element's name, or `machine`.
    pub about: String,
    /// Whether it is what a maker hopes for.
    pub good: bool,
    /// The sentence.
    pub text: String,
}

/// Marbles lost over the side of an element, and in what: `in 2 h`.
pub struct Lost {
    /// How many, where it is known.
    pub mean: Option<f64>,
    /// The whole: `4.5 +-0.3 marbles lost in 2 h of running`.
    pub text: String,
    /// In what, briefly.
    pub per: String,
}

/// How many marbles go over the side of element `n`: by the time of running, or by the run where runs end early, since a rate
/// would then tell of more marbles than there are.
pub fn lost_over(summary: &Summary, totals: &RunTotals, n: usize) -> Lost {
    if totals.ended(Outcome::Ran) == totals.runs {
        let per = format!("in {}", duration(summary.hours * 3600.0));
        let lost = &summary.elements.0[n].1.spills;
        return Lost {
            mean: lost.value,
            text: format!("{} marbles lost {per} of running", known(lost)),
            per,
        };
    }
    let mean = totals.elements[n].spills as f64 / totals.runs as f64;
    Lost {
        mean: Some(mean),
        text: format!("{} lost a run on average", marbles(mean)),
        per: "a run".to_owned(),
    }
}

/// What is put into sentences.
pub struct FindingWriter<'a> {
    /// The machine.
    pub machine: &'a Machine,
    /// The same, ready to run.
    pub circuit: &'a Circuit,
    /// What its runs mean together.
    pub summary: &'a Summary,
    /// The runs.
    pub runs: &'a Runs,
    /// What they show against what is good enough.
    pub judgement: &'a Judgement,
}

impl FindingWriter<'_> {
    /// All findings, the answer first.
    pub fn all(&self) -> Vec<Finding> {
        let circuit = self.circuit;
        let mut all = vec![self.verdict_with_tolerance()];
        if self.all_jam_at_once().is_some() {
            all.extend(self.jams());
            return all;
        }
        all.push(self.start());
        all.push(FindingWriter::say(
            "machine",
            true,
            standard(circuit, &self.machine.workable),
        ));
        for wheel in circuit.wheels() {
            all.push(self.wheel(wheel));
            all.extend(self.wheel_trouble(wheel));
            all.extend(self.starved_by(wheel));
            all.extend(self.looked(wheel));
        }
        for n in 0..circuit.nodes.len() {
            if n != circuit.start {
                all.extend(self.overflow(n));
            }
        }
        for (n, plan) in circuit.nodes.iter().enumerate() {
            if plan.collects {
                all.push(self.floor(n));
            }
            all.extend(self.followed(n));
        }
        all.extend(self.jams());
        all.extend(self.locks());
        all.extend(self.no_laps());
        all.extend(self.left_in_hand());
        all.extend(self.limits());
        all.extend(self.battery());
        all.retain(|finding| !finding.text.is_empty());
        all
    }

    pub(super) fn say(about: &str, good: bool, text: impl Into<String>) -> Finding {
        Finding {
            about: about.to_owned(),
            good,
            text: text.into(),
        }
    }

    pub(super) fn totals(&self) -> &RunTotals {
        &self.runs.totals
    }

    pub(super) fn plan(&self, n: usize) -> &Plan {
        &self.circuit.nodes[n]
    }

    /// Load, and speed where there is one: `36 marbles at 9 rpm`.
    pub(super) fn setting(&self) -> String {
        let load = count(u64::from(self.circuit.marbles), "marble");
        match self.summary.rpm {
            Some(rpm) => format!("{load} at {} rpm", figure(rpm)),
            None => load,
        }
    }

    fn runs_of(&self) -> String {
        format!(
            "{} of {}",
            count(self.runs.count() as u64, "run"),
            duration(self.summary.hours * 3600.0)
        )
    }

    /// How to look at one run.
    fn example(&self, run: u64) -> String {
        format!("seed {}, run {run}", self.summary.seed)
    }

    /// The verdict, and what it still allows.
    fn verdict_with_tolerance(&self) -> Finding {
        let mut verdict = self.verdict();
        if self.judgement.works() {
            let allowed = tolerance(&self.machine.workable);
            verdict.text += &format!(" 95 % sure: {allowed}.");
        }
        verdict
    }

    /// Whether it works, and where it does not, why.
    pub(super) fn verdict(&self) -> Finding {
        let judgement = self.judgement;
        let judged = Judged {
            circuit: self.circuit,
            workable: &self.machine.workable,
            judgement,
            runs: self.runs.count(),
            hours: self.summary.hours,
            error: 1.0 - LEVEL,
        };
        let (setting, says) = (self.setting(), judged.says());
        let text = if judgement.works() {
            let through = self.totals().ended(Outcome::Ran);
            let which = if through == self.totals().runs {
                "all".to_owned()
            } else {
                format!("{through} of")
            };
            format!("{setting} {says}: {which} {} ran through", self.runs_of())
        } else if let Some(at_once) = self.all_jam_at_once() {
            format!("{setting} does not work: {at_once}")
        } else {
            format!("{setting} {says}")
        };
        Self::say("machine", judgement.works(), text + ".")
    }

    pub(super) fn first_spill(&self, n: usize) -> String {
        let Some((first_s, run)) = self.totals().elements[n].first_spill else {
            return String::new();
        };
        let lost = lost_over(self.summary, self.totals(), n);
        format!(
            "{}, the first after {} ({}).",
            capital(&lost.text),
            duration(first_s),
            self.example(run)
        )
    }

    /// Why the element before a wheel fills up: a sentence, or nothing.
    pub(super) fn filled_by(&self, n: usize) -> String {
        let mut next = self.plan(n).ways.iter().map(|way| self.plan(way.to));
        let Some(wheel) = next.find(|plan| plan.wheel().is_some()) else {
            return String::new();
        };
        let name = &wheel.name;
        match self.fill(name) {
            Some(fill) if fill > 0.97 => {
                format!(
                    "`{name}` fills every {} and still takes fewer than come.",
                    wheel.seat()
                )
            }
            Some(fill) => format!(
                "Yet `{name}` carries a marble in only {} of its {}.",
                percent(fill),
                wheel.seats()
            ),
            None => String::new(),
        }
    }

    /// How full a wheel is, where any pocket passed.
    pub(super) fn fill(&self, wheel: &str) -> Option<f64> {
        self.summary.wheels.get(wheel)?.fill.value
    }

    fn wheel(&self, n: usize) -> Finding {
        let name = &self.plan(n).name;
        let Some(wheel) = self.summary.wheels.get(name) else {
            return Self::say(name, true, String::new());
        };
        let Some(fill) = wheel.fill.value else {
            return Self::say(
                name,
                false,
                format!(
                    "`{name}`: its fill is unknown, since no {} passed.",
                    self.plan(n).seat()
                ),
            );
        };
        let fed = fill >= self.machine.workable.least_fill;
        let word = if fed { "is fed" } else { "is starved" };
        let text = format!(
            "`{name}` {word}: {} of its {} carry a marble. The longest run of empty ones was about {}.",
            percent(fill),
            self.plan(n).seats(),
            known(&wheel.empty_streak_max)
        );
        Self::say(name, fed, text)
    }

    fn wheel_trouble(&self, n: usize) -> Option<Finding> {
        let name = &self.plan(n).name;
        let wheel = self.summary.wheels.get(name)?;
        let (missed, carried) = (wheel.missed.value?, wheel.carried_over.value?);
        let hours = duration(self.summary.hours * 3600.0);
        let entries = self.summary.elements.0[n].1.entries.value?;
        let mut parts = Vec::new();
        if missed > 0.0 {
            parts.push(format!("missed {} marbles", known(&wheel.missed)));
        }
        if carried > 0.0 {
            parts.push(format!(
                "carried {} over the top",
                known(&wheel.carried_over)
            ));
        }
        if parts.is_empty() {
            return None;
        }
        // One marble in twenty left behind is nothing a maker would notice.
        let seldom = missed + carried < 0.05 * entries;
        let text = format!("`{name}` {} in {hours} of running.", parts.join(" and "));
        Some(Self::say(name, seldom, text))
    }

    fn overflow(&self, n: usize) -> Option<Finding> {
        let name = &self.plan(n).name;
        let spilled = self.totals().share(self.totals().elements[n].spilled.runs);
        if spilled.value? > 0.0 {
            let spills = format!("`{name}` spills in {}.", share_of_runs(&spilled));
            let text = paragraph(&[spills, self.first_spill(n), self.filled_by(n)]);
            return Some(Self::say(name, false, text));
        }
        let full = &self.summary.elements.0[n].1.full_share;
        let held = self.totals().share(self.totals().elements[n].held.runs);
        // A splitter that takes one marble at a time is full whenever it works; that alone is no finding.
        if self.plan(n).room <= 1 || full.value? <= 0.05 || held.value? <= 0.0 {
            return None;
        }
        // An escapement is there to hold marbles back; what comes of it elsewhere is said there.
        let meant = matches!(self.plan(n).role, Role::Server(_));
        let as_meant = if meant {
            ", as an escapement is meant to"
        } else {
            ""
        };
        let text = format!(
            "`{name}` is full {} of the time and holds marbles back in {}{as_meant}.",
            percent(full.value?),
            share_of_runs(&held)
        );
        Some(Self::say(name, meant, text))
    }

    fn floor(&self, n: usize) -> Finding {
        let name = &self.plan(n).name;
        let element = &self.summary.elements.0[n].1;
        if element.backlog_mean.value.is_none() {
            return Self::say(name, true, "");
        }
        let most = match self.totals().elements[n].peak {
            None => String::new(),
            Some((0.0, _)) => {
                return Self::say(name, true, format!("Marbles never wait at `{name}`."));
            }
            Some((most, run)) => format!("At most {most} waited there ({}).", self.example(run)),
        };
        let mostly = match element.backlog_p95.value {
            Some(0.0) => format!("No marble waits at `{name}` for 95 % of the time."),
            _ => format!(
                "{} marbles wait at `{name}` on average, no more than {} for 95 % of the time.",
                known(&element.backlog_mean),
                known(&element.backlog_p95)
            ),
        };
        Self::say(name, true, paragraph(&[mostly, most]))
    }

    fn jams(&self) -> Vec<Finding> {
        let jammed = self.totals().share(self.totals().jammed.runs);
        if jammed.value.unwrap_or(0.0) == 0.0 {
            let text = format!("It never jammed in {}.", self.runs_of());
            return vec![Self::say("machine", true, text)];
        }
        let mut all = Vec::new();
        match self.all_jam_at_once() {
            Some(when) => all.push(Self::say(
                "machine",
                false,
                format!("In all {} {when}.", self.runs_of()),
            )),
            None => all.push(self.how_often(&jammed)),
        }
        for n in 0..self.circuit.nodes.len() {
            for cause in Cause::ALL {
                all.extend(self.jam(n, cause));
            }
        }
        all
    }

    /// How every run ends at once, where all end of a jam within a minute: then a rate, or when half have jammed, says
    /// nothing.
    pub(super) fn all_jam_at_once(&self) -> Option<String> {
        let totals = self.totals();
        if !totals.all_jam_within(AT_ONCE_S) {
            return None;
        }
        let verb = if totals.only_stalls { "stalls" } else { "jams" };
        Some(match totals.latest_first_jam_s {
            0.0 => format!("it {verb} before it starts"),
            latest => format!("it {verb} within {} every time", duration(latest)),
        })
    }

    /// In how many runs it jams, how often, and how soon.
    fn how_often(&self, jammed: &Estimate) -> Finding {
        let half = match self.summary.time_to_jam_h.value {
            Some(time_h) => format!("Half of the runs jam within {}.", hours(time_h)),
            None => String::new(),
        };
        let rate = &self.summary.jams_per_8h;
        let often = match rate.value {
            Some(jams) => format!(
                ": {} jams in 8 h{}",
                two_figures(jams),
                in_brackets(rate, two_figures)
            ),
            None => String::new(),
        };
        let text = format!("It jams in {}{often}.", share_of_runs(jammed));
        Self::say("machine", false, paragraph(&[text, half]))
    }

    /// Parts that lock up while the rest goes on.
    fn locks(&self) -> Option<Finding> {
        let (run, first) = self.totals().earliest_lock?;
        let text = format!(
            "A part locks up for good while the rest goes on, in {}. The earliest was after {} at `{}`, where \
             {} can never move again ({}).",
            share_of_runs(&self.summary.locked_in_part),
            duration(crate::circuit::draw::seconds(first.time)),
            self.plan(first.node).name,
            count(u64::from(first.marbles), "marble"),
            self.example(run)
        );
        Some(Self::say(&self.plan(first.node).name, false, text))
    }

    /// Runs that the mean lap time leaves out, where others have laps.
    fn no_laps(&self) -> Option<Finding> {
        let none = self.summary.runs_without_a_lap;
        if none == 0 || none >= self.runs.count() {
            return None;
        }
        let runs = count(self.runs.count() as u64, "run");
        let text = format!(
            "No marble came round in {none} of {runs}: the mean lap is that of the others."
        );
        Some(Self::say("machine", true, text))
    }

    fn jam(&self, n: usize, cause: Cause) -> Option<Finding> {
        let jams = self.totals().jams(n, cause)?;
        let runs = self
            .totals()
            .stopped_by(|stop| *stop == Stop::Jam(n, cause));
        let share = self.totals().share(runs);
        let name = &self.plan(n).name;
        let what = match cause {
            Cause::Pinch => format!("A marble is pinched at `{name}`"),
            Cause::Arch => format!("Marbles arch across an opening of `{name}`"),
            Cause::Stick => format!("`{name}` sticks half-way"),
            Cause::Stall => {
                format!("A marble comes to rest on `{name}`, whose slope is too shallow")
            }
            Cause::Fall => {
                format!("A marble falls off `{name}`, to which it came at a wrong speed")
            }
        };
        let text = format!(
            "{what} in {}. The earliest was after {} ({}).",
            share_of_runs(&share),
            duration(jams.earliest_s()),
            self.example(jams.run)
        );
        Some(Self::say(name, false, text))
    }

    /// How long its cells last, where every lift takes all it can.
    fn battery(&self) -> Option<Finding> {
        let motor = self.machine.drive.motor.as_ref()?;
        let supply = motor.supply?;
        let current_a = at_drive(self.machine, motor).current_a(lift_torque_nm(self.machine));
        let lasts_h = supply.lasts_h(current_a)?;
        let text = format!("On {} it runs about {lasts_h:.1} h.", supply.called());
        Some(FindingWriter::say(
            "machine",
            lasts_h >= self.summary.hours,
            text,
        ))
    }

    fn left_in_hand(&self) -> Option<Finding> {
        let left = self.summary.left_in_hand.value.filter(|&left| left > 0.0)?;
        let text = format!(
            "The maker's hand keeps {}: the machine has no room for the whole load.",
            marbles(left)
        );
        Some(Self::say("machine", false, text))
    }
}

fn hours(hours: f64) -> String {
    duration(hours * 3600.0)
}

/// The ends of an interval, where it has any: ` (95 % sure: 0.1 to 0.2)`.
pub(super) fn in_brackets(of: &Estimate, say: impl Fn(f64) -> String) -> String {
    match sure_between((of.low, of.high), say) {
        Some(sure) => format!(" ({sure})"),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests;
