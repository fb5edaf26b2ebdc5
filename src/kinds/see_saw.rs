//! The see-saw: marbles gather in its raised tray until they are enough to tip it; then the other tray is up.

use crate::charts::signs::{Pen, Sign};
use crate::circuit::batch::BatchState;
use crate::circuit::draw::nanos;
use crate::circuit::plan::{Plan, Role};
use crate::circuit::planned::{Planned, Site};
use crate::circuit::workshop::Workshop;
use crate::findings::warnings::{Warned, WarningView, Warns, never_tips};
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::limits;
use crate::machine::model::{Beam, SeeSaw, WhenFull};
use crate::machine::units::{ANGLE, LENGTH, MASS};
use crate::machine::workmanship::WorkshopError;
use crate::physics::see_saw;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};
use crate::sheet::{Row, RowVerdict, time};

/// How long it takes to tip where nothing tells: our own choice.
const TIP_S: f64 = 0.4;
/// A weight above the pivot, for a sheet to say how high, kg.
const WEIGHT_KG: f64 = 0.05;

impl Description for SeeSaw {
    const ABOUT: &'static str =
        "Marbles gather in its raised tray and tip it by their number; each side in turn.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &[
            "seesaw",
            "teeter-totter",
            "teeter",
            "balance",
            "rocking-beam",
        ],
        "{ gathers: 3, arm: 120 mm, swing: 24 deg, beam: 60 g }",
    )];
    const KEYS: &'static [KeyMeaning] = &[
        (
            "see-saw.gathers",
            "How many marbles in its raised tray tip it.",
        ),
        (
            "see-saw.arm",
            "From the pivot to where marbles lie in a tray.",
        ),
        (
            "see-saw.swing",
            "From one side down to the other side down.",
        ),
        ("beam", "Mass of the beam with its trays."),
        (
            "see-saw.tip",
            "From the last marble in to the other side down, measured; left out: from the dimensions, or 0.4 s.",
        ),
    ];
    const KNOBS: &'static [Knob] = &[Knob::amount(
        ("gathers", CostClass::Reset),
        (1.0, ""),
        [
            "let @ tip with # marbles more",
            "let @ tip with # marbles less",
        ],
    )];
    const SPLITS: bool = true;
    const SWAPPED_IN: Option<&'static str> = Some("{ gathers: 3 }");

    fn read(of: &mut Fields) -> Option<Self> {
        let gathers = of.count("gathers", 1..=limits::MARBLES);
        let gathers = of.required("gathers", "3", gathers);
        of.together(&["arm", "swing", "beam"]);
        let any = ["arm", "swing", "beam"].map(|key| of.get(key).is_some());
        let arm = of.quantity("arm", &LENGTH, 0.01..=2.0);
        let swing = of.quantity("swing", &ANGLE, 0.02..=1.5);
        let beam = of.quantity("beam", &MASS, 0.001..=20.0);
        if any.contains(&true) {
            of.required("arm", "120 mm", arm);
            of.required("swing", "24 deg", swing);
            of.required("beam", "60 g", beam);
        }
        let tip_s = of.duration("tip");
        let when_full = of.when_full(WhenFull::Hold);
        let beam = match (arm, swing, beam) {
            (Some(arm_m), Some(swing_rad), Some(mass_kg)) => Some(Beam {
                arm_m,
                swing_rad,
                mass_kg,
            }),
            _ => None,
        };
        gathers.map(|gathers| SeeSaw {
            gathers,
            beam,
            tip_s,
            when_full,
        })
    }

    fn typical_s(&self) -> f64 {
        self.tip_s.unwrap_or(TIP_S)
    }

    fn has_dimensions(&self) -> bool {
        self.beam.is_some()
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        let tips_by_it = self.beam.is_some() && self.tip_s.is_none();
        tips_by_it && matches!(what, WorkshopError::Length | WorkshopError::Slope)
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        match (what, &mut self.beam) {
            (WorkshopError::Length, Some(beam)) => beam.arm_m = (beam.arm_m + by).max(0.001),
            (WorkshopError::Slope, Some(beam)) => beam.swing_rad = (beam.swing_rad + by).max(0.001),
            _ => {}
        }
    }

    fn check(&self, at: &ElementCheck) {
        if at.ways > 2 {
            let what = format!("a see-saw has two sides, and it leads to {}", at.ways);
            at.wrong("gathers", what, "name one way out for each side");
        }
    }
}

