//! The peg: marbles bounce off it to either side.

use super::fall;
use crate::charts::signs::{Pen, Sign};
use crate::circuit::draw::Shares;
use crate::circuit::plan::{Plan, Role};
use crate::circuit::planned::{Planned, Site};
use crate::findings::warnings::Warns;
use crate::machine::description::{Description, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::model::Peg;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetEntry;

impl Description for Peg {
    const ABOUT: &'static str = "A peg that marbles bounce off, to any way by its share.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["pin", "nail", "post", "pegboard", "galton-board"],
        "{ drop: 40 mm }",
    )];
    const SPLITS: bool = true;
    const KNOBS: &'static [Knob] = &[Knob::amount(
        ("drop", CostClass::Recut),
        (5.0, "mm"),
        [
            "let marbles drop farther at @",
            "let marbles drop less at @",
        ],
    )];
    const TIME_KEY: Option<&'static str> = Some("time");
    const SWAPPED_IN: Option<&'static str> = Some("{ drop: 40 mm }");

    fn read(of: &mut Fields) -> Option<Self> {
        Some(Peg {
            fall: of.fall(),
            shares: of.shares(),
        })
    }

    fn shares(&self) -> &[f64] {
        &self.shares
    }

    fn typical_s(&self) -> f64 {
        self.fall.law().typical_s()
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.fall.time.take()
    }
}

impl Planned for Peg {
    fn plan(&self, site: &Site) -> Plan {
        Plan {
            role: Role::RandomWay(Shares::new(&self.shares, site.ways)),
            ..fall::plan(&self.fall, site)
        }
    }
}

impl SheetEntry for Peg {
    fn list(&self, _plan: &Plan, list: &mut Lister) {
        list.fall(&self.fall);
        list.shares(&self.shares);
    }

    fn fall_m(&self) -> Option<f64> {
        Some(self.fall.drop_m)
    }
}

impl Warns for Peg {}

impl Sign for Peg {
    fn draw(pen: &mut Pen) {
        pen.dot(0.0, -3.0, 3.0);
        pen.line(&[(-2.5, 2.0), (-8.0, 7.5)]);
        pen.line(&[(2.5, 2.0), (8.0, 7.5)]);
    }
}
