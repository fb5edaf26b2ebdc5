//! A few machines that span what may differ from one build to another.

use crate::engine::streams::stream;
use crate::machine::Machine;
use crate::machine::build_error::{BuildError, BuildErrorLaw};
use crate::stats::latin_hypercube::latin_column;

/// Normal errors are spanned so many standard deviations either way.
const REACH: f64 = 2.5;
/// Seed of the design, which belongs to no study: the same looks serve all of them.
const SEED: u64 = 1979;

/// So many machines that differ from `plan` in these, as a Latin hypercube: constants over their ranges, errors evenly over
/// `REACH` standard deviations either way, so that the rare ones are known as well as the common.
pub fn design(plan: &Machine, errors: &[BuildError], machines: usize) -> Vec<Machine> {
    let mut all = vec![plan.clone(); machines];
    for error in errors {
        let mut random = stream(SEED, machines as u64, &format!("design\0{}", error.key));
        let places = latin_column(machines, &mut random);
        for (machine, place) in all.iter_mut().zip(places) {
            error.apply(machine, spanned(error.law, place));
        }
    }
    all
}

/// The amount of an error at a place from 0 to 1 of what is spanned.
fn spanned(law: BuildErrorLaw, place: f64) -> f64 {
    match law {
        BuildErrorLaw::Normal { sd } => sd * REACH * (2.0 * place - 1.0),
        BuildErrorLaw::Uniform { low, high, .. } => low + place * (high - low),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Normal errors span two and a half standard deviations either way, even ones their range.
    #[test]
    fn places_span_what_may_differ() {
        let places = [0.0, 0.25, 0.5, 1.0];
        let normal = BuildErrorLaw::Normal { sd: 2.0 };
        assert_eq!(
            places.map(|place| spanned(normal, place)),
            [-5.0, -2.5, 0.0, 5.0]
        );
    }
}
