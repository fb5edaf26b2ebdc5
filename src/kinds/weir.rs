//! The weir: the next way takes what the first has no room for.

use crate::machine::fields::Fields;
use crate::machine::kind::Description;
use crate::machine::model::Weir;

impl Description for Weir {
    const ABOUT: &'static str = "A weir: the next way takes what the first has no room for.";
    const ALSO_CALLED: &'static [&'static str] = &["overflow"];
    const SPLITS: bool = true;

    fn read(of: &mut Fields) -> Option<Self> {
        Some(Weir { fall: of.fall() })
    }

    fn typical_s(&self) -> f64 {
        self.fall.law().typical_s()
    }
}
