//! What a circuit asks of a kind of element.

use super::close_look::Effort;
use super::joints::Outflow;
use super::plan::Plan;
use super::workshop::Workshop;
use crate::machine::model::Landing;

/// How the dimensions of a kind become a node.
pub trait Planned {
    /// The node, whose ways are filled in afterwards.
    fn plan(&self, site: &Site) -> Plan;

    /// Speed at which marbles that nothing holds up come out of it, m/s; `None` where it has none or nothing tells it.
    fn exit_speed_m_s(&self, _out: &Outflow) -> Option<f64> {
        None
    }
}

/// What an element is made ready with, beside its dimensions.
pub struct Site<'a> {
    /// Its index.
    pub n: usize,
    /// How many ways lead out of it.
    pub ways: usize,
    /// The different ways in which marbles come into it, at least one.
    pub entrances: &'a [Entrance],
    /// How floors and bowls are made ready.
    pub crowds: Crowds,
    /// How long the place of a wheel is looked at; `None`: not at all.
    pub effort: Option<Effort>,
    /// What it stands in.
    pub workshop: Workshop<'a>,
}

/// How marbles come into an element.
#[derive(Clone, Copy, PartialEq)]
pub struct Entrance {
    /// Where on a return floor.
    pub landing: Option<Landing>,
    /// How fast into a line, m/s.
    pub speed_m_s: f64,
}

/// How floors and bowls, where marbles are in company, are made ready.
#[derive(Clone, Copy)]
pub enum Crowds {
    /// By a close look at each.
    Look(Effort),
    /// Not at all: marbles pass in no time.
    Unseen,
}
