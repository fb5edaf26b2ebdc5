//! What is wrong with a machine, in sentences and as JSON.

use super::diagnose_json;
use crate::charts::canvas::{Format, Picture};
use crate::charts::diagnose::{CauseBar, DiagnosisPicture, picture};
use crate::circuit::draw::{Nanos, seconds};
use crate::findings::sentences::Finding;
use crate::findings::words::{count, duration, figure, percent};
use crate::machine::units::{System, plain};
use crate::study::diagnose::counting::RUNNING_IN;
use crate::study::diagnose::faults::Fault;
use crate::study::diagnose::file_change::{FileChange, changes};
use crate::study::diagnose::hypotheses::{About, Hypotheses};
use crate::study::diagnose::measure::SeenCount;
use crate::study::diagnose::next::{NextStep, ValuedStep};
use crate::study::diagnose::{CauseShare, Diagnosis, EXPLAINED, SizeRange};

/// A diagnosis with what it is about.
pub struct DiagnosisReport<'a> {
    /// What may be wrong.
    pub hypotheses: &'a Hypotheses,
    /// What was counted.
    pub seen: &'a [SeenCount],
    /// What was found.
    pub found: &'a Diagnosis,
    /// The seed.
    pub seed: u64,
    /// How long counts go on that have not been made.
    pub watched: Nanos,
    /// In which units lengths are shown.
    pub system: System,
}

/// Causes that are named.
const NAMED: usize = 3;
/// A cause this much less likely than the first is another.
const ALIKE: f64 = 0.5;
/// Causes that are listed where the counts do not tell them apart.
const MOST_ALIKE: usize = 6;
/// A step that takes less than this share of the doubt away is worth no walk to the machine.
const WORTH_IT: f64 = 0.05;
/// A longer value is not repeated in a sentence, letters.
const LONG: usize = 60;
/// Causes drawn in the picture.
const DRAWN: usize = 8;

