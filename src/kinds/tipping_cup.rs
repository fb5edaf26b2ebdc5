//! The tipping cup: it gathers marbles, tips them all at once, and takes a while to come back.

use crate::charts::signs::{Pen, Sign};
use crate::circuit::batch::BatchState;
use crate::circuit::draw::nanos;
use crate::circuit::plan::{Plan, Role};
use crate::circuit::planned::{Planned, Site};
use crate::findings::warnings::{Warned, WarningView, Warns, never_tips};
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::limits;
use crate::machine::model::{TippingCup, WhenFull};
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetEntry;

impl Description for TippingCup {
    const ABOUT: &'static str = "Gathers marbles and tips them all at once.";
    const ALSO_CALLED: &'static [OtherWords] =
        &[(&["bucket", "scoop", "tipper", "cup"], "{ gathers: 6 }")];
    const KEYS: &'static [KeyMeaning] = &[
        ("gathers", "How many marbles make it tip."),
        ("tip", "From the last marble in to the marbles out."),
        ("reset", "From the marbles out until it takes the next."),
    ];
    const KNOBS: &'static [Knob] = &[
        Knob::amount(
            ("reset", CostClass::Reset),
            (0.1, "s"),
            ["let @ come back later", "let @ come back sooner"],
        ),
        Knob::amount(
            ("gathers", CostClass::Rebuild),
            (1.0, ""),
            ["let @ gather # marbles more", "let @ gather # marbles less"],
        ),
    ];

    fn read(of: &mut Fields) -> Option<Self> {
        let gathers = of.count("gathers", 1..=limits::MARBLES);
        let gathers = of.required("gathers", "6", gathers);
        let tip_s = of.duration("tip").unwrap_or(0.4);
        let reset_s = of.duration("reset").unwrap_or(0.6);
        let when_full = of.when_full(WhenFull::Hold);
        gathers.map(|gathers| TippingCup {
            gathers,
            tip_s,
            reset_s,
            when_full,
        })
    }

    fn typical_s(&self) -> f64 {
        self.tip_s + self.reset_s
    }
}

impl Planned for TippingCup {
    fn plan(&self, site: &Site) -> Plan {
        Plan {
            room: self.gathers,
            spills: self.when_full == WhenFull::Spill,
            role: Role::Batch(
                BatchState::new(self.gathers, nanos(self.tip_s)).back_after(nanos(self.reset_s)),
            ),
            ..site.workshop.blank()
        }
    }
}

impl SheetEntry for TippingCup {
    fn list(&self, _plan: &Plan, list: &mut Lister) {
        list.count("gathers", self.gathers);
        list.time("tip", self.tip_s);
        list.time("reset", self.reset_s);
        list.when_full(self.when_full);
    }
}

impl Warns for TippingCup {
    fn warnings(&self, view: &WarningView) -> Vec<Warned> {
        never_tips(self.gathers, view).into_iter().collect()
    }

    fn gathers(&self) -> Option<u32> {
        Some(self.gathers)
    }
}

impl Sign for TippingCup {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-9.0, -3.0), (-3.0, 6.5), (6.0, 1.5), (3.0, -7.5)]);
        pen.dot(-1.0, 0.5, 2.4);
    }
}
