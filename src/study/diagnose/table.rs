//! The reference table: many made-up machines, each with something wrong, and what a maker would count at each.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;
use rayon::prelude::*;

use super::counting::{Counter, horizon, most_readings};
use super::hypotheses::{Hypotheses, Parameter};
use super::measure::{Exposure, Measurable, Measure};
use crate::circuit::draw::share;
use crate::engine::simulate;
use crate::engine::streams::stream;

/// A thumb on a stopwatch is off by so much, one standard deviation, seconds. Common practice, no source.
const STOPWATCH_S: f64 = 0.15;

/// One made-up machine.
#[derive(Clone, Debug, PartialEq)]
pub struct ReferenceDraw {
    /// What is wrong with it.
    pub wrong: Parameter,
    /// What is counted there, by measure; not a number where there was nothing to count.
    pub counted: Vec<f64>,
}

/// Many of them, with what is counted.
#[derive(Clone, Debug)]
pub struct ReferenceTable {
    /// What is counted.
    pub measures: Vec<Measure>,
    /// The draws, in the order of their numbers.
    pub draws: Vec<ReferenceDraw>,
    /// How many possible causes there are.
    pub hypotheses: usize,
}

/// How a table is made.
pub struct TableMaker<'a> {
    /// What may be wrong.
    pub hypotheses: &'a Hypotheses,
    /// What is counted.
    pub measures: &'a [Measure],
    /// The seed.
    pub seed: u64,
}

impl TableMaker<'_> {
    /// Draw number `n`, of this hypothesis.
    pub fn draw(&self, n: u64, hypothesis: usize) -> ReferenceDraw {
        let mut random = stream(self.seed, n, "diagnose");
        let along = share(random.next_u64());
        let wrong = Parameter { hypothesis, along };
        let circuit = self.hypotheses.circuit(wrong, &mut random);
        let mut counter = Counter::new(&circuit, most_readings(self.measures));
        simulate(&circuit, self.seed, n, horizon(self.measures), &mut counter);
        let mut counted = Vec::new();
        for measure in self.measures {
            let value = counter.value(measure);
            counted.push(value.map_or(f64::NAN, |value| read_off(measure, value, &mut random)));
        }
        ReferenceDraw { wrong, counted }
    }

    /// Draws of these hypotheses, the first of them numbered `first`, on all cores, in order whatever the number of threads. `done` is
    /// called once a draw.
    pub fn draws(
        &self,
        hypotheses: &[usize],
        first: u64,
        done: impl Fn() + Sync,
    ) -> Vec<ReferenceDraw> {
        let numbered: Vec<(u64, usize)> = (first..).zip(hypotheses.iter().copied()).collect();
        let one = |&(n, hypothesis): &(u64, usize)| {
            let draw = self.draw(n, hypothesis);
            done();
            draw
        };
        numbered.par_iter().map(one).collect()
    }

    /// A table of these draws.
    pub fn table(&self, draws: Vec<ReferenceDraw>) -> ReferenceTable {
        ReferenceTable {
            measures: self.measures.to_vec(),
            draws,
            hypotheses: self.hypotheses.all.len(),
        }
    }
}

/// So many draws of all hypotheses in turn, so that each is drawn as often as any other.
pub fn in_turn(hypotheses: &Hypotheses, draws: usize) -> Vec<usize> {
    let count = hypotheses.all.len();
    (0..draws).map(|n| n % count).collect()
}

/// The mean of stopwatch readings as a thumb takes them; counts are as they are.
fn read_off(measure: &Measure, value: f64, random: &mut ChaCha8Rng) -> f64 {
    match (measure.what, measure.exposure) {
        (Measurable::Lap | Measurable::Time(_), Exposure::Readings(n)) => {
            let sd_s = STOPWATCH_S / f64::from(n.max(1)).sqrt();
            (value + sd_s * normal(random)).max(0.01)
        }
        _ => value,
    }
}

/// A standard normal number, by Box and Muller (1958).
fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (u, v) = (share(random.next_u64()), share(random.next_u64()));
    (-2.0 * libm::log(u)).sqrt() * libm::cos(std::f64::consts::TAU * v)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of 4,000 means of four readings: 7 s and 0.15 / 2 s, each to four standard errors; no reading is below nothing.
    #[test]
    fn stopwatch_readings_scatter_as_a_thumb_does() {
        let mut random = stream(1, 1, "thumb");
        let measure = |what, exposure| Measure { what, exposure };
        let four = measure(Measurable::Lap, Exposure::Readings(4));
        let all: Vec<f64> = (0..4000)
            .map(|_| read_off(&four, 7.0, &mut random))
            .collect();
        let mean = all.iter().sum::<f64>() / 4000.0;
        let squares: f64 = all.iter().map(|x| (x - mean) * (x - mean)).sum();
        let sd = (squares / 3999.0).sqrt();
        assert!(
            (mean - 7.0).abs() < 4.0 * 0.075 / 4000.0_f64.sqrt(),
            "{mean}"
        );
        assert!((sd / 0.075 - 1.0).abs() < 4.0 / 8000.0_f64.sqrt(), "{sd}");
        let none: Vec<f64> = (0..9).map(|_| read_off(&four, -7.0, &mut random)).collect();
        assert_eq!(none, [0.01; 9]);
        let counted = measure(Measurable::Jams(None), Exposure::Of(4));
        assert_eq!(read_off(&counted, 3.0, &mut random), 3.0);
    }
}
