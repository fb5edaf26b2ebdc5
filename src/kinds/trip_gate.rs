//! The trip gate: it is shut until a marble comes by another place, where a lever opens it.

use crate::charts::signs::{Pen, Sign};
use crate::circuit::draw::nanos;
use crate::circuit::plan::{Plan, Role, room};
use crate::circuit::planned::{Planned, Site};
use crate::circuit::trip::TripState;
use crate::findings::warnings::Warns;
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::limits;
use crate::machine::model::{Room, TripGate, WhenFull};
use crate::machine::suggest::did_you_mean;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};
use crate::sheet::room as room_row;

impl Description for TripGate {
    const ABOUT: &'static str = "A gate that opens when a marble comes by another place.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &[
            "trip",
            "lever",
            "latch",
            "trigger",
            "stopper",
            "holder",
            "release-gate",
            "trap",
        ],
        "{ trip: NAME, lets: 1 }",
    )];
    const KEYS: &'static [KeyMeaning] = &[
        ("trip", "The element whose marbles open it as they come in."),
        (
            "lets",
            "Marbles that it lets go for each trip; left out: 1.",
        ),
        (
            "keeps",
            "Most marbles that it lets go one after another, however often it was tripped; left out: as many as it lets go for one trip.",
        ),
        (
            "first",
            "Marbles that it lets go before anything trips it; left out: 0.",
        ),
        (
            "shut",
            "How long it stays shut after letting one go; left out: 0 s.",
        ),
    ];
    const KNOBS: &'static [Knob] = &[
        Knob::amount(
            ("shut", CostClass::Reset),
            (0.1, "s"),
            ["let @ stay shut longer", "let @ stay shut less long"],
        ),
        Knob::amount(
            ("lets", CostClass::Rebuild),
            (1.0, ""),
            [
                "let @ let go # marbles more for a trip",
                "let @ let go # marbles less for a trip",
            ],
        ),
    ];

    fn read(of: &mut Fields) -> Option<Self> {
        let trip = of.text("trip");
        let trip = of.required("trip", "lever-track", trip);
        let lets = of.count("lets", 1..=limits::MARBLES).unwrap_or(1);
        let keeps = of.count("keeps", 1..=limits::MARBLES);
        let first = of.count("first", 0..=limits::MARBLES).unwrap_or(0);
        let shut_s = of.duration("shut").unwrap_or(0.0);
        let room = of.room("places").unwrap_or(Room::Unlimited);
        let when_full = of.when_full(WhenFull::Hold);
        trip.map(|trip| TripGate {
            trip: trip.to_owned(),
            lets,
            keeps: keeps.unwrap_or(lets),
            first,
            shut_s,
            room,
            when_full,
        })
    }

    fn typical_s(&self) -> f64 {
        self.shut_s
    }

    fn tripped_by(&self) -> Option<&str> {
        (self.first == 0).then_some(&self.trip)
    }

    fn check(&self, at: &ElementCheck) {
        let elements = &at.machine().elements;
        let names = elements.iter().map(|element| element.name.as_str());
        if !names.clone().any(|name| name == self.trip) {
            let what = format!("there is no element called `{}`", self.trip);
            at.wrong("trip", what, did_you_mean(&self.trip, names));
        }
        if self.keeps < self.lets {
            let what = format!(
                "it lets {} go for a trip and keeps no more than {}",
                self.lets, self.keeps
            );
            at.wrong("keeps", what, format!("write {} or more", self.lets));
        }
    }
}

impl Planned for TripGate {
    fn plan(&self, site: &Site) -> Plan {
        let mut elements = site.workshop.machine.elements.iter();
        let by = elements.position(|element| element.name == self.trip);
        Plan {
            room: room(Some(self.room)),
            spills: self.when_full == WhenFull::Spill,
            advance: nanos(self.shut_s),
            role: Role::Trip(TripState {
                by: by.unwrap_or(site.n),
                open_for: self.first,
                lets: self.lets,
                keeps: self.keeps,
            }),
            ..site.workshop.blank()
        }
    }
}

impl SheetEntry for TripGate {
    fn list(&self, plan: &Plan, list: &mut Lister) {
        list.word("trip", &self.trip);
        list.count("lets", self.lets);
        list.count("keeps", self.keeps);
        list.count("first", self.first);
        list.time("shut", self.shut_s);
        list.room("places", plan);
        list.when_full(self.when_full);
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        let value = format!(
            "by each marble that comes into `{}`, for {} at a time",
            self.trip, self.lets
        );
        vec![
            Row::plain("opens", value).with([("lets", f64::from(self.lets), "1")]),
            room_row("room", view.plan()),
        ]
    }
}

impl Warns for TripGate {}

impl Sign for TripGate {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-10.0, -4.0), (8.0, 1.0)]);
        pen.dot(-1.0, -4.8, 2.6);
        pen.line(&[(5.0, -7.5), (5.0, 6.0)]);
        pen.line(&[(5.0, 6.0), (-6.0, 6.0), (-8.5, 3.0)]);
    }
}
