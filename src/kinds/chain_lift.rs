//! The chain lift: cups on a chain or belt over two sprockets.

use std::f64::consts::PI;

use super::lift::{GEAR, LiftKind, SPEED};
use crate::charts::signs::{Pen, Sign};
use crate::circuit::lift_speed::LiftSpeed;
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::limits;
use crate::machine::model::{ChainLift, CupChain, Lifting, RollIn, TurnedBy, WayBack};
use crate::machine::units::LENGTH;
use crate::machine::workmanship::WorkshopError;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetView;

impl LiftKind for CupChain {
    const ABOUT: &'static str = "Cups on a chain or belt over two sprockets.";
    const KEYS: &'static [KeyMeaning] = &[
        ("cups", "Number of cups on the chain."),
        ("holds", "Marbles that a cup takes; left out: 1."),
        ("chain-lift.pitch", "From cup to cup along the chain."),
        (
            "chain-lift.rise",
            "From where marbles come in to where they go out.",
        ),
        (
            "sprocket",
            "Pitch diameter of the sprocket that drives the chain.",
        ),
        (
            "chain-lift.mouth",
            "Height of a cup's opening; left out: all of the pitch.",
        ),
    ];
    const KNOBS: &'static [Knob] = &[
        SPEED,
        GEAR,
        Knob::amount(
            ("mouth", CostClass::Recut),
            (1.0, "mm"),
            [
                "cut the mouths of the cups of @ higher",
                "cut the mouths of the cups of @ lower",
            ],
        ),
        Knob::amount(
            ("pitch", CostClass::Rebuild),
            (5.0, "mm"),
            [
                "set the cups of @ farther apart",
                "set the cups of @ closer together",
            ],
        ),
    ];
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &[
            "chain",
            "belt",
            "conveyor",
            "elevator",
            "bucket-chain",
            "bucket-elevator",
            "paternoster",
        ],
        "{ cups: 24, pitch: 60 mm, rise: 400 mm, sprocket: 120 mm }",
    )];
    const SWAPPED_IN: &'static str = "{ cups: 24, pitch: 60 mm, rise: 300 mm, sprocket: 120 mm }";
    const EASIER: (&'static str, &'static str) = ("mouth", "cut the cups' mouths higher");

    fn read(of: &mut Fields) -> Option<Self> {
        let cups = of.count("cups", 1..=limits::POCKETS);
        let cups = of.required("cups", "24", cups);
        let pitch = of.quantity("pitch", &LENGTH, 0.005..=2.0);
        let pitch = of.required("pitch", "60 mm", pitch);
        let rise = of.quantity("rise", &LENGTH, 0.001..=10.0);
        let rise = of.required("rise", "400 mm", rise);
        let sprocket = of.quantity("sprocket", &LENGTH, 0.01..=2.0);
        let sprocket = of.required("sprocket", "120 mm", sprocket);
        let holds = of.count("holds", 1..=20).unwrap_or(1);
        let mouth_m = of.quantity("mouth", &LENGTH, 0.002..=2.0);
        Some(CupChain {
            cups: cups?,
            holds,
            pitch_m: pitch?,
            rise_m: rise?,
            sprocket_m: sprocket?,
            mouth_m,
        })
    }

    fn check(&self, at: &ElementCheck) {
        let (pitch, rise) = (LENGTH.show(self.pitch_m), LENGTH.show(self.rise_m));
        // A chain that just reaches may come out of the product a hair too short.
        let least = (2.0 * self.rise_m / self.pitch_m - 1e-6).ceil();
        if f64::from(self.cups) < least {
            let what = format!(
                "{} cups {pitch} apart do not reach up {rise} and down again",
                self.cups
            );
            at.wrong("cups", what, format!("take {least} cups or more"));
        }
        if let Some(mouth_m) = self.mouth_m {
            at.passes("mouth", "mouth", mouth_m);
            if mouth_m > self.pitch_m {
                let mouth = LENGTH.show(mouth_m);
                let what = format!("a mouth of {mouth} is higher than the cups are apart, {pitch}");
                at.wrong("mouth", what, format!("write {pitch} or less"));
            }
        } else {
            at.passes("pitch", "pitch", self.pitch_m);
        }
    }

    fn lifting(&self, diameter_m: Option<f64>) -> Lifting {
        let mouth_m = self.mouth_m.unwrap_or(self.pitch_m);
        Lifting {
            seat: "cup",
            a_turn: PI * self.sprocket_m / self.pitch_m,
            holds: self.holds,
            seats: self.cups,
            up: self.rise_m / self.pitch_m,
            rise_m: self.rise_m,
            roll_in: RollIn {
                // From where the cup's floor is level with the marble's until the cup's upper edge comes to its top.
                open: ((mouth_m - diameter_m.unwrap_or(0.0)) / self.pitch_m).max(0.0),
                // It is in when its middle is.
                far_m: diameter_m.map(|diameter_m| diameter_m / 2.0),
                slope_rad: None,
            },
            back: WayBack::OtherSide,
        }
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        what == WorkshopError::Length
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        if what == WorkshopError::Length {
            self.pitch_m = (self.pitch_m + by).max(0.001);
            self.mouth_m = self.mouth_m.map(|mouth_m| (mouth_m + by).max(0.001));
        }
    }

    fn list(&self, list: &mut Lister) {
        list.count("cups", self.cups);
        list.count("holds", self.holds);
        list.length("pitch", self.pitch_m);
        list.length("rise", self.rise_m);
        list.length("sprocket", self.sprocket_m);
        list.length("mouth", self.mouth_m.unwrap_or(self.pitch_m));
    }

    fn rows(&self, view: &SheetView, turned_by: TurnedBy) -> Vec<Row> {
        let lifting = self.lifting(view.workshop.machine.marbles.diameter_m);
        let chain_m = f64::from(self.cups) * self.pitch_m;
        let mut rows = vec![Row::length("chain", chain_m, view.units)];
        if let Some(speed) = LiftSpeed::new(&lifting, turned_by, &view.workshop) {
            let speed_m_s = self.pitch_m / speed.every_s;
            let row = Row::plain("speed of the chain", view.units.speed(speed_m_s));
            rows.push(row.with([("speed", speed_m_s, "m/s")]));
        }
        rows
    }
}

impl Sign for ChainLift {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-4.0, 6.0), (-4.0, -6.0)]);
        pen.line(&[(4.0, 6.0), (4.0, -6.0)]);
        pen.arc((0.0, 6.0), 4.0, 0.25, 0.75);
        pen.arc((0.0, -6.0), 4.0, 0.75, 1.25);
        for (x, y) in [(-7.0, 3.5), (-7.0, -3.5), (7.0, 0.0)] {
            pen.dot(x, y, 1.9);
        }
    }
}
