//! The splitter bowl: marbles swirl in it, several at once, and leave by one of its holes.

mod plan;
mod sheet;

use std::f64::consts::PI;

use crate::charts::signs::{Pen, Sign};
use crate::circuit::looked_place::LookedPlace;
use crate::circuit::plan::Plan;
use crate::circuit::planned::{Planned, Site};
use crate::findings::warnings::Warns;
use crate::machine::assumed::AssumedConstant;
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::model::{Bowl, BowlShape, WhenFull};
use crate::machine::units::{ANGLE, LENGTH, VELOCITY};
use crate::machine::workmanship::WorkshopError;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};
use crate::sheet::profile::ProfilePiece;

impl Description for Bowl {
    const ABOUT: &'static str = "A splitter bowl: marbles swirl and leave by one of its holes.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["basin", "swirl", "dish"],
        "{ width: 160 mm, depth: 25 mm, hole: 24 mm }",
    )];
    const KEYS: &'static [KeyMeaning] = &[
        ("bowl.swirl", "Measured time from entry to a hole."),
        ("bowl.width", "Across the rim."),
        ("bowl.depth", "Depth at the middle."),
        ("bowl.hole", "Diameter of the holes."),
        ("hole-circle", "Radius of the circle the holes stand on."),
        ("bowl.fence", "Whether a fence stands on the rim."),
        (
            "entry-angle",
            "How far inward of the rim's own direction marbles head as they come in.",
        ),
        (
            "hole-time",
            "How long a marble that goes keeps its hole shut to the next one.",
        ),
    ];
    const KNOBS: &'static [Knob] = &[
        Knob::amount(
            ("entry-angle", CostClass::Reset),
            (5.0, "deg"),
            [
                "let marbles head more inward into @",
                "let marbles head less inward into @",
            ],
        ),
        Knob::amount(
            ("hole", CostClass::Redrill),
            (1.0, "mm"),
            [
                "drill the holes of @ wider",
                "drill the holes of @ narrower",
            ],
        ),
        Knob::amount(
            ("hole-circle", CostClass::Redrill),
            (1.0, "mm"),
            [
                "drill the holes of @ farther out",
                "drill the holes of @ farther in",
            ],
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
            ["turn @ wider", "turn @ narrower"],
        ),
        Knob::amount(
            ("depth", CostClass::Rebuild),
            (5.0, "mm"),
            ["turn @ deeper", "turn @ less deep"],
        ),
        Knob::word(
            ("fence", CostClass::Rebuild),
            "yes",
            "set a fence on the rim of @",
        ),
        Knob::word(
            ("when-full", CostClass::Rebuild),
            "hold",
            "close the open side of @",
        ),
    ];
    const SPLITS: bool = true;
    const TIME_KEY: Option<&'static str> = Some("swirl");
    const SWAPPED_IN: Option<&'static str> =
        Some("{ swirl: { lognormal: { mean: 2 s, cv: 0.4 } }, hole-time: 0.15 s }");

    fn read(of: &mut Fields) -> Option<Self> {
        of.ways(&[&["swirl"], &["width", "depth", "hole"]]);
        let swirl = of.law("swirl");
        let shape = read_shape(of);
        if of.get("width").is_none() && of.get("depth").is_none() {
            of.required(
                "swirl",
                "{ lognormal: { mean: 2 s, cv: 0.4 } }",
                swirl.as_ref(),
            );
        }
        Some(Bowl {
            swirl,
            shape,
            shares: of.shares(),
            room: of.room("room"),
            hole_time_s: of.duration("hole-time"),
            arch: of.arch("arch"),
            when_full: of.when_full(WhenFull::Spill),
        })
    }

    fn shares(&self) -> &[f64] {
        &self.shares
    }

    fn typical_s(&self) -> f64 {
        let measured = self.swirl.as_ref();
        measured.map_or(f64::INFINITY, TimeLaw::typical_s)
    }

    fn has_dimensions(&self) -> bool {
        self.shape.is_some()
    }

    fn check(&self, at: &ElementCheck) {
        let (Some(shape), Some(_)) = (self.shape, at.diameter_m) else {
            return;
        };
        at.passes("hole", "hole", shape.hole_m);
        let holes = at.ways;
        if shape.hole_circle_m + shape.hole_m / 2.0 > shape.width_m / 2.0 {
            let what = "the holes stand beyond the rim";
            let help = "make `hole-circle`, the radius they stand on, smaller";
            at.wrong("hole-circle", what, help);
        } else if holes > 1
            && 2.0 * shape.hole_circle_m * libm::sin(PI / holes as f64) <= shape.hole_m
        {
            let hole = LENGTH.show(shape.hole_m);
            let what = format!("{holes} holes of {hole} run into each other");
            let help = "make `hole-circle`, the radius they stand on, larger";
            at.wrong("hole-circle", what, help);
        }
    }

    fn is_computed(&self) -> bool {
        self.shape.is_some() && self.swirl.is_none()
    }

    fn goes_by(&self, what: AssumedConstant) -> bool {
        let goes_by = matches!(
            what,
            AssumedConstant::EntrySpeed
                | AssumedConstant::EntryScatter
                | AssumedConstant::MarbleFriction
                | AssumedConstant::MarbleRestitution
        );
        goes_by && self.is_computed()
    }

    fn assume(&mut self, _what: AssumedConstant, value: f64) {
        if let Some(shape) = &mut self.shape {
            shape.entry_m_s = Some(value);
        }
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        matches!(what, WorkshopError::Bore | WorkshopError::Length) && self.is_computed()
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        let Some(shape) = &mut self.shape else {
            return;
        };
        match what {
            WorkshopError::Bore => shape.hole_m = (shape.hole_m + by).max(0.001),
            WorkshopError::Length => shape.depth_m = (shape.depth_m + by).max(0.001),
            _ => {}
        }
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.swirl.take()
    }
}

