//! What a circuit asks of a kind of element.

use super::draw::Draw;
use super::joints::Outflow;
use super::looked_place::{LookAnswer, LookedPlace};
use super::plan::Plan;
use super::workshop::Workshop;
use crate::contact::crowd_counts::CrowdCounts;
use crate::contact::pick_up_chances::PickUpCounts;
use crate::machine::law::TimeLaw;
use crate::machine::model::Landing;

/// How the dimensions of a kind become a node.
pub trait Planned {
    /// Where a close look is taken; `None` where there is nothing to look at.
    fn looked_place(&self, _site: &Site) -> Option<LookedPlace> {
        None
    }

    /// The node, whose ways are filled in afterwards.
    fn plan(&self, site: &Site) -> Plan;

    /// Whether it matters to it how fast marbles come in from each element that leads to it.
    fn takes_speed(&self) -> bool {
        false
    }

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
    /// What a close look shows of it; `None`: nobody looked.
    pub seen: Option<LookAnswer>,
    /// What it stands in.
    pub workshop: Workshop<'a>,
}

impl Site<'_> {
    /// Travel times, entrance by entrance: as measured, else what marbles take that come in at a speed; and whether nobody gets
    /// through from one of them, where that was not measured.
    pub fn travel(
        &self,
        measured: Option<&TimeLaw>,
        takes_s: impl Fn(f64) -> Option<f64>,
    ) -> (Vec<Draw>, bool) {
        let (mut travel, mut stalls) = (Vec::new(), false);
        for entrance in self.entrances {
            let computed_s = takes_s(entrance.speed_m_s);
            stalls |= measured.is_none() && computed_s.is_none();
            let time_s = computed_s.unwrap_or(0.0);
            let law = measured.cloned().unwrap_or(TimeLaw::Fixed { time_s });
            travel.push(Draw::new(&law));
        }
        (travel, stalls)
    }

    /// What pockets were seen to do.
    pub fn pick_up(&self) -> Option<&PickUpCounts> {
        match &self.seen {
            Some(LookAnswer::PickUp(counts)) => Some(counts),
            _ => None,
        }
    }

    /// What marbles were seen to do in company.
    pub fn crowd(&self) -> Option<&CrowdCounts> {
        match &self.seen {
            Some(LookAnswer::Crowd(counts)) => Some(counts),
            _ => None,
        }
    }
}

/// How marbles come into an element.
#[derive(Clone, Copy, PartialEq)]
pub struct Entrance {
    /// Where on a return floor.
    pub landing: Option<Landing>,
    /// How fast, m/s, where that matters to it.
    pub speed_m_s: f64,
}

impl Entrance {
    /// As a marble that a hand puts in.
    pub const POURED_IN: Entrance = Entrance {
        landing: None,
        speed_m_s: 0.0,
    };
}
