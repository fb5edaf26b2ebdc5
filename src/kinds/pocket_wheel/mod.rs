//! The pocket wheel: each of its pockets lifts a marble.

mod check;
mod read;

use crate::machine::check_shapes::ElementCheck;
use crate::machine::fields::Fields;
use crate::machine::kind::{Description, Finding, KeyMeaning};
use crate::machine::model::PocketWheel;

impl Description for PocketWheel {
    const ABOUT: &'static str = "A wheel that lifts one marble a pocket.";
    const ALSO_CALLED: &'static [&'static str] =
        &["screw", "lift", "elevator", "conveyor", "chain", "wheel"];
    const KEYS: &'static [KeyMeaning] = read::KEYS;

    fn read(of: &mut Fields) -> Option<Self> {
        read::wheel(of)
    }

    fn dead_end(name: &str) -> Option<Finding> {
        let what = format!("the wheel `{name}` lifts marbles to nowhere");
        Some((what, "name the slide at its top"))
    }

    fn has_dimensions(&self) -> bool {
        self.shape.is_some()
    }

    fn check(&self, at: &ElementCheck) {
        check::wheel(self, at);
    }

    fn wheel(&self) -> Option<&PocketWheel> {
        Some(self)
    }
}
