//! The stair lift: two combs of steps, one of which moves up and down; a marble climbs a step a stroke.
//!
//! The moving comb goes as a crank drives it, about half a step above where it takes marbles: z = h/2 - (s/2) cos. It stands
//! above the next step, whose height is h, for acos(h / s) / pi of a turn, and as long below the one before; that long a
//! marble has to roll off it, and onto it.

use std::f64::consts::PI;

use super::lift::{GEAR, LiftKind, SPEED};
use crate::charts::signs::{Pen, Sign};
use crate::circuit::lift_speed::LiftSpeed;
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::limits;
use crate::machine::model::{Lifting, RollIn, StairCombs, StairLift, TurnedBy, WayBack};
use crate::machine::units::{ANGLE, LENGTH};
use crate::machine::workmanship::WorkshopError;
use crate::physics::capture_limit::least_slope_rad;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::SheetView;
use crate::sheet::{Row, RowVerdict};

impl LiftKind for StairCombs {
    const ABOUT: &'static str = "Two combs of steps, one of which moves up and down.";
    const KEYS: &'static [KeyMeaning] = &[
        ("stair-lift.steps", "How many steps marbles are lifted by."),
        ("step", "Height of a step."),
        (
            "stair-lift.stroke",
            "How far the moving comb goes up and down: more than a step.",
        ),
        ("tread", "How far a marble rolls from comb to comb."),
        ("stair-lift.slope", "Slope of the treads."),
    ];
    const KNOBS: &'static [Knob] = &[
        SPEED,
        GEAR,
        Knob::amount(
            ("slope", CostClass::Recut),
            (0.5, "deg"),
            ["slope the treads of @ more", "slope the treads of @ less"],
        ),
        Knob::amount(
            ("stroke", CostClass::Rebuild),
            (2.0, "mm"),
            [
                "give the comb of @ a longer stroke",
                "give the comb of @ a shorter stroke",
            ],
        ),
    ];
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["stair", "step-lift", "escalator", "walking-beam", "comb"],
        "{ steps: 8, step: 40 mm, stroke: 60 mm, tread: 20 mm, slope: 6 deg }",
    )];
    const SWAPPED_IN: &'static str =
        "{ steps: 8, step: 40 mm, stroke: 60 mm, tread: 20 mm, slope: 6 deg, gear: 3 }";
    const EASIER: (&'static str, &'static str) = ("slope", "slope the treads more");

    fn read(of: &mut Fields) -> Option<Self> {
        let steps = of.count("steps", 1..=limits::POCKETS / 2);
        let steps = of.required("steps", "8", steps);
        let step = of.quantity("step", &LENGTH, 0.002..=0.5);
        let step = of.required("step", "40 mm", step);
        let stroke = of.quantity("stroke", &LENGTH, 0.002..=1.0);
        let stroke = of.required("stroke", "60 mm", stroke);
        let tread = of.quantity("tread", &LENGTH, 0.001..=0.5);
        let tread = of.required("tread", "20 mm", tread);
        let slope = of.quantity("slope", &ANGLE, limits::SLOPES);
        let slope = of.required("slope", "6 deg", slope);
        Some(StairCombs {
            steps: steps?,
            step_m: step?,
            stroke_m: stroke?,
            tread_m: tread?,
            slope_rad: slope?,
        })
    }

    fn check(&self, at: &ElementCheck) {
        if self.stroke_m <= self.step_m {
            let (stroke, step) = (LENGTH.show(self.stroke_m), LENGTH.show(self.step_m));
            let what = format!("a stroke of {stroke} lifts nothing past a step of {step}");
            let help = format!(
                "write a stroke of {} or more",
                LENGTH.show(self.step_m * 1.2)
            );
            at.wrong("stroke", what, help);
        }
    }

    fn lifting(&self, diameter_m: Option<f64>) -> Lifting {
        Lifting {
            seat: "step",
            a_turn: 1.0,
            holds: 1,
            // What does not get out at the top falls back to the foot in the last of them.
            seats: self.steps + 1,
            up: f64::from(self.steps),
            rise_m: f64::from(self.steps) * self.step_m,
            roll_in: RollIn {
                open: libm::acos((self.step_m / self.stroke_m).min(1.0)) / PI,
                far_m: diameter_m.map(|_| self.tread_m),
                slope_rad: Some(self.slope_rad),
            },
            back: WayBack::Falls,
        }
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        matches!(what, WorkshopError::Length | WorkshopError::Slope)
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        match what {
            WorkshopError::Length => {
                // Steps that are all too high are a stroke that is too short; no crank goes less than a step.
                self.stroke_m = (self.stroke_m + by).max(self.step_m);
                self.tread_m = (self.tread_m + by).max(0.001);
            }
            WorkshopError::Slope => self.slope_rad += by,
            _ => {}
        }
    }

    fn list(&self, list: &mut Lister) {
        list.count("steps", self.steps);
        list.length("step", self.step_m);
        list.length("stroke", self.stroke_m);
        list.length("tread", self.tread_m);
        list.slope("slope", self.slope_rad);
    }

    fn rows(&self, view: &SheetView, turned_by: TurnedBy) -> Vec<Row> {
        let machine = view.workshop.machine;
        let lifting = self.lifting(machine.marbles.diameter_m);
        let speed = LiftSpeed::new(&lifting, turned_by, &view.workshop);
        let (Some(speed), Some(diameter_m)) = (speed, machine.marbles.diameter_m) else {
            return Vec::new();
        };
        let resistance = machine.assume.rolling_m / (diameter_m / 2.0);
        let label = "least slope of the treads";
        let Some(least_rad) = least_slope_rad(self.tread_m, (speed.open_s, resistance)) else {
            let value = "none is steep enough for so short a stroke";
            let help = "turn it more slowly";
            return vec![Row::judged(label, value, RowVerdict::WontWork, help)];
        };
        let value = format!(
            "{:.1} deg, for {} in the {:.2} s in which the combs let it roll; it has {:.1} deg",
            least_rad.to_degrees(),
            view.units.length(self.tread_m),
            speed.open_s,
            self.slope_rad.to_degrees()
        );
        let verdict = RowVerdict::at_least(self.slope_rad, 1.2 * least_rad, least_rad);
        let help = "slope the treads more, turn it more slowly, or take a longer stroke";
        let figure = ("angle", least_rad.to_degrees(), "deg");
        vec![Row::judged(label, value, verdict, help).with([figure])]
    }
}

impl Sign for StairLift {
    fn draw(pen: &mut Pen) {
        pen.line(&[
            (-10.0, 7.0),
            (-4.0, 7.0),
            (-4.0, 2.0),
            (2.0, 2.0),
            (2.0, -3.0),
            (9.0, -3.0),
        ]);
        pen.dot(-1.0, -1.0, 2.4);
        pen.line(&[(7.0, 8.0), (7.0, 1.0)]);
        pen.line(&[(5.0, 3.5), (7.0, 1.0), (9.0, 3.5)]);
    }
}
