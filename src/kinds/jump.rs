//! The jump: marbles roll off a lip, fly over a gap and roll on where they land.

use crate::charts::signs::{Pen, Sign};
use crate::circuit::joints::Outflow;
use crate::circuit::plan::{Cause, Plan};
use crate::circuit::planned::{Planned, Site};
use crate::findings::warnings::{Warned, WarningView, Warns};
use crate::machine::allow::Warning;
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::model::Jump;
use crate::machine::units::{ANGLE, LENGTH};
use crate::machine::workmanship::WorkshopError;
use crate::physics::jump::Gap;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};
use crate::sheet::{Row, RowVerdict};

/// Speeds this much inside the limits are far enough: our own margin.
const ENOUGH: f64 = 1.05;

impl Description for Jump {
    const ABOUT: &'static str = "A gap that marbles fly over, from a lip to a landing.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["leap", "ski-jump", "launch", "gap", "flight", "catapult"],
        "{ gap: 60 mm, landing: 80 mm, fall: 30 mm }",
    )];
    const KEYS: &'static [KeyMeaning] = &[
        (
            "jump.gap",
            "From the lip to where the landing begins, level.",
        ),
        ("landing", "Length of the landing, level."),
        (
            "jump.fall",
            "From the lip down to the landing; left out: 0.",
        ),
        (
            "rises",
            "How steeply the lip rises; left out: 0 deg, level.",
        ),
        (
            "jump.time",
            "Measured time from the lip to the end of the landing.",
        ),
    ];
    const KNOBS: &'static [Knob] = &[
        Knob::amount(
            ("gap", CostClass::Reset),
            (2.0, "mm"),
            [
                "set the landing of @ farther from its lip",
                "set the landing of @ nearer to its lip",
            ],
        ),
        Knob::amount(
            ("fall", CostClass::Reset),
            (2.0, "mm"),
            ["set the landing of @ lower", "set the landing of @ higher"],
        ),
    ];
    const TIME_KEY: Option<&'static str> = Some("time");

    fn read(of: &mut Fields) -> Option<Self> {
        let gap = of.quantity("gap", &LENGTH, 0.001..=2.0);
        let gap = of.required("gap", "60 mm", gap);
        let landing = of.quantity("landing", &LENGTH, 0.005..=2.0);
        let landing = of.required("landing", "80 mm", landing);
        let fall = of.quantity("fall", &LENGTH, 0.0..=2.0);
        let rises = of.quantity("rises", &ANGLE, 0.0..=1.3);
        let time = of.law("time");
        Some(Jump {
            gap_m: gap?,
            landing_m: landing?,
            fall_m: fall.unwrap_or(0.0),
            rises_rad: rises.unwrap_or(0.0),
            time,
        })
    }

    fn typical_s(&self) -> f64 {
        let measured = self.time.as_ref();
        measured.map_or(f64::INFINITY, TimeLaw::typical_s)
    }

    fn gives_speed(&self) -> bool {
        true
    }

    fn is_computed(&self) -> bool {
        self.time.is_none()
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        self.is_computed() && matches!(what, WorkshopError::Length | WorkshopError::Slope)
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        match what {
            WorkshopError::Length => {
                for length_m in [&mut self.gap_m, &mut self.landing_m] {
                    *length_m = (*length_m + by).max(0.001);
                }
                self.fall_m = (self.fall_m + by).max(0.0);
            }
            // No lip that is set by hand is level.
            WorkshopError::Slope => self.rises_rad += by,
            _ => {}
        }
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.time.take()
    }

    fn check(&self, at: &ElementCheck) {
        if self.fall_m <= 0.0 && self.rises_rad <= 0.0 {
            let what =
                "a marble that leaves a level lip falls short of a landing as high as the lip";
            at.wrong(
                "fall",
                what,
                "set the landing lower, or let the lip rise: `rises: 20 deg`",
            );
        }
    }
}

