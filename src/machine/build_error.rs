//! What one machine differs in from its plan and from another that is built to it: errors of the workshop, and the constants
//! that the file leaves open, which are whatever they are in that workshop.
//!
//! All of these are drawn once a build and hold for its life. What differs from marble to marble, from pocket to pocket or
//! from event to event is no such error, and is drawn in every run: `marbles.spread`, `pitch-error`, the scatter of times.

use super::assumed::{AssumedConstant, Assumption, End};
use super::description::Description;
use super::kind::{Kind, each_kind};
use super::model::Machine;
use super::units::System;
use super::workmanship::WorkshopError;

/// One thing in which builds differ.
#[derive(Clone, Debug, PartialEq)]
pub struct BuildError {
    /// What is not exact, with its element: `start-ramp.slope`, `assume.friction`. Draws go by it.
    pub key: String,
    /// The same in words.
    pub name: String,
    /// How it differs from build to build.
    pub law: BuildErrorLaw,
    what: Differing,
}

/// How something differs from build to build; SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BuildErrorLaw {
    /// By the normal law about the plan.
    Normal {
        /// Standard deviation.
        sd: f64,
    },
    /// Anywhere in a range, evenly.
    Uniform {
        /// The low end.
        low: f64,
        /// The high end.
        high: f64,
        /// What is assumed where nothing better is known.
        usual: f64,
    },
}

#[derive(Clone, Debug, PartialEq)]
enum Differing {
    /// Off the plan, in one element or in all.
    Made(WorkshopError, Option<usize>),
    /// A constant.
    Constant(Assumption),
}

/// All in which builds of `machine` differ: the machine's own first, element by element, then constants.
pub fn build_errors(machine: &Machine) -> Vec<BuildError> {
    let mut all = Vec::new();
    let computed = |kind: &Kind| each_kind!(kind, of => of.is_computed());
    let elements = &machine.elements;
    if machine.marbles.diameter_m.is_some() && elements.iter().any(|of| computed(&of.kind)) {
        all.push(made(machine, WorkshopError::Marbles, None));
    }
    if elements.iter().any(|of| of.kind.is_on_drive()) {
        all.push(made(machine, WorkshopError::Speed, None));
    }
    for (n, element) in elements.iter().enumerate() {
        for what in WorkshopError::ALL {
            if errs_in(&element.kind, what) {
                all.push(made(machine, what, Some(n)));
            }
        }
    }
    for assumption in &machine.assumed {
        if let Some(constant) = constant(machine, assumption) {
            all.push(constant);
        }
    }
    all.retain(|error| error.law != BuildErrorLaw::Normal { sd: 0.0 });
    all
}

/// The plan as every build of it is drawn from: errors that each build has for its life are not drawn again in every look
/// at its wheels.
pub fn drawn_once(machine: &Machine) -> Machine {
    let mut plan = machine.clone();
    for n in 0..plan.elements.len() {
        if slope_is_drawn(machine, n) {
            let wheel = &mut plan.elements[n].kind;
            each_kind!(wheel, of => of.assume(AssumedConstant::SlopeError, 0.0));
        }
    }
    plan
}

/// Whether element `n` goes by the error of the slope before it, and that slope has an error of its own.
fn slope_is_drawn(machine: &Machine, n: usize) -> bool {
    let goes_by =
        each_kind!(&machine.elements[n].kind, of => of.goes_by(AssumedConstant::SlopeError));
    let mut feeders = machine.elements.iter();
    goes_by
        && feeders.any(|of| {
            // A funnel's wall and a jump's lip have slopes of their own, which no wheel after them goes by.
            let leads_on = each_kind!(&of.kind, of => of.exit_slope_rad()).is_some();
            let errs = errs_in(&of.kind, WorkshopError::Slope);
            of.to.iter().any(|exit| exit.to == n) && leads_on && errs
        })
}

fn errs_in(kind: &Kind, what: WorkshopError) -> bool {
    each_kind!(kind, of => of.errs_in(what))
}

fn made(machine: &Machine, what: WorkshopError, element: Option<usize>) -> BuildError {
    let name = element.map(|n| machine.elements[n].name.as_str());
    let own = element.and_then(|n| slope_sd_before_wheel(machine, n));
    let default = machine.workshop.sd(what, machine.marbles.material);
    let sd = own
        .filter(|_| what == WorkshopError::Slope)
        .unwrap_or(default);
    BuildError {
        key: format!("{}.{}", name.unwrap_or("machine"), what.key()),
        name: match (name, what) {
            (Some(element), _) => format!("{} of `{element}`", what.name()),
            (None, WorkshopError::Speed) => "speed of the drive".to_owned(),
            (None, _) => what.name().to_owned(),
        },
        law: BuildErrorLaw::Normal { sd },
        what: Differing::Made(what, element),
    }
}

