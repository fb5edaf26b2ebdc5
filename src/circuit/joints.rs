//! Speed across joints: how fast a marble comes out of an element, and so into the next.
//!
//! Of a marble that nothing holds up: one that waited at an exit comes out slower, one that falls through a gate, a hole or
//! out of a cup has no speed along what it falls on.

use super::planned::Planned;
use super::workshop::Workshop;
use crate::machine::Machine;
use crate::machine::kind::each_kind;
use crate::machine::model::Element;

/// Speed is followed back over so many joints: what a marble had before, slopes and friction have made up for.
const FOLLOWED: usize = 8;

/// Speed at which marbles come from one element into the next, m/s: as measured there, else as they come out; 0 where nothing
/// is known of that.
pub fn speed_across_m_s(machine: &Machine, from: &Element, to: &Element) -> f64 {
    across(machine, from, to, FOLLOWED)
}

/// Speed at which marbles come into `element`, m/s: as measured there, else what the one element that leads there gives them;
/// 0 where there are several.
pub fn entry_speed_m_s(machine: &Machine, element: &Element) -> f64 {
    entry(machine, element, FOLLOWED)
}

/// Speed at which marbles come out of `element`, m/s; 0 where nothing is known of that.
pub fn speed_out_m_s(machine: &Machine, element: &Element) -> f64 {
    exit(machine, element, FOLLOWED)
}

fn measured_m_s(element: &Element) -> Option<f64> {
    element.kind.line()?.entry_m_s
}

fn across(machine: &Machine, from: &Element, to: &Element, joints: usize) -> f64 {
    match measured_m_s(to) {
        Some(measured) => measured,
        None => exit(machine, from, joints),
    }
}

fn entry(machine: &Machine, element: &Element, joints: usize) -> f64 {
    match Workshop::new(machine, element).feeders().as_slice() {
        [one] if joints > 0 => across(machine, one, element, joints - 1),
        _ => measured_m_s(element).unwrap_or(0.0),
    }
}

fn exit(machine: &Machine, element: &Element, joints: usize) -> f64 {
    let out = Outflow {
        workshop: Workshop::new(machine, element),
        element,
        joints,
    };
    let speed = each_kind!(&element.kind, of => of.exit_speed_m_s(&out));
    speed.unwrap_or(0.0)
}

/// An element whose marbles are followed out of it.
pub struct Outflow<'m> {
    /// What it stands in.
    pub workshop: Workshop<'m>,
    element: &'m Element,
    joints: usize,
}

impl Outflow<'_> {
    /// Speed at which marbles come into it, m/s.
    pub fn entry_speed_m_s(&self) -> f64 {
        entry(self.workshop.machine, self.element, self.joints)
    }
}