impl Planned for Bowl {
    fn looked_place(&self, site: &Site) -> Option<LookedPlace> {
        plan::looked_place(self, site)
    }

    fn plan(&self, site: &Site) -> Plan {
        plan::plan(self, site)
    }
}

impl SheetEntry for Bowl {
    fn list(&self, plan: &Plan, list: &mut Lister) {
        sheet::list(self, plan, list);
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        sheet::rows(self, view)
    }

    fn fall_m(&self) -> Option<f64> {
        self.shape.map(|shape| shape.depth_m)
    }

    fn pieces(&self) -> Vec<ProfilePiece> {
        let Some(BowlShape {
            width_m, depth_m, ..
        }) = self.shape
        else {
            return vec![ProfilePiece::Unknown("depth of")];
        };
        vec![ProfilePiece::Hollow { width_m, depth_m }]
    }
}

impl Warns for Bowl {}

impl Sign for Bowl {
    fn draw(pen: &mut Pen) {
        pen.arc((0.0, -5.0), 9.5, 0.25, 0.75);
        pen.dot(0.0, 0.6, 2.4);
    }
}

fn read_shape(of: &mut Fields) -> Option<BowlShape> {
    let width = of.quantity("width", &LENGTH, 0.02..=3.0);
    let depth = of.quantity("depth", &LENGTH, 0.001..=1.0);
    let hole = of.quantity("hole", &LENGTH, 0.002..=0.5);
    let circle = of.quantity("hole-circle", &LENGTH, 0.0..=1.0);
    let entry_m_s = of.quantity("entry-speed", &VELOCITY, 0.01..=10.0);
    let inward_rad = of.quantity("entry-angle", &ANGLE, 0.0..=PI / 2.0);
    let fence = of.choice("fence", &[("yes", true), ("no", false)]);
    width.or(depth)?;
    let width_m = of.required("width", "180 mm", width)?;
    Some(BowlShape {
        width_m,
        depth_m: of.required("depth", "35 mm", depth)?,
        hole_m: of.required("hole", "20 mm", hole)?,
        hole_circle_m: circle.unwrap_or(width_m / 8.0),
        fenced: fence.unwrap_or(false),
        inward_rad: inward_rad.unwrap_or(0.0),
        entry_m_s,
    })
}
