//! What the machine file says of a kind of element: its keys, what is wrong with them, what they leave open.

use super::assumed::AssumedConstant;
use super::check_shapes::ElementCheck;
use super::fields::Fields;
use super::knobs::Knob;
use super::law::TimeLaw;
use super::model::{Lifting, Line, PocketWheel, ReturnFloor, TurnedBy};
use super::workmanship::WorkshopError;

/// A key of the machine file and what it means, as [`super::about`] has them.
pub type KeyMeaning = (&'static str, &'static str);

/// Words that mean the same, and how it is written here.
pub type OtherWords = (&'static [&'static str], &'static str);

/// What the machine file says of a kind of element.
pub trait Description: Sized {
    /// What it is, in one sentence.
    const ABOUT: &'static str;
    /// What the keys mean that no other kind has.
    const KEYS: &'static [KeyMeaning] = &[];
    /// What its maker can change in it.
    const KNOBS: &'static [Knob] = &[];
    /// What other people call something that does the same, and how it is written.
    const ALSO_CALLED: &'static [OtherWords] = &[];

    /// Whether it shares marbles out among several ways.
    const SPLITS: bool = false;
    /// The key of the law that its times follow, if they follow one.
    const TIME_KEY: Option<&'static str> = None;
    /// Its dimensions where a design has it in place of another kind and none are given, if it may be so.
    const SWAPPED_IN: Option<&'static str> = None;

    /// Its dimensions from the keys of the file.
    fn read(of: &mut Fields) -> Option<Self>;

    /// What is wrong with an element of this name that leads nowhere, and what to do; `None` where it may be a dead end.
    fn dead_end(name: &str) -> Option<Complaint> {
        Self::SPLITS.then(|| {
            let what = format!("`{name}` shares marbles out but leads nowhere");
            (what, "name the elements it feeds")
        })
    }

    /// Weights of its ways out; empty: equal.
    fn shares(&self) -> &[f64] {
        &[]
    }

    /// How long a marble takes through it, about, s; what only its dimensions tell counts as long.
    fn typical_s(&self) -> f64 {
        f64::INFINITY
    }

    /// Whether it has dimensions that mean nothing without the size of the marbles.
    fn has_dimensions(&self) -> bool {
        false
    }

    /// The element whose marbles have to come by before it lets any go, if there is one.
    fn tripped_by(&self) -> Option<&str> {
        None
    }

    /// Notes which of its dimensions do not go together, or with the marbles.
    fn check(&self, _at: &ElementCheck) {}

    /// Whether its times follow from its dimensions.
    fn is_computed(&self) -> bool {
        false
    }

    /// Whether something in it goes by this constant.
    fn goes_by(&self, _what: AssumedConstant) -> bool {
        false
    }

    /// Whether marbles wait in it, or before it, on a slope that no dimension tells; `sloped_before` if the slope of an element
    /// that leads to it is known.
    fn lacks_slope(&self, _sloped_before: bool) -> bool {
        false
    }

    /// Slope of the last part that marbles roll on in it, radians, where a dimension tells it.
    fn exit_slope_rad(&self) -> Option<f64> {
        None
    }

    /// Whether its dimensions tell the speed with which marbles leave it for a bowl.
    fn gives_speed(&self) -> bool {
        false
    }

    /// Sets a constant that it goes by.
    fn assume(&mut self, _what: AssumedConstant, _value: f64) {}

    /// Whether something in it is made with this error of the workshop, and matters.
    fn errs_in(&self, _what: WorkshopError) -> bool {
        false
    }

    /// Makes it off by so much of that error, SI units.
    fn err(&mut self, _what: WorkshopError, _by: f64) {}

    /// Takes the measured law of its times out of it; a place-holder stands in where it must have one.
    fn take_time(&mut self) -> Option<TimeLaw> {
        None
    }

    /// What turns it, if it is a lift.
    fn turned_by(&self) -> Option<TurnedBy> {
        None
    }

    /// The same, to be changed.
    fn turned_by_mut(&mut self) -> Option<&mut TurnedBy> {
        None
    }

    /// The single file that it is, if it is one.
    fn line(&self) -> Option<&Line> {
        None
    }

    /// How it carries, for marbles of this diameter (metres, where it is known), if it is a lift other than a wheel.
    fn lifting(&self, _diameter_m: Option<f64>) -> Option<Lifting> {
        None
    }

    /// The pocket wheel that it is, if it is one.
    fn wheel(&self) -> Option<&PocketWheel> {
        None
    }

    /// The return floor that it is, if it is one.
    fn floor(&self) -> Option<&ReturnFloor> {
        None
    }

    /// The same, to be changed.
    fn floor_mut(&mut self) -> Option<&mut ReturnFloor> {
        None
    }
}

/// What is wrong, and what to do about it.
pub type Complaint = (String, &'static str);
