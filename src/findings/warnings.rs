//! What a maker would regret of a machine that is sound: said before a marble runs, from its dimensions alone.
//!
//! What was measured is never doubted: a wheel with a measured pick-up has no computed limit.

use super::words::count;
use crate::circuit::plan::Plan;
use crate::circuit::workshop::Workshop;
use crate::circuit::{self, Circuit};
use crate::machine::Machine;
use crate::machine::allow::Warning;
use crate::machine::kind::each_kind;
use crate::machine::model::{Element, Supply};
use crate::machine::units::{CURRENT, System};

/// One warning: what it is about, what there is to regret, and how to fix it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warned {
    /// Which warning.
    pub warning: Warning,
    /// The key it concerns, dotted.
    pub key: String,
    /// What a maker would regret, one sentence.
    pub what: String,
    /// How to fix it, one sentence.
    pub help: String,
}

/// What there is to regret of a kind of element.
pub trait Warns {
    /// What is certain from its dimensions.
    fn warnings(&self, _view: &WarningView) -> Vec<Warned> {
        Vec::new()
    }

    /// Whether the load finds places in it when it is poured in.
    fn room_at_start(&self, _view: &WarningView) -> Option<Warned> {
        None
    }

    /// How many marbles come together in it before any of them goes on, if they do.
    fn gathers(&self) -> Option<u32> {
        None
    }
}

/// All warnings that the machine does not allow, in the order of its elements; lengths in `system`.
pub fn warnings(machine: &Machine, system: System) -> Vec<Warned> {
    let circuit = circuit::rooms(machine);
    let view = |n: usize| WarningView {
        machine,
        circuit: &circuit,
        n,
        element: &machine.elements[n],
        system,
    };
    let start = &machine.elements[machine.start].kind;
    let mut all = Vec::new();
    all.extend(each_kind!(start, of => of.room_at_start(&view(machine.start))));
    all.extend(gathered(machine));
    all.extend(supply(machine));
    for (n, element) in machine.elements.iter().enumerate() {
        all.extend(each_kind!(&element.kind, of => of.warnings(&view(n))));
    }
    all.retain(|warned| !machine.allow.contains(&warned.warning));
    all
}

/// An element that may have something to regret.
pub struct WarningView<'a> {
    /// The machine it is part of.
    pub machine: &'a Machine,
    /// The same as nodes.
    pub circuit: &'a Circuit,
    /// Its index.
    pub n: usize,
    /// The element.
    pub element: &'a Element,
    /// How lengths are shown.
    pub system: System,
}

impl<'a> WarningView<'a> {
    /// The element as a node.
    pub fn plan(&self) -> &'a Plan {
        &self.circuit.nodes[self.n]
    }

    /// What it stands in.
    pub fn workshop(&self) -> Workshop<'a> {
        Workshop::new(self.machine, self.element)
    }

    /// A warning about one of its keys.
    pub fn about_key(
        &self,
        warning: Warning,
        key: &str,
        what: String,
        help: impl Into<String>,
    ) -> Warned {
        let Element { name, kind, .. } = self.element;
        Warned {
            warning,
            key: format!("circuit.{name}.{}.{key}", kind.name()),
            what,
            help: help.into(),
        }
    }

    /// A warning about all of it.
    pub fn about_all(&self, warning: Warning, what: String, help: impl Into<String>) -> Warned {
        Warned {
            warning,
            key: format!("circuit.{}", self.element.name),
            what,
            help: help.into(),
        }
    }
}

/// Whether its adapter gives less than its motor draws when a jam stalls it.
fn supply(machine: &Machine) -> Option<Warned> {
    let motor = machine.drive.motor.as_ref()?;
    let Supply::Adapter { most_a, .. } = motor.supply? else {
        return None;
    };
    let stalled_a = motor.stalled_a();
    if most_a >= stalled_a {
        return None;
    }
    let what = format!(
        "the adapter gives {}, and the motor draws {} when a jam stalls it: it switches off or fails then",
        CURRENT.show(most_a),
        CURRENT.show(stalled_a)
    );
    Some(Warned {
        warning: Warning::Supply,
        key: "drive.motor.cells.current".to_owned(),
        what,
        help: "take an adapter that gives more, or fuse the motor for less".to_owned(),
    })
}

/// Whether what tips with so many marbles never does.
pub fn never_tips(gathers: u32, view: &WarningView) -> Option<Warned> {
    let load = view.machine.marbles.count;
    if gathers <= load {
        return None;
    }
    let load = count(u64::from(load), "marble");
    let what = format!(
        "`{}` gathers {gathers} marbles and the machine has {load}, so it never tips",
        view.element.name
    );
    let help = "let it tip with fewer, well below the load";
    Some(view.about_key(Warning::Gathers, "gathers", what, help))
}

/// Whether all marbles may come to rest where they gather, each time one short of enough.
fn gathered(machine: &Machine) -> Option<Warned> {
    let load = machine.marbles.count;
    let mut held = 0;
    for element in &machine.elements {
        if let Some(gathers) = each_kind!(&element.kind, of => of.gathers()) {
            if gathers > load {
                // That is said of the cup itself.
                return None;
            }
            held += gathers - 1;
        }
    }
    // One cup alone holds fewer than make it tip.
    if held < load {
        return None;
    }
    let what = format!(
        "the cups can hold {held} marbles without tipping, and the machine has {load}: all may come to rest in them"
    );
    Some(Warned {
        warning: Warning::Gathers,
        key: "circuit".to_owned(),
        what,
        help: "let them tip with fewer, or run more marbles".to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine;

    /// Two cups that tip with three hold two each: all of four marbles, not of five; one cup never holds all that make it tip.
    #[test]
    fn cups_that_can_hold_all_marbles_are_warned_of() {
        let warned = |marbles: u32, cups: u32| {
            let cups: String = (0..cups)
                .map(|n| {
                    let next = if n + 1 == cups { "end".to_owned() } else { format!("cup-{}", n + 1) };
                    format!("  cup-{n}: {{ tipping-cup: {{ gathers: 3, tip: 0.5 s, reset: 1 s }}, to: {next} }}\n")
                })
                .collect();
            let file = format!(
                "format: 1\nmarbles: {{ count: {marbles} }}\nstart: ramp\ncircuit:\n  \
                 ramp: {{ ramp: {{ time: 1 s, places: 20 }}, to: cup-0 }}\n{cups}  \
                 end: {{ slide: {{ time: 1 s }}, to: ramp }}\n"
            );
            gathered(&machine::read(&file, &[]).expect("a sound file")).map(|warned| warned.what)
        };
        let what = "the cups can hold 4 marbles without tipping, and the machine has 4: all may come to rest in them";
        assert_eq!(warned(4, 2).as_deref(), Some(what));
        assert_eq!(warned(5, 2), None);
        assert!(warned(3, 2).is_some());
        // Said of the cup itself.
        assert_eq!(warned(2, 2), None);
        assert_eq!(warned(3, 1), None);
    }
}
