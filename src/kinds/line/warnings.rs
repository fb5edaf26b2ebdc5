//! What there is to regret of a line.

use crate::findings::warnings::{Warned, WarningView};
use crate::machine::allow::Warning;
use crate::machine::model::Line;
use crate::physics::path::Halt;

/// Whether a marble comes to rest, or does not get through.
pub fn stall(line: &Line, view: &WarningView) -> Option<Warned> {
    if !view.plan().stalls {
        return None;
    }
    let name = &view.element.name;
    let halt = view.workshop().roll(line)?.err()?;
    let (what, help) = match halt {
        Halt::Stall { segment, at_m } => {
            let at = view.system.length(at_m);
            (
                format!(
                    "a marble comes to rest in segment {} of `{name}`, {at} along it",
                    segment + 1
                ),
                "make that segment steeper or shorter",
            )
        }
        Halt::TipsOff { segment, .. } => (
            format!(
                "a marble leaves `{name}` in the bend of segment {}",
                segment + 1
            ),
            "widen the bend, or come in more slowly",
        ),
        Halt::Misfit { segment, .. } => (
            format!("a marble does not fit segment {} of `{name}`", segment + 1),
            "look at the channel and the corner's gap",
        ),
    };
    Some(view.about_all(Warning::Stall, what, help))
}
