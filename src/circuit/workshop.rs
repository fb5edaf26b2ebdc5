//! What an element's dimensions are read against: the marbles and the workshop's constants, in the terms of `physics`.

use super::draw::Draw;
use super::plan::{Plan, Role};
use crate::machine::model::{Channel, Element, Line, Machine, Material, Segment};
use crate::physics::material::{self, Marble, Surface};
use crate::physics::rolling;

/// An element of a machine, seen by physics.
pub struct Workshop<'m> {
    /// The whole machine.
    pub machine: &'m Machine,
    element: &'m Element,
}

/// A marble's way down a slide or track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passage {
    /// Whole time, seconds.
    pub time_s: f64,
    /// Speed at the end, metres a second.
    pub exit_speed_m_s: f64,
}

impl<'m> Workshop<'m> {
    /// The view of `element`.
    pub fn new(machine: &'m Machine, element: &'m Element) -> Self {
        Workshop { machine, element }
    }

    /// A node of this name and kind with nothing particular.
    pub fn blank(&self) -> Plan {
        Plan {
            name: self.element.name.clone(),
            kind: self.element.kind.name(),
            room: u32::MAX,
            spills: false,
            travel: vec![Draw::Fixed(0)],
            overtaking: false,
            stalls: false,
            advance: 0,
            entrance_delay: 0,
            snag: None,
            ways: Vec::new(),
            role: Role::Through,
        }
    }

    /// The machine's marble, if its diameter is known.
    pub fn marble(&self) -> Option<Marble> {
        let density_kg_m3 = match self.machine.marbles.material {
            Material::Glass => material::GLASS_KG_M3,
            Material::Steel => material::BEARING_STEEL_KG_M3,
            Material::Ceramic => material::ALUMINA_KG_M3,
            Material::Wood => material::BEECH_KG_M3,
        };
        self.machine.marbles.diameter_m.map(|diameter_m| Marble { diameter_m, density_kg_m3 })
    }

    /// How marble and wood rub and bounce.
    pub fn surface(&self) -> Surface {
        let assume = &self.machine.assume;
        Surface {
            rolling_lever_m: assume.rolling_m,
            drilling_lever_m: material::DRILLING_LEVER_M,
            sliding_friction: assume.friction,
            restitution: assume.restitution,
        }
    }

    /// Acceleration along a slope in a channel, 0 where the marble does not fit.
    pub fn acceleration(&self, slope_rad: f64, channel: Channel) -> f64 {
        let Some(marble) = self.marble() else { return 0.0 };
        let Ok(seat) = in_physics(channel).seat(marble.radius_m()) else { return 0.0 };
        rolling::acceleration(slope_rad, seat, marble.radius_m(), &self.surface())
    }

    /// The way down `line`; `None` where a marble comes to rest on it, or where it has no dimensions.
    pub fn roll(&self, line: &Line) -> Option<Passage> {
        let mut passage = Passage { time_s: 0.0, exit_speed_m_s: 0.0 };
        for segment in &line.segments {
            if let Segment::Straight { length_m, slope_rad } = *segment {
                let a = self.acceleration(slope_rad, line.channel);
                passage.time_s += rolling::time_s(length_m, passage.exit_speed_m_s, a)?;
                passage.exit_speed_m_s = rolling::exit_speed_m_s(length_m, passage.exit_speed_m_s, a)?;
            }
        }
        (!line.segments.is_empty()).then_some(passage)
    }
}

/// The channel in the terms of `physics`.
pub fn in_physics(channel: Channel) -> rolling::Channel {
    match channel {
        Channel::Plane => rolling::Channel::Plane,
        Channel::Rails { gap_m } => rolling::Channel::SharpRails { gap_m },
        Channel::Rods { diameter_m, spacing_m } => {
            rolling::Channel::RoundRails { rod_radius_m: diameter_m / 2.0, spacing_m }
        }
        Channel::Vee { angle_rad } => rolling::Channel::Vee { angle_rad },
    }
}
