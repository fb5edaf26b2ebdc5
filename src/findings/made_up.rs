//! Runs of which the truth is known, for tests of how often something wrong is said of such.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::counterfactual::Change;
use super::sentences::FindingWriter;
use super::story::StoryWriter;
use super::workable::{Judgement, judge, judge_all};
use super::{RunFigures, Runs, StudyScope, Summary, summarize};
use crate::circuit::draw::{Nanos, share};
use crate::circuit::{self, Circuit};
use crate::engine::simulate;
use crate::engine::watch::TraceEvent;
use crate::machine::Machine;
use crate::machine::model::Workable;
use crate::stats::proportion::clopper_pearson;

/// A machine whose runs can be given any figures.
pub struct MadeUp {
    /// As the file has it.
    pub machine: Machine,
    /// Its circuit.
    pub circuit: Circuit,
    /// What is good enough of it.
    pub workable: Workable,
    base: RunFigures,
}

impl MadeUp {
    /// A ring of so many wheels.
    pub fn new(wheels: usize, workable: &str) -> Self {
        let wheel = |n: usize| {
            let next = if n + 1 == wheels {
                "ramp".to_owned()
            } else {
                format!("wheel-{}", n + 1)
            };
            format!(
                "  wheel-{n}: {{ pocket-wheel: {{ pockets: 20, lift: 180 deg }}, to: slide-{n} }}\n  \
                 slide-{n}: {{ slide: {{ time: 1 s }}, to: {next} }}\n"
            )
        };
        let wheels: String = (0..wheels).map(wheel).collect();
        let file = format!(
            "format: 1\nmarbles: {{ count: 5 }}\ndrive: {{ speed: 7.5 rpm }}\nstart: ramp\ncircuit:\n  \
             ramp: {{ ramp: {{ time: 1 s, places: 20 }}, to: wheel-0 }}\n{wheels}workable: {{ {workable} }}"
        );
        Self::of(&file)
    }

    /// The machine of a file.
    pub fn of(file: &str) -> Self {
        let machine = crate::machine::read(file, &[]).expect("a sound file");
        let circuit = circuit::circuit(&machine);
        let base = RunFigures::new(0, &simulate(&circuit, 1, 0, 3_600_000_000_000, &mut ()));
        Self {
            workable: machine.workable.clone(),
            machine,
            circuit,
            base,
        }
    }

    /// These runs as a study of runs of an hour has them, with its summary.
    pub fn study(&self, all: Vec<RunFigures>) -> (Runs, Summary) {
        let mut runs = Runs::new(self.circuit.start);
        runs.extend(all);
        let question = StudyScope {
            title: String::new(),
            rpm: None,
            seed: 1,
            hours: 1.0,
        };
        let summary = summarize(&question, &self.circuit, &runs);
        (runs, summary)
    }

    /// What is said of a study.
    pub fn said<T>(
        &self,
        (runs, summary): &(Runs, Summary),
        what: impl Fn(&FindingWriter) -> T,
    ) -> T {
        what(&FindingWriter {
            machine: &self.machine,
            circuit: &self.circuit,
            summary,
            runs,
            judgement: &judge_all(&self.circuit, &self.workable, runs, 0.95),
        })
    }

    /// Run number `n` with these fills, by wheel from 0.
    pub fn run(&self, n: u32, mut fill: impl FnMut(usize) -> f64) -> RunFigures {
        let mut run = RunFigures {
            run: u64::from(n),
            ..self.base.clone()
        };
        let wheels = run
            .elements
            .iter_mut()
            .filter_map(|element| element.wheel.as_mut());
        wheels
            .enumerate()
            .for_each(|(wheel, figures)| figures.fill = Some(fill(wheel)));
        run
    }

    /// Judges runs by what is good enough.
    pub fn judge(&self, runs: &[RunFigures], level: f64) -> Judgement {
        judge(&self.circuit, &self.workable, runs, level)
    }
}

/// A ring of a ramp, 0, a wheel, 1, a cup of three, 2, an escapement, 3, and a slide, 4; the hand is 5. Jams last half a minute.
pub const RING: &str = "format: 1
marbles: { count: 6 }
drive: { speed: 6 rpm }
start: ramp
tending: clear after 30 s
circuit:
  ramp: { ramp: { time: 1 s, places: 20 }, to: wheel }
  wheel: { pocket-wheel: { pockets: 20, lift: 180 deg }, to: cup }
  cup: { tipping-cup: { gathers: 3, tip: 0.5 s, reset: 1 s }, to: gate }
  gate: { escapement: { time: 1 s, places: 4 }, to: slide }
  slide: { slide: { time: 1 s }, to: ramp }";

/// A second.
pub const S: Nanos = 1_000_000_000;

/// A marble that moves at a time, s, from one element to another, by number.
pub fn moved(time_s: u64, marble: u32, (from, to): (usize, usize)) -> (Nanos, TraceEvent) {
    (time_s * S, TraceEvent::Moved { marble, from, to })
}

impl StoryWriter<'_> {
    /// What was said.
    pub fn texts(&self) -> Vec<&str> {
        let sentences = self.story.sentences.iter();
        sentences.map(|sentence| sentence.text.as_str()).collect()
    }

    /// The causes that were taken away, those that changed nothing among them.
    pub fn asked(&self) -> Vec<Change> {
        let named = self.story.sentences.iter().filter_map(|one| one.checked);
        let all = named.chain(self.story.rejected.iter().copied());
        all.map(|checked| checked.change).collect()
    }
}

/// Random numbers of a seed.
pub fn random(seed: u64) -> ChaCha8Rng {
    ChaCha8Rng::seed_from_u64(seed)
}

/// A standard normal number, by Box and Muller (1958).
pub fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (u, v) = (share(random.next_u64()), share(random.next_u64()));
    (-2.0 * libm::log(1.0 - u)).sqrt() * libm::cos(std::f64::consts::TAU * v)
}

/// Whether so many of `all` may be chance where the true share is `most` at most; a false alarm once in a thousand.
pub fn at_most(such: u64, all: u64, most: f64) -> bool {
    clopper_pearson(such, all, 0.998)
        .low
        .is_some_and(|low| low <= most)
}

/// Whether so many of `all` may be chance where the true share is `share`; a false alarm twice in a thousand.
pub fn about(such: u64, all: u64, share: f64) -> bool {
    let seen = clopper_pearson(such, all, 0.998);
    seen.low.is_some_and(|low| low <= share) && seen.high.is_some_and(|high| share <= high)
}
