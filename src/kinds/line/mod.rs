//! What start ramps, slides and tracks have in common: marbles roll through them in a single file.

mod check;
mod knobs;
mod list;
mod made;
mod plan;
mod sheet;
mod warnings;

use crate::circuit::joints::Outflow;
use crate::circuit::plan::Plan;
use crate::circuit::planned::{Planned, Site};
use crate::findings::warnings::{Warned, WarningView, Warns};
use crate::machine::assumed::AssumedConstant;
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::{Fields, called};
use crate::machine::knobs::Knob;
use crate::machine::law::TimeLaw;
use crate::machine::limits::SHORTEST_LOOP_S;
use crate::machine::model::{Fall, Line, Segment, WhenFull};
use crate::machine::units::VELOCITY;
use crate::machine::workmanship::WorkshopError;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};
use crate::sheet::profile::ProfilePiece;

/// What tells one kind of line from the others.
pub trait LineKind {
    /// See [`Description::ABOUT`].
    const ABOUT: &'static str;
    /// See [`Description::ALSO_CALLED`].
    const ALSO_CALLED: &'static [OtherWords];

    /// Whether marbles come out of it with the speed they have rolled up.
    const GIVES_SPEED: bool = true;

    /// See [`Warns::room_at_start`].
    fn room_at_start(_view: &WarningView) -> Option<Warned> {
        None
    }

    /// A line of this kind.
    fn new(line: Line) -> Self;

    /// The line.
    fn get(&self) -> &Line;

    /// The line, to be changed.
    fn get_mut(&mut self) -> &mut Line;
}

impl<T: LineKind> Description for T {
    const ABOUT: &'static str = <T as LineKind>::ABOUT;
    const ALSO_CALLED: &'static [OtherWords] = <T as LineKind>::ALSO_CALLED;
    const KEYS: &'static [KeyMeaning] = &[
        (
            "segments",
            "The parts from top to bottom, instead of one length and slope.",
        ),
        (
            "advance",
            "Measured time in which the file moves up one place.",
        ),
    ];
    const KNOBS: &'static [Knob] = knobs::KNOBS;
    const TIME_KEY: Option<&'static str> = Some("time");

    fn read(of: &mut Fields) -> Option<Self> {
        read(of).map(T::new)
    }

    fn typical_s(&self) -> f64 {
        typical_s(self.get())
    }

    fn has_dimensions(&self) -> bool {
        !self.get().segments.is_empty()
    }

    fn check(&self, at: &ElementCheck) {
        check::line(self.get(), at);
    }

    fn is_computed(&self) -> bool {
        self.has_dimensions() && self.get().time.is_none()
    }

    fn goes_by(&self, what: AssumedConstant) -> bool {
        match what {
            AssumedConstant::BendLoss => bends(self.get()),
            AssumedConstant::HitGrip => hits(self.get()),
            _ => false,
        }
    }

    fn lacks_slope(&self, _sloped_before: bool) -> bool {
        self.get().advance_s.is_none() && self.exit_slope_rad().is_none()
    }

    fn exit_slope_rad(&self) -> Option<f64> {
        plan::last_slope_rad(self.get())
    }

    fn gives_speed(&self) -> bool {
        T::GIVES_SPEED && self.has_dimensions()
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        made::errs_in(self.get(), what)
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        made::err(self.get_mut(), what, by);
    }

    fn line(&self) -> Option<&Line> {
        Some(self.get())
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.get_mut().time.take()
    }
}

impl<T: LineKind> Planned for T {
    fn plan(&self, site: &Site) -> Plan {
        plan::plan(self.get(), site)
    }

    fn takes_speed(&self) -> bool {
        true
    }

    fn exit_speed_m_s(&self, out: &Outflow) -> Option<f64> {
        if !T::GIVES_SPEED {
            return None;
        }
        let passage = out.workshop.roll_from(self.get(), out.entry_speed_m_s())?;
        Some(passage.ok()?.exit_speed_m_s)
    }
}

impl<T: LineKind> SheetEntry for T {
    fn list(&self, plan: &Plan, list: &mut Lister) {
        list::line(self.get(), plan, list);
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        sheet::rows(self.get(), view)
    }

    fn fall_m(&self) -> Option<f64> {
        sheet::line_fall_m(self.get())
    }

    fn pieces(&self) -> Vec<ProfilePiece> {
        sheet::pieces(self.get())
    }
}

impl<T: LineKind> Warns for T {
    fn warnings(&self, view: &WarningView) -> Vec<Warned> {
        warnings::stall(self.get(), view).into_iter().collect()
    }

    fn room_at_start(&self, view: &WarningView) -> Option<Warned> {
        <T as LineKind>::room_at_start(view)
    }
}

fn read(of: &mut Fields) -> Option<Line> {
    of.ways(&[&["length", "slope"], &["segments"], &["time"]]);
    of.together(&["length", "slope"]);
    let segments = of.segments();
    let line = Line {
        channel: of.channel(),
        entry_m_s: of.quantity("entry-speed", &VELOCITY, 0.0..=10.0),
        time: of.law("time"),
        room: of.room("places"),
        advance_s: of.duration("advance"),
        when_full: of.when_full(WhenFull::Hold),
        segments,
    };
    let dimensions = ["length", "slope", "segments", "time"];
    if dimensions
        .iter()
        .all(|&key| of.get(key).is_none() && !of.misspelt(key))
    {
        let what = format!(
            "{} has neither dimensions nor a measured time",
            called(&of.path)
        );
        let help = "add `length: 300 mm, slope: 4 deg`, or `segments`, or a measured `time: 1.2 s`";
        of.report().add(Some(of.place), &of.path, what, help);
    }
    Some(line)
}

/// As measured; else nothing but short drops takes no time.
fn typical_s(line: &Line) -> f64 {
    if let Some(measured) = &line.time {
        return measured.typical_s();
    }
    let rolls = line.segments.iter().any(|segment| match *segment {
        Segment::Drop { height_m } => drop_s(height_m) >= SHORTEST_LOOP_S,
        _ => true,
    });
    if rolls { f64::INFINITY } else { 0.0 }
}

fn drop_s(drop_m: f64) -> f64 {
    let fall = Fall { drop_m, time: None };
    fall.law().typical_s()
}

fn bends(line: &Line) -> bool {
    let mut segments = line.segments.iter();
    segments.any(|segment| matches!(segment, Segment::Bend { .. }))
}

/// Whether marbles hit wood after a fall in it.
fn hits(line: &Line) -> bool {
    let falls = |segment: &Segment| {
        matches!(
            segment,
            Segment::Drop { .. } | Segment::Steps { .. } | Segment::Corner { .. }
        )
    };
    line.time.is_none() && line.segments.iter().any(falls)
}
