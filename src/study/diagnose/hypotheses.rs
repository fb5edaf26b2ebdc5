//! What may be wrong with a machine: each constant that the file leaves open, each dimension, each fault, and nothing.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;
use rayon::prelude::*;

use super::dimensions::{DimensionRange, dimensions};
use super::faults::Fault;
use crate::circuit::draw::{nanos, share};
use crate::circuit::{self, Circuit};
use crate::machine::{self, Machine, Setting};

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

/// Everything that may be wrong with a machine.
#[derive(Clone, Debug)]
pub struct Hypotheses {
    text: String,
    settings: Vec<Setting>,
    /// As the file says.
    pub machine: Machine,
    /// Its circuit as it is simulated: somebody clears jams.
    pub circuit: Circuit,
    /// The dimensions that may be off.
    pub dimensions: Vec<DimensionRange>,
    /// What may be wrong and would change anything; nothing first.
    pub all: Vec<Hypothesis>,
    /// Whether dimensions and constants take few values and no other varies beside them, since each combination of them would need
    /// a close look of its own.
    pub few: bool,
}

/// What is not the cause varies by such a share of its own range about what the file says or leaves to be assumed.
const JITTER: f64 = 0.15;
/// Values of a dimension or a constant where they are few.
const VALUES: u32 = 4;
/// Whoever counts jams has cleared them: after so long where the file says that nobody does.
const CLEARED_AFTER_S: f64 = 60.0;

impl Hypotheses {
    /// What may be wrong with the machine of a file with these settings laid over it, which is sound; `None` where it is not.
    pub fn of(text: &str, settings: &[Setting]) -> Option<Self> {
        let machine = machine::read(text, settings).ok()?;
        let circuit = tended(built(&machine));
        let dimensions = dimensions(text, settings);
        let few = circuit
            .nodes
            .iter()
            .any(|plan| plan.by_crowd || plan.looked().is_some());
        let mut found = Hypotheses {
            text: text.to_owned(),
            settings: settings.to_vec(),
            all: possible(&machine, &circuit, &dimensions),
            machine,
            circuit,
            dimensions,
            few,
        };
        let as_it_is = format!("{:?}", found.circuit);
        let all = found.all.par_iter();
        found.all = all
            .filter(|one| found.shows(one, &as_it_is))
            .copied()
            .collect();
        Some(found)
    }

    /// How far along its range a hypothesis is drawn.
    pub fn draw_along(&self, hypothesis: usize, random: &mut ChaCha8Rng) -> f64 {
        let along = share(random.next_u64());
        match self.all[hypothesis].about {
            About::Constant(_) | About::Dimension(_) if self.few => {
                let values = f64::from(VALUES);
                ((along * values).floor() + 0.5) / values
            }
            _ => along,
        }
    }

    /// Whether a constant or a dimension changes anything of the circuit; a fault always does.
    fn shows(&self, hypothesis: &Hypothesis, as_it_is: &str) -> bool {
        if matches!(hypothesis.about, About::Nothing | About::Fault(..)) {
            return true;
        }
        let ends = [0.5, f64::from(VALUES) - 0.5].map(|n| n / f64::from(VALUES));
        ends.iter().any(|&along| {
            let machine = self.machine_with(hypothesis.about, hypothesis.value(along), None);
            format!("{:?}", tended(built(&machine))) != as_it_is
        })
    }

    /// The machine's circuit with this wrong; everything else is nearly as the file says.
    pub fn circuit(&self, wrong: Parameter, random: &mut ChaCha8Rng) -> Circuit {
        let hypothesis = self.all[wrong.hypothesis];
        let value = hypothesis.value(wrong.along);
        if self.few && matches!(hypothesis.about, About::Nothing | About::Fault(..)) {
            return with_fault(self.circuit.clone(), hypothesis.about, value);
        }
        let random = (!self.few).then_some(random);
        let machine = self.machine_with(hypothesis.about, value, random);
        with_fault(tended(built(&machine)), hypothesis.about, value)
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

/// The circuit of a machine, by brief looks at what has to be looked at: what was looked at once is remembered.
fn built(machine: &Machine) -> Circuit {
    circuit::sketch(machine)
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
