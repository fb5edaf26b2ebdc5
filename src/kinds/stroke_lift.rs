//! The stroke lift: a tray that goes up with one marble and comes down for the next.

use std::f64::consts::TAU;

use super::lift::{GEAR, LiftKind, SPEED};
use crate::charts::signs::{Pen, Sign};
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::model::{Lifting, RollIn, StrokeLift, Tray, TurnedBy, WayBack};
use crate::machine::units::LENGTH;
use crate::physics::G;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetView;

/// Share of a turn at the foot where none is given: common practice, no source.
const DWELL: f64 = 0.3;

impl LiftKind for Tray {
    const ABOUT: &'static str = "A tray that goes up with one marble and comes down for the next.";
    const KEYS: &'static [KeyMeaning] = &[
        (
            "stroke-lift.stroke",
            "From where the marble comes in to where it goes out.",
        ),
        (
            "stroke-lift.dwell",
            "Share of a turn of its crank or cam in which the tray stands at the foot; left out: 0.3.",
        ),
    ];
    const KNOBS: &'static [Knob] = &[
        SPEED,
        GEAR,
        Knob::amount(
            ("dwell", CostClass::Rebuild),
            (0.05, ""),
            [
                "let the tray of @ stand longer at the foot",
                "let the tray of @ stand less long at the foot",
            ],
        ),
    ];
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &[
            "stroke",
            "piston",
            "plunger",
            "hoist",
            "pusher",
            "lever-lift",
        ],
        "{ stroke: 300 mm }",
    )];
    const SWAPPED_IN: &'static str = "{ stroke: 300 mm, gear: 2 }";
    const EASIER: (&'static str, &'static str) = ("dwell", "let the tray stand longer at the foot");

    fn read(of: &mut Fields) -> Option<Self> {
        let stroke = of.quantity("stroke", &LENGTH, 0.005..=10.0);
        let stroke = of.required("stroke", "300 mm", stroke);
        let dwell = of.number("dwell", 0.0..=0.9);
        Some(Tray {
            stroke_m: stroke?,
            dwell: dwell.unwrap_or(DWELL),
        })
    }

    fn check(&self, _at: &ElementCheck) {}

    fn lifting(&self, diameter_m: Option<f64>) -> Lifting {
        Lifting {
            seat: "tray",
            a_turn: 1.0,
            holds: 1,
            seats: 1,
            // Up takes as long as down.
            up: (1.0 - self.dwell) / 2.0,
            rise_m: self.stroke_m,
            roll_in: RollIn {
                open: self.dwell,
                // All of it has to be on the tray.
                far_m: diameter_m,
                slope_rad: None,
            },
            back: WayBack::SameWay,
        }
    }

    fn list(&self, list: &mut Lister) {
        list.length("stroke", self.stroke_m);
        list.number("dwell", self.dwell);
    }

    fn rows(&self, view: &SheetView, _turned_by: TurnedBy) -> Vec<Row> {
        let Some(marble) = view.workshop.marble() else {
            return Vec::new();
        };
        // A cam that lifts as a crank does, z = (h/2)(1 - cos), all in its share of a turn, is steepest half-way up.
        let angle = TAU * (1.0 - self.dwell) / 2.0;
        let peak = marble.mass_kg() * G * self.stroke_m / 2.0 * (TAU / 2.0) / angle;
        let value = format!(
            "{}, half-way up, if it rises as from a crank",
            view.units.torque(peak)
        );
        vec![Row::plain("torque at most", value).with([("peak", peak, "N m")])]
    }
}

impl Sign for StrokeLift {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-7.0, -2.0), (5.0, -2.0)]);
        pen.line(&[(-1.0, -2.0), (-1.0, 8.0)]);
        pen.dot(-1.0, -5.4, 2.6);
        pen.line(&[(8.0, 8.0), (8.0, -7.0)]);
        pen.line(&[(6.0, -4.0), (8.0, -7.0), (10.0, -4.0)]);
    }
}
