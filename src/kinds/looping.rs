//! The loop: marbles roll through it upside down if they come fast enough.

use std::f64::consts::TAU;

use crate::charts::signs::{Pen, Sign};
use crate::circuit::joints::Outflow;
use crate::circuit::plan::{Cause, Plan};
use crate::circuit::planned::{Planned, Site};
use crate::circuit::workshop::Workshop;
use crate::findings::warnings::{Warned, WarningView, Warns};
use crate::machine::allow::Warning;
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::model::UprightLoop;
use crate::machine::units::LENGTH;
use crate::machine::workmanship::WorkshopError;
use crate::physics::looping::LoopTheLoop;
use crate::physics::queue_advance;
use crate::physics::rolling::resistance;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};
use crate::sheet::{Row, RowVerdict};

/// A speed this much above the least is far enough: our own margin.
const ENOUGH: f64 = 1.1;

impl Description for UprightLoop {
    const ABOUT: &'static str = "An upright loop that marbles roll through.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["loop-the-loop", "looping", "loopdeloop", "vertical-loop"],
        "{ radius: 60 mm, channel: { rails: 8 mm } }",
    )];
    const KEYS: &'static [KeyMeaning] =
        &[("loop.radius", "Radius of what marbles roll on in the loop.")];
    const KNOBS: &'static [Knob] = &[Knob::amount(
        ("radius", CostClass::Rebuild),
        (2.0, "mm"),
        ["bend @ wider", "bend @ tighter"],
    )];
    const TIME_KEY: Option<&'static str> = Some("time");

    fn read(of: &mut Fields) -> Option<Self> {
        let radius = of.quantity("radius", &LENGTH, 0.01..=2.0);
        let radius = of.required("radius", "60 mm", radius);
        let channel = of.channel();
        let time = of.law("time");
        radius.map(|radius_m| UprightLoop {
            radius_m,
            channel,
            time,
        })
    }

    fn has_dimensions(&self) -> bool {
        self.time.is_none()
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
        what == WorkshopError::Length && self.is_computed()
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        if what == WorkshopError::Length {
            self.radius_m = (self.radius_m + by).max(0.001);
        }
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.time.take()
    }

    fn check(&self, at: &ElementCheck) {
        let diameter_m = at.diameter_m.unwrap_or(0.0);
        if self.radius_m <= diameter_m {
            let (radius, marble) = (LENGTH.show(self.radius_m), LENGTH.show(diameter_m));
            let what = format!("a {marble} marble does not go round in a loop of {radius} radius");
            let help = format!("make it {} or more", LENGTH.show(diameter_m * 2.0));
            at.wrong("radius", what, help);
        }
        if let Some(diameter_m) = at.diameter_m
            && self.channel.seat(diameter_m / 2.0).is_err()
        {
            let what = "a marble falls between the rails of the loop";
            at.wrong("channel", what, "set them closer than a marble is wide");
        }
    }
}

/// The loop as a marble sees it, where its size is known.
fn shape(of: &UprightLoop, workshop: &Workshop) -> Option<LoopTheLoop> {
    let marble_m = workshop.marble()?.radius_m();
    let seat = of.channel.seat(marble_m).ok()?;
    Some(LoopTheLoop {
        centre_radius_m: of.radius_m - marble_m * seat.radius_ratio,
        seat,
        resistance: resistance(seat, marble_m, &workshop.surface()),
    })
}

impl Planned for UprightLoop {
    fn plan(&self, site: &Site) -> Plan {
        let shape = shape(self, &site.workshop);
        let (travel, stalls) = site.travel(self.time.as_ref(), |comes_m_s| {
            shape?.round(comes_m_s).map(|round| round.time_s)
        });
        let diameter_m = site.workshop.machine.marbles.diameter_m;
        let places = diameter_m.map(|one| queue_advance::places(TAU * self.radius_m, one));
        Plan {
            room: places.map_or(u32::MAX, |places| (places as u32).max(1)),
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
        let shape = shape(self, &out.workshop)?;
        Some(shape.round(out.entry_speed_m_s())?.exit_m_s)
    }
}

impl SheetEntry for UprightLoop {
    fn list(&self, plan: &Plan, list: &mut Lister) {
        list.length("radius", self.radius_m);
        list.channel(self.channel);
        list.law("time", self.time.as_ref());
        list.room("places", plan);
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        let Some(shape) = shape(self, &view.workshop) else {
            return Vec::new();
        };
        let (least, height_m) = (shape.least_m_s(), shape.least_height_m());
        let value = format!(
            "{} at its foot, as from rest {} above it",
            view.units.speed(least),
            view.units.length(height_m)
        );
        let figures = [("least", least, "m/s"), ("height", height_m, "m")];
        let mut rows = vec![Row::plain("needs to stay on", value).with(figures)];
        if self.time.is_some() {
            rows.push(Row::plain("time", "measured"));
            return rows;
        }
        let comes = view.workshop.slowest_entry_m_s();
        let verdict = RowVerdict::at_least(comes, ENOUGH * least, least);
        let goes = match shape.round(comes) {
            Some(round) => format!(
                ", and goes on at {} after {:.2} s",
                view.units.speed(round.exit_m_s),
                round.time_s
            ),
            None => String::new(),
        };
        let value = format!("at {}{goes}", view.units.speed(comes));
        let help = "let it come from higher up, or bend the loop tighter";
        let row = Row::judged("a marble comes", value, verdict, help);
        rows.push(row.with([("comes", comes, "m/s")]));
        rows
    }

    fn fall_m(&self) -> Option<f64> {
        Some(0.0)
    }
}

impl Warns for UprightLoop {
    fn warnings(&self, view: &WarningView) -> Vec<Warned> {
        let workshop = view.workshop();
        let Some(shape) = shape(self, &workshop).filter(|_| view.plan().stalls) else {
            return Vec::new();
        };
        let what = format!(
            "a marble falls off `{}`: it comes at {:.2} m/s and needs {:.2} m/s at the foot",
            view.element.name,
            workshop.slowest_entry_m_s(),
            shape.least_m_s()
        );
        let help = format!(
            "let it come from {} or more above the foot, or bend the loop tighter",
            view.system.length(shape.least_height_m())
        );
        vec![view.about_all(Warning::RunUp, what, help)]
    }
}

impl Sign for UprightLoop {
    fn draw(pen: &mut Pen) {
        pen.arc((0.0, -1.0), 6.5, 0.0, 1.0);
        pen.line(&[(-10.0, 5.5), (10.0, 5.5)]);
        pen.dot(0.0, -5.2, 2.0);
    }
}
