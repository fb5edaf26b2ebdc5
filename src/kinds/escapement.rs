//! The escapement: it lets marbles through one at a time.

use crate::charts::signs::{Pen, Sign};
use crate::circuit::draw::Draw;
use crate::circuit::plan::{Plan, Role, room};
use crate::circuit::planned::{Planned, Site};
use crate::findings::warnings::Warns;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::model::{Escapement, Room, WhenFull};
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};
use crate::sheet::timed;

impl Description for Escapement {
    const ABOUT: &'static str = "Lets marbles through one at a time.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["clock", "timer", "pendulum", "ratchet", "metering-gate"],
        "{ time: 1.5 s }",
    )];
    const KEYS: &'static [KeyMeaning] = &[("escapement.time", "Time each marble takes.")];
    const KNOBS: &'static [Knob] = &[
        Knob::time(
            ("time", CostClass::Reset),
            [
                "let @ hold each marble longer",
                "let @ hold each marble less long",
            ],
        ),
        Knob::amount(
            ("places", CostClass::Recut),
            (1.0, ""),
            [
                "give @ room for # marbles more",
                "give @ room for # marbles less",
            ],
        ),
    ];
    const TIME_KEY: Option<&'static str> = Some("time");

    fn read(of: &mut Fields) -> Option<Self> {
        let time = of.law("time");
        let time = of.required("time", "1.5 s", time);
        let room = of.room("places").unwrap_or(Room::Unlimited);
        let when_full = of.when_full(WhenFull::Hold);
        time.map(|time| Escapement {
            time,
            room,
            when_full,
        })
    }

    fn typical_s(&self) -> f64 {
        self.time.typical_s()
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        let held = TimeLaw::Fixed { time_s: 1.0 };
        Some(std::mem::replace(&mut self.time, held))
    }
}

impl Planned for Escapement {
    fn plan(&self, site: &Site) -> Plan {
        Plan {
            room: room(Some(self.room)),
            spills: self.when_full == WhenFull::Spill,
            role: Role::Server(Draw::new(&self.time)),
            ..site.workshop.blank()
        }
    }
}

impl SheetEntry for Escapement {
    fn list(&self, plan: &Plan, list: &mut Lister) {
        list.law("time", Some(&self.time));
        list.room("places", plan);
        list.when_full(self.when_full);
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        timed(view.plan())
    }
}

impl Warns for Escapement {}

impl Sign for Escapement {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-9.0, -5.0), (0.0, -8.0), (9.0, -5.0), (9.0, 0.0)]);
        pen.line(&[(-9.0, -5.0), (-9.0, 0.0)]);
        pen.dot(0.0, 3.0, 4.0);
    }
}
