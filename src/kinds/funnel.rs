//! The funnel: marbles come in along its rim and circle down to the one hole.

use crate::charts::signs::{Pen, Sign};
use crate::circuit::draw::{Draw, Shares, nanos};
use crate::circuit::plan::{self, Plan, Role};
use crate::circuit::planned::{Planned, Site};
use crate::circuit::workshop::Workshop;
use crate::findings::warnings::Warns;
use crate::machine::check_shapes::ElementCheck;
use crate::machine::description::{Complaint, Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::model::{Cone, Funnel, WhenFull};
use crate::machine::units::{ANGLE, LENGTH};
use crate::machine::workmanship::WorkshopError;
use crate::physics::G;
use crate::physics::hand_over::Spread;
use crate::physics::rolling::{Seat, resistance};
use crate::physics::spiral::Spiral;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};
use crate::sheet::profile::ProfilePiece;
use crate::sheet::{Row, RowVerdict, room as room_row};

/// Times that follow from dimensions scatter by as much as rolling resistance does from roll to roll, and at least by this share:
/// spin, bounces and other marbles are not looked at. Our own choice.
const SCATTER: f64 = 0.2;

impl Description for Funnel {
    const ABOUT: &'static str = "A cone in which marbles circle down to its one hole.";
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &["vortex", "cone", "whirlpool", "coin-funnel"],
        "{ width: 240 mm, hole: 24 mm, slope: 15 deg }",
    )];
    const KEYS: &'static [KeyMeaning] = &[
        ("funnel.swirl", "Measured time from the rim to the hole."),
        ("funnel.width", "Across the rim."),
        ("funnel.hole", "Diameter of the hole."),
        ("funnel.slope", "Slope of the wall."),
    ];
    const KNOBS: &'static [Knob] = &[
        Knob::amount(
            ("width", CostClass::Rebuild),
            (10.0, "mm"),
            ["make @ wider", "make @ narrower"],
        ),
        Knob::amount(
            ("slope", CostClass::Rebuild),
            (2.0, "deg"),
            [
                "make the wall of @ steeper",
                "make the wall of @ less steep",
            ],
        ),
    ];
    const TIME_KEY: Option<&'static str> = Some("swirl");

    fn read(of: &mut Fields) -> Option<Self> {
        of.ways(&[&["swirl"], &["width", "hole", "slope"]]);
        let swirl = of.law("swirl");
        let width = of.quantity("width", &LENGTH, 0.03..=2.0);
        let hole = of.quantity("hole", &LENGTH, 0.005..=0.5);
        let slope = of.quantity("slope", &ANGLE, 0.02..=1.2);
        let any = ["width", "hole", "slope"].map(|key| of.get(key).is_some());
        if any.contains(&true) || of.outlining() {
            of.required("width", "240 mm", width);
            of.required("hole", "24 mm", hole);
            of.required("slope", "15 deg", slope);
        }
        if !any.contains(&true) {
            of.required(
                "swirl",
                "{ lognormal: { mean: 6 s, cv: 0.3 } }",
                swirl.as_ref(),
            );
        }
        let cone = match (width, hole, slope) {
            (Some(width_m), Some(hole_m), Some(slope_rad)) => Some(Cone {
                width_m,
                hole_m,
                slope_rad,
            }),
            _ => None,
        };
        Some(Funnel {
            cone,
            swirl,
            room: of.room("room"),
            hole_time_s: of.duration("hole-time"),
            when_full: of.when_full(WhenFull::Hold),
        })
    }

    fn dead_end(name: &str) -> Option<Complaint> {
        let what = format!("the hole of `{name}` leads nowhere");
        Some((what, "name the element under its hole"))
    }

    fn typical_s(&self) -> f64 {
        let measured = self.swirl.as_ref();
        measured.map_or(f64::INFINITY, TimeLaw::typical_s)
    }

    fn has_dimensions(&self) -> bool {
        self.cone.is_some()
    }

    fn is_computed(&self) -> bool {
        self.cone.is_some() && self.swirl.is_none()
    }

    fn errs_in(&self, what: WorkshopError) -> bool {
        use WorkshopError::{Bore, Length, Slope};
        self.is_computed() && matches!(what, Bore | Length | Slope)
    }

    fn err(&mut self, what: WorkshopError, by: f64) {
        let Some(cone) = &mut self.cone else { return };
        match what {
            WorkshopError::Bore => cone.hole_m = (cone.hole_m + by).max(0.001),
            WorkshopError::Length => cone.width_m = (cone.width_m + by).max(cone.hole_m),
            WorkshopError::Slope => cone.slope_rad = (cone.slope_rad + by).max(0.001),
            _ => {}
        }
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.swirl.take()
    }

    fn check(&self, at: &ElementCheck) {
        let Some(cone) = self.cone else { return };
        at.passes("hole", "hole", cone.hole_m);
        let least_m = cone.hole_m + 2.0 * at.diameter_m.unwrap_or(0.0);
        if cone.width_m <= least_m {
            let (width, hole) = (LENGTH.show(cone.width_m), LENGTH.show(cone.hole_m));
            let what = format!("a rim of {width} leaves no wall round a hole of {hole}");
            let help = format!("make it wider than {}", LENGTH.show(least_m));
            at.wrong("width", what, help);
        }
    }
}