/// Its beam with the marbles that tip it, where both are known.
fn shape(of: &SeeSaw, workshop: &Workshop) -> Option<see_saw::TippingBeam> {
    let beam = of.beam?;
    Some(see_saw::TippingBeam {
        arm_m: beam.arm_m,
        swing_rad: beam.swing_rad,
        beam_kg: beam.mass_kg,
        marble_kg: workshop.marble()?.mass_kg(),
        gathers: of.gathers,
    })
}

/// How long it takes to tip, s.
fn tips_in_s(of: &SeeSaw, workshop: &Workshop) -> f64 {
    let computed = || shape(of, workshop).map(|shape| shape.tips_in_s());
    of.tip_s.or_else(computed).unwrap_or(TIP_S)
}

impl Planned for SeeSaw {
    fn plan(&self, site: &Site) -> Plan {
        let tip = nanos(tips_in_s(self, &site.workshop));
        Plan {
            room: self.gathers,
            spills: self.when_full == WhenFull::Spill,
            role: Role::Batch(BatchState::new(self.gathers, tip).each_way_in_turn(site.ways)),
            ..site.workshop.blank()
        }
    }
}

impl SheetEntry for SeeSaw {
    fn list(&self, plan: &Plan, list: &mut Lister) {
        list.count("gathers", self.gathers);
        if let Some(beam) = self.beam {
            list.length("arm", beam.arm_m);
            list.angle("swing", beam.swing_rad);
            list.mass("beam", beam.mass_kg);
        }
        match (&plan.role, self.tip_s) {
            (Role::Batch(batch), None) if self.beam.is_some() => {
                list.computed("tip", format!("{:.2} s", batch.tip as f64 / 1e9));
            }
            _ => list.time("tip", self.typical_s()),
        }
        list.when_full(self.when_full);
    }

    fn fall_m(&self) -> Option<f64> {
        let beam = self.beam?;
        Some(2.0 * beam.arm_m * libm::sin(beam.swing_rad / 2.0))
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        let tips = time("takes to tip", tips_in_s(self, &view.workshop));
        let Some(shape) = shape(self, &view.workshop) else {
            return vec![tips];
        };
        let height_m = shape.weight_kg_m() / WEIGHT_KG;
        let value = format!(
            "{} set {} above the pivot holds {} and lets {} tip it",
            view.units.weight(WEIGHT_KG),
            view.units.length(height_m),
            self.gathers - 1,
            self.gathers
        );
        let figures = [("weight", WEIGHT_KG, "kg"), ("height", height_m, "m")];
        // A weight as high as the arm is long makes the beam swing like a mast: our own margin.
        let verdict = RowVerdict::at_most(height_m, shape.arm_m, 2.0 * shape.arm_m);
        let help = "a heavier weight, a longer swing, or fewer marbles";
        vec![
            tips,
            Row::judged("what holds it back", value, verdict, help).with(figures),
        ]
    }
}

impl Warns for SeeSaw {
    fn warnings(&self, view: &WarningView) -> Vec<Warned> {
        never_tips(self.gathers, view).into_iter().collect()
    }

    fn gathers(&self) -> Option<u32> {
        Some(self.gathers)
    }
}

impl Sign for SeeSaw {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-9.5, -5.0), (9.5, 3.0)]);
        pen.line(&[(-3.5, 7.5), (0.0, -1.0), (3.5, 7.5)]);
        pen.dot(-6.8, -6.4, 2.2);
    }
}
