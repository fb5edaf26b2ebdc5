//! The bell, or a chime or drum: marbles fall onto it, strike it and go on with what speed is left.

use super::fall;
use crate::charts::signs::{Pen, Sign};
use crate::circuit::joints::Outflow;
use crate::circuit::plan::Plan;
use crate::circuit::planned::{Planned, Site};
use crate::circuit::workshop::Workshop;
use crate::findings::warnings::Warns;
use crate::machine::description::{Description, KeyMeaning, OtherWords};
use crate::machine::fields::Fields;
use crate::machine::knobs::{CostClass, Knob};
use crate::machine::law::TimeLaw;
use crate::machine::model::Bell;
use crate::machine::read_parts::CHANCE;
use crate::machine::units::ANGLE;
use crate::physics::G;
use crate::physics::impact::SmoothImpact;
use crate::sheet::Row;
use crate::sheet::dimensions::lister::Lister;
use crate::sheet::entry::{SheetEntry, SheetView};

impl Description for Bell {
    const ABOUT: &'static str = "A bell, chime or drum that marbles strike on their way.";
    const KEYS: &'static [KeyMeaning] = &[
        (
            "angle",
            "From the way of the marble to straight onto its face; left out: 0 deg, head-on.",
        ),
        (
            "bell.restitution",
            "Share of its speed with which a marble bounces off it; left out: as off wood.",
        ),
    ];
    const ALSO_CALLED: &'static [OtherWords] = &[(
        &[
            "chime",
            "drum",
            "gong",
            "cymbal",
            "xylophone",
            "glockenspiel",
            "block",
            "string",
        ],
        "{ drop: 60 mm, restitution: 0.6 }",
    )];
    const KNOBS: &'static [Knob] = &[
        Knob::amount(
            ("angle", CostClass::Reset),
            (5.0, "deg"),
            ["turn @ away from its marbles", "turn @ towards its marbles"],
        ),
        Knob::amount(
            ("drop", CostClass::Recut),
            (5.0, "mm"),
            [
                "let marbles drop farther onto @",
                "let marbles drop less far onto @",
            ],
        ),
    ];
    const TIME_KEY: Option<&'static str> = Some("time");
    const SWAPPED_IN: Option<&'static str> = Some("{ drop: 40 mm }");

    fn read(of: &mut Fields) -> Option<Self> {
        let angle = of.quantity("angle", &ANGLE, 0.0..=1.5);
        Some(Bell {
            fall: of.fall(),
            angle_rad: angle.unwrap_or(0.0),
            restitution: of.number("restitution", CHANCE),
        })
    }

    fn typical_s(&self) -> f64 {
        self.fall.law().typical_s()
    }

    fn gives_speed(&self) -> bool {
        self.fall.time.is_none()
    }

    fn take_time(&mut self) -> Option<TimeLaw> {
        self.fall.time.take()
    }
}

/// The strike of a marble that comes so fast before it falls, m/s.
fn impact(bell: &Bell, workshop: &Workshop, before_m_s: f64) -> SmoothImpact {
    let wood = workshop.machine.assume.restitution;
    SmoothImpact {
        speed_m_s: (before_m_s * before_m_s + 2.0 * G * bell.fall.drop_m).sqrt(),
        angle_rad: bell.angle_rad,
        restitution: bell.restitution.unwrap_or(wood),
    }
}

impl Planned for Bell {
    fn plan(&self, site: &Site) -> Plan {
        Plan {
            rings: true,
            ..fall::plan(&self.fall, site)
        }
    }

    fn exit_speed_m_s(&self, out: &Outflow) -> Option<f64> {
        let comes = impact(self, &out.workshop, out.entry_speed_m_s());
        self.fall.time.is_none().then(|| comes.out_m_s())
    }
}

impl SheetEntry for Bell {
    fn list(&self, _plan: &Plan, list: &mut Lister) {
        list.fall(&self.fall);
        list.angle("angle", self.angle_rad);
        let wood = list.machine().assume.restitution;
        list.number("restitution", self.restitution.unwrap_or(wood));
    }

    fn rows(&self, view: &SheetView) -> Vec<Row> {
        if self.fall.time.is_some() {
            return Vec::new();
        }
        let workshop = &view.workshop;
        let strikes = impact(self, workshop, workshop.entry_speed_m_s());
        let (comes, goes) = (strikes.speed_m_s, strikes.out_m_s());
        let left = strikes.energy_left();
        let value = format!(
            "at {}, and goes on at {}: {:.0} % of its energy is left",
            view.units.speed(comes),
            view.units.speed(goes),
            left * 100.0
        );
        let figures = [
            ("strikes", comes, "m/s"),
            ("goes_on", goes, "m/s"),
            ("energy_left", left, "1"),
        ];
        vec![Row::plain("marbles strike it", value).with(figures)]
    }

    fn fall_m(&self) -> Option<f64> {
        Some(self.fall.drop_m)
    }
}

impl Warns for Bell {}

impl Sign for Bell {
    fn draw(pen: &mut Pen) {
        pen.line(&[(-8.0, 4.5), (-5.0, 1.0), (-4.5, -4.0)]);
        pen.line(&[(8.0, 4.5), (5.0, 1.0), (4.5, -4.0)]);
        pen.arc((0.0, -4.0), 4.5, 0.75, 1.25);
        pen.line(&[(-8.0, 4.5), (8.0, 4.5)]);
        pen.dot(0.0, 6.6, 1.9);
    }
}
