//! A text as a quantity of every kind: no panic, never "not a number", and what messages show can be read again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use marblewright::machine::units::{QuantityKind, LENGTH, System, number, plain, quantity, tape_inches};

fuzz_target!(|text: &str| {
    if let Some(x) = number(text) {
        assert!(x.is_finite(), "{text:?} is {x}");
        plain(x);
    }
    for dimension in QuantityKind::ALL {
        let Ok(value) = quantity(text, dimension) else { continue };
        // Scaling to SI may overflow; the bounds of every key refuse that.
        assert!(!value.is_nan(), "{text:?} reads as not a number");
        if value.is_finite() {
            let shown = dimension.show(value);
            let again = quantity(&shown, dimension);
            assert!(again.is_ok_and(|x| x.is_finite()), "{text:?} is shown as {shown:?}, which reads as {again:?}");
        }
    }
    if let Ok(metres) = quantity(text, &LENGTH) {
        tape_inches(metres);
        System::Millimetres.length(metres);
        System::Inches.length(metres);
    }
});
