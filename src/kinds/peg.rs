//! The peg: marbles bounce off it to either side.

use crate::machine::fields::Fields;
use crate::machine::kind::Description;
use crate::machine::model::Peg;

impl Description for Peg {
    const ABOUT: &'static str = "A peg that marbles bounce off, to any way by its share.";
    const ALSO_CALLED: &'static [&'static str] = &["pin", "nail", "post"];
    const SPLITS: bool = true;

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
}
