//! The pocket wheel: each of its pockets lifts a marble.

mod read;

use crate::machine::fields::Fields;
use crate::machine::kind::{Description, KeyMeaning};
use crate::machine::model::PocketWheel;

impl Description for PocketWheel {
    const ABOUT: &'static str = "A wheel that lifts one marble a pocket.";
    const ALSO_CALLED: &'static [&'static str] =
        &["screw", "lift", "elevator", "conveyor", "chain", "wheel"];
    const KEYS: &'static [KeyMeaning] = read::KEYS;

    fn read(of: &mut Fields) -> Option<Self> {
        read::wheel(of)
    }
}