/// The error that the file gives for the slope of what leads to a wheel.
fn slope_sd_before_wheel(machine: &Machine, n: usize) -> Option<f64> {
    let is_open = |wheel: usize| {
        let mut open = machine.assumed.iter();
        open.any(|of| of.what == AssumedConstant::SlopeError && of.elements.contains(&wheel))
    };
    let mut ways = machine.elements[n].to.iter();
    ways.find_map(|exit| {
        let shape = machine.elements[exit.to].kind.wheel()?.shape.as_ref()?;
        (!is_open(exit.to)).then_some(shape.slope_error_rad)
    })
}

/// An assumed constant as something in which builds differ; the error of slopes is drawn itself where there are slopes.
fn constant(machine: &Machine, assumption: &Assumption) -> Option<BuildError> {
    let mut assumption = assumption.clone();
    if assumption.what == AssumedConstant::SlopeError {
        assumption.elements.retain(|&n| !slope_is_drawn(machine, n));
        if assumption.elements.is_empty() {
            return None;
        }
    }
    let [low, high] = [End::Low, End::High].map(|end| assumption.what.value(end));
    Some(BuildError {
        key: assumption.what.key().to_owned(),
        name: assumption.what.name().to_owned(),
        law: BuildErrorLaw::Uniform {
            low,
            high,
            usual: assumption.usual(machine).unwrap_or((low + high) / 2.0),
        },
        what: Differing::Constant(assumption),
    })
}

impl BuildError {
    /// Whether it is a constant that is not known, and not an error of the workshop.
    pub fn is_constant(&self) -> bool {
        matches!(self.what, Differing::Constant(_))
    }

    /// Makes `machine` off the plan by `amount`, or sets the constant to it; SI units.
    pub fn apply(&self, machine: &mut Machine, amount: f64) {
        match &self.what {
            Differing::Constant(assumption) => *machine = assumption.set(machine, amount),
            Differing::Made(what, Some(n)) => {
                each_kind!(&mut machine.elements[*n].kind, of => of.err(*what, amount));
            }
            Differing::Made(WorkshopError::Marbles, None) => {
                if let Some(diameter_m) = &mut machine.marbles.diameter_m {
                    *diameter_m += amount;
                }
            }
            Differing::Made(_, None) => {
                machine.drive.rpm *= 1.0 + amount;
                if let Some(motor) = &mut machine.drive.motor {
                    motor.no_load_rpm *= 1.0 + amount;
                }
            }
        }
    }

    /// An amount of it with its unit, lengths in these units.
    pub fn show_in(&self, amount: f64, system: System) -> String {
        match &self.what {
            Differing::Made(what, _) => what.show_in(amount, system),
            Differing::Constant(assumption) => assumption.what.show_in(amount, system),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine;

    /// Every dimension that decides what happens is made inexactly, and the error changes the machine; nothing that was
    /// measured is.
    #[test]
    fn each_kind_is_made_inexactly() {
        let town = [
            (
                include_str!("../../scenarios/pier-fair.yaml"),
                vec![
                    "mast.length",
                    "see-saw.length",
                    "see-saw.slope",
                    "loop.length",
                    "leap.length",
                    "leap.slope",
                ],
            ),
            (
                include_str!("../../scenarios/quay-crane.yaml"),
                vec!["whirlpool.bore", "whirlpool.length", "whirlpool.slope"],
            ),
            (
                include_str!("../../scenarios/lock-stairs.yaml"),
                vec!["stairs.length", "stairs.slope"],
            ),
            (
                include_str!("../../scenarios/harbour-chimes.yaml"),
                vec!["dredger.length"],
            ),
        ];
        for (file, keys) in town {
            let plan = machine::read(file, &[]).expect("a sound file");
            let errors = build_errors(&plan);
            for key in keys {
                let found = errors.iter().find(|error| error.key == key);
                let error = found.unwrap_or_else(|| panic!("{key} is exact: {errors:?}"));
                let mut built = plan.clone();
                error.apply(&mut built, 0.001);
                assert_ne!(built, plan, "{key}");
            }
        }
    }
}
