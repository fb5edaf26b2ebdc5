//! The screw lift: a marble lies in each turn of the thread, and a rail beside it keeps it from turning with the screw.

use super::lift::{GEAR, LiftKind, SPEED};
use crate::charts::signs::{Pen, Sign};
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::model::{Lifting, RollIn, Screw, ScrewLift, WayBack};
use crate::machine::units::LENGTH;
use crate::machine::workmanship::WorkshopError;
use crate::sheet::dimensions::lister::Lister;

impl LiftKind for Screw {
    const ABOUT: &'static str = "A screw beside a rail; it lifts one pitch a turn.";
    const KEYS: &'static [KeyMeaning] = &[
        (
            "turns",
            "Turns of the thread from where marbles come in to where they go out.",
        ),
        ("screw-lift.pitch", "From turn to turn of the thread."),
        ("thread", "Thickness of the thread; left out: 0."),
    ];
    const KNOBS: &'static [Knob] = &[
        SPEED,
        GEAR,
        Knob::amount(
            ("pitch", CostClass::Rebuild),
            (1.0, "mm"),
            [
                "make the thread of @ steeper",
                "make the thread of @ less steep",
            ],
        ),
    ];
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["screw", "auger", "worm", "helix-lift", "archimedes-screw"],
        "{ turns: 10, pitch: 30 mm }",
    )];
    const SWAPPED_IN: &'static str = "{ turns: 10, pitch: 30 mm, gear: 5 }";
    const EASIER: (&'static str, &'static str) = ("pitch", "give the thread more pitch");

    fn read(of: &mut Fields) -> Option<Self> {
        let turns = of.number("turns", 0.5..=100.0);
        let turns = of.required("turns", "10", turns);
        let pitch = of.quantity("pitch", &LENGTH, 0.005..=0.5);
        let pitch = of.required("pitch", "30 mm", pitch);
        let thread = of.quantity("thread", &LENGTH, 0.0..=0.2);
        Some(Screw {
            turns: turns?,
            pitch_m: pitch?,
            thread_m: thread.unwrap_or(0.0),
        })
    }

    fn check(&self, at: &ElementCheck) {
        let gap_m = self.pitch_m - self.thread_m;
        if gap_m <= 0.0 {
            let (thread, pitch) = (LENGTH.show(self.thread_m), LENGTH.show(self.pitch_m));
            let what = format!("a thread of {thread} leaves no room in a pitch of {pitch}");
            at.wrong("thread", what, "make it thinner, or `pitch` larger");
        } else {
            at.passes("pitch", "gap in the thread", gap_m);
        }
    }

    fn lifting(&self, diameter_m: Option<f64>) -> Lifting {
        let gap_m = self.pitch_m - self.thread_m;
        Lifting {
            seat: "thread",
            a_turn: 1.0,
            holds: 1,
            // What does not get out at the top falls back to the foot in the last of them.
            seats: self.turns.ceil() as u32 + 1,
            up: self.turns,
            rise_m: self.turns * self.pitch_m,
            roll_in: RollIn {
                open: ((gap_m - diameter_m.unwrap_or(0.0)) / self.pitch_m).max(0.0),
                far_m: diameter_m.map(|diameter_m| diameter_m / 2.0),
                slope_rad: None,
            },
            back: WayBack::Falls,
        }
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        what == WorkshopError::Length
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        if what == WorkshopError::Length {
            // The thread is as thick as its strip; it is wound too steeply or too flat.
            self.pitch_m = (self.pitch_m + by).max(self.thread_m);
        }
    }

    fn list(&self, list: &mut Lister) {
        list.number("turns", self.turns);
        list.length("pitch", self.pitch_m);
        list.length("thread", self.thread_m);
    }
}

impl Sign for ScrewLift {
    fn draw(pen: &mut Pen) {
        for y in [5.0, 0.0, -5.0] {
            pen.line(&[(-6.0, y + 2.0), (6.0, y - 1.0)]);
        }
        pen.line(&[(8.5, 8.0), (8.5, -8.0)]);
        pen.dot(3.0, -2.9, 2.0);
    }
}
