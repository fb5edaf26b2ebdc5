//! What may be wrong with a machine: each constant that the file leaves open, each dimension, each fault, and nothing.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;
use rayon::prelude::*;

use super::dimensions::{DimensionRange, dimensions};
use super::faults::Fault;
use crate::circuit::Circuit;
use crate::circuit::draw::{nanos, share};
use crate::engine::streams::stream;
use crate::machine::{self, Machine, Setting};
use crate::study::interpolated::Interpolated;

/// What a hypothesis is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// Nothing is wrong: everything is as the file says, as nearly as a workshop makes it.
    Nothing,
    /// One of the constants that the file leaves open, by its place in that list.
    Constant(usize),
    /// One of the dimensions, by its place in that list.
    Dimension(usize),
    /// A fault at an element.
    Fault(usize, Fault),
}

/// Something that may be wrong, with how far.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hypothesis {
    /// What.
    pub about: About,
    /// Between which values; of a fault all orders of magnitude are equally likely, else all values.
    pub range: (f64, f64),
}

/// How much is wrong: of which hypothesis, and how far along its range, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameter {
    /// The hypothesis, by its place in the list.
    pub hypothesis: usize,
    /// How far along its range.
    pub along: f64,
}

impl Hypothesis {
    /// The value so far along the range, 0 to 1.
    pub fn value(&self, along: f64) -> f64 {
        let (low, high) = self.range;
        match self.about {
            About::Fault(..) => low * libm::pow(high / low, along),
            _ => low + (high - low) * along,
        }
    }
}

/// A file, and machines that are nearly what it says.
#[derive(Clone, Debug)]
struct VariedFile {
    text: String,
    settings: Vec<Setting>,
    machine: Machine,
    dimensions: Vec<DimensionRange>,
}

/// Everything that may be wrong with a machine.
#[derive(Clone, Debug)]
pub struct Hypotheses {
    file: VariedFile,
    /// Its circuit as it is simulated: somebody clears jams.
    pub circuit: Circuit,
    /// What may be wrong and would change anything; nothing first.
    pub all: Vec<Hypothesis>,
    /// What close looks at some of these machines show, for all between them.
    pub table: Interpolated,
}

/// What is not the cause varies by such a share of its own range about what the file says or leaves to be assumed.
const JITTER: f64 = 0.15;
/// Machines that are looked at for each dimension and constant, over its whole range while all others are near what the file
/// says; and at least in all.
const LOOKS_EACH: usize = 3;
const LOOKS: usize = 64;
/// Seed of what they are like, which belongs to no study: the same looks serve all of them.
const SEED: u64 = 1979;
/// Where along its range a hypothesis is looked at for whether it changes anything.
const ENDS: [f64; 2] = [0.125, 0.875];
/// Whoever counts jams has cleared them: after so long where the file says that nobody does.
const CLEARED_AFTER_S: f64 = 60.0;

impl Hypotheses {
    /// What may be wrong with the machine of a file with these settings laid over it, which is sound; `None` where it is not.
    pub fn of(text: &str, settings: &[Setting]) -> Option<Self> {
        let machine = machine::read(text, settings).ok()?;
        let file = VariedFile {
            text: text.to_owned(),
            settings: settings.to_vec(),
            dimensions: dimensions(text, settings),
            machine,
        };
        let table = Interpolated::of(&file.spanned());
        let circuit = tended(table.circuit(&file.machine));
        let mut found = Hypotheses {
            all: possible(&file.machine, &circuit, &file.dimensions),
            file,
            circuit,
            table,
        };
        let as_it_is = format!("{:?}", found.circuit);
        let all = found.all.par_iter();
        found.all = all
            .filter(|one| found.shows(one, &as_it_is))
            .copied()
            .collect();
        Some(found)
    }

    /// As the file says.
    pub fn machine(&self) -> &Machine {
        &self.file.machine
    }

    /// The dimensions that may be off.
    pub fn dimensions(&self) -> &[DimensionRange] {
        &self.file.dimensions
    }

    /// Whether a constant or a dimension changes anything of the circuit; a fault always does.
    fn shows(&self, hypothesis: &Hypothesis, as_it_is: &str) -> bool {
        if matches!(hypothesis.about, About::Nothing | About::Fault(..)) {
            return true;
        }
        ENDS.iter().any(|&along| {
            let machine = (self.file).machine_with(hypothesis.about, hypothesis.value(along), None);
            format!("{:?}", tended(self.table.circuit(&machine))) != as_it_is
        })
    }

