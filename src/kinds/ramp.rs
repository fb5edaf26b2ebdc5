//! The start ramp: its foot stands at a pocket wheel, and marbles wait on it.

use super::line::LineKind;
use crate::charts::signs::{Pen, Sign};
use crate::findings::warnings::{Warned, WarningView};
use crate::findings::words::count;
use crate::machine::allow::Warning;
use crate::machine::description::OtherWords;
use crate::machine::model::{Line, StartRamp};

impl LineKind for StartRamp {
    const ABOUT: &'static str = "The ramp whose foot stands at a pocket wheel.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["queue", "start-ramp", "feeder", "magazine"],
        "{ length: 300 mm, slope: 4 deg }",
    )];
    // Marbles stand at its foot.
    const GIVES_SPEED: bool = false;

    fn room_at_start(view: &WarningView) -> Option<Warned> {
        room_at_start(view)
    }

    fn new(line: Line) -> Self {
        StartRamp(line)
    }

    fn get(&self) -> &Line {
        &self.0
    }

    fn get_mut(&mut self) -> &mut Line {
        &mut self.0
    }
}

impl Sign for StartRamp {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-10.0, -5.0), (8.0, 5.0), (8.0, -3.0)]);
        pen.dot(-3.5, -4.6, 2.6);
        pen.dot(3.8, -0.6, 2.6);
    }
}

/// Whether the load finds places when it is poured in, or comes to rest while the wheel stands.
fn room_at_start(view: &WarningView) -> Option<Warned> {
    let load = view.machine.marbles.count;
    let (name, ramp) = (&view.element.name, view.plan().places()?);
    let load_is = count(u64::from(load), "marble");
    let (what, help) = if view.plan().spills {
        if load <= ramp {
            return None;
        }
        let what =
            format!("`{name}` has {ramp} places and an open side, and {load_is} are poured in");
        (
            what,
            format!("make it longer, pour in {ramp} or fewer, or write `when-full: hold`"),
        )
    } else {
        let mut room = ramp;
        for (feeder, plan) in view.machine.elements.iter().zip(&view.circuit.nodes) {
            let leads_here = feeder.to.iter().any(|exit| exit.to == view.n);
            if leads_here && !feeder.kind.is_lift() {
                room = room.saturating_add(plan.places()?);
            }
        }
        if load <= room {
            return None;
        }
        let what = format!(
            "{load_is} come to rest before `{name}` when what it feeds stands, and there and just before it are {room} places"
        );
        (
            what,
            "make the ramp longer, or let a return floor lead to it".to_owned(),
        )
    };
    Some(view.about_all(Warning::StartRoom, what, help))
}
