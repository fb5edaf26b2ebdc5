//! The swing arm: an arm that picks a marble up in its cup, swings it up and comes back for the next.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

use super::lift::{GEAR, LiftKind, SPEED};
use crate::charts::signs::{Pen, Sign};
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::model::{Lifting, RollIn, Swing, SwingArm, TurnedBy, WayBack};
use crate::machine::units::{ANGLE, LENGTH};
use crate::physics::G;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetView;

/// Share of a turn at the foot where none is given: common practice, no source.
const DWELL: f64 = 0.3;
/// How far below and above level an arm swings where nothing is said: our own choice.
const FROM_LEVEL_RAD: f64 = FRAC_PI_4;

impl LiftKind for Swing {
    const ABOUT: &'static str = "An arm that swings up with one marble and back for the next.";
    const KEYS: &'static [KeyMeaning] = &[
        ("swing-arm.arm", "From the pivot to the marble in its cup."),
        (
            "down",
            "How far below level it stands where it picks up; left out: 45 deg.",
        ),
        (
            "up",
            "How far above level it stands where it lets go; left out: 45 deg.",
        ),
        (
            "swing-arm.dwell",
            "Share of a turn of its crank or cam in which the arm stands at the foot; left out: 0.3.",
        ),
    ];
    const KNOBS: &'static [Knob] = &[
        SPEED,
        GEAR,
        Knob::amount(
            ("dwell", CostClass::Rebuild),
            (0.05, ""),
            [
                "let @ stand longer at the foot",
                "let @ stand less long at the foot",
            ],
        ),
    ];
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["arm", "crane", "swing", "boom", "jib", "excavator"],
        "{ arm: 250 mm, down: 45 deg, up: 45 deg }",
    )];
    const SWAPPED_IN: &'static str = "{ arm: 250 mm, gear: 2 }";
    const EASIER: (&'static str, &'static str) = ("dwell", "let the arm stand longer at the foot");

    fn read(of: &mut Fields) -> Option<Self> {
        let arm = of.quantity("arm", &LENGTH, 0.01..=5.0);
        let arm = of.required("arm", "250 mm", arm);
        let down = of.quantity("down", &ANGLE, 0.0..=FRAC_PI_2);
        let up = of.quantity("up", &ANGLE, 0.0..=FRAC_PI_2);
        let dwell = of.number("dwell", 0.0..=0.9);
        Some(Swing {
            arm_m: arm?,
            down_rad: down.unwrap_or(FROM_LEVEL_RAD),
            up_rad: up.unwrap_or(FROM_LEVEL_RAD),
            dwell: dwell.unwrap_or(DWELL),
        })
    }

    fn check(&self, at: &ElementCheck) {
        if self.down_rad + self.up_rad <= 0.0 {
            let what = "an arm that stands level below and above lifts nothing";
            at.wrong("up", what, "let it swing: `down: 45 deg, up: 45 deg`");
        }
    }

    fn lifting(&self, diameter_m: Option<f64>) -> Lifting {
        Lifting {
            seat: "cup",
            a_turn: 1.0,
            holds: 1,
            seats: 1,
            // Up takes as long as down.
            up: (1.0 - self.dwell) / 2.0,
            rise_m: self.arm_m * (libm::sin(self.down_rad) + libm::sin(self.up_rad)),
            roll_in: RollIn {
                open: self.dwell,
                // All of it has to be in the cup.
                far_m: diameter_m,
                slope_rad: None,
            },
            back: WayBack::SameWay,
        }
    }

    fn list(&self, list: &mut Lister) {
        list.length("arm", self.arm_m);
        list.angle("down", self.down_rad);
        list.angle("up", self.up_rad);
        list.number("dwell", self.dwell);
    }

    fn rows(&self, view: &SheetView, _turned_by: TurnedBy) -> Vec<Row> {
        let Some(marble) = view.workshop.marble() else {
            return Vec::new();
        };
        let peak = marble.mass_kg() * G * self.arm_m;
        let value = format!(
            "{} at its pivot, where the arm is level; the arm's own weight wants a counterweight",
            view.units.torque(peak)
        );
        vec![Row::plain("torque at most", value).with([("peak", peak, "N m")])]
    }
}

impl Sign for SwingArm {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-7.0, 8.0), (-7.0, 0.0), (6.0, -6.0)]);
        pen.line(&[(1.0, 6.5), (4.5, 4.0), (6.5, 0.0)]);
        pen.dot(6.0, -6.5, 2.4);
    }
}
