//! What the reader of a machine file asks for, noted by the reader itself while it reads a file with nothing in it.
//!
//! The JSON Schema is made from these notes, so it cannot promise a key, a unit or a bound that the reader does not know.

use std::cell::RefCell;
use std::rc::Rc;

use super::units::QuantityKind;

/// What may stand at a key.
#[derive(Clone)]
pub enum Shape {
    /// A quantity with its unit, between two SI numbers.
    Quantity(&'static QuantityKind, f64, f64),
    /// A number without unit.
    Number(f64, f64),
    /// A whole number.
    Count(f64, f64),
    /// A word or other text.
    Text,
    /// One of a few words.
    Choice(Vec<&'static str>),
    /// A list of such words.
    Choices(Vec<&'static str>),
    /// A list of numbers.
    Numbers(f64, f64),
    /// A map of keys.
    Group(Noted),
    /// One of the shapes that several keys share or that take more than one form, by its name in the schema.
    Shared(&'static str),
}

/// A group that is still being noted, or is done.
pub type Noted = Rc<RefCell<Group>>;

/// The keys of one map.
#[derive(Clone, Default)]
pub struct Group {
    /// Each key and what may stand there, in the order asked.
    pub keys: Vec<(&'static str, Shape)>,
    /// Keys that have to be there.
    pub required: Vec<&'static str>,
    /// Where it can be done in several ways: the keys that each of them needs.
    pub ways: Vec<Vec<&'static str>>,
    /// Keys of which none stands without all the others.
    pub together: Vec<&'static str>,
}

impl Group {
    /// Notes a key; what was noted of it first holds.
    pub fn note(&mut self, key: &'static str, shape: Shape) {
        if self.keys.iter().all(|(known, _)| *known != key) {
            self.keys.push((key, shape));
        }
    }

    /// Notes that a key has to be there.
    pub fn require(&mut self, key: &'static str) {
        if !self.required.contains(&key) {
            self.required.push(key);
        }
    }

    /// The keys that have to be there whichever way is taken.
    pub fn always_required(&self) -> Vec<&'static str> {
        let mut always = self.required.clone();
        always.retain(|key| !self.ways.iter().any(|way| way.contains(key)));
        always
    }
}
