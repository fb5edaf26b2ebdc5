//! The pocket wheel: each of its pockets lifts a marble.

mod assumed;
mod check;
mod knobs;
mod list;
mod pick_up;
mod plan;
mod read;
mod release;
mod sheet;
mod warnings;

use crate::charts::signs::{Pen, Sign, around};
use crate::circuit::drive::wheel_rpm;
use crate::circuit::joints::Outflow;
use crate::circuit::looked_place::LookedPlace;
use crate::circuit::plan::Plan;
use crate::circuit::planned::{Planned, Site};
use crate::circuit::wheel_shape;
use crate::findings::warnings::{Warned, WarningView, Warns};
use crate::machine::assumed::AssumedConstant;
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Complaint, Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::Knob;
use crate::machine::model::{PocketWheel, TurnedBy};
use crate::machine::workmanship::WorkshopError;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};

impl Description for PocketWheel {
    const ABOUT: &'static str = "A wheel that lifts one marble a pocket.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["lift", "wheel", "ferris-wheel", "water-wheel", "rotor"],
        "{ pockets: 16, pitch-radius: 120 mm, bore: 21 mm, depth: 17 mm, tilt: 7 deg }",
    )];
    const KEYS: &'static [KeyMeaning] = read::KEYS;
    const KNOBS: &'static [Knob] = knobs::KNOBS;

    fn read(of: &mut Fields) -> Option<Self> {
        read::wheel(of)
    }

    fn dead_end(name: &str) -> Option<Complaint> {
        let what = format!("the wheel `{name}` lifts marbles to nowhere");
        Some((what, "name the slide at its top"))
    }

    fn has_dimensions(&self) -> bool {
        self.shape.is_some()
    }

    fn check(&self, at: &ElementCheck) {
        check::wheel(self, at);
    }

    fn is_computed(&self) -> bool {
        self.shape.is_some()
    }

    fn goes_by(&self, what: AssumedConstant) -> bool {
        assumed::goes_by(self, what)
    }

    fn lacks_slope(&self, sloped_before: bool) -> bool {
        self.shape.is_some() && self.pick_up.is_none() && !sloped_before
    }

    fn assume(&mut self, what: AssumedConstant, value: f64) {
        if let Some(shape) = &mut self.shape {
            assumed::assume(shape, what, value);
        }
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        assumed::errs_in(self, what)
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        assumed::err(self, what, by);
    }

    fn wheel(&self) -> Option<&PocketWheel> {
        Some(self)
    }

    fn turned_by(&self) -> Option<TurnedBy> {
        Some(self.turned_by)
    }

    fn turned_by_mut(&mut self) -> Option<&mut TurnedBy> {
        Some(&mut self.turned_by)
    }
}

impl Planned for PocketWheel {
    fn looked_place(&self, site: &Site) -> Option<LookedPlace> {
        let rpm = wheel_rpm(self, site.workshop.machine);
        let place = wheel_shape::place(self, rpm, &site.workshop)?;
        Some(LookedPlace::AtWheel(Box::new(place)))
    }

    fn plan(&self, site: &Site) -> Plan {
        plan::plan(self, site)
    }

    fn exit_speed_m_s(&self, out: &Outflow) -> Option<f64> {
        let rpm = wheel_rpm(self, out.workshop.machine);
        wheel_shape::out_speed_m_s(self, rpm, &out.workshop)
    }
}

impl SheetEntry for PocketWheel {
    fn list(&self, _plan: &Plan, list: &mut Lister) {
        list::wheel(self, list);
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        sheet::rows(self, view)
    }
}

impl Warns for PocketWheel {
    fn warnings(&self, view: &WarningView) -> Vec<Warned> {
        warnings::warnings(self, view)
    }
}

impl Sign for PocketWheel {
    fn draw(pen: &mut Pen) {
        pen.arc((0.0, 0.0), 5.0, 0.0, 1.0);
        for pocket in 0..8 {
            let (dx, dy) = around(8.0, f64::from(pocket) / 8.0);
            pen.dot(dx, dy, 1.7);
        }
    }
}