/// The cone as a marble on it sees it, where its size is known.
fn shape(of: &Funnel, workshop: &Workshop) -> Option<Spiral> {
    let (cone, marble_m) = (of.cone?, workshop.marble()?.radius_m());
    let inside_m = marble_m * libm::sin(cone.slope_rad);
    Some(Spiral {
        rim_m: cone.width_m / 2.0 - inside_m,
        hole_m: (cone.hole_m / 2.0 - inside_m).max(0.0),
        slope_rad: cone.slope_rad,
        // Where nothing holds it back it would circle for ever: a hundredth of a usual board.
        resistance: resistance(Seat::PLANE, marble_m, &workshop.surface()).max(5e-5),
    })
}

/// The law of its times for marbles that come along the rim so fast, m/s.
fn law(of: &Funnel, workshop: &Workshop, entry_m_s: f64) -> TimeLaw {
    if let Some(measured) = &of.swirl {
        return measured.clone();
    }
    let Some(shape) = shape(of, workshop) else {
        return TimeLaw::Fixed { time_s: 0.0 };
    };
    let lever_m = workshop.surface().rolling_lever_m;
    let by_surface = Spread::WORKSHOP.rolling_lever_sd_m / lever_m.max(1e-9);
    let mean_s = shape.passage_s(entry_m_s);
    TimeLaw::Lognormal {
        mean_s,
        sd_s: mean_s * by_surface.clamp(SCATTER, 1.0),
    }
}

impl Planned for Funnel {
    fn plan(&self, site: &Site) -> Plan {
        let laws = site.entrances.iter();
        let laws = laws.map(|entrance| law(self, &site.workshop, entrance.speed_m_s));
        let passing = site.workshop.machine.marbles.diameter_m;
        // A marble drops clear of the hole's lip in sqrt(2 d / g).
        let passing_s = passing.map_or(0.0, |diameter_m| (2.0 * diameter_m / G).sqrt());
        Plan {
            room: plan::room(self.room),
            spills: self.when_full == WhenFull::Spill,
            travel: laws.map(|law| Draw::new(&law)).collect(),
            overtaking: true,
            advance: nanos(self.hole_time_s.unwrap_or(passing_s)),
            role: Role::RandomGate(Shares::new(&[], 1)),
            ..site.workshop.blank()
        }
    }

    fn takes_speed(&self) -> bool {
        true
    }
}

impl SheetEntry for Funnel {
    fn list(&self, plan: &Plan, list: &mut Lister) {
        list.law("swirl", self.swirl.as_ref());
        if let Some(cone) = self.cone {
            list.length("width", cone.width_m);
            list.length("hole", cone.hole_m);
            list.angle("slope", cone.slope_rad);
        }
        list.room("room", plan);
        list.advance("hole-time", plan);
        list.when_full(self.when_full);
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        let mut rows = vec![room_row("room", view.plan())];
        if self.swirl.is_some() {
            rows.push(Row::plain("time", "measured"));
        }
        let Some(shape) = shape(self, &view.workshop) else {
            return rows;
        };
        let holds = shape.rim_speed_m_s();
        for comes in view.workshop.entry_speeds_m_s() {
            let value = format!(
                "at {}; one that comes at {} circles along the rim",
                view.units.speed(comes),
                view.units.speed(holds)
            );
            let verdict = RowVerdict::at_most(comes, holds, f64::INFINITY);
            let help = "a fence on the rim, over which it climbs, or let it come from less high";
            let row = Row::judged("a marble comes", value, verdict, help);
            rows.push(row.with([("comes", comes, "m/s"), ("circles", holds, "m/s")]));
            if self.swirl.is_none() {
                let time_s = shape.passage_s(comes);
                let value = format!(
                    "{time_s:.1} s; nobody has measured one in print, so time yours: `swirl`"
                );
                let row = Row::plain("circles down in", value);
                rows.push(row.with([("time", time_s, "s")]));
            }
        }
        rows
    }

    fn fall_m(&self) -> Option<f64> {
        let cone = self.cone?;
        Some((cone.width_m - cone.hole_m) / 2.0 * libm::tan(cone.slope_rad))
    }

    fn pieces(&self) -> Vec<ProfilePiece> {
        match (self.cone, self.fall_m()) {
            (Some(cone), Some(depth_m)) => vec![ProfilePiece::Hollow {
                width_m: cone.width_m,
                depth_m,
            }],
            _ => vec![ProfilePiece::Unknown("depth of")],
        }
    }
}

impl Warns for Funnel {}

impl Sign for Funnel {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-9.0, -6.0), (-2.0, 3.0), (-2.0, 7.5)]);
        pen.line(&[(9.0, -6.0), (2.0, 3.0), (2.0, 7.5)]);
        pen.line(&[(-9.0, -6.0), (9.0, -6.0)]);
        pen.dot(4.0, -3.2, 2.2);
    }
}