    /// The machine's circuit with this wrong; everything else is nearly as the file says.
    pub fn circuit(&self, wrong: Parameter, random: &mut ChaCha8Rng) -> Circuit {
        let hypothesis = self.all[wrong.hypothesis];
        let value = hypothesis.value(wrong.along);
        let machine = (self.file).machine_with(hypothesis.about, value, Some(random));
        let circuit = tended(self.table.circuit(&machine));
        with_fault(circuit, hypothesis.about, value)
    }
}

impl VariedFile {
    /// Machines that span all dimensions and constants, one of them after another over its whole range.
    fn spanned(&self) -> Vec<Machine> {
        let constants = (self.machine.assumed.iter().enumerate())
            .map(|(n, one)| (About::Constant(n), one.what.range()));
        let dimensions =
            (self.dimensions.iter().enumerate()).map(|(n, one)| (About::Dimension(n), one.range));
        let varied: Vec<(About, (f64, f64))> = constants.chain(dimensions).collect();
        let mut machines = vec![self.machine.clone()];
        if varied.is_empty() {
            return machines;
        }
        let rounds = LOOKS_EACH.max(LOOKS.div_ceil(varied.len()));
        for round in 0..rounds {
            for &(about, (low, high)) in &varied {
                let mut random = stream(SEED, machines.len() as u64, "diagnose looks");
                let along = (round as f64 + share(random.next_u64())) / rounds as f64;
                let value = low + along * (high - low);
                machines.push(self.machine_with(about, value, Some(&mut random)));
            }
        }
        machines
    }

    /// The machine with this value, and all others near what is written or assumed where `random` numbers are given.
    fn machine_with(
        &self,
        about: About,
        value: f64,
        mut random: Option<&mut ChaCha8Rng>,
    ) -> Machine {
        let mut settings = self.settings.clone();
        for (n, dimension) in self.dimensions.iter().enumerate() {
            if about == About::Dimension(n) {
                settings.push(dimension.setting(value));
            } else if let Some(random) = random.as_deref_mut().filter(|_| dimension.kind.is_some())
            {
                settings.push(dimension.setting(near(dimension.written, dimension.range, random)));
            }
        }
        // The ends of each range make a machine, and so does what lies between, but for rare pairs of dimensions.
        let read = machine::read(&self.text, &settings);
        let mut machine = read.unwrap_or_else(|_| self.machine.clone());
        for (n, assumption) in self.machine.assumed.iter().enumerate() {
            let assumed = assumption.usual(&self.machine);
            if about == About::Constant(n) {
                machine = assumption.set(&machine, value);
            } else if let Some((random, assumed)) = random.as_deref_mut().zip(assumed) {
                machine = assumption.set(&machine, near(assumed, assumption.what.range(), random));
            }
        }
        machine
    }
}

/// Whatever may be wrong, whether or not it changes anything.
fn possible(
    machine: &Machine,
    circuit: &Circuit,
    dimensions: &[DimensionRange],
) -> Vec<Hypothesis> {
    let mut all = vec![Hypothesis {
        about: About::Nothing,
        range: (0.0, 0.0),
    }];
    for (n, assumption) in machine.assumed.iter().enumerate() {
        all.push(Hypothesis {
            about: About::Constant(n),
            range: assumption.what.range(),
        });
    }
    for (n, dimension) in dimensions.iter().enumerate() {
        all.push(Hypothesis {
            about: About::Dimension(n),
            range: dimension.range,
        });
    }
    for (n, plan) in circuit.nodes.iter().enumerate() {
        for fault in Fault::ALL.into_iter().filter(|fault| fault.fits(plan)) {
            all.push(Hypothesis {
                about: About::Fault(n, fault),
                range: fault.range(),
            });
        }
    }
    all
}

/// A value near what is written or assumed, within its range.
fn near(assumed: f64, (low, high): (f64, f64), random: &mut ChaCha8Rng) -> f64 {
    let off = 2.0 * share(random.next_u64()) - 1.0;
    (assumed + off * JITTER * (high - low) / 2.0).clamp(low.min(assumed), high.max(assumed))
}

fn with_fault(mut circuit: Circuit, about: About, size: f64) -> Circuit {
    if let About::Fault(n, fault) = about {
        fault.put_into(&mut circuit, n, size);
    }
    circuit
}

fn tended(mut circuit: Circuit) -> Circuit {
    circuit.tending.get_or_insert(nanos(CLEARED_AFTER_S));
    circuit
}
