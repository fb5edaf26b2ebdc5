//! The return floor: it brings marbles home, one at a time through its mouth.

mod plan;
mod sheet;

use std::f64::consts::PI;

use crate::charts::signs::{Pen, Sign};
use crate::circuit::joints::Outflow;
use crate::circuit::looked_place::LookedPlace;
use crate::circuit::plan::Plan;
use crate::circuit::planned::{Planned, Site};
use crate::findings::warnings::Warns;
use crate::machine::assumed::{AssumedConstant, FLOOR_FALL_M};
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::limits::LENGTHS;
use crate::machine::model::{FloorShape, Landing, ReturnFloor, WhenFull};
use crate::machine::units::{ANGLE, LENGTH};
use crate::machine::workmanship::WorkshopError;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};
use crate::sheet::profile::ProfilePiece;

impl Description for ReturnFloor {
    const ABOUT: &'static str = "The tilted floor that brings marbles home through its mouth.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &[
            "tray",
            "floor",
            "hopper",
            "table",
            "catch",
            "basket",
            "bin",
            "reservoir",
        ],
        "{ width: 300 mm, depth: 250 mm, cross-pitch: 2 deg, valley-pitch: 3 deg, mouth: 36 mm }",
    )];
    const KEYS: &'static [KeyMeaning] = &[
        ("return-floor.width", "Across the valley."),
        ("return-floor.depth", "Along the valley."),
        ("cross-pitch", "Pitch of each side towards the valley."),
        ("valley-pitch", "Pitch of the valley towards the mouth."),
        ("mouth", "Width of the mouth."),
        (
            "return-floor.funnel",
            "Half the angle between walls that lead to the mouth; without it the end wall is straight.",
        ),
        ("return-floor.fall", "Height of the fall onto it."),
        (
            "mouth-time",
            "Measured time between two marbles through the mouth.",
        ),
    ];
    const KNOBS: &'static [Knob] = &[
        Knob::amount(
            ("cross-pitch", CostClass::Reset),
            (0.5, "deg"),
            ["set the sides of @ steeper", "set the sides of @ flatter"],
        ),
        Knob::amount(
            ("valley-pitch", CostClass::Reset),
            (0.5, "deg"),
            ["set the valley of @ steeper", "set the valley of @ flatter"],
        ),
        Knob::time(
            ("time", CostClass::Reset),
            [
                "let marbles take longer over @",
                "let marbles take less long over @",
            ],
        ),
        Knob::amount(
            ("fall", CostClass::Reset),
            (5.0, "mm"),
            [
                "let marbles fall farther onto @",
                "let marbles fall less onto @",
            ],
        ),
        Knob::amount(
            ("mouth", CostClass::Recut),
            (1.0, "mm"),
            ["cut the mouth of @ wider", "make the mouth of @ narrower"],
        ),
        Knob::amount(
            ("funnel", CostClass::Recut),
            (5.0, "deg"),
            ["open the funnel of @", "close the funnel of @"],
        ),
        Knob::amount(
            ("room", CostClass::Rebuild),
            (1.0, ""),
            [
                "give @ room for # marbles more",
                "give @ room for # marbles less",
            ],
        ),
        Knob::amount(
            ("width", CostClass::Rebuild),
            (10.0, "mm"),
            ["make @ wider", "make @ narrower"],
        ),
        Knob::amount(
            ("depth", CostClass::Rebuild),
            (10.0, "mm"),
            ["make @ deeper", "make @ less deep"],
        ),
        Knob::word(
            ("when-full", CostClass::Rebuild),
            "hold",
            "close the open sides of @",
        ),
    ];
    const TIME_KEY: Option<&'static str> = Some("time");

    fn read(of: &mut Fields) -> Option<Self> {
        of.ways(&[
            &["width", "depth", "cross-pitch", "valley-pitch", "mouth"],
            &["time"],
        ]);
        let shape = read_shape(of);
        let time = of.law("time");
        let dimensions = ["width", "depth", "cross-pitch", "valley-pitch", "mouth"];
        if dimensions.iter().all(|key| of.get(key).is_none()) {
            of.required(
                "time",
                "{ uniform: { low: 1 s, high: 4 s } }",
                time.as_ref(),
            );
        }
        Some(ReturnFloor {
            shape,
            time,
            room: of.room("room"),
            mouth_time_s: of.duration("mouth-time"),
            mouth_m_s: None,
            arch: of.arch("arch"),
            when_full: of.when_full(WhenFull::Spill),
        })
    }

    fn typical_s(&self) -> f64 {
        let measured = self.time.as_ref();
        measured.map_or(f64::INFINITY, TimeLaw::typical_s)
    }

    fn has_dimensions(&self) -> bool {
        self.shape.is_some()
    }

    fn check(&self, at: &ElementCheck) {
        let (Some(shape), Some(diameter_m)) = (self.shape, at.diameter_m) else {
            return;
        };
        at.passes("mouth", "mouth", shape.mouth_m);
        if shape.mouth_m > shape.width_m {
            let (mouth, width) = (LENGTH.show(shape.mouth_m), LENGTH.show(shape.width_m));
            let what =
                format!("a mouth of {mouth} does not fit at the end of a floor {width} wide");
            at.wrong("width", what, format!("make it {mouth} or wider"));
        }
        if shape.depth_m <= diameter_m {
            let (marble, depth) = (LENGTH.show(diameter_m), LENGTH.show(shape.depth_m));
            let what = format!("a {marble} marble does not fit on a floor {depth} deep");
            at.wrong("depth", what, "make it deeper");
        }
    }

    fn is_computed(&self) -> bool {
        self.shape.is_some() && self.time.is_none()
    }

    fn goes_by(&self, what: AssumedConstant) -> bool {
        // Marbles press on each other where they meet.
        let meets = matches!(
            what,
            AssumedConstant::FloorFall
                | AssumedConstant::MarbleFriction
                | AssumedConstant::MarbleRestitution
        );
        meets && self.is_computed()
    }

    fn exit_slope_rad(&self) -> Option<f64> {
        self.shape.map(|shape| shape.valley_rad)
    }

    fn assume(&mut self, _what: AssumedConstant, value: f64) {
        if let Some(shape) = &mut self.shape {
            shape.fall_m = value;
        }
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        match what {
            WorkshopError::Slope => self.shape.is_some(),
            WorkshopError::Length => self.is_computed(),
            _ => false,
        }
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        let Some(shape) = &mut self.shape else {
            return;
        };
        let (all, least) = match what {
            WorkshopError::Slope => (vec![&mut shape.cross_rad, &mut shape.valley_rad], 1e-4),
            WorkshopError::Length => {
                let lengths = [&mut shape.width_m, &mut shape.depth_m, &mut shape.mouth_m];
                (Vec::from(lengths), 0.001)
            }
            _ => return,
        };
        for of in all {
            *of = (*of + by).max(least);
        }
    }

    fn floor(&self) -> Option<&ReturnFloor> {
        Some(self)
    }

    fn floor_mut(&mut self) -> Option<&mut ReturnFloor> {
        Some(self)
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.time.take()
    }
}