impl DiagnosisReport<'_> {
    /// The answer, what the file would say, what to measure next, and what stands behind it.
    pub fn findings(&self) -> Vec<Finding> {
        let mut all = Vec::new();
        if !self.explained() {
            all.push(say(false, self.unexplained()));
        }
        all.push(say(self.is_nothing(), self.answer()));
        all.extend(self.sizes().into_iter().map(|text| say(true, text)));
        all.push(say(true, self.next()));
        all.push(say(true, self.effort()));
        all
    }

    pub(super) fn explained(&self) -> bool {
        self.found.fits >= EXPLAINED
    }

    /// Whether a machine as in the file counts the same about as often as one with the likeliest cause.
    fn is_nothing(&self) -> bool {
        let alike = &self.found.causes[..self.alike()];
        self.explained() && alike.iter().any(|cause| cause.hypothesis == 0)
    }

    /// The causes worth naming, the likeliest first.
    fn named(&self) -> &[CauseShare] {
        let causes = &self.found.causes;
        &causes[..NAMED.min(causes.len())]
    }

    /// How many of the first causes the counts do not tell apart.
    fn alike(&self) -> usize {
        let causes = &self.found.causes;
        let first = causes.first().map_or(0.0, |cause| cause.share);
        causes
            .iter()
            .take_while(|cause| cause.share >= ALIKE * first)
            .count()
    }

    /// The answer in a few words.
    pub fn headline(&self) -> String {
        if !self.explained() {
            return "Nothing in the model explains what was seen".to_owned();
        }
        if self.is_nothing() {
            return "Nothing need be wrong: a machine as in the file counts the same".to_owned();
        }
        let name = |cause: &CauseShare| self.name(cause.hypothesis);
        match (self.found.causes.first(), self.alike()) {
            (Some(first), 1) => format!("Likeliest, {}: {}", percent(first.share), name(first)),
            (Some(first), n) => format!(
                "{n} causes fit about equally well, first of them: {}",
                name(first)
            ),
            (None, _) => "Nothing can be wrong with this machine".to_owned(),
        }
    }

    fn unexplained(&self) -> String {
        let mut text = format!(
            "Nothing explains what you saw: of the made-up machines fewer than {} in 100 count anything as unlike the others.",
            figure(100.0 * EXPLAINED)
        );
        for odd in &self.found.odd {
            let (low, high) = (figure(odd.usual.0), figure(odd.usual.1));
            let saw = odd
                .seen
                .measure
                .result(&self.hypotheses.circuit, odd.seen.value);
            text += &format!(
                " You saw {saw}, where 99 % of them have {low} to {high}: look there first."
            );
        }
        text += " Count once more, or look for what no file says: something loose, bent, dirty or in the way.";
        text
    }

    fn answer(&self) -> String {
        if self.is_nothing() {
            let others = match self.alike() - 1 {
                0 => "; with any of the causes thought of it would do so less often".to_owned(),
                n => format!(
                    ", and so does one with any of {}, which these counts cannot show",
                    count(n as u64, "cause")
                ),
            };
            return format!(
                "Nothing need be wrong: a machine as in the file counts the same{others}."
            );
        }
        let (alike, lead) = (
            self.alike(),
            if self.explained() {
                ""
            } else {
                "Of what is in the model: "
            },
        );
        let first = &self.found.causes[..alike.min(MOST_ALIKE)];
        let rest: Vec<&CauseShare> = self.named().iter().skip(first.len()).collect();
        let rest: Vec<String> = rest
            .into_iter()
            .map(|cause| self.with_share(cause))
            .collect();
        let then = match rest.as_slice() {
            [] => String::new(),
            _ => format!(" Less likely: {}.", rest.join("; ")),
        };
        let first: Vec<String> = first.iter().map(|cause| self.with_share(cause)).collect();
        let more = match alike.saturating_sub(MOST_ALIKE) {
            0 => String::new(),
            n => format!("; and {}", count(n as u64, "other")),
        };
        match first.len() {
            0 => "Nothing can be wrong with this machine.".to_owned(),
            1 => format!("{lead}Likeliest: {}.{then}", first.join("")),
            _ => format!(
                "{lead}What was counted does not tell these apart: {}{more}.{then}",
                first.join("; ")
            ),
        }
    }

    fn with_share(&self, cause: &CauseShare) -> String {
        format!("{} ({})", self.name(cause.hypothesis), percent(cause.share))
    }

    /// Of each named cause how large it would be, and what the file would say.
    fn sizes(&self) -> Vec<String> {
        let mut all = Vec::new();
        if self.is_nothing() {
            return all;
        }
        for cause in self.named() {
            let Some(size) = cause.size.filter(|_| cause.share >= 0.01) else {
                continue;
            };
            let mut text = format!(
                "If it is {}: {}",
                self.short(cause.hypothesis),
                self.size(cause.hypothesis, &size)
            );
            let changes = changes(self.hypotheses, cause.hypothesis, size.middle);
            text += &in_the_file(&changes);
            all.push(text + ".");
        }
        all
    }

    /// What a cause is, as a clause.
    pub fn name(&self, hypothesis: usize) -> String {
        let element = |n: usize| format!("`{}`", self.hypotheses.circuit.nodes[n].name);
        match self.hypotheses.all[hypothesis].about {
            About::Nothing => "nothing is wrong that shows in these counts".to_owned(),
            About::Constant(n) => format!(
                "the {} is not as assumed",
                self.hypotheses.machine().assumed[n].what.name()
            ),
            About::Dimension(_) => format!("the {} is off", self.short(hypothesis)),
            About::Fault(n, Fault::Misses) => format!(
                "{} misses more than it should: a rough {} or edge",
                element(n),
                self.hypotheses.circuit.nodes[n].seat()
            ),
            About::Fault(n, Fault::Pinches) => {
                format!("{} pinches marbles more than it should", element(n))
            }
            About::Fault(n, Fault::CarriesOver) => {
                format!("{} lets go of fewer marbles at its top", element(n))
            }
            About::Fault(n, Fault::Arches) => {
                format!("marbles arch at {} more than they should", element(n))
            }
            About::Fault(n, Fault::Slow) => format!(
                "marbles take longer through {} than the file says",
                element(n)
            ),
            About::Fault(n, Fault::Leaks) => format!("{} loses marbles", element(n)),
        }
    }

    /// What a cause is, as a noun.
    fn short(&self, hypothesis: usize) -> String {
        let element = |n: usize| format!("`{}`", self.hypotheses.circuit.nodes[n].name);
        match self.hypotheses.all[hypothesis].about {
            About::Nothing => "nothing".to_owned(),
            About::Constant(n) => self.hypotheses.machine().assumed[n].what.name().to_owned(),
            About::Dimension(n) => {
                let dimension = &self.hypotheses.dimensions()[n];
                match (dimension.kind, dimension.element()) {
                    (None, _) => "number of marbles".to_owned(),
                    (_, Some(name)) => format!("{} of `{name}`", dimension.name()),
                    _ => dimension.key.replace('.', " "),
                }
            }
            About::Fault(n, Fault::Misses) => format!("misses at {}", element(n)),
            About::Fault(n, Fault::Pinches) => format!("pinches at {}", element(n)),
            About::Fault(n, Fault::CarriesOver) => format!("the top of {}", element(n)),
            About::Fault(n, Fault::Arches) => format!("arches at {}", element(n)),
            About::Fault(n, Fault::Slow) => format!("the time through {}", element(n)),
            About::Fault(n, Fault::Leaks) => format!("a leak at {}", element(n)),
        }
    }

    fn size(&self, hypothesis: usize, size: &SizeRange) -> String {
        let SizeRange { low, middle, high } = *size;
        let between = |show: &dyn Fn(f64) -> String| {
            format!(
                "{} (95 % sure: {} to {})",
                show(middle),
                show(low),
                show(high)
            )
        };
        match self.hypotheses.all[hypothesis].about {
            About::Nothing => String::new(),
            About::Constant(n) => {
                let assumption = &self.hypotheses.machine().assumed[n];
                let assumed = assumption.assumed_in(self.hypotheses.machine(), self.system);
                let show = |value: f64| assumption.what.show_in(three_figures(value), self.system);
                format!("{}, where {assumed} is assumed", between(&show))
            }
            About::Dimension(n) => {
                let dimension = &self.hypotheses.dimensions()[n];
                let show = |value: f64| dimension.show_in(value, self.system);
                format!(
                    "{}, where the file says {}",
                    between(&show),
                    dimension.typed
                )
            }
            About::Fault(_, fault) => {
                let (verb, times) = match fault {
                    Fault::Misses => ("of the marbles it would take it misses", false),
                    Fault::Pinches => ("of the marbles it would take it pinches", false),
                    Fault::CarriesOver => ("of its marbles it carries over", false),
                    Fault::Arches => ("of the marbles that meet others there arch", false),
                    Fault::Slow => ("marbles take", true),
                    Fault::Leaks => ("of the marbles that come in it loses", false),
                };
                let share = |value: f64| figure_percent(value);
                let longer =
                    |value: f64| format!("{} times", plain((value * 100.0).round() / 100.0));
                match times {
                    true => format!("{verb} {} as long", between(&longer)),
                    false => format!("{verb} {}", between(&share)),
                }
            }
        }
    }

    pub(super) fn step(&self, step: &NextStep) -> String {
        match step {
            NextStep::Count(measure) => measure.says(&self.hypotheses.circuit),
            NextStep::Dimension(n) => {
                let dimension = &self.hypotheses.dimensions()[*n];
                match (dimension.kind, dimension.element()) {
                    (None, _) => "count the marbles in the machine".to_owned(),
                    (_, Some(name)) => format!("measure the {} of `{name}`", dimension.name()),
                    _ => format!("measure the {}", dimension.key.replace('.', " ")),
                }
            }
        }
    }

    /// What share of the doubt a step takes away.
    fn worth(&self, step: &ValuedStep) -> f64 {
        (step.bits / self.found.unknown_bits.max(1e-9)).min(1.0)
    }

    fn next(&self) -> String {
        let steps: Vec<&ValuedStep> = self
            .found
            .next
            .iter()
            .filter(|step| self.worth(step) >= WORTH_IT)
            .collect();
        match steps.as_slice() {
            [] => "Nothing else that can be counted at the machine would tell these much better apart.".to_owned(),
            [best, rest @ ..] => {
                let then = match rest.first() {
                    Some(next) => format!("; next best, {} ({})", self.step(&next.step), percent(self.worth(next))),
                    None => String::new(),
                };
                format!(
                    "Measure next: {}; that is expected to take away {} of the doubt between the causes{then}.",
                    self.step(&best.step),
                    percent(self.worth(best))
                )
            }
        }
    }

    fn effort(&self) -> String {
        let table = &self.hypotheses.table;
        let looked = match table.interpolates() {
            true => format!(
                " What wheels, floors and bowls do in them is interpolated between {} close looks.",
                table.looks()
            ),
            false => String::new(),
        };
        format!(
            "Compared with {} made-up machines, each with one of {} causes, all as likely beforehand; counted after {} of running in (seed {}).{looked}",
            self.found.draws,
            count(self.hypotheses.all.len() as u64, "cause").trim_end_matches(" causes"),
            duration(seconds(RUNNING_IN)),
            self.seed
        )
    }

    /// What the file would say if the likeliest cause were true.
    pub fn change(&self) -> Vec<FileChange> {
        let Some(first) = self.found.causes.iter().find(|cause| cause.hypothesis > 0) else {
            return Vec::new();
        };
        first.size.map_or(Vec::new(), |size| {
            changes(self.hypotheses, first.hypothesis, size.middle)
        })
    }

    /// The likeliest cause that is one, in words.
    pub fn likeliest(&self) -> String {
        let first = self.found.causes.iter().find(|cause| cause.hypothesis > 0);
        first.map_or(String::new(), |cause| self.name(cause.hypothesis))
    }

    /// The picture: causes by their chance.
    pub fn picture(&self, format: Format) -> Picture {
        let mut bars = Vec::new();
        for cause in self.found.causes.iter().take(DRAWN) {
            bars.push(CauseBar {
                name: self.name(cause.hypothesis).replace('`', ""),
                share: cause.share,
                is_nothing: cause.hypothesis == 0,
            });
        }
        let rest: f64 = self
            .found
            .causes
            .iter()
            .skip(DRAWN)
            .map(|cause| cause.share)
            .sum();
        let seen: Vec<String> = self
            .seen
            .iter()
            .map(|one| one.measure.result(&self.hypotheses.circuit, one.value))
            .collect();
        let plain = |text: String| text.replace('`', "");
        let shown = DiagnosisPicture {
            title: plain(self.headline()),
            seen: plain(seen.join("; ")),
            bars,
            others: (self.found.causes.len().saturating_sub(DRAWN), rest),
            unexplained: (!self.explained()).then(|| {
                "No cause in the model counts this; their shares are of what comes nearest."
                    .to_owned()
            }),
            next: plain(self.next()),
            foot: (
                self.hypotheses.machine().title.clone(),
                format!("seed {}, {} made-up machines", self.seed, self.found.draws),
            ),
        };
        picture(&shown, format)
    }

    /// Everything as one JSON object.
    pub fn json(&self) -> String {
        diagnose_json::json(self)
    }
}

fn say(good: bool, text: String) -> Finding {
    Finding {
        about: "machine".to_owned(),
        good,
        text,
    }
}

/// What the file would say, as the end of a sentence; long lists are left to the file itself.
fn in_the_file(changes: &[FileChange]) -> String {
    let mut lines = Vec::new();
    for one in changes {
        lines.push(if one.value.len() > LONG {
            format!("other readings at `{}`", one.key)
        } else {
            format!("`{}: {}`", one.key, one.value)
        });
    }
    match lines.len() {
        0 => String::new(),
        _ => format!("; the file would then say {}", lines.join(", ")),
    }
}

/// A share that may be very small: `0.03 %`.
fn figure_percent(share: f64) -> String {
    format!("{} %", plain(three_figures(share * 100.0)))
}

fn three_figures(value: f64) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    let step = libm::pow(10.0, libm::floor(libm::log10(value.abs())) - 2.0);
    (value / step).round() * step
}
