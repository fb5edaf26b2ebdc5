//! What an element's dimensions are read against: the marbles and the workshop's constants, in the terms of `physics`.

use super::draw::Draw;
use super::joints;
use super::plan::{Cause, Plan, Role};
use crate::machine::model::{Channel, Element, Line, Machine, Material, Segment};
use crate::physics::material::{self, Marble, SurfaceProperties};
use crate::physics::path::{self, Halt, Passage};
use crate::physics::rolling;

/// An element of a machine, seen by physics.
pub struct Workshop<'m> {
    /// The whole machine.
    pub machine: &'m Machine,
    element: &'m Element,
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
            by_crowd: false,
            thrown_out: Vec::new(),
            overtaking: false,
            collects: false,
            rings: false,
            trips: Vec::new(),
            stalls: false,
            halts: Cause::Stall,
            advance: 0,
            entrance_delay: 0,
            blockage: None,
            followed: None,
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
        self.machine.marbles.diameter_m.map(|diameter_m| Marble {
            diameter_m,
            density_kg_m3,
        })
    }

    /// How marble and wood rub and bounce.
    pub fn surface(&self) -> SurfaceProperties {
        let assume = &self.machine.assume;
        SurfaceProperties {
            rolling_lever_m: assume.rolling_m,
            drilling_lever_m: assume.drilling_m(),
            hit_grip: assume.hit_grip,
            sliding_friction: assume.friction,
            restitution: assume.restitution,
        }
    }

    /// Acceleration along a slope in a channel, 0 where the marble does not fit.
    pub fn acceleration(&self, slope_rad: f64, channel: Channel) -> f64 {
        let Some(marble) = self.marble() else {
            return 0.0;
        };
        let Ok(seat) = channel.seat(marble.radius_m()) else {
            return 0.0;
        };
        rolling::acceleration(slope_rad, seat, marble.radius_m(), &self.surface())
    }

    /// The way down `line`, entered at the speed that the element before gives.
    ///
    /// # Errors
    /// Where a marble comes to rest, leaves the track in a bend, or does not fit.
    pub fn roll(&self, line: &Line) -> Option<Result<Passage, Halt>> {
        self.roll_from(line, self.entry_speed_m_s())
    }

    /// The way down `line`, entered at `entry_m_s`.
    ///
    /// # Errors
    /// As [`Workshop::roll`].
    pub fn roll_from(&self, line: &Line, entry_m_s: f64) -> Option<Result<Passage, Halt>> {
        let marble = self.marble()?;
        (!line.segments.is_empty()).then(|| self.roll_as(line, entry_m_s, &marble, &self.surface()))
    }

    /// As [`Workshop::roll_from`], for another marble or surface.
    pub fn roll_as(
        &self,
        line: &Line,
        entry_m_s: f64,
        marble: &Marble,
        surface: &SurfaceProperties,
    ) -> Result<Passage, Halt> {
        let segments: Vec<_> = line
            .segments
            .iter()
            .map(|segment| self.segment_in_physics(segment))
            .collect();
        path::travel(&segments, entry_m_s, &line.channel, marble, surface)
    }

    /// Speed at which marbles come in, m/s; see [`joints`].
    pub fn entry_speed_m_s(&self) -> f64 {
        joints::entry_speed_m_s(self.machine, self.element)
    }

    /// Speeds at which marbles come in from each of the elements that lead here, m/s.
    pub fn entry_speeds_m_s(&self) -> Vec<f64> {
        let feeders = self.feeders().into_iter();
        feeders
            .map(|from| joints::speed_across_m_s(self.machine, from, self.element))
            .collect()
    }

    /// The least of these speeds; 0 where nothing leads here.
    pub fn slowest_entry_m_s(&self) -> f64 {
        let slowest = self.entry_speeds_m_s().into_iter().reduce(f64::min);
        slowest.unwrap_or(0.0)
    }

    /// The elements that lead to this one.
    pub fn feeders(&self) -> Vec<&'m Element> {
        let elements = &self.machine.elements;
        elements
            .iter()
            .filter(|e| {
                e.to.iter()
                    .any(|exit| elements[exit.to].name == self.element.name)
            })
            .collect()
    }

    fn segment_in_physics(&self, segment: &Segment) -> path::PathSegment {
        match *segment {
            Segment::Straight {
                length_m,
                slope_rad,
            } => path::PathSegment::Straight {
                length_m,
                slope_rad,
            },
            Segment::Bend {
                radius_m,
                turn_rad,
                slope_rad,
            } => path::PathSegment::Bend {
                radius_m,
                angle_rad: turn_rad,
                slope_rad,
                energy_loss: self.machine.assume.bend_loss,
            },
            Segment::Drop { height_m } => path::PathSegment::Drop { height_m },
            Segment::Steps {
                count,
                rise_m,
                run_m,
                slope_rad,
            } => path::PathSegment::Steps {
                count: count as usize,
                height_m: rise_m,
                run_m,
                slope_rad,
            },
            Segment::Corner {
                fall_m,
                gap_m,
                thickness_m,
            } => path::PathSegment::Corner {
                fall_m,
                gap_m,
                thickness_m,
                restitution: self.machine.assume.restitution,
            },
        }
    }
}
