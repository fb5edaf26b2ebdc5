//! The weir: the next way takes what the first has no room for.

use super::fall;
use crate::charts::signs::{Pen, Sign};
use crate::circuit::plan::{Plan, Role};
use crate::circuit::planned::{Planned, Site};
use crate::findings::warnings::Warns;
use crate::machine::description::{Description, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::model::Weir;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetEntry;

impl Description for Weir {
    const ABOUT: &'static str = "A weir: the next way takes what the first has no room for.";
    const ALSO_CALLED: &'static [OtherWords] =
        &[(&["overflow", "sluice", "spillway"], "{ drop: 40 mm }")];
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
        Some(Weir { fall: of.fall() })
    }

    fn typical_s(&self) -> f64 {
        self.fall.law().typical_s()
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.fall.time.take()
    }
}

impl Planned for Weir {
    fn plan(&self, site: &Site) -> Plan {
        Plan {
            role: Role::FirstWithRoom,
            ..fall::plan(&self.fall, site)
        }
    }
}

impl SheetEntry for Weir {
    fn list(&self, _plan: &Plan, list: &mut Lister) {
        list.fall(&self.fall);
    }

    fn fall_m(&self) -> Option<f64> {
        Some(self.fall.drop_m)
    }
}

impl Warns for Weir {}

impl Sign for Weir {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-10.0, 7.0), (1.0, 7.0), (1.0, -2.0)]);
        pen.line(&[(-10.0, -4.5), (2.0, -4.5), (6.0, -1.0), (8.0, 7.0)]);
    }
}