impl Planned for ReturnFloor {
    fn looked_place(&self, site: &Site) -> Option<LookedPlace> {
        plan::looked_place(self, site)
    }

    fn plan(&self, site: &Site) -> Plan {
        plan::plan(self, site)
    }

    fn takes_speed(&self) -> bool {
        self.shape.is_some()
    }

    fn exit_speed_m_s(&self, out: &Outflow) -> Option<f64> {
        plan::mouth_speed_m_s(self, &out.workshop)
    }
}

impl SheetEntry for ReturnFloor {
    fn list(&self, plan: &Plan, list: &mut Lister) {
        sheet::list(self, plan, list);
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        sheet::rows(self, view)
    }

    // What falls on it depends on where marbles land.
    fn fall_m(&self) -> Option<f64> {
        self.shape.map(|_| 0.0)
    }

    fn landing_fall_m(&self, landing: Option<Landing>, assumed: bool) -> f64 {
        let Some(shape) = &self.shape else {
            return 0.0;
        };
        let onto_m = if assumed { 0.0 } else { shape.fall_m };
        sheet::landing_fall_m(shape, landing, onto_m)
    }

    fn landing_pieces(&self, landing: Option<Landing>, assumed: bool) -> Vec<ProfilePiece> {
        match &self.shape {
            Some(shape) => sheet::landing_pieces(shape, landing, assumed),
            None => Vec::new(),
        }
    }
}

impl Warns for ReturnFloor {}

impl Sign for ReturnFloor {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-10.0, -3.0), (-2.5, 6.0)]);
        pen.line(&[(10.0, -3.0), (2.5, 6.0)]);
        pen.dot(-3.0, -3.5, 2.3);
        pen.dot(3.4, -1.5, 2.3);
    }
}

fn read_shape(of: &mut Fields) -> Option<FloorShape> {
    let width = of.quantity("width", &LENGTH, LENGTHS);
    let depth = of.quantity("depth", &LENGTH, LENGTHS);
    let cross = of.quantity("cross-pitch", &ANGLE, 0.001..=PI / 6.0);
    let valley = of.quantity("valley-pitch", &ANGLE, 0.001..=PI / 6.0);
    let mouth = of.quantity("mouth", &LENGTH, 0.002..=1.0);
    let funnel_rad = of.quantity("funnel", &ANGLE, PI / 36.0..=PI / 2.0);
    let fall_m = of
        .quantity("fall", &LENGTH, 0.0..=3.0)
        .unwrap_or(FLOOR_FALL_M.0);
    of.together(&["width", "depth", "cross-pitch", "valley-pitch", "mouth"]);
    width.or(depth).or(cross).or(valley).or(mouth)?;
    let width = of.required("width", "600 mm", width);
    let depth = of.required("depth", "450 mm", depth);
    let cross = of.required("cross-pitch", "2 deg", cross);
    let valley = of.required("valley-pitch", "2 deg", valley);
    let mouth = of.required("mouth", "18 mm", mouth);
    Some(FloorShape {
        width_m: width?,
        depth_m: depth?,
        cross_rad: cross?,
        valley_rad: valley?,
        mouth_m: mouth?,
        funnel_rad,
        fall_m,
    })
}
