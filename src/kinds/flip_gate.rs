//! The flip gate: it goes over under each marble, so that they go each way in turn.

use super::fall;
use crate::charts::signs::{Pen, Sign};
use crate::circuit::draw::nanos;
use crate::circuit::plan::{Cause, Plan, Role, blockage};
use crate::circuit::planned::{Planned, Site};
use crate::circuit::round_robin::RoundRobinState;
use crate::findings::warnings::Warns;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::model::FlipGate;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetEntry;

impl Description for FlipGate {
    const ABOUT: &'static str = "A gate that sends marbles each way in turn.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &[
            "flipper", "switch", "diverter", "gate", "divider", "splitter", "rocker", "toggle",
        ],
        "{ drop: 40 mm, throw: 0.2 s }",
    )];
    const KEYS: &'static [KeyMeaning] = &[
        ("throw", "How long the gate takes to go over."),
        ("stick", "How it sticks half-way."),
    ];
    const KNOBS: &'static [Knob] = &[
        Knob::amount(
            ("throw", CostClass::Reset),
            (0.05, "s"),
            ["let @ go over slower", "let @ go over faster"],
        ),
        Knob::amount(
            ("drop", CostClass::Recut),
            (5.0, "mm"),
            [
                "let marbles drop farther at @",
                "let marbles drop less at @",
            ],
        ),
    ];
    const SPLITS: bool = true;
    const TIME_KEY: Option<&'static str> = Some("time");
    const SWAPPED_IN: Option<&'static str> = Some("{ drop: 40 mm, throw: 0.2 s }");

    fn read(of: &mut Fields) -> Option<Self> {
        Some(FlipGate {
            fall: of.fall(),
            throw_s: of.duration("throw").unwrap_or(0.15),
            stick: of.arch("stick"),
        })
    }

    fn typical_s(&self) -> f64 {
        self.fall.law().typical_s()
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.fall.time.take()
    }
}

impl Planned for FlipGate {
    fn plan(&self, site: &Site) -> Plan {
        let stick = self.stick.as_ref();
        Plan {
            blockage: stick.map(|stick| blockage(stick, Cause::Stick)),
            role: Role::RoundRobin(RoundRobinState::new(nanos(self.throw_s), site.ways)),
            ..fall::plan(&self.fall, site)
        }
    }
}

impl SheetEntry for FlipGate {
    fn list(&self, _plan: &Plan, list: &mut Lister) {
        list.fall(&self.fall);
        list.time("throw", self.throw_s);
        list.arch("stick", self.stick.as_ref());
    }

    fn fall_m(&self) -> Option<f64> {
        Some(self.fall.drop_m)
    }
}

impl Warns for FlipGate {}

impl Sign for FlipGate {
    fn draw(pen: &mut Pen) {
        pen.line(&[(0.0, 7.0), (0.0, 0.0)]);
        pen.line(&[(-6.5, -6.5), (0.0, 0.0), (8.0, -1.0)]);
        pen.dot(0.0, 0.0, 2.0);
    }
}
