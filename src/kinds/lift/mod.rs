//! What lifts have in common that are no pocket wheels: something comes to the foot by the clock of its drive, takes marbles
//! that wait there, and lets them go at the top.
//!
//! No close look is taken where marbles meet them. Whether a marble comes in follows from one time against another: how long
//! the place is open to it, and how long it takes to roll in from rest. What is caught between, and what bounces out, is not
//! looked at: measured chances (`pick-up`, `release`) say it where it matters.

mod plan;
mod sheet;
mod warnings;

use crate::circuit::plan::Plan;
use crate::circuit::planned::{Planned, Site};
use crate::findings::warnings::{Warned, WarningView, Warns};
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Complaint, Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::model::{DrivenLift, Lifting, TurnedBy};
use crate::machine::workmanship::WorkshopError;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};

/// A lift's own motor.
pub const SPEED: Knob = Knob::amount(
    ("speed", CostClass::Turn),
    (0.25, "rpm"),
    ["turn @ faster", "turn @ slower"],
);
/// A lift's gears.
pub const GEAR: Knob = Knob::amount(
    ("gear", CostClass::Rebuild),
    (0.05, ""),
    ["gear @ faster", "gear @ slower"],
);

/// What tells one kind of lift from the others.
pub trait LiftKind: Sized {
    /// See [`Description::ABOUT`].
    const ABOUT: &'static str;
    /// See [`Description::KEYS`].
    const KEYS: &'static [KeyMeaning];
    /// See [`Description::KNOBS`].
    const KNOBS: &'static [Knob];
    /// See [`Description::ALSO_CALLED`].
    const ALSO_CALLED: &'static [OtherWords];
    /// See [`Description::SWAPPED_IN`].
    const SWAPPED_IN: &'static str;
    /// The key that makes it easier for marbles to come in, and how.
    const EASIER: (&'static str, &'static str);

    /// Its own dimensions from the keys of the file.
    fn read(of: &mut Fields) -> Option<Self>;

    /// See [`Description::check`].
    fn check(&self, at: &ElementCheck);

    /// How it carries marbles of this diameter, metres.
    fn lifting(&self, diameter_m: Option<f64>) -> Lifting;

    /// See [`Description::errs_in`]: of its own dimensions. None where they change how high it goes and not when it comes, as
    /// the way of a stroke or a swing does; its dwell is cut into a cam.
    fn errs_in(&self, _what: WorkshopError) -> bool {
        false
    }

    /// See [`Description::err`].
    fn err(&mut self, _what: WorkshopError, _by: f64) {}

    /// Lists its own dimensions.
    fn list(&self, list: &mut Lister);

    /// Its own figures.
    fn rows(&self, _view: &SheetView, _turned_by: TurnedBy) -> Vec<Row> {
        Vec::new()
    }
}

impl<T: LiftKind> Description for DrivenLift<T> {
    const ABOUT: &'static str = T::ABOUT;
    const KEYS: &'static [KeyMeaning] = T::KEYS;
    const KNOBS: &'static [Knob] = T::KNOBS;
    const ALSO_CALLED: &'static [OtherWords] = T::ALSO_CALLED;
    const SWAPPED_IN: Option<&'static str> = Some(T::SWAPPED_IN);

    fn read(of: &mut Fields) -> Option<Self> {
        let carries = T::read(of);
        of.lift(carries)
    }

    fn dead_end(name: &str) -> Option<Complaint> {
        let what = format!("`{name}` lifts marbles to nowhere");
        Some((what, "name the track at its top"))
    }

    fn check(&self, at: &ElementCheck) {
        self.carries.check(at);
    }

    fn is_computed(&self) -> bool {
        true
    }

    fn lacks_slope(&self, sloped_before: bool) -> bool {
        let roll_in = self.carries.lifting(None).roll_in;
        self.pick_up.is_none() && roll_in.slope_rad.is_none() && !sloped_before
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        match what {
            WorkshopError::Speed => matches!(self.turned_by, TurnedBy::OwnMotor { .. }),
            // Where it was measured who comes in, its dimensions decide nothing.
            _ => self.pick_up.is_none() && self.carries.errs_in(what),
        }
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        match (what, &mut self.turned_by) {
            (WorkshopError::Speed, TurnedBy::OwnMotor { rpm }) => *rpm *= 1.0 + by,
            _ => self.carries.err(what, by),
        }
    }

    fn lifting(&self, diameter_m: Option<f64>) -> Option<Lifting> {
        Some(self.carries.lifting(diameter_m))
    }

    fn turned_by(&self) -> Option<TurnedBy> {
        Some(self.turned_by)
    }

    fn turned_by_mut(&mut self) -> Option<&mut TurnedBy> {
        Some(&mut self.turned_by)
    }
}

impl<T: LiftKind> Planned for DrivenLift<T> {
    fn plan(&self, site: &Site) -> Plan {
        plan::plan(self, site)
    }
}

impl<T: LiftKind> SheetEntry for DrivenLift<T> {
    fn list(&self, _plan: &Plan, list: &mut Lister) {
        self.carries.list(list);
        match self.turned_by {
            TurnedBy::Drive { ratio } => list.number("gear", ratio),
            TurnedBy::OwnMotor { rpm } => list.rpm("speed", rpm),
        }
        if let Some(chances) = self.pick_up {
            list.pick_up(chances);
        }
        self.release
            .iter()
            .for_each(|&chance| list.number("release", chance));
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        sheet::rows(self, view)
    }
}

impl<T: LiftKind> Warns for DrivenLift<T> {
    fn warnings(&self, view: &WarningView) -> Vec<Warned> {
        warnings::roll_in(self, view).into_iter().collect()
    }
}