fn gap(of: &Jump) -> Gap {
    Gap {
        gap_m: of.gap_m,
        landing_m: of.landing_m,
        fall_m: of.fall_m,
        rises_rad: of.rises_rad,
    }
}

impl Planned for Jump {
    fn plan(&self, site: &Site) -> Plan {
        let gap = gap(self);
        let (travel, stalls) = site.travel(self.time.as_ref(), |comes_m_s| {
            gap.leap(comes_m_s).map(|leap| leap.time_s)
        });
        let diameter_m = site.workshop.machine.marbles.diameter_m;
        let places = diameter_m.map(|one| ((self.landing_m / one) as u32).max(1));
        Plan {
            room: places.unwrap_or(u32::MAX),
            travel,
            stalls,
            halts: Cause::Fall,
            ..site.workshop.blank()
        }
    }

    fn takes_speed(&self) -> bool {
        true
    }

    fn exit_speed_m_s(&self, out: &Outflow) -> Option<f64> {
        Some(gap(self).leap(out.entry_speed_m_s())?.exit_m_s)
    }
}

impl SheetEntry for Jump {
    fn list(&self, plan: &Plan, list: &mut Lister) {
        list.length("gap", self.gap_m);
        list.length("landing", self.landing_m);
        list.length("fall", self.fall_m);
        list.angle("rises", self.rises_rad);
        list.law("time", self.time.as_ref());
        list.room("places", plan);
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        let gap = gap(self);
        let (least, most) = (gap.least_m_s(), gap.most_m_s());
        let limits = format!(
            "{} to {} at the lip",
            view.units.speed(least),
            view.units.speed(most)
        );
        let figures = [("least", least, "m/s"), ("most", most, "m/s")];
        let mut rows = vec![Row::plain("needs to land", limits).with(figures)];
        if self.time.is_some() {
            rows.push(Row::plain("time", "measured"));
            return rows;
        }
        for comes in view.workshop.entry_speeds_m_s() {
            let slow = RowVerdict::at_least(comes, ENOUGH * least, least);
            let fast = RowVerdict::at_most(comes, most / ENOUGH, most);
            let lands = match gap.leap(comes) {
                Some(leap) => format!(
                    ", lands {} from the lip and goes on at {}",
                    view.units.length(leap.reaches_m),
                    view.units.speed(leap.exit_m_s)
                ),
                None => String::new(),
            };
            let value = format!("at {}{lands}", view.units.speed(comes));
            let help = "another height above the lip, or a landing set elsewhere";
            let row = Row::judged("a marble comes", value, slow.max(fast), help);
            rows.push(row.with([("comes", comes, "m/s")]));
        }
        rows
    }

    fn fall_m(&self) -> Option<f64> {
        Some(self.fall_m)
    }
}

impl Warns for Jump {
    fn warnings(&self, view: &WarningView) -> Vec<Warned> {
        let gap = gap(self);
        let speeds = view.workshop().entry_speeds_m_s();
        let astray = speeds.into_iter().find(|&comes| gap.leap(comes).is_none());
        let Some(comes) = astray.filter(|_| view.plan().stalls) else {
            return Vec::new();
        };
        let (least, most) = (gap.least_m_s(), gap.most_m_s());
        let does = if comes < least {
            "falls short of"
        } else {
            "flies past"
        };
        let what = format!(
            "a marble {does} the landing of `{}`: it comes at {comes:.2} m/s, and {least:.2} to {most:.2} m/s land",
            view.element.name
        );
        let help = "let it come from another height, or set the landing elsewhere";
        vec![view.about_all(Warning::RunUp, what, help)]
    }
}

impl Sign for Jump {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-10.0, -3.0), (-4.0, -4.0)]);
        pen.line(&[(3.0, 5.5), (10.0, 5.5)]);
        pen.dot(1.0, -5.0, 2.2);
        pen.line(&[(4.0, -2.5), (6.0, 2.0)]);
    }
}
