//! What the machine file would say if a cause were taken for true.

use super::faults::Fault;
use super::hypotheses::{About, Hypotheses};
use crate::circuit::Circuit;
use crate::circuit::draw::Draw;
use crate::circuit::plan::Plan;
use crate::machine::assumed::{AssumedConstant, Assumption};
use crate::machine::kind::time_key;
use crate::machine::law::TimeLaw;
use crate::machine::units::{LENGTH, plain};
use crate::machine::write_law;

/// A key of the machine file and the value it would have.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct FileChange {
    /// The dotted key.
    pub key: String,
    /// Its value.
    pub value: String,
}

/// What the file would say if this hypothesis were true with this value; nothing where no key says it.
pub fn changes(hypotheses: &Hypotheses, hypothesis: usize, value: f64) -> Vec<FileChange> {
    match hypotheses.all[hypothesis].about {
        About::Nothing => Vec::new(),
        About::Constant(n) => constant(hypotheses, &hypotheses.machine().assumed[n], value),
        About::Dimension(n) => {
            let dimension = &hypotheses.dimensions()[n];
            vec![FileChange {
                key: dimension.key.clone(),
                value: dimension.show(value),
            }]
        }
        About::Fault(n, fault) => {
            let mut circuit = hypotheses.circuit.clone();
            fault.put_into(&mut circuit, n, value);
            of_fault(hypotheses, &circuit, n, fault, value)
        }
    }
}

/// To three figures of the range: more would promise more than is known.
fn rounded(value: f64, (low, high): (f64, f64)) -> f64 {
    let step = libm::pow(
        10.0,
        libm::floor(libm::log10(((high - low) / 100.0).max(1e-9))),
    );
    (value / step).round() * step
}

fn constant(hypotheses: &Hypotheses, assumption: &Assumption, value: f64) -> Vec<FileChange> {
    let what = assumption.what;
    let value = rounded(value, what.range());
    let marble_m = hypotheses.machine().marbles.diameter_m.unwrap_or(0.0);
    let text = match what {
        AssumedConstant::BendLoss => plain(value),
        AssumedConstant::Channel | AssumedConstant::CutBack => LENGTH.show(value * marble_m),
        // So many plywood discs are another inertia for each wheel.
        AssumedConstant::Inertia => return Vec::new(),
        _ => what.show(value),
    };
    if what.key().contains('.') {
        return vec![FileChange {
            key: what.key().to_owned(),
            value: text,
        }];
    }
    let mut all = Vec::new();
    for &n in &assumption.elements {
        let key = key(&hypotheses.circuit.nodes[n], what.key());
        all.push(FileChange {
            key,
            value: text.clone(),
        });
    }
    all
}

fn key(plan: &Plan, last: &str) -> String {
    format!("circuit.{}.{}.{last}", plan.name, plan.kind)
}

fn of_fault(
    hypotheses: &Hypotheses,
    circuit: &Circuit,
    n: usize,
    fault: Fault,
    size: f64,
) -> Vec<FileChange> {
    let plan = &circuit.nodes[n];
    let share = write_law::factor;
    let change = match fault {
        Fault::Misses | Fault::Pinches => plan.wheel().map(|wheel| {
            let (pinched, missed) = wheel.pick_up.pinched_and_missed();
            let pick_up = format!(
                "{{ take: {}, pinch: {} }}",
                share(1.0 - pinched - missed),
                share(pinched)
            );
            (key(plan, "pick-up"), pick_up)
        }),
        Fault::CarriesOver => plan
            .wheel()
            .map(|wheel| (key(plan, "release"), share(wheel.release.share()))),
        Fault::Arches => plan.blockage.as_ref().and_then(|blockage| {
            let chance = blockage.chance.get(1)?.share();
            Some((key(plan, "arch.chance"), share(chance)))
        }),
        Fault::Slow => time_key(plan.kind)
            .map(|time| (key(plan, time), write_law::law(&law(hypotheses, n, size)))),
        Fault::Leaks => None,
    };
    change
        .map(|(key, value)| FileChange { key, value })
        .into_iter()
        .collect()
}

/// The law of an element's times, so many times as long: of what was measured, else a normal law of what is computed.
fn law(hypotheses: &Hypotheses, n: usize, times: f64) -> TimeLaw {
    let mut kind = hypotheses.machine().elements[n].kind.clone();
    if let Some(measured) = kind.take_time() {
        return match measured.scaled(times) {
            // As finely as a stopwatch reads.
            TimeLaw::Samples { times_s } => TimeLaw::Samples {
                times_s: times_s
                    .iter()
                    .map(|time_s| (time_s * 100.0).round() / 100.0)
                    .collect(),
            },
            law => law,
        };
    }
    let computed = hypotheses.circuit.nodes[n]
        .travel
        .first()
        .cloned()
        .unwrap_or(Draw::Fixed(0));
    let at = |p: f64| crate::circuit::draw::seconds(computed.quantile(p));
    // Between these two lie 68 % of a normal law.
    TimeLaw::Normal {
        mean_s: times * at(0.5),
        sd_s: times * (at(0.841) - at(0.159)) / 2.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A range of 0 to 10 is told to a tenth, one of 0 to 1 to a hundredth, one of 0.2 to 0.7 to a thousandth.
    #[test]
    fn values_have_three_figures_of_their_range() {
        let cases = [
            (1.2345, (0.0, 10.0), 1.2),
            (1.2345, (0.0, 1.0), 1.23),
            (0.45678, (0.2, 0.7), 0.457),
            (123.45, (0.0, 1000.0), 120.0),
        ];
        for (value, range, is) in cases {
            let rounded = rounded(value, range);
            assert!((rounded - is).abs() < 1e-12, "{value} {range:?}: {rounded}");
        }
    }
}
